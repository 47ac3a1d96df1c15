"""Lines and arcs that lie on top of each other, cut down until each stretch is drawn once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.drawing.curves import arc_through
from camkit.drawing.ends import ROUNDING
from camkit.drawing.faces import Edge
from camkit.drawing.sketch import Crowded
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc, Line, Path, Segment, reversed_path

__all__ = ["without_overlaps"]

# Lines that part by less than this over the shorter one's length are on top of each other.
_ASIDE = 10 * ROUNDING
# They are compared in pairs; where outlines meet there are a handful.
_MOST_AT_A_POINT = 1000


@dataclass(frozen=True, slots=True)
class _Ray:
    """An edge of one segment as it leaves a point towards the point `far`."""

    length: float
    number: int
    far: int
    segment: Segment


def without_overlaps(edges: Sequence[Edge | None]) -> list[Edge | None]:
    """The edges, overlapping stretches taken from the longer one; None for a line that is all covered.

    Only lines and arcs that begin at one point are compared: that is how solids leave them when they are
    projected, and how a whole line lies under its two halves.
    """
    left: list[Edge | None] = list(edges)
    leaving: dict[int, set[int]] = {}
    ends: dict[int, int] = {}
    for number, edge in enumerate(edges):
        if edge is None:
            continue
        for node in (edge.first, edge.last):
            ends[node] = ends.get(node, 0) + 1
        if len(edge.path.segments) == 1:
            leaving.setdefault(edge.first, set()).add(number)
            leaving.setdefault(edge.last, set()).add(number)
    if max(ends.values(), default=0) > _MOST_AT_A_POINT:
        raise Crowded(f"more than {_MOST_AT_A_POINT} lines begin or end at one point")
    waiting = [node for node in leaving if ends[node] > 2]
    while waiting:
        node = waiting.pop()
        pair = _overlapping(left, leaving[node], node)
        if pair is None:
            continue
        short, long = pair
        leaving[node].discard(long.number)
        leaving[long.far].discard(long.number)
        rest = () if short.far == long.far else _rest(long.segment, short.segment)
        if len(rest) == 1:
            left[long.number] = Edge(short.far, long.far, Path(rest))
            leaving[short.far].add(long.number)
            leaving[long.far].add(long.number)
            waiting.append(short.far)
        else:
            left[long.number] = None
        waiting.append(node)
    return left


def _rest(long: Segment, short: Segment) -> tuple[Segment, ...]:
    """What the longer of two segments with one start has beyond the end of the shorter."""
    if isinstance(long, Arc):
        return arc_through(short.end, long.end, long.centre, long.clockwise)
    return (Line(short.end, long.end),)


def _ray(edge: Edge | None, number: int, node: int) -> _Ray:
    assert edge is not None
    segment, far = edge.path.segments[0], edge.last
    if edge.first != node:
        segment, far = reversed_path(edge.path).segments[0], edge.first
    return _Ray(segment_length(segment), number, far, segment)


def _overlapping(edges: Sequence[Edge | None], numbers: set[int], node: int) -> tuple[_Ray, _Ray] | None:
    """The shorter and the longer of two edges that leave a point along one line or circle."""
    rays = [_ray(edges[number], number, node) for number in numbers]
    rays = sorted((ray for ray in rays if ray.far != node), key=lambda ray: (ray.length, ray.number))
    for i, short in enumerate(rays):
        if short.length <= _ASIDE:
            continue
        for long in rays[i + 1 :]:
            if _together(short.segment, long.segment, long.length):
                return short, long
    return None


def _together(short: Segment, long: Segment, length: float) -> bool:
    if isinstance(short, Arc) or isinstance(long, Arc):
        return (
            isinstance(short, Arc)
            and isinstance(long, Arc)
            and short.clockwise == long.clockwise
            and math.dist(short.centre, long.centre) <= _ASIDE
        )
    x, y = short.end[0] - short.start[0], short.end[1] - short.start[1]
    u, v = long.end[0] - long.start[0], long.end[1] - long.start[1]
    return x * u + y * v > 0 and abs(x * v - y * u) <= _ASIDE * length
