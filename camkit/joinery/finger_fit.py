"""Finger edges for the sheet on the table: tips as far out as the mate is thick, gaps with clearance.

The bottoms of gaps are shoulders and stay, so that inside sizes stay. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from camkit.errors import Finding
from camkit.geometry.corner import arriving
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Path, Point, Segment
from camkit.joinery.clearance import Allowance
from camkit.joinery.fingers import FingerEdge, finger_edges, interlock, play_between
from camkit.joinery.fitted import SizeChange
from camkit.joinery.mates import Stock
from camkit.joinery.place import Place, wall_at
from camkit.joinery.squared import squared
from camkit.joinery.wanted import PLAY, Ground, Loops, Opening, Shift, Wanted
from camkit.part import Part

__all__ = ["Fingers", "fingers_of", "fingers_wanted", "walls_of_fingers"]

_NONE = 1e-9


@dataclass(frozen=True, slots=True)
class Fingers:
    """A finger edge and those of other parts that it may interlock with."""

    edge: FingerEdge
    mates: tuple[FingerEdge, ...]


def fingers_of(parts: Sequence[Part], stocks: Sequence[Stock]) -> tuple[Fingers, ...]:
    """All finger edges with a mate."""
    edges: list[FingerEdge] = []
    for k, part in enumerate(parts):
        outline = squared(part.outline, hollow=False)
        for thickness in dict.fromkeys(stock.drawn for stock in stocks):
            edges += [edge for edge in finger_edges(k, outline, thickness) if edge not in edges]
    return tuple(
        Fingers(one, mates)
        for one in edges
        if (mates := tuple(other for other in edges if other.part != one.part and interlock(one, other)))
    )


def fingers_wanted(index: int, loops: Loops, ground: Ground, found: Sequence[Fingers]) -> Wanted:
    """The fingers of a part: tips follow the mate's sheet, steps leave clearance between finger and gap.

    Every gap is an opening, so that its bottom corners are relieved. Finding `fingers-as-drawn` (warning)
    where mates of unlike thickness are possible or a step is no straight wall of the outline.
    """
    openings, shifts, said = list[Opening](), list[Shift](), list[Finding]()
    for fingers in found:
        if fingers.edge.part != index:
            continue
        mates = tuple(dict.fromkeys(mate.part for mate in fingers.mates))
        stocks = {ground.stocks[mate] for mate in mates}
        lands = _lands(fingers.edge, loops.outline, ground.parts[index])
        if len(stocks) != 1 or lands is None:
            said.append(_as_drawn(fingers.edge, ground.parts[index]))
            continue
        (stock,) = stocks
        asked = ground.allowance(index, mates)
        names = tuple(dict.fromkeys(ground.parts[mate].name for mate in mates))
        shifts += _tips(fingers.edge, lands, stock, ground.parts[index])
        openings += _gaps(fingers, lands, loops.outline, asked, names, ground)
    return Wanted(tuple(openings), tuple(shifts), {}, tuple(said))


def walls_of_fingers(edge: FingerEdge, outline: Path, part: Part) -> tuple[int, ...]:
    """All lands and steps of the edge as walls of the part's sharp outline; none where they are not there."""
    lands = _lands(edge, outline, part)
    if lands is None:
        return ()
    steps = len(outline.segments)
    return tuple((lands[0].wall + k) % steps for k in range(2 * len(lands) - 1))


@dataclass(frozen=True, slots=True)
class _Land:
    """A land of the edge as a wall of the outline; `out` lands are tips of fingers, the others bottoms."""

    wall: int
    out: bool


def _lands(edge: FingerEdge, outline: Path, part: Part) -> list[_Land] | None:
    """All lands from the one before the first step to the one behind the last."""
    copy = squared(part.outline, hollow=False).segments
    count = len(copy)
    indices = [(edge.walls[0] - 2) % count, *edge.walls, (edge.walls[-1] + 2) % count]
    lands = []
    for place, index in enumerate(indices):
        wall = wall_at(outline, _near_middle(copy[index]), edge.along)
        if wall is None:
            return None
        # The land before the first step is out where the first land behind it is not.
        lands.append(_Land(wall, edge.out if place % 2 else not edge.out))
    steps = len(outline.segments)
    if any((two.wall - one.wall) % steps != 2 for one, two in pairwise(lands)):
        return None
    return lands


def _near_middle(segment: Segment) -> Point:
    (ax, ay), (bx, by) = segment.start, segment.end
    return ((ax + bx) / 2, (ay + by) / 2)


def _tips(edge: FingerEdge, lands: Sequence[_Land], stock: Stock, part: Part) -> Iterator[Shift]:
    if abs(stock.change) <= _NONE:
        return
    (ux, uy) = edge.along
    out = (uy * stock.change, -ux * stock.change)
    walls = tuple((land.wall, out) for land in lands if land.out)
    yield Shift(
        walls,
        SizeChange(
            part.name,
            "depth of fingers",
            stock.drawn,
            stock.measured,
            f"{stock.measured:.2f} sheet of the mate",
            *edge.middle,
        ),
    )


def _gaps(
    fingers: Fingers,
    lands: Sequence[_Land],
    outline: Path,
    asked: Allowance,
    names: tuple[str, ...],
    ground: Ground,
) -> Iterator[Opening]:
    """Gaps wider by half of what the clearance grows: the mate's gaps, and so its fingers, give the other."""
    play = sum(play_between(fingers.edge, mate) for mate in fingers.mates) / len(fingers.mates)
    meant = play > max(PLAY, asked.total) + _NONE
    clearance = play if meant else asked.total
    aside = (clearance - play) / 4
    why = f"play of {clearance:.2f} between fingers and gaps, drawn {play:.2f}"
    wish = ground.relief(fingers.edge.part, tuple(mate.part for mate in fingers.mates))
    for place, land in enumerate(lands):
        if not land.out:
            steps = (None if place == 0 else -1, None if land is lands[-1] else 1)
            gap = _gap(outline, land.wall, steps)
            moving = sum(step is not None for step in steps)
            yield Opening(gap, gap.width + moving * aside, clearance, (0.0, 0.0), names, wish, why, meant)


def _gap(outline: Path, bottom: int, steps: tuple[int | None, int | None]) -> Place:
    """The gap over a bottom; one that is open at the edge's end has a step on one side only."""
    count, wall = len(outline.segments), outline.segments[bottom]
    broad = [(bottom + step) % count for step in steps if step is not None]
    corners = tuple(bottom if step == 1 else (bottom - 1) % count for step in steps if step is not None)
    depth = min(segment_length(outline.segments[k]) for k in broad)
    (ux, uy), (mx, my) = arriving(wall), _near_middle(wall)
    middle = (mx + uy * depth / 2, my - ux * depth / 2)  # out of the wood, which lies on the left
    sides = (broad[0], broad[-1])
    return Place("finger gap", None, sides, corners, segment_length(wall), depth, middle)


def _as_drawn(edge: FingerEdge, part: Part) -> Finding:
    x, y = edge.middle
    return Finding(
        "warning",
        "fingers-as-drawn",
        f"the finger edge at ({x:.1f}, {y:.1f}) stays as drawn, neither fitted nor relieved: its mates "
        "differ in thickness, or its steps are not straight and sharp",
        "Draw its steps straight with sharp corners, or draw it for the measured thickness",
        x_mm=x,
        y_mm=y,
        part=part.name,
        file=part.source.file or None,
    )
