"""Curves as chords: points on a path, and shapely areas of paths and regions."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.path import Arc, Path, Region, arc_sweep
from camkit.geometry.tolerance import FLATTEN

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["arc_points", "as_polygon", "chords_for", "flattened"]


def chords_for(radius: float, sweep: float, tolerance: float) -> int:
    """How many equal chords keep the sagitta of an arc within `tolerance`.

    From e = R (1 - cos(step / 2)); `sweep` in radians, lengths in mm, at least one chord and one for each
    quarter turn, so that even the smallest circle stays an area.
    """
    if radius <= tolerance:
        return max(1, math.ceil(sweep / (math.pi / 2)))
    step = min(math.pi / 2, 2 * math.acos(max(-1.0, 1 - tolerance / radius)))
    return max(1, math.ceil(sweep / step - 1e-9))


def arc_points(arc: Arc, tolerance: float = FLATTEN) -> NDArray[np.float64]:
    """Points on the arc from start to end, both included exactly; shape (n, 2), n >= 2."""
    sweep = arc_sweep(arc)
    count = chords_for(arc.radius, sweep, tolerance)
    first = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    angles = first + np.linspace(0.0, -sweep if arc.clockwise else sweep, count + 1)
    points = np.column_stack((np.cos(angles), np.sin(angles))) * arc.radius + arc.centre
    points[0], points[-1] = arc.start, arc.end
    return points


@lru_cache(maxsize=256)
def flattened(path: Path, tolerance: float = FLATTEN) -> NDArray[np.float64]:
    """Points on the path, chords within `tolerance` of it; shape (n, 2), in mm.

    All points lie on the curve, so that chords run inside a convex bow and outside a hollow one. A closed
    path does not repeat its first point. The array is kept for the next who asks and cannot be written to.
    """
    pieces = [
        arc_points(s, tolerance)[:-1] if isinstance(s, Arc) else np.array([s.start]) for s in path.segments
    ]
    if not path.closed:
        pieces.append(np.array([path.end]))
    points = np.concatenate(pieces).astype(np.float64)
    points.flags.writeable = False
    return points


def as_polygon(area: Region | Path, tolerance: float = FLATTEN) -> Polygon:
    """The area inside a closed path or a region as a shapely polygon of inscribed chords."""
    from shapely import Polygon

    if isinstance(area, Path):
        return Polygon(flattened(area, tolerance))
    return Polygon(
        flattened(area.exterior, tolerance), [flattened(loop, tolerance) for loop in area.interiors]
    )
