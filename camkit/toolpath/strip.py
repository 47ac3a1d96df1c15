"""Wood that rings leave between them: the straight run that takes a piece of it, and spurs from a ring."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.geometry.path import Line, Path, Point
from camkit.toolpath.track import at_a_joint, nearest_distance, place_at, starting_at

__all__ = ["ACROSS", "reach_out", "straight_run", "with_spur"]

# A run that would have to lie this exactly is none: share of the reach across a piece.
ACROSS = 0.98


def straight_run(wood: shapely.Polygon, reach: float) -> tuple[Point, Point] | None:
    """The shortest straight run of a disc of radius `reach` that takes the piece; None when it is too wide.

    Both ends are the same where standing still does. What a run sweeps is convex: it takes a piece when it
    takes the corners of its hull, and a corner at (u, v) from the run's axis asks that it come within
    sqrt(reach^2 - v^2) of u.
    """
    corners = shapely.get_coordinates(wood.convex_hull)
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(wood))
    if len(box) < 4:
        ends = box if len(box) > 1 else np.repeat(box, 2, axis=0)
        along = ends[-1] - ends[0]
    else:
        sides = np.diff(box[:3], axis=0)
        along = sides[np.argmax((sides**2).sum(axis=1))]
    long = math.hypot(*along)
    along = along / long if long > 1e-9 else np.array((1.0, 0.0))
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    u, v = (corners - middle) @ along, (corners - middle) @ np.array((-along[1], along[0]))
    off = (v.max() + v.min()) / 2
    v -= off
    if np.abs(v).max() > ACROSS * reach:
        return None
    room = np.sqrt(reach * reach - v * v)
    first, last = float((u + room).min()), float((u - room).max())
    if first >= last:
        first = last = (first + last) / 2
    origin = middle + off * np.array((-along[1], along[0]))
    a, b = origin + first * along, origin + last * along
    return (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))


def _run_from(start: Point, towards: Point, corners: NDArray[np.float64], reach: float) -> float:
    """How far a disc runs from `start` towards a point until it has all corners; inf if it never does."""
    away = math.dist(start, towards)
    if away < 1e-9:
        return math.inf
    along = ((towards[0] - start[0]) / away, (towards[1] - start[1]) / away)
    rel = corners - start
    u, v = rel @ along, rel @ (-along[1], along[0])
    if np.abs(v).max() >= reach:
        return math.inf
    room = np.sqrt(reach * reach - v * v)
    return math.inf if (u + room).min() < 0 else max(0.0, float((u - room).max()))


def reach_out(
    ring: Path, wood: shapely.Polygon, run: tuple[Point, Point], reach: float
) -> tuple[float, tuple[Point, ...]]:
    """The shortest spur from the ring that takes the piece: how far along the ring it begins, and its points.

    `run` is what `straight_run` gives for the piece; a spur that goes to it and along it always serves.
    """
    corners = shapely.get_coordinates(wood.convex_hull)
    middle = (float(corners[:, 0].mean()), float(corners[:, 1].mean()))
    best: tuple[float, float, tuple[Point, ...]] | None = None
    for goal in (middle, *run):
        begin = at_a_joint(ring, nearest_distance(ring, goal))
        start = place_at(ring, begin)
        for towards in (middle, *run):
            far = _run_from(start, towards, corners, reach)
            if math.isfinite(far) and (best is None or far < best[0] - 1e-9):
                away = math.dist(start, towards)
                share = far / away
                end = (start[0] + (towards[0] - start[0]) * share, start[1] + (towards[1] - start[1]) * share)
                best = (far, begin, (end,))
    for near, far_end in (run, run[::-1]):
        begin = at_a_joint(ring, nearest_distance(ring, near))
        way = math.dist(place_at(ring, begin), near) + math.dist(near, far_end)
        if best is None or way < best[0] - 1e-9:
            best = (way, begin, (near, far_end))
    assert best is not None  # the loop above always finds one
    return best[1], best[2]


def with_spur(ring: Path, begin: float, points: Sequence[Point]) -> Path:
    """The ring begun `begin` mm along it, with a way out to each of the points and back put in at its end."""
    path = starting_at(ring, begin)
    stops = [path.start]
    for point in points:
        if math.dist(point, stops[-1]) > 1e-6:
            stops.append(point)
    there = [Line(a, b) for a, b in itertools.pairwise(stops)]
    back = [Line(run.end, run.start) for run in reversed(there)]
    return Path((*path.segments, *there, *back))
