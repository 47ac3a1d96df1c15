"""The reliefs of all places of a part together, each mindful of its neighbours. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely

from camkit.geometry.flatten import flattened
from camkit.geometry.path import Path
from camkit.job.model import ReliefWish
from camkit.joinery.relief_choice import (
    Choice,
    finger_relief,
    housing_relief,
    mortise_relief,
    notch_relief,
    opened_places,
)
from camkit.joinery.tenon_roots import Root, root_relief
from camkit.joinery.webs import Opened, Thin, least_web, thin_webs, walls_near

__all__ = ["Planned", "Seat", "plan_reliefs"]


@dataclass(frozen=True, slots=True)
class Seat:
    """A place of a part into whose corners something square must go, and the `radius` of its reliefs.

    `loop` counts the part's loops, the outline first. `walls` are the broad walls of a mortise or housing,
    the bottom of a slot or finger gap, none of a tenon; `corners` those that must be square, of a tenon its
    `roots` instead. `cover` is how far a shoulder reaches beyond a mortise's ends, `through` whether the
    mortise shows on the other face; `hidden` how deep a tenon's mortise is, `width` how wide the tenon.
    """

    kind: Literal["mortise", "housing", "slot", "finger gap", "tenon"]
    loop: int
    walls: tuple[int, ...]
    radius: float
    place: str
    corners: tuple[int, ...] = ()
    roots: tuple[Root, ...] = ()
    cover: float = 0.0
    through: bool = True
    hidden: float = math.inf
    width: float = 0.0
    wish: ReliefWish = "by rule"

    def own(self, count: int) -> frozenset[int]:
        """The walls of its loop, of `count`, that are the place's own."""
        if self.kind == "tenon":
            return frozenset(wall for root in self.roots for wall in (root.side, root.shoulder))
        if self.kind in ("mortise", "housing"):
            return frozenset(range(count))
        return walls_near(count, self.walls)


@dataclass(frozen=True, slots=True)
class Planned:
    """One choice for each seat, and webs that they leave too thin."""

    choices: tuple[Choice, ...]
    thin: tuple[Thin, ...]


def plan_reliefs(loops: Sequence[Path], seats: Sequence[Seat], holes: Sequence[Path] = ()) -> Planned:
    """The reliefs of every seat in the part's sharp `loops`, the outline first; `holes` are its round ones.

    Seats choose in their order; each leaves webs to all walls and to the reliefs chosen before it.
    """
    around = _Around(loops, holes)
    roots = {root.corner for seat in seats for root in seat.roots}
    choices: list[Choice] = []
    opened: list[Opened] = []
    for seat in seats:
        path = loops[seat.loop]
        choice = _chosen(seat, path, roots, around.others(seat, opened))
        choices.append(choice)
        opened += opened_places(path, choice, seat.radius, loop=seat.loop, place=seat.place)
    names = {
        (seat.loop, wall): seat.place for seat in seats for wall in seat.own(len(loops[seat.loop].segments))
    }
    for k, hole in enumerate(holes, len(loops)):
        names |= {(k, wall): "a hole" for wall in range(len(hole.segments))}
    return Planned(tuple(choices), thin_webs(opened, (*loops, *holes), names))


def _chosen(seat: Seat, path: Path, roots: set[int], others: shapely.Geometry | None) -> Choice:
    if seat.kind == "tenon":
        return root_relief(
            path,
            seat.roots,
            seat.radius,
            width=seat.width,
            hidden=seat.hidden,
            wish=seat.wish,
            roots=roots,
            others=others,
        )
    if seat.kind in ("slot", "finger gap"):
        relief = notch_relief if seat.kind == "slot" else finger_relief
        return relief(path, seat.walls[0], seat.radius, corners=seat.corners, wish=seat.wish, others=others)
    broad = (seat.walls[0], seat.walls[1])
    if seat.kind == "housing":
        return housing_relief(
            path, broad, seat.radius, seat.corners, cover=seat.cover, wish=seat.wish, others=others
        )
    return mortise_relief(
        path,
        broad,
        seat.radius,
        corners=seat.corners,
        cover=seat.cover,
        through=seat.through,
        wish=seat.wish,
        others=others,
    )


class _Around:
    """All walls of a part, to find those near a seat."""

    def __init__(self, loops: Sequence[Path], holes: Sequence[Path]) -> None:
        self.loops = loops
        self.lines = {
            (index, wall): shapely.LineString(flattened(Path((segment,))))
            for index, loop in enumerate((*loops, *holes))
            for wall, segment in enumerate(loop.segments)
        }
        self.keys = list(self.lines)
        self.tree = shapely.STRtree(list(self.lines.values()))

    def others(self, seat: Seat, opened: Sequence[Opened]) -> shapely.Geometry | None:
        """What is cut near the seat: walls that are not its own and not beside them, and reliefs there."""
        count = len(self.loops[seat.loop].segments)
        own = seat.own(count)
        touched = {(seat.loop, wall) for wall in walls_near(count, own)}
        # No relief reaches farther behind its walls than 2 r.
        reach = 2 * seat.radius + least_web(seat.radius)
        spot = shapely.GeometryCollection([self.lines[seat.loop, wall] for wall in sorted(own)])
        found = self.tree.query(spot, predicate="dwithin", distance=reach)
        near = [self.lines[self.keys[k]] for k in sorted(found) if self.keys[k] not in touched]
        near += [
            one.area
            for one in opened
            if (one.loop != seat.loop or not own & set(one.walls)) and one.area.distance(spot) < reach
        ]
        return shapely.GeometryCollection(near) if near else None
