"""Arcs found again in closed paths of short lines: in polylines, line soup and flattened curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.arc import arc_through
from camkit.geometry.arc_run import FEWEST, LARGEST_RADIUS, Run, full_circle, runs_in_ring, runs_in_row
from camkit.geometry.many import SegmentTable, tabled
from camkit.geometry.path import (
    Arc,
    Line,
    Path,
    Segment,
    arc_sweep,
    circle,
    oriented,
    reversed_path,
    signed_area,
)
from camkit.geometry.tolerance import ARC_AGAIN

__all__ = ["with_arcs"]

# Three vertices in a row on a circle: the middle one stands off the others' chord by four sagittas. Rounding
# adds to that; what is let pass here is measured against a whole run later.
_HIGHEST = 6 * ARC_AGAIN
# A chord's sagitta by the circle through its ends and a neighbour, with as much for rounding.
_FLATTEST = 2 * ARC_AGAIN
# A turn of more than this between chords is a corner: chords of the smallest arc turn by 36 degrees.
_CORNER = math.tan(math.radians(37))
# Rounding may move a vertex by this much when lines are told from the largest arc.
_ROUNDED = 0.001
# Centres and radii of neighbouring arcs that are one arc.
_SAME = 0.001


def with_arcs(paths: Sequence[Path]) -> tuple[Path, ...]:
    """Closed paths with an arc in place of every run of short lines that was one; others as they are.

    At least three lines in a row become an arc when, all along, the distance of its vertices plus the
    sagitta of its chords stays within 0.005 mm: hexagons, octagons and coarse facets stay what they are. The
    arc ends exactly on vertices; a path all around one circle becomes that circle. The bow of the run must
    be 0.015 mm high at least, its radius 0.1 mm to 5 m. A corner, or a line long enough to leave the arc
    by its sagitta, ends a run. Where the curve runs on smoothly the run must show an unchanging curvature
    beyond: ellipses and free curves stay lines. Neighbouring arcs of one circle become one arc.
    """
    table = tabled(paths)
    if not len(table.start):
        return tuple(paths)
    smooth = _smooth(table)
    after = _after(table.first)
    begins = table.first[:-1]
    curved = np.logical_or.reduceat(smooth & smooth[after], begins)
    joined = np.logical_or.reduceat(_one_arc(table, after), begins) & (np.diff(table.first) > 2)
    result = list(paths)
    for number in np.flatnonzero(curved | joined).tolist():
        low, high = table.first[number], table.first[number + 1]
        path = paths[number]
        if curved[number]:
            path = _recognised(path, table.start[low:high], smooth[low:high])
        result[number] = _merged(path)
    return tuple(result)


def _after(first: NDArray[np.int64]) -> NDArray[np.int64]:
    """The row of the next segment around each path."""
    after = np.arange(1, first[-1] + 1)
    after[first[1:] - 1] = first[:-1]
    return after


def _smooth(table: SegmentTable) -> NDArray[np.bool_]:
    """At which starts of segments two lines meet that may be chords of one arc."""
    after = _after(table.first)
    before = np.empty_like(after)
    before[after] = np.arange(len(after))
    chord = table.end - table.start
    into, out = chord[before], chord
    a, b = np.hypot(*into.T), np.hypot(*out.T)
    cross = np.abs(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0])
    dot = (into * out).sum(axis=1)
    across = np.hypot(*(into + out).T)
    across[across == 0] = np.inf
    height = cross / across
    straight = a * b / (2 * LARGEST_RADIUS) / 2 - _ROUNDED
    return np.asarray(
        ~(table.bent | table.bent[before])
        & (cross <= _CORNER * dot)
        & (height <= _HIGHEST)
        & (height * np.maximum(a, b) <= 4 * _FLATTEST * np.minimum(a, b))
        & (height >= straight)
    )


def _one_arc(table: SegmentTable, after: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which segments and the next one are arcs of one circle."""
    return np.asarray(
        table.bent
        & table.bent[after]
        & (table.turned * table.turned[after] > 0)
        & (np.abs(table.radius - table.radius[after]) <= _SAME)
        & (np.hypot(*(table.centre - table.centre[after]).T) <= _SAME)
    )


