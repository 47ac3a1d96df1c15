"""Which parts may enter a place, and how thick they are with layers and glue lines. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from camkit.job.model import Job, JointRow
from camkit.joinery.features import Feature, in_band
from camkit.joinery.pairs import Pairs
from camkit.part import Part

__all__ = ["Entering", "Mates", "Stock", "mates_of", "stocks_leaning"]

_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Stock:
    """Thickness of a part's sheet as drawn and as measured."""

    drawn: float
    measured: float

    @property
    def change(self) -> float:
        """Measured less drawn."""
        return self.measured - self.drawn


@dataclass(frozen=True, slots=True)
class Entering:
    """What fills a place: `layers` sheets of the same stock, and the parts that they may be.

    Layers of unlike sheets count as one, as thick as all together, with `glued` lines of glue in it.
    """

    parts: tuple[int, ...]
    stock: Stock
    layers: int
    glued: int = 0

    @property
    def glue_lines(self) -> int:
        """How many lines of glue lie across the place."""
        return self.layers - 1 + self.glued


@dataclass(frozen=True, slots=True)
class Mates:
    """Who may meet whom: `entering` by the place that takes, `taking` by the tenon.

    Of equal parts all are listed: which of them it will be makes no difference to the cut. `chosen` are the
    mortises that a tenon was paired with, one in each layer of a stack.
    """

    entering: Mapping[Feature, Entering] = field(default_factory=dict)
    taking: Mapping[Feature, tuple[Feature, ...]] = field(default_factory=dict)
    chosen: Mapping[Feature, tuple[Feature, ...]] = field(default_factory=dict)


def mates_of(found: Pairs, stocks: Sequence[Stock], stacks: Sequence[tuple[int, ...]] = ()) -> Mates:
    """The mates of all paired places.

    Where possible mates differ in thickness it is the one that was paired; that others may enter too is told
    with the pairs. Layers of one of `stacks` may enter together.
    """
    paired: dict[Feature, set[int]] = {}
    chosen: dict[Feature, list[Feature]] = {}
    may_enter: dict[Feature, set[int]] = {}
    taking: dict[Feature, dict[Feature, None]] = {}
    for row, choices in found.options.items():
        for mortises in choices:
            for tenon, mortise in zip(row.members, mortises, strict=True):
                may_enter.setdefault(mortise, set()).add(tenon.part)
                taking.setdefault(tenon, {})[mortise] = None
    for pair in found.pairs:
        for one, other in zip(pair.enters, pair.takes, strict=True):
            if pair.kind == "cross-lap":
                may_enter.setdefault(one, set()).add(other.part)
                may_enter.setdefault(other, set()).add(one.part)
            elif pair.kind in ("housing", "rabbet"):
                may_enter.setdefault(other, set()).add(one.part)
            elif pair.kind == "mortise and tenon":
                paired.setdefault(other, set()).add(one.part)
                chosen.setdefault(one, []).append(other)
    entering = {}
    for place, parts in may_enter.items():
        filled = _filled(place, sorted(parts), stocks)
        filled = filled or _filled(place, sorted(paired.get(place, ())), stocks)
        filled = filled or _glued(place, sorted(parts), stocks, stacks)
        if filled is not None:
            entering[place] = filled
    return Mates(
        entering,
        {tenon: tuple(mortises) for tenon, mortises in taking.items()},
        {tenon: tuple(mortises) for tenon, mortises in chosen.items()},
    )


def _filled(place: Feature, parts: Sequence[int], stocks: Sequence[Stock]) -> Entering | None:
    if not parts:
        return None
    first = stocks[parts[0]]
    if any(
        math.dist((stocks[k].drawn, stocks[k].measured), (first.drawn, first.measured)) > _SAME for k in parts
    ):
        return None
    layers = in_band(place.width, first.drawn)
    return None if layers is None else Entering(tuple(parts), first, layers)


def _glued(
    place: Feature, parts: Sequence[int], stocks: Sequence[Stock], stacks: Sequence[tuple[int, ...]]
) -> Entering | None:
    """Layers of unlike sheets that fill the place together."""
    for stack in stacks:
        layers = tuple(part for part in stack if part in parts)
        stock = Stock(sum(stocks[k].drawn for k in layers), sum(stocks[k].measured for k in layers))
        if len(layers) > 1 and in_band(place.width, stock.drawn) == 1:
            return Entering(layers, stock, 1, len(layers) - 1)
    return None


def stocks_leaning(parts: Sequence[Part], stocks: Sequence[Stock], job: Job) -> tuple[Stock, ...]:
    """The stocks as an opening meets them: a plate that leans by b is T / cos b + T' tan b wide.

    T' is the thickness of the part that it leans through.
    """
    leaning = {row.tenon: row for row in job.joint if row.tenon and row.lean}
    by_name = {part.name: stock for part, stock in zip(parts, stocks, strict=True)}
    return tuple(
        _leaning(stock, leaning[part.name], by_name) if part.name in leaning else stock
        for part, stock in zip(parts, stocks, strict=True)
    )


def _leaning(stock: Stock, row: JointRow, by_name: Mapping[str, Stock]) -> Stock:
    through = by_name.get(row.mortise, stock)
    b = math.radians(row.lean)
    return Stock(
        stock.drawn / math.cos(b) + through.drawn * math.tan(b),
        stock.measured / math.cos(b) + through.measured * math.tan(b),
    )
