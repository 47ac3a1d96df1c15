"""Lengths, extents and places of paths, arcs exact, in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable

from camkit.geometry.path import Arc, Path, Point, Segment, arc_sweep

__all__ = ["Bounds", "bounds", "bounds_of_all", "length", "point_along", "segment_length"]

Bounds = tuple[float, float, float, float]


def segment_length(segment: Segment) -> float:
    """Length of a line or an arc."""
    if isinstance(segment, Arc):
        return segment.radius * arc_sweep(segment)
    return math.dist(segment.start, segment.end)


def length(path: Path) -> float:
    """Length of the whole path."""
    return sum(segment_length(segment) for segment in path.segments)


def point_along(segment: Segment, share: float) -> Point:
    """The point after `share` (0 to 1) of the segment's length."""
    (ax, ay), (bx, by) = segment.start, segment.end
    if not isinstance(segment, Arc):
        return (ax + (bx - ax) * share, ay + (by - ay) * share)
    cx, cy = segment.centre
    sweep = arc_sweep(segment) * (-share if segment.clockwise else share)
    cos, sin = math.cos(sweep), math.sin(sweep)
    dx, dy = ax - cx, ay - cy
    return (cx + dx * cos - dy * sin, cy + dx * sin + dy * cos)


def _extremes(segment: Segment) -> list[Point]:
    points = [segment.start, segment.end]
    if isinstance(segment, Arc):
        (cx, cy), r = segment.centre, segment.radius
        first = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
        sweep = arc_sweep(segment)
        for quarter, place in enumerate(((cx + r, cy), (cx, cy + r), (cx - r, cy), (cx, cy - r))):
            angle = quarter * math.pi / 2
            passed = (first - angle if segment.clockwise else angle - first) % (2 * math.pi)
            if passed < sweep:
                points.append(place)
    return points


def bounds_of_all(paths: Iterable[Path]) -> Bounds:
    """Extent (x0, y0, x1, y1) of several paths; raises ValueError when there is none."""
    points = [point for path in paths for segment in path.segments for point in _extremes(segment)]
    if not points:
        raise ValueError("no path, no extent")
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))


def bounds(path: Path) -> Bounds:
    """Extent (x0, y0, x1, y1) of the path, the bows of arcs included."""
    return bounds_of_all((path,))
