"""Walls: the straight stretches of a loop, however many pieces they were drawn in."""

from __future__ import annotations

import math

from camkit.geometry.corner import turn_between
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path, Segment, oriented
from camkit.geometry.tolerance import SAME_POINT

__all__ = ["walls_of"]

# A vertex this close to the line through its neighbours does not bend a wall.
_STRAIGHT = 1e-4


def walls_of(loop: Path, *, hollow: bool) -> Path:
    """The loop with its material on the left and walls that were drawn in several pieces made one.

    `hollow` loops (openings, pockets) run clockwise, outlines counter-clockwise.
    """
    segments = [s for s in oriented(loop, clockwise=hollow).segments if segment_length(s) > SAME_POINT]
    joined: list[Segment] = []
    for segment in segments:
        if joined and _in_line(joined[-1], segment):
            joined[-1] = Line(joined[-1].start, segment.end)
        else:
            joined.append(segment)
    if len(joined) > 2 and _in_line(joined[-1], joined[0]):
        joined[0] = Line(joined.pop().start, joined[0].end)
    return Path(tuple(joined))


def _in_line(before: Segment, after: Segment) -> bool:
    if not (isinstance(before, Line) and isinstance(after, Line)) or abs(turn_between(before, after)) > 1:
        return False
    (ax, ay), (bx, by), (px, py) = before.start, after.end, before.end
    return abs((bx - ax) * (py - ay) - (by - ay) * (px - ax)) <= _STRAIGHT * math.dist((ax, ay), (bx, by))
