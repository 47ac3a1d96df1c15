"""Reliefs that a cutter can really reach in an inside corner of any angle: dogbones and T-bones.

Material lies on the left of a path. Lengths in mm, angles (interior, of the cut-out) in radians.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from camkit.geometry.corner import arriving, corner_angle, dogbone, leaving
from camkit.geometry.path import Arc, Line, Path, Point, Segment
from camkit.geometry.tolerance import SAME_POINT

__all__ = ["CornerRelief", "Past", "opening_of", "relieve_corners", "tbone_opening", "tbone_overcut"]

Past = Literal["both", "before", "after"]
# Two walls count as square up to here: at less than 90 degrees a relief is prolonged to let the cutter in.
_SQUARE = math.pi / 2 - 1e-6


@dataclass(frozen=True, slots=True)
class CornerRelief:
    """A relief of `radius` that passes both walls (dogbone), or only the one before or after (T-bone)."""

    radius: float
    past: Past = "both"


def tbone_overcut(angle: float, radius: float) -> float:
    """How far a T-bone reaches behind the wall it passes: r (1 + cos a), at 90 degrees r.

    Its centre stands r off the other wall, square above the corner, which leaves that wall whole.
    """
    return radius * (1 + math.cos(angle))


def tbone_opening(angle: float, radius: float) -> float:
    """How much of the wall it passes a T-bone takes: 2 r sin a from 90 degrees, 2 r / sin a below.

    Below 90 degrees the circle alone has a mouth narrower than the cutter: it is prolonged along the wall
    that stays whole.
    """
    return 2 * radius * math.sin(angle) if angle >= _SQUARE else 2 * radius / math.sin(angle)


def opening_of(relief: CornerRelief, angle: float) -> tuple[float, float]:
    """How much of the walls before and after the corner the relief takes.

    A dogbone takes 2 r cos(a/2) of either from 90 degrees, and r / sin(a/2) below, where it is prolonged.
    """
    if relief.past == "both":
        half = angle / 2
        taken = relief.radius * (2 * math.cos(half) if angle >= _SQUARE else 1 / math.sin(half))
        return taken, taken
    taken = tbone_opening(angle, relief.radius)
    return (taken, 0.0) if relief.past == "before" else (0.0, taken)


def relieve_corners(path: Path, reliefs: Mapping[int, CornerRelief]) -> Path:
    """The closed path with reliefs, given by the index of the segment that ends in the corner.

    Raises ValueError where a neighbour is no straight wall, where the path does not turn right, or where a
    wall is no longer than what its reliefs take of it.
    """
    segments: list[Segment] = list(path.segments)
    cut: dict[int, tuple[Segment, ...]] = {}
    for index, relief in sorted(reliefs.items()):
        following = (index + 1) % len(segments)
        before, after = segments[index], segments[following]
        if not (isinstance(before, Line) and isinstance(after, Line)):
            raise ValueError(f"a relief needs two straight walls at {before.end}")
        segments[index], cut[index], segments[following] = _relieved(before, after, relief)
    return Path(
        tuple(piece for index, segment in enumerate(segments) for piece in (segment, *cut.get(index, ())))
    )


def _relieved(before: Line, after: Line, relief: CornerRelief) -> tuple[Line, tuple[Segment, ...], Line]:
    if relief.past == "before":  # walked the other way in a mirror, wood is on the left again
        first, pieces, second = _relieved(
            _mirrored_line(after), _mirrored_line(before), CornerRelief(relief.radius, "after")
        )
        back = tuple(_mirrored(piece) for piece in reversed(pieces))
        return _mirrored_line(second), back, _mirrored_line(first)
    angle = corner_angle(before, after)
    if not 0 < angle < math.pi - 1e-9:
        raise ValueError(f"no inside corner at {before.end}: the path does not turn right there")
    taken = opening_of(relief, angle)
    for wall, needed in zip((before, after), taken, strict=True):
        if math.dist(wall.start, wall.end) <= needed + SAME_POINT:
            raise ValueError(
                f"a wall at {before.end} is too short for a relief that takes {needed:.3f} of it"
            )
    if relief.past == "after":
        return _tbone(before, after, relief.radius, taken[1])
    if angle >= _SQUARE:
        first, arc, second = dogbone(before, after, relief.radius)
        return first, (arc,), second
    return _keyhole(before, after, relief.radius, taken[0])


def _along(start: Point, direction: Point, distance: float) -> Point:
    return (start[0] + distance * direction[0], start[1] + distance * direction[1])


def _tbone(before: Line, after: Line, radius: float, taken: float) -> tuple[Line, tuple[Segment, ...], Line]:
    """The T-bone past `after`: it leaves `before` tangentially at the corner."""
    corner, (ux, uy) = before.end, arriving(before)
    right, mouth = (uy, -ux), _along(before.end, leaving(after), taken)
    centre = _along(corner, right, radius)
    if corner_angle(before, after) >= _SQUARE:
        pieces: tuple[Segment, ...] = (Arc(corner, mouth, centre, clockwise=True),)
    else:
        across = _along(corner, right, 2 * radius)
        pieces = (Arc(corner, across, centre, clockwise=True), Line(across, mouth))
    return before, pieces, Line(mouth, after.end)


def _keyhole(
    before: Line, after: Line, radius: float, taken: float
) -> tuple[Line, tuple[Segment, ...], Line]:
    """The dogbone of a sharp corner: a half circle about its centre, prolonged along the bisector."""
    corner, (ux, uy), (vx, vy) = before.end, arriving(before), leaving(after)
    across = math.hypot(vx - ux, vy - uy)
    inward = ((vx - ux) / across, (vy - uy) / across)
    aside = (-inward[1], inward[0])
    if aside[0] * ux + aside[1] * uy > 0:  # toward the wall before
        aside = (-aside[0], -aside[1])
    centre = _along(corner, inward, radius)
    one, two = _along(centre, aside, radius), _along(centre, aside, -radius)
    first, last = _along(corner, (ux, uy), -taken), _along(corner, (vx, vy), taken)
    pieces = (Line(first, one), Arc(one, two, centre, clockwise=True), Line(two, last))
    return Line(before.start, first), pieces, Line(last, after.end)


def _mirrored_line(line: Line) -> Line:
    """The line in a mirror, walked the other way."""
    return Line((-line.end[0], line.end[1]), (-line.start[0], line.start[1]))


def _mirrored(segment: Segment) -> Segment:
    if isinstance(segment, Line):
        return _mirrored_line(segment)
    (ax, ay), (bx, by) = segment.end, segment.start
    return Arc((-ax, ay), (-bx, by), (-segment.centre[0], segment.centre[1]), segment.clockwise)
