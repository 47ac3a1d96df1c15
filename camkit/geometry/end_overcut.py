"""Short end walls of an opening, cut over whole where two reliefs would merge. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable

from camkit.geometry.corner import arriving, corner_angle, leaving, move_walls
from camkit.geometry.corner_relief import tbone_overcut
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc, Line, Path, Point, Segment
from camkit.geometry.tolerance import SAME_POINT

__all__ = ["overcut_ends"]


def overcut_ends(path: Path, ends: Iterable[int], radius: float) -> Path:
    """The closed path with the walls `ends` moved out until their rounded corners lie where no mate comes.

    Material lies on the left. A corner of interior angle a rounded by r moves by r (1 + cos a), a square one
    by r; the walls beside an end stay whole. An end too short for two roundings is rounded by what it has
    room for. Raises ValueError where an end or a wall beside it is no straight wall that turns right into it.
    """
    count = len(path.segments)
    radii: dict[int, float] = {}
    shifts: dict[int, float] = {}
    for end in sorted(set(ends)):
        angles = [corner_angle(*_walls(path, corner)) for corner in ((end - 1) % count, end)]
        if not all(0 < angle < math.pi - 1e-9 for angle in angles):
            raise ValueError(f"the wall from {path.segments[end].start} is no end of an opening")
        room = segment_length(path.segments[end]) / sum(1 / math.tan(angle / 2) for angle in angles)
        reach = min(radius, room)
        shifts[end] = max(tbone_overcut(angle, reach) for angle in angles)
        radii |= dict.fromkeys(((end - 1) % count, end), reach)
    moved = list(move_walls(path, shifts).segments)
    rounds: dict[int, Arc] = {}
    for corner, reach in radii.items():
        following = (corner + 1) % count
        moved[corner], rounds[corner], moved[following] = _rounded(moved[corner], moved[following], reach)
    # A wall beside two ends comes back to where it was, but for rounding.
    whole = [_as_before(new, old) for new, old in zip(moved, path.segments, strict=True)]
    joined: list[Segment] = []
    for index, wall in enumerate(whole):
        if segment_length(wall) > SAME_POINT:
            joined.append(wall)
        if index in rounds:
            last = whole[(index + 1) % count].start
            joined.append(Arc(wall.end, last, rounds[index].centre, clockwise=True))
    return Path(tuple(joined))


def _walls(path: Path, corner: int) -> tuple[Line, Line]:
    before, after = path.segments[corner], path.segments[(corner + 1) % len(path.segments)]
    if not (isinstance(before, Line) and isinstance(after, Line)):
        raise ValueError(f"an end needs straight walls at {before.end}")
    return before, after


def _rounded(before: Segment, after: Segment, radius: float) -> tuple[Line, Arc, Line]:
    """Two walls shortened to the arc of `radius` that touches both."""
    (ux, uy), (vx, vy) = arriving(before), leaving(after)
    cut = radius / math.tan(corner_angle(before, after) / 2)
    first = (before.end[0] - cut * ux, before.end[1] - cut * uy)
    last = (after.start[0] + cut * vx, after.start[1] + cut * vy)
    centre = (first[0] + radius * uy, first[1] - radius * ux)
    return Line(before.start, first), Arc(first, last, centre, clockwise=True), Line(last, after.end)


def _as_before(new: Segment, old: Segment) -> Segment:
    return Line(_same(new.start, old.start), _same(new.end, old.end)) if isinstance(old, Line) else new


def _same(new: Point, old: Point) -> Point:
    return old if math.dist(new, old) <= SAME_POINT else new
