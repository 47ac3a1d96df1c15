"""Pairs that need no rows: laps of two boards, and edges in housings and rabbets. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from camkit.geometry.path import Point
from camkit.joinery.features import LONGER, WIDER, Feature
from camkit.joinery.plates import Plates
from camkit.joinery.rows import twins

__all__ = ["Boards", "Pair", "PairKind", "beside", "housings", "laps", "laps_on_edge", "pair_of"]

PairKind = Literal["mortise and tenon", "finger edge", "cross-lap", "housing", "rabbet", "dowels"]
# Whether the job says that two parts, given by their indices, are joined.
Named = Callable[[int, int], bool]

# Corners of one outline that are one corner.
_SAME = 0.05


@dataclass(frozen=True, slots=True)
class Pair:
    """Shapes of one part, and the shapes of another that take them or are taken by them, in like order.

    `parts` are the indices of both. Of finger edges no features are kept; (x, y) is where the first lies and
    `far` where the second does.
    """

    kind: PairKind
    parts: tuple[int, int]
    enters: tuple[Feature, ...]
    takes: tuple[Feature, ...]
    x: float
    y: float
    far: Point | None = None


def pair_of(kind: PairKind, enters: tuple[Feature, ...], takes: tuple[Feature, ...]) -> Pair:
    """The pair of these shapes, placed at the first that takes."""
    return Pair(kind, (enters[0].part, takes[0].part), enters, takes, *takes[0].middle)


def _fills(one: Feature, other: Feature) -> bool:
    """Whether one slot is as deep as the wood that the other leaves."""
    return LONGER[0] <= one.length - other.rest <= LONGER[1]


@dataclass(frozen=True, slots=True)
class Boards:
    """What laps are judged by: equal parts share a value of `looks`, layers of one plate are one board."""

    thicknesses: Sequence[float]
    looks: Sequence[object]
    plates: Plates
    named: Named


def laps(found: Sequence[Feature], boards: Boards) -> list[Pair]:
    """Slots of two boards that halve their common height; boards that look unlike come first."""
    layers = _layers(found, boards)
    fitting = [
        (one, other)
        for one, other in _two_boards(layers, boards)
        if _fills(one, other) and _fills(other, one)
    ]
    return _unlike_first(fitting, layers, boards)


def laps_on_edge(found: Sequence[Feature], boards: Boards) -> list[Pair]:
    """Slots of boards of different heights, flush along one edge: a tall board on a foot, the foot in it."""
    layers = _layers(found, boards)
    fitting = [
        (one, other)
        for first, second in _two_boards(layers, boards)
        for one, other in ((first, second), (second, first))
        if _fills(one, other) and one.rest - other.length >= LONGER[0]
    ]
    return _unlike_first(fitting, layers, boards)


def _layers(found: Sequence[Feature], boards: Boards) -> dict[Feature, list[Feature]]:
    """Slots, each with those of glued layers that are one slot with it; of these only the first is a key."""
    slots = [f for f in found if f.kind == "slot"]
    layers: dict[Feature, list[Feature]] = {}
    for slot in slots:
        together = twins(slot, slots, boards.plates)
        if together[0] == slot:
            layers[slot] = together
    return layers


def _two_boards(
    layers: Mapping[Feature, Sequence[Feature]], boards: Boards
) -> Iterator[tuple[Feature, Feature]]:
    """Slots of two boards each of which is as wide as the other board is thick."""
    thick = {slot: sum(boards.thicknesses[one.part] for one in alike) for slot, alike in layers.items()}
    for one, other in combinations(layers, 2):
        apart = boards.plates.plate[one.part] != boards.plates.plate[other.part]
        wide = (one.width - thick[other], other.width - thick[one])
        if apart and all(WIDER[0] <= over <= WIDER[1] for over in wide):
            yield one, other


def _unlike_first(
    fitting: list[tuple[Feature, Feature]], layers: Mapping[Feature, Sequence[Feature]], boards: Boards
) -> list[Pair]:
    fitting.sort(key=lambda two: boards.looks[two[0].part] == boards.looks[two[1].part])
    return [
        pair_of("cross-lap", (one,), (other,))
        for pair in _each_once(fitting, "cross-lap", boards.named)
        for one in layers[pair.enters[0]]
        for other in layers[pair.takes[0]]
    ]


def beside(tenon: Feature, slot: Feature) -> bool:
    """Whether a side of the tenon is a wall of the slot: then it is the wood between two slots."""
    if tenon.part != slot.part or tenon.kind not in ("tenon", "step"):
        return False
    (ux, uy), (vx, vy) = slot.along, tenon.along
    for sign in (-0.5, 0.5):
        dx = tenon.middle[0] + sign * tenon.width * vx - slot.middle[0]
        dy = tenon.middle[1] + sign * tenon.width * vy - slot.middle[1]
        across, out = abs(dx * uy - dy * ux), -(dx * ux + dy * uy)
        # The walls of a slot may end at different heights.
        if abs(across - slot.width / 2) <= _SAME and 0 < out <= 3 * slot.length:
            return True
    return False


def housings(
    found: Sequence[Feature],
    thicknesses: Sequence[float],
    looks: Sequence[object],
    named: Named,
    joined: Sequence[Pair],
) -> list[Pair]:
    """Housings and rabbets with the edge of another part that is as long.

    Parts unlike in `looks` come first: two equal sides have edges as long as their own housings, yet what
    stands between them is neither. Then parts that have no joint yet come before those `joined`, whole edges
    before pieces of them; two parts meet a second time only where nobody else is left.
    """
    edges = [f for f in found if f.kind in ("edge", "tenon", "step")]
    recesses = [f for f in found if f.kind in ("housing", "rabbet")]
    fitting = [
        (edge, recess)
        for recess in recesses
        for edge in edges
        if edge.part != recess.part
        and LONGER[0] <= recess.length - edge.width <= LONGER[1]
        and WIDER[0] <= recess.width - thicknesses[edge.part] <= WIDER[1]
    ]
    busy = {part for pair in joined for part in pair.parts} | {recess.part for recess in recesses}
    met: set[tuple[int, int]] = set()

    def rank(two: tuple[Feature, Feature]) -> tuple[bool, ...]:
        edge, recess = two
        both = (edge.part, recess.part)
        alike = looks[edge.part] == looks[recess.part]
        return (not named(*both), alike, both in met, edge.part in busy, edge.kind != "edge")

    pairs = []
    while fitting:
        edge, recess = min(fitting, key=rank)
        busy.add(edge.part)
        met.add((edge.part, recess.part))
        kind: PairKind = "rabbet" if recess.kind == "rabbet" else "housing"
        pairs.append(pair_of(kind, (edge,), (recess,)))
        fitting = [two for two in fitting if edge not in two and recess not in two]
    return pairs


def _each_once(fitting: Sequence[tuple[Feature, Feature]], kind: PairKind, named: Named) -> list[Pair]:
    """Pairs in which every shape stands once; two parts meet a second time only where nobody else is left."""
    used: set[Feature] = set()
    met: set[tuple[int, int]] = set()
    joined = []
    first = sorted(fitting, key=lambda two: not named(two[0].part, two[1].part))
    for again in (False, True):
        for one, other in first:
            parts = (one.part, other.part)
            if used.isdisjoint((one, other)) and (again or parts not in met):
                used |= {one, other}
                met.add(parts)
                joined.append(pair_of(kind, (one,), (other,)))
    return joined
