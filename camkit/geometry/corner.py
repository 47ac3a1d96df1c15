"""Corners between walls: what a round cutter leaves in them, relieving them, and moving a wall.

Throughout, material lies on the left of a path (as in `Region`), so that a path turns right at an inside
corner of a cut-out. Lengths in mm, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from camkit.geometry.path import Arc, Line, Path, Point, Segment, arc_sweep
from camkit.geometry.tolerance import SAME_POINT

__all__ = [
    "arriving",
    "corner_angle",
    "dogbone",
    "dogbone_opening",
    "dogbone_overcut",
    "leaving",
    "move_walls",
    "turn_between",
    "uncut_gap",
]

# Walls that meet nearly in line throw their corner far along when one of them moves: at 2 degrees a move of
# 0.4 shifts the corner by 11.5. Beyond this many times the move the outline is no longer the one drawn.
_FARTHEST = 5.0
_PARALLEL = 1e-9


def leaving(segment: Segment) -> Point:
    """Unit direction in which the segment leaves its start."""
    return _direction(segment, segment.start)


def arriving(segment: Segment) -> Point:
    """Unit direction in which the segment arrives at its end."""
    return _direction(segment, segment.end)


def _direction(segment: Segment, at: Point) -> Point:
    if isinstance(segment, Line):
        dx, dy = segment.end[0] - segment.start[0], segment.end[1] - segment.start[1]
    else:
        dx, dy = segment.centre[1] - at[1], at[0] - segment.centre[0]
        if segment.clockwise:
            dx, dy = -dx, -dy
    size = math.hypot(dx, dy)
    if size <= SAME_POINT:
        raise ValueError(f"a segment without length has no direction at {at}")
    return (dx / size, dy / size)


def turn_between(before: Segment, after: Segment) -> float:
    """Angle by which the path turns where `before` ends, in -pi to pi; left is positive."""
    (ax, ay), (bx, by) = arriving(before), leaving(after)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def corner_angle(before: Segment, after: Segment) -> float:
    """Interior angle of the cut-out on the right of the path at the corner: pi when it runs straight on."""
    return math.pi + turn_between(before, after)


def uncut_gap(angle: float, radius: float) -> float:
    """How far a round cutter stays from an inside corner of interior `angle`: r (1/sin(a/2) - 1)."""
    return radius * (1 / math.sin(angle / 2) - 1)


def dogbone_opening(angle: float, radius: float) -> float:
    """How much of each wall a dogbone takes, measured from the corner: 2 r cos(a/2)."""
    return 2 * radius * math.cos(angle / 2)


def dogbone_overcut(angle: float, radius: float) -> float:
    """How far a dogbone reaches behind each wall: r (1 - sin(a/2))."""
    return radius * (1 - math.sin(angle / 2))


def dogbone(before: Line, after: Line, radius: float) -> tuple[Line, Arc, Line]:
    """The two walls of an inside corner, shortened, and the relief arc between them.

    The rim of the relief passes through the corner; its centre lies on the bisector, `radius` from the corner
    in the cut-out. Raises ValueError where the path does not turn right, the walls do not meet, or a wall is
    no longer than the opening 2 r cos(a/2).
    """
    corner = before.end
    if math.dist(corner, after.start) > SAME_POINT:
        raise ValueError(f"the walls do not meet: {corner} and {after.start}")
    angle = corner_angle(before, after)
    if not _PARALLEL < angle < math.pi - _PARALLEL:
        raise ValueError(f"no inside corner at {corner}: the path does not turn right there")
    opening = dogbone_opening(angle, radius)
    for wall in (before, after):
        if math.dist(wall.start, wall.end) <= opening + SAME_POINT:
            raise ValueError(f"a wall at {corner} is too short for a relief that takes {opening:.3f} of it")
    (ux, uy), (vx, vy) = arriving(before), leaving(after)
    across = math.hypot(vx - ux, vy - uy)
    centre = (corner[0] + radius * (vx - ux) / across, corner[1] + radius * (vy - uy) / across)
    first = (corner[0] - opening * ux, corner[1] - opening * uy)
    last = (corner[0] + opening * vx, corner[1] + opening * vy)
    return Line(before.start, first), Arc(first, last, centre, clockwise=True), Line(last, after.end)


def move_walls(path: Path, shifts: Mapping[int, float]) -> Path:
    """The closed path with straight walls moved parallel to themselves, their neighbours following.

    `shifts` gives, by index of a segment, how far it moves to its left (into the material). New corners are
    solved relative to the old ones; a corner between two unmoved segments stays exactly where it was.
    Raises ValueError when a moved segment is an arc, a neighbour is parallel to it or not met any more, a
    corner would run away along a neighbour nearly in line, or a segment would vanish or turn round.
    """
    segments = path.segments
    corners = [
        _moved_corner(
            before, shifts.get(index - 1 if index else len(segments) - 1, 0.0), after, shifts.get(index, 0.0)
        )
        for index, (before, after) in enumerate(zip((segments[-1], *segments[:-1]), segments, strict=True))
    ]
    return Path(
        tuple(
            segment if (start, end) == (segment.start, segment.end) else _with_ends(segment, start, end)
            for segment, start, end in zip(segments, corners, corners[1:] + corners[:1], strict=True)
        )
    )


def _moved_corner(before: Segment, shift_before: float, after: Segment, shift_after: float) -> Point:
    corner = after.start
    if shift_before == 0 and shift_after == 0:
        return corner
    if isinstance(before, Line) and isinstance(after, Line):
        (ux, uy), (vx, vy) = arriving(before), leaving(after)
        cross = ux * vy - uy * vx
        if abs(cross) <= _PARALLEL:
            raise ValueError(f"the walls at {corner} are in line: one cannot move without the other")
        # d with normal(u) . d = shift_before and normal(v) . d = shift_after, normals to the left
        dx = (shift_before * vx - shift_after * ux) / cross
        dy = (shift_before * vy - shift_after * uy) / cross
    elif isinstance(after, Line) and shift_before == 0:
        dx, dy = _slide_on_arc(before, leaving(after), shift_after, corner)
    elif isinstance(before, Line) and shift_after == 0:
        dx, dy = _slide_on_arc(after, arriving(before), shift_before, corner)
    else:
        raise ValueError(f"a curved wall at {corner} cannot move parallel to itself")
    if math.hypot(dx, dy) > _FARTHEST * max(abs(shift_before), abs(shift_after)):
        raise ValueError(f"the corner at {corner} would run away along a wall nearly in line")
    return (corner[0] + dx, corner[1] + dy)


def _slide_on_arc(arc: Segment, direction: Point, shift: float, corner: Point) -> Point:
    """Displacement of a corner that stays on the circle of `arc` while the wall along `direction` moves."""
    if not isinstance(arc, Arc):
        raise ValueError(f"no arc at {corner}")
    px, py = (
        corner[0] - arc.centre[0] - shift * direction[1],
        corner[1] - arc.centre[1] + shift * direction[0],
    )
    half = px * direction[0] + py * direction[1]
    inside = half**2 - (px**2 + py**2 - math.dist(corner, arc.centre) ** 2)
    if inside < 0:
        raise ValueError(f"the moved wall at {corner} no longer meets the arc beside it")
    along = min(-half + math.sqrt(inside), -half - math.sqrt(inside), key=abs)
    return (-shift * direction[1] + along * direction[0], shift * direction[0] + along * direction[1])


def _with_ends(segment: Segment, start: Point, end: Point) -> Segment:
    if isinstance(segment, Arc):
        moved = Arc(start, end, segment.centre, segment.clockwise)
        if abs(arc_sweep(moved) - arc_sweep(segment)) > math.pi / 2:
            raise ValueError(f"the arc from {segment.start} would vanish")
        return moved
    ux, uy = arriving(segment)
    if (end[0] - start[0]) * ux + (end[1] - start[1]) * uy <= SAME_POINT:
        raise ValueError(f"the wall from {segment.start} would vanish")
    return Line(start, end)
