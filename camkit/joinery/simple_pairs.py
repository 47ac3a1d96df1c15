"""Pairs that need no rows: laps of two boards, edges in housings and rabbets, dowel holes. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from camkit.joinery.features import LONGER, WIDER, Feature

__all__ = ["Pair", "PairKind", "dowels", "housings", "laps", "pair_of"]

PairKind = Literal["mortise and tenon", "finger edge", "cross-lap", "housing", "rabbet", "dowels"]

# Dowels are set out far more exactly than tenons.
_DOWEL_SPACING = 0.1


@dataclass(frozen=True, slots=True)
class Pair:
    """Shapes of one part, and the shapes of another that take them or are taken by them, in like order.

    `parts` are the indices of both. Of finger edges no features are kept; (x, y) is where the first lies.
    """

    kind: PairKind
    parts: tuple[int, int]
    enters: tuple[Feature, ...]
    takes: tuple[Feature, ...]
    x: float
    y: float


def pair_of(kind: PairKind, enters: tuple[Feature, ...], takes: tuple[Feature, ...]) -> Pair:
    """The pair of these shapes, placed at the first that takes."""
    return Pair(kind, (enters[0].part, takes[0].part), enters, takes, *takes[0].middle)


def laps(found: Sequence[Feature], looks: Sequence[object]) -> list[Pair]:
    """Slots of two boards that halve their common height; boards that look unlike (`looks`) come first."""
    slots = [f for f in found if f.kind == "slot"]
    fitting = [
        (one, other)
        for i, one in enumerate(slots)
        for other in slots[i + 1 :]
        if other.part != one.part
        and all(LONGER[0] <= p <= LONGER[1] for p in (one.length - other.rest, other.length - one.rest))
    ]
    fitting.sort(key=lambda two: looks[two[0].part] == looks[two[1].part])
    return _each_once(fitting, "cross-lap")


def housings(found: Sequence[Feature], thicknesses: Sequence[float], looks: Sequence[object]) -> list[Pair]:
    """Housings and rabbets with the edge of another part that is as long; of one unlike in `looks` first.

    Two equal sides have edges as long as their own housings, yet what stands between them is neither.
    """
    edges = [f for f in found if f.kind in ("edge", "tenon", "step")]
    joined: list[Pair] = []
    kinds: tuple[Literal["housing", "rabbet"], ...] = ("housing", "rabbet")
    for kind in kinds:
        fitting = [
            (edge, recess)
            for recess in found
            if recess.kind == kind
            for edge in edges
            if edge.part != recess.part
            and LONGER[0] <= recess.length - edge.width <= LONGER[1]
            and WIDER[0] <= recess.width - thicknesses[edge.part] <= WIDER[1]
        ]
        fitting.sort(key=lambda two: looks[two[0].part] == looks[two[1].part])
        joined += _each_once(fitting, kind)
    return joined


def _each_once(fitting: Sequence[tuple[Feature, Feature]], kind: PairKind) -> list[Pair]:
    """Pairs in which every shape stands once; two parts meet a second time only where nobody else is left."""
    used: set[Feature] = set()
    met: set[tuple[int, int]] = set()
    joined = []
    for again in (False, True):
        for one, other in fitting:
            parts = (one.part, other.part)
            if used.isdisjoint((one, other)) and (again or parts not in met):
                used |= {one, other}
                met.add(parts)
                joined.append(pair_of(kind, (one,), (other,)))
    return joined


def dowels(found: Sequence[Feature]) -> list[Pair]:
    """Dowel holes of one size that two parts have at the same distance."""
    holes = [f for f in found if f.kind == "dowel hole"]
    spans: dict[int, list[tuple[Feature, Feature]]] = {}
    for i, one in enumerate(holes):
        for other in holes[i + 1 :]:
            if other.part == one.part and abs(one.width - other.width) <= _DOWEL_SPACING:
                spans.setdefault(one.part, []).append((one, other))
    joined = []
    ordered = sorted(spans)
    for k, first in enumerate(ordered):
        for second in ordered[k + 1 :]:
            alike = (
                (a, b)
                for a in spans[first]
                for b in spans[second]
                if abs(a[0].width - b[0].width) <= _DOWEL_SPACING
                and abs(math.dist(a[0].middle, a[1].middle) - math.dist(b[0].middle, b[1].middle))
                <= _DOWEL_SPACING
            )
            fit = next(alike, None)
            if fit is not None:
                joined.append(pair_of("dowels", *fit))
    return joined
