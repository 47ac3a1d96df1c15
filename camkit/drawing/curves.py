"""Segments from what drawings store: bulges, angles, ellipses, Bézier curves; and snapping of ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from camkit.geometry.arc import arc_through, is_flat
from camkit.geometry.flatten import chords_for
from camkit.geometry.path import Arc, Line, Path, Point, Segment
from camkit.geometry.tolerance import SAME_POINT

__all__ = [
    "arc_by_angles",
    "arc_through",
    "bezier_points",
    "bulge_segments",
    "ellipse_points",
    "lines_through",
    "snapped",
]


def arc_by_angles(centre: Point, radius: float, first: float, last: float) -> tuple[Segment, ...]:
    """The counter-clockwise arc between two angles in radians."""
    start = (centre[0] + radius * math.cos(first), centre[1] + radius * math.sin(first))
    end = (centre[0] + radius * math.cos(last), centre[1] + radius * math.sin(last))
    return arc_through(start, end, centre, False)


def bulge_segments(start: Point, end: Point, bulge: float) -> tuple[Segment, ...]:
    """The segment of a polyline; `bulge` is the tangent of a quarter of its sweep, positive to the left.

    The centre lies on the chord's bisector at (1 - b^2) / (4 b) chords to the left (DXF reference, LWPOLYLINE
    group 42).
    """
    chord = math.dist(start, end)
    if chord <= SAME_POINT:
        return ()
    size = abs(bulge)
    if not size or is_flat(size * chord / 2, chord * (size + 1 / size) / 4):
        return (Line(start, end),)
    reach = (1 - bulge**2) / (4 * bulge)
    centre = (
        (start[0] + end[0]) / 2 - (end[1] - start[1]) * reach,
        (start[1] + end[1]) / 2 + (end[0] - start[0]) * reach,
    )
    return arc_through(start, end, centre, bulge < 0)


def ellipse_points(
    centre: Point, major: Point, minor: Point, first: float, last: float, tolerance: float
) -> list[Point]:
    """Points centre + major cos(t) + minor sin(t) for t from first to last, chords within `tolerance`.

    `major` and `minor` are any conjugate half axes; `last` may lie below `first` (walked backwards).
    """
    # The chord error of an ellipse at equal steps of t is at most that of its larger semi-axis' circle.
    (ax, ay), (bx, by) = major, minor
    largest = math.sqrt(ax * ax + ay * ay + bx * bx + by * by)
    count = chords_for(largest, abs(last - first), tolerance)
    points = []
    for index in range(count + 1):
        t = first + (last - first) * index / count
        cos, sin = math.cos(t), math.sin(t)
        points.append((centre[0] + ax * cos + bx * sin, centre[1] + ay * cos + by * sin))
    return points


def bezier_points(controls: Sequence[Point], tolerance: float) -> list[Point]:
    """Points on a quadratic or cubic Bézier curve, chords within `tolerance`.

    A chord over a step h of the parameter strays at most h^2 / 8 times the largest second derivative, which
    the second differences of the control points bound.
    """
    degree = len(controls) - 1
    bend = (
        degree
        * (degree - 1)
        * max(
            math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])
            for a, b, c in zip(controls, controls[1:], controls[2:], strict=False)
        )
    )
    count = max(1, math.ceil(math.sqrt(bend / (8 * tolerance)))) if math.isfinite(bend) else 1
    points = [controls[0]]
    for index in range(1, count):
        t = index / count
        level = list(controls)
        while len(level) > 1:
            level = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(level)]
        points.append(level[0])
    points.append(controls[-1])
    return points


def lines_through(points: Sequence[Point]) -> tuple[Line, ...]:
    """Lines from point to point, those without length left out; the last point is met exactly."""
    kept = [points[0]]
    kept.extend(b for b in points[1:-1] if math.dist(kept[-1], b) > SAME_POINT)
    if len(points) > 1:
        while len(kept) > 1 and math.dist(kept[-1], points[-1]) <= SAME_POINT:
            kept.pop()
        if math.dist(kept[-1], points[-1]) > SAME_POINT:
            kept.append(points[-1])
    return tuple(Line(a, b) for a, b in pairwise(kept))


def snapped(path: Path, start: Point, end: Point) -> tuple[Segment, ...]:
    """The path's segments with its two ends moved by a little; arcs keep both radii equal."""
    segments = list(path.segments)
    first = segments[0]
    if first.start != start:
        segments[:1] = _between(first, start, first.end)
    if segments and segments[-1].end != end:
        last = segments[-1]
        segments[-1:] = _between(last, last.start, end)
    return tuple(segments)


def _between(segment: Segment, start: Point, end: Point) -> tuple[Segment, ...]:
    if isinstance(segment, Arc):
        return arc_through(start, end, segment.centre, segment.clockwise)
    return (Line(start, end),) if start != end else ()
