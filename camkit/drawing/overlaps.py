"""Straight lines that lie on top of each other, cut down until each stretch is drawn once."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camkit.drawing.ends import ROUNDING
from camkit.drawing.faces import Edge
from camkit.geometry.path import Line, Path, Point

__all__ = ["without_overlaps"]

# Lines that part by less than this over the shorter one's length are on top of each other.
_ASIDE = 10 * ROUNDING


def without_overlaps(edges: Sequence[Edge]) -> list[Edge | None]:
    """The edges, overlapping stretches taken from the longer one; None for a line that is all covered.

    Only lines that begin at one point are compared: that is how solids leave them when they are projected.
    """
    left: list[Edge | None] = list(edges)
    leaving: dict[int, set[int]] = {}
    ends: dict[int, int] = {}
    for number, edge in enumerate(edges):
        for node in (edge.first, edge.last):
            ends[node] = ends.get(node, 0) + 1
        if len(edge.path.segments) == 1 and isinstance(edge.path.segments[0], Line):
            leaving.setdefault(edge.first, set()).add(number)
            leaving.setdefault(edge.last, set()).add(number)
    waiting = [node for node in leaving if ends[node] > 2]
    while waiting:
        node = waiting.pop()
        pair = _overlapping(left, leaving[node], node)
        if pair is None:
            continue
        short, long = pair
        (_, middle, at), (_, far, end) = _from(left[short], node), _from(left[long], node)
        leaving[node].discard(long)
        leaving[far].discard(long)
        if middle == far:
            left[long] = None
        else:
            left[long] = Edge(middle, far, Path((Line(at, end),)))
            leaving[middle].add(long)
            leaving[far].add(long)
            waiting.append(middle)
        waiting.append(node)
    return left


def _from(edge: Edge | None, node: int) -> tuple[Point, int, Point]:
    """Where an edge leaves a point, and the number and place of its other end."""
    assert edge is not None
    if edge.first == node:
        return edge.path.start, edge.last, edge.path.end
    return edge.path.end, edge.first, edge.path.start


def _overlapping(edges: Sequence[Edge | None], numbers: set[int], node: int) -> tuple[int, int] | None:
    """The shorter and the longer of two lines that leave a point in one direction."""
    rays = []
    for number in sorted(numbers):
        start, far, end = _from(edges[number], node)
        if far != node:
            rays.append((math.dist(start, end), number, end[0] - start[0], end[1] - start[1]))
    rays.sort()
    for i, (length, short, x, y) in enumerate(rays):
        for longer, long, u, v in rays[i + 1 :]:
            if x * u + y * v > 0 and abs(x * v - y * u) <= _ASIDE * longer and length > _ASIDE:
                return short, long
    return None