def _recognised(path: Path, starts: NDArray[np.float64], smooth: NDArray[np.bool_]) -> Path:
    points = starts[:, 0] + 1j * starts[:, 1]
    count = len(points)
    corners = np.flatnonzero(~smooth)
    if 4 * len(corners) <= count and all(isinstance(s, Line) for s in path.segments):
        found = full_circle(points)
        if found is not None:
            ring = circle(found[0], 2 * found[1])
            return ring if signed_area(path) > 0 else reversed_path(ring)
    if not len(corners):
        return _rebuilt(path, runs_in_ring(points))
    runs: list[Run] = []
    for low, high in pairwise([*corners.tolist(), int(corners[0]) + count]):
        if high - low >= FEWEST:
            row = np.take(points, np.arange(low, high + 1), mode="wrap")
            runs += [Run(r.first + low, r.last + low, r.centre, r.clockwise) for r in runs_in_row(row)]
    return _rebuilt(path, runs)


def _rebuilt(path: Path, runs: Sequence[Run]) -> Path:
    if not runs:
        return path
    old = path.segments
    count = len(old)
    new: list[Segment] = []
    at = max(0, runs[-1].last - count)  # the last run may end beyond the path's start
    stop = at + count
    for run in runs:
        new += [old[k % count] for k in range(at, run.first)]
        new += arc_through(
            old[run.first % count].start, old[run.last % count].start, run.centre, run.clockwise
        )
        at = run.last
    new += [old[k % count] for k in range(at, stop)]
    return Path(tuple(new))


def _merged(path: Path) -> Path:
    """The closed path with neighbouring arcs of one circle joined."""
    segments = path.segments
    pairs = zip((segments[-1], *segments), segments, strict=False)
    seams = [number for number, (a, b) in enumerate(pairs) if not _same(a, b)]
    if len(segments) < 3 or len(seams) == len(segments):
        return path
    if not seams:
        return _whole(path)
    result: list[Segment] = []
    for low, high in pairwise([*seams, seams[0] + len(segments)]):
        result += _joined([segments[k % len(segments)] for k in range(low, high)])
    return Path(tuple(result))


def _same(a: Segment, b: Segment) -> bool:
    return (
        isinstance(a, Arc)
        and isinstance(b, Arc)
        and a.clockwise == b.clockwise
        and math.dist(a.centre, b.centre) <= _SAME
        and abs(a.radius - b.radius) <= _SAME
    )


def _mean(arcs: Sequence[Arc]) -> tuple[tuple[float, float], float, float]:
    """Centre and radius of arcs, each counted by its sweep, and their sweep in all."""
    weights = [arc_sweep(arc) for arc in arcs]
    total = math.fsum(weights)
    x, y, radius = (
        math.fsum(w * v for w, v in zip(weights, values, strict=True)) / total
        for values in zip(*((*arc.centre, arc.radius) for arc in arcs), strict=True)
    )
    return (x, y), radius, total


def _whole(path: Path) -> Path:
    arcs = [s for s in path.segments if isinstance(s, Arc)]
    centre, radius, total = _mean(arcs)
    off = max(abs(math.dist(arc.start, centre) - radius) for arc in arcs)
    if abs(total - 2 * math.pi) > 1e-3 or off > _SAME:
        return path
    return oriented(circle(centre, 2 * radius), clockwise=arcs[0].clockwise)


def _joined(run: Sequence[Segment]) -> Sequence[Segment]:
    arcs = [s for s in run if isinstance(s, Arc)]
    if len(arcs) < 2:
        return run
    centre, _, total = _mean(arcs)
    one = arc_through(arcs[0].start, arcs[-1].end, centre, arcs[0].clockwise)
    if len(one) >= len(arcs) or total > 2 * math.pi - 1e-3:
        return run
    off = max(
        abs(math.dist(arc.end, s.centre) - s.radius) for arc in arcs[:-1] for s in one if isinstance(s, Arc)
    )
    return one if off <= _SAME else run
