"""A region as flattened edges that know what they belong to, and its flattened offset. Lengths in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyclipper
import shapely
from numpy.typing import NDArray

from camkit.geometry.flatten import arc_points
from camkit.geometry.path import Arc, Line, Point, Region, Segment, arc_sweep
from camkit.geometry.tolerance import FLATTEN

__all__ = ["Points", "Source", "clipped", "direction", "flat_source", "nearest_edges"]

# Clipper counts in whole numbers: 10 nm steps stay in its fast range up to sheets of 10 m.
_SCALE = 1e5
_LARGEST = 10_000.0
# Places near an offset lie this near to its distance, mm.
_ABOUT = 0.02

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Source:
    """Flattened edges of a region and what each edge and each vertex belongs to.

    `round` has of the arc of each edge the centre, the radius (0 for lines), the angle of its start and its
    sweep in radians, counter-clockwise positive.
    """

    starts: Points
    ends: Points
    element: NDArray[np.int64]
    vertex_of_start: NDArray[np.int64]
    vertex_of_end: NDArray[np.int64]
    segments: tuple[Segment, ...]
    corners: tuple[Point, ...]
    sharp: NDArray[np.bool_]
    round: Points


def _round(segment: Segment) -> tuple[float, float, float, float, float]:
    """Centre, radius, angle of the start and signed sweep of an arc; zeros of a line."""
    if isinstance(segment, Line):
        return (0.0, 0.0, 0.0, 0.0, 0.0)
    (x, y), (cx, cy), sweep = segment.start, segment.centre, arc_sweep(segment)
    return (cx, cy, segment.radius, math.atan2(y - cy, x - cx), -sweep if segment.clockwise else sweep)


def _turns(before: Segment, after: Segment) -> bool:
    """Whether the direction changes where two segments meet."""
    (ax, ay), (bx, by) = direction(before, at_end=True), direction(after, at_end=False)
    return abs(ax * by - ay * bx) > 1e-6 or ax * bx + ay * by < 0


def direction(segment: Segment, *, at_end: bool) -> Point:
    """The unit direction of a segment where it ends, or where it starts."""
    if isinstance(segment, Line):
        length = math.dist(segment.start, segment.end)
        return (
            (segment.end[0] - segment.start[0]) / length,
            (segment.end[1] - segment.start[1]) / length,
        )
    x, y = segment.end if at_end else segment.start
    rx, ry = (x - segment.centre[0]) / segment.radius, (y - segment.centre[1]) / segment.radius
    return (ry, -rx) if segment.clockwise else (-ry, rx)


def flat_source(region: Region) -> tuple[Source, list[Points]]:
    """The flattened edges of a region, and its rings (n, 2) of their first points, the outer one first.

    Raises ValueError when a coordinate is beyond 10 m.
    """
    starts, ends, element, first_vertex, last_vertex = [], [], [], [], []
    segments: list[Segment] = []
    corners: list[Point] = []
    sharp: list[bool] = []
    rings = []
    for loop in (region.exterior, *region.interiors):
        base, count = len(corners), len(loop.segments)
        flat = []
        for i, segment in enumerate(loop.segments):
            points = (
                arc_points(segment, FLATTEN)
                if isinstance(segment, Arc)
                else np.array((segment.start, segment.end))
            )
            edges = len(points) - 1
            starts.append(points[:-1])
            ends.append(points[1:])
            element.append(np.full(edges, len(segments)))
            # -1: a vertex inside an arc belongs to the arc, not to a corner.
            first_vertex.append(np.array([base + i] + [-1] * (edges - 1)))
            last_vertex.append(np.array([-1] * (edges - 1) + [base + (i + 1) % count]))
            flat.append(points[:-1])
            segments.append(segment)
            corners.append(segment.start)
            sharp.append(_turns(loop.segments[i - 1], segment))
        rings.append(np.concatenate(flat))
    elements = np.concatenate(element)
    source = Source(
        np.concatenate(starts),
        np.concatenate(ends),
        elements,
        np.concatenate(first_vertex),
        np.concatenate(last_vertex),
        tuple(segments),
        tuple(corners),
        np.array(sharp),
        np.array([_round(segment) for segment in segments])[elements],
    )
    if np.abs(source.starts).max() > _LARGEST:
        raise ValueError(f"coordinates beyond {_LARGEST:g} mm cannot be offset")
    return source, rings


def clipped(rings: list[Points], distance: float) -> list[tuple[Points, tuple[Points, ...]]]:
    """The flattened offset: outer rings (counter-clockwise), each with its inner rings (clockwise)."""
    # Clipper overshoots the tolerance that it is asked for up to 2.25 times (measured): ask for 0.4 of it.
    clipper = pyclipper.PyclipperOffset(2.0, 0.4 * FLATTEN * _SCALE)
    whole = [np.round(ring * _SCALE).astype(np.int64).tolist() for ring in rings]
    clipper.AddPaths(whole, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    tree = clipper.Execute2(distance * _SCALE)
    found: list[tuple[Points, tuple[Points, ...]]] = []

    def visit(node: Any) -> None:
        for outer in node.Childs:
            inners = tuple(np.array(hole.Contour) / _SCALE for hole in outer.Childs if len(hole.Contour) > 2)
            if len(outer.Contour) > 2:
                found.append((np.array(outer.Contour) / _SCALE, inners))
            for hole in outer.Childs:
                visit(hole)

    visit(tree)
    return found


def nearest_edges(
    points: Points, source: Source, tree: shapely.STRtree, about: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The edge of the source nearest to each point (n, 2), of equals the first, and how far it is, in mm.

    `tree` holds the edges. Quick for points that lie about `about` mm from the source.
    """
    shapes = shapely.points(points)
    which, edge = tree.query(shapes, "dwithin", about + _ABOUT)
    lost = np.setdiff1d(np.arange(len(points)), which)
    if len(lost):
        found, others = tree.query_nearest(shapes[lost])
        which, edge = np.concatenate((which, lost[found])), np.concatenate((edge, others))
    start, run = source.starts[edge], source.ends[edge] - source.starts[edge]
    aside = points[which] - start
    share = np.einsum("ij,ij->i", aside, run) / np.maximum(np.einsum("ij,ij->i", run, run), 1e-30)
    off = aside - np.clip(share, 0.0, 1.0)[:, None] * run
    away = np.hypot(off[:, 0], off[:, 1])
    order = np.lexsort((edge, away, which))
    first = order[np.searchsorted(which[order], np.arange(len(points)))]
    return edge[first], away[first]
