"""Thousands of paths at once: their segments in arrays, measured without a loop over each; in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.path import Arc, Path, Point
from camkit.geometry.tolerance import FLATTEN

__all__ = ["SegmentTable", "areas", "extents", "lengths", "polygons", "tabled"]

_FULL = 2 * np.pi
_START, _END, _CENTRE = attrgetter("start"), attrgetter("end"), attrgetter("centre")
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SegmentTable:
    """The segments of many paths, row by row in their order.

    `start` and `end` are (n, 2) in mm; `centre` too, but means nothing where `bent` is False; `radius` and
    `turned` (radians, positive counter-clockwise) are 0 there. `first` holds the row that each path begins
    with and, at its end, the number of rows.
    """

    start: Floats
    end: Floats
    centre: Floats
    bent: NDArray[np.bool_]
    radius: Floats
    turned: Floats
    first: NDArray[np.int64]


def tabled(paths: Sequence[Path]) -> SegmentTable:
    """The segments of the paths as arrays."""
    rows = [path.segments for path in paths]
    segments = list(chain.from_iterable(rows))
    first = np.zeros(len(rows) + 1, dtype=np.int64)
    np.cumsum([len(row) for row in rows], out=first[1:])
    count = len(segments)
    start, end = _points(map(_START, segments), count), _points(map(_END, segments), count)
    arcs = [s for s in segments if isinstance(s, Arc)]
    bent = np.fromiter((isinstance(s, Arc) for s in segments), np.bool_, count)
    centre, radius, turned = np.zeros((count, 2)), np.zeros(count), np.zeros(count)
    if arcs:
        centre[bent] = _points(map(_CENTRE, arcs), len(arcs))
        clockwise = np.fromiter((arc.clockwise for arc in arcs), np.bool_, len(arcs))
        a, b = start[bent] - centre[bent], end[bent] - centre[bent]
        radius[bent] = np.hypot(a[:, 0], a[:, 1])
        sweep = np.arctan2(b[:, 1], b[:, 0]) - np.arctan2(a[:, 1], a[:, 0])
        turned[bent] = np.where(clockwise, -(-sweep % _FULL), sweep % _FULL)
    return SegmentTable(start, end, centre, bent, radius, turned, first)


def _points(points: Iterable[Point], count: int) -> Floats:
    return np.fromiter(chain.from_iterable(points), np.float64, 2 * count).reshape(count, 2)


def _summed(rows: Floats, first: NDArray[np.int64]) -> Floats:
    return np.add.reduceat(rows, first[:-1]) if len(first) > 1 else np.zeros(0)


def lengths(table: SegmentTable) -> Floats:
    """Length of each path, as `measure.length`."""
    chord = np.hypot(*(table.end - table.start).T)
    return _summed(np.where(table.bent, table.radius * np.abs(table.turned), chord), table.first)


def areas(table: SegmentTable) -> Floats:
    """Area that each closed path encloses, as `path.signed_area`."""
    origin = np.repeat(table.start[table.first[:-1]], np.diff(table.first), axis=0)
    a, b = table.start - origin, table.end - origin
    bow = table.radius**2 * (table.turned - np.sin(table.turned))
    return _summed((a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1] + bow) / 2, table.first)


def extents(table: SegmentTable) -> Floats:
    """Rows x0, y0, x1, y1 of each path, as `measure.bounds`."""
    low, high = np.minimum(table.start, table.end), np.maximum(table.start, table.end)
    rows = np.flatnonzero(table.bent)
    if len(rows):
        away = table.start[rows] - table.centre[rows]
        begin = np.arctan2(away[:, 1], away[:, 0])
        turned, radius, centre = table.turned[rows], table.radius[rows], table.centre[rows]
        for quarter, (dx, dy) in enumerate(((1, 0), (0, 1), (-1, 0), (0, -1))):
            angle = quarter * np.pi / 2
            passed = np.where(turned < 0, begin - angle, angle - begin) % _FULL < np.abs(turned)
            there = centre[passed] + radius[passed, None] * np.array((dx, dy))
            low[rows[passed]] = np.minimum(low[rows[passed]], there)
            high[rows[passed]] = np.maximum(high[rows[passed]], there)
    if len(table.first) < 2:
        return np.zeros((0, 4))
    begins = table.first[:-1]
    return np.hstack((np.minimum.reduceat(low, begins), np.maximum.reduceat(high, begins)))


def polygons(table: SegmentTable, tolerance: float = FLATTEN) -> NDArray[Any]:
    """The area inside each closed path as a shapely polygon of inscribed chords, as `flatten.as_polygon`.

    Raises ValueError when a path flattens to fewer than three points.
    """
    import shapely

    if len(table.first) < 2:
        return np.zeros(0, dtype=object)
    # The step of equal chords with sagitta e: e = R (1 - cos(step / 2)); at least a quarter turn each.
    wide = np.maximum(table.radius, tolerance)
    step = np.minimum(2 * np.arccos(np.clip(1 - tolerance / wide, -1, 1)), np.pi / 2)
    chords = np.maximum(1, np.ceil(np.abs(table.turned) / step - 1e-9)).astype(np.int64)
    chords[~table.bent] = 1
    begins = np.cumsum(chords) - chords
    away = table.start - table.centre
    step = table.turned / chords
    index = np.arange(int(chords.sum())) - np.repeat(begins, chords)
    angle = np.repeat(np.arctan2(away[:, 1], away[:, 0]), chords) + index * np.repeat(step, chords)
    radius = np.repeat(table.radius, chords)
    points = np.repeat(table.centre, chords, axis=0)
    points[:, 0] += radius * np.cos(angle)
    points[:, 1] += radius * np.sin(angle)
    points[begins] = table.start
    chords_of_ring = np.add.reduceat(chords, table.first[:-1])
    rings = shapely.linearrings(points, indices=np.repeat(np.arange(len(chords_of_ring)), chords_of_ring))
    return np.asarray(shapely.polygons(rings), dtype=object)
