"""Which loops are circles: drawn as one, as arcs, as a spline or as many short lines."""

from __future__ import annotations

import math

import numpy as np

from camkit.geometry.flatten import flattened
from camkit.geometry.path import Arc, Path, Point, arc_sweep

__all__ = ["LARGEST_HOLE", "as_circle", "two_halves"]

# Up to this diameter a circle inside a part is a hole unless its layer says otherwise.
LARGEST_HOLE = 50.0
# How far a loop may stray from a circle that is taken for it: as much as the judge lets pass.
_OUT_OF_ROUND = 0.02


def two_halves(path: Path) -> tuple[Point, float] | None:
    """Centre and diameter of a circle that is stored as two arcs; None for any other path."""
    if len(path.segments) != 2:
        return None
    first, last = path.segments
    if not (isinstance(first, Arc) and isinstance(last, Arc)):
        return None
    (x, y), end = first.centre, last.end
    if last.centre != first.centre or last.clockwise != first.clockwise or end != first.start:
        return None
    radius = math.hypot(end[0] - x, end[1] - y)
    off = math.hypot(first.end[0] - x, first.end[1] - y) - radius
    return (first.centre, 2 * radius) if abs(off) <= 1e-9 else None


def as_circle(path: Path) -> tuple[Point, float] | None:
    """Centre and diameter of a closed path that is a circle to within 0.02 mm; None when it is not.

    The circle goes through the corners of a polygon; its sides may lie inside by 0.02 mm too, so that a
    hexagon stays one.
    """
    halves = two_halves(path)
    if halves is not None:
        return halves
    first = path.segments[0]
    if isinstance(first, Arc) and all(isinstance(s, Arc) and s.centre == first.centre for s in path.segments):
        spread = [math.dist(s.end, first.centre) - first.radius for s in path.segments]
        turned = sum(
            -arc_sweep(s) if s.clockwise else arc_sweep(s) for s in path.segments if isinstance(s, Arc)
        )
        if max(spread) - min(spread) <= 1e-9 and abs(abs(turned) - 2 * math.pi) < 1e-6:
            return first.centre, 2 * first.radius
    points = flattened(path)
    if len(points) < 8 or abs(np.ptp(points[:, 0]) - np.ptp(points[:, 1])) > 4 * _OUT_OF_ROUND:
        return None
    middle = points.mean(axis=0)
    near = points - middle
    # Least squares for x^2 + y^2 = 2 a x + 2 b y + c (Kasa's fit), exact for points on a circle.
    system = np.column_stack((2 * near, np.ones(len(near))))
    (a, b, c), _, rank, _ = np.linalg.lstsq(system, (near**2).sum(axis=1), rcond=None)
    square = c + a * a + b * b
    if rank < 3 or square <= 0:
        return None
    radius = math.sqrt(square)
    corners = np.hypot(near[:, 0] - a, near[:, 1] - b)
    sides = (near + np.roll(near, -1, axis=0)) / 2
    inside = np.hypot(sides[:, 0] - a, sides[:, 1] - b)
    if max(np.abs(corners - radius).max(), np.abs(inside - radius).max()) > _OUT_OF_ROUND:
        return None
    turns = np.unwrap(np.arctan2(near[:, 1] - b, near[:, 0] - a))
    if abs(abs(turns[-1] - turns[0]) - 2 * math.pi) > 1.0:
        return None  # walked twice, or not around
    return (float(middle[0] + a), float(middle[1] + b)), 2 * radius
