"""Whether one part, moved, turned or turned over, is another: outlines, openings, holes and recesses."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.nest import thick
from camkit.geometry.flatten import as_polygon
from camkit.geometry.many import polygons, tabled
from camkit.geometry.path import Point, region
from camkit.geometry.tolerance import CHAIN
from camkit.part import Part

__all__ = ["Matrix", "Motion", "Shape", "congruent", "is_copy", "maps", "shapes_of"]

Floats = NDArray[np.float64]
Matrix = tuple[tuple[float, float], tuple[float, float]]
# Corners are paired when they lie equally far from the middle to within twice what outlines may differ by.
_EQUALLY_FAR = 2 * CHAIN
_MOST_PAIRS = 24
# A corner this near to the middle tells no direction.
_NEAREST = 1.0


@dataclass(frozen=True)
class Motion:
    """A point (u, v) goes to `matrix` (u, v) + `shift`; a turn, or a turn after a flip."""

    matrix: Matrix
    shift: Point = (0.0, 0.0)

    def applied(self, points: Floats) -> Floats:
        """Where the points (n, 2) land."""
        landed: Floats = points @ np.array(self.matrix).T + np.array(self.shift)
        return landed

    @property
    def inverse(self) -> Motion:
        """The motion back."""
        (a, b), (c, d) = self.matrix
        x, y = self.shift
        return Motion(((a, c), (b, d)), (-a * x - c * y, -b * x - d * y))

    def after(self, other: Motion) -> Motion:
        """The other motion and then this one."""
        (a, b), (c, d) = self.matrix
        (p, q), (r, s) = other.matrix
        matrix = ((a * p + b * r, a * q + b * s), (c * p + d * r, c * q + d * s))
        x, y = other.shift
        return Motion(matrix, (a * x + b * y + self.shift[0], c * x + d * y + self.shift[1]))


@dataclass(frozen=True)
class Shape:
    """A part as points: closed rings (n, 2) around it and its openings, the outline first."""

    part: Part
    rings: tuple[Floats, ...]

    @cached_property
    def box(self) -> Floats:
        """Extent of the outline."""
        return np.concatenate((self.rings[0].min(axis=0), self.rings[0].max(axis=0)))

    @property
    def extent(self) -> Floats:
        """Length and width of the outline."""
        extent: Floats = self.box[2:] - self.box[:2]
        return extent

    @cached_property
    def middle(self) -> Point:
        """The centre of gravity of what the outline encloses."""
        centre = shapely.Polygon(self.rings[0]).centroid
        return (centre.x, centre.y)

    @cached_property
    def bored(self) -> Floats:
        """Rows (x, y, diameter) of through holes."""
        rows = [(*h.centre, h.diameter) for h in self.part.holes if h.depth is None]
        return np.array(rows, dtype=np.float64).reshape(len(rows), 3)

    @cached_property
    def recesses(self) -> dict[float, Any]:
        """The area of all pockets and blind holes of each depth."""
        areas: dict[float, list[Any]] = {}
        for pocket in self.part.pockets:
            area = as_polygon(region(pocket.outline, pocket.islands))
            areas.setdefault(round(pocket.depth, 3), []).append(shapely.make_valid(area))
        for hole in self.part.holes:
            if hole.depth is not None:
                disc = shapely.Point(hole.centre).buffer(hole.diameter / 2, quad_segs=32)
                areas.setdefault(round(hole.depth, 3), []).append(disc)
        return {depth: shapely.union_all(found) for depth, found in sorted(areas.items())}

    @cached_property
    def spots(self) -> Floats:
        """Rows (x, y, kind): through holes off the middle with their diameter, else corners with kind 0."""
        far = np.hypot(*(self.bored[:, :2] - self.middle).T) >= _NEAREST
        if far.any():
            spots: Floats = self.bored[far]
            return spots
        corners = [(*segment.start, 0.0) for segment in self.part.outline.segments]
        return np.array(corners, dtype=np.float64)


def shapes_of(parts: Sequence[Part]) -> list[Shape]:
    """The parts as points, chords as fine as FLATTEN."""
    loops = [(number, path) for number, part in enumerate(parts) for path in (part.outline, *part.openings)]
    points, ring = shapely.get_coordinates(polygons(tabled([path for _, path in loops])), return_index=True)
    rings = np.split(points, np.flatnonzero(np.diff(ring)) + 1)
    found: list[list[Floats]] = [[] for _ in parts]
    for (number, _), one in zip(loops, rings, strict=True):
        found[number].append(one)
    return [Shape(part, tuple(one)) for part, one in zip(parts, found, strict=True)]


def maps(a: Shape, b: Shape, motion: Motion, *, only: Literal["outline", "through", "all"] = "all") -> bool:
    """Whether the motion lays one part on another, nowhere farther off than CHAIN.

    `only` says whether openings and through holes count, and pockets and blind holes.
    """
    outline = motion.applied(a.rings[0])
    moved_box = np.concatenate((outline.min(axis=0), outline.max(axis=0)))
    if np.abs(moved_box - b.box).max() > CHAIN or not _same_rings((outline,), b.rings[:1]):
        return False
    if only == "outline":
        return True
    openings = tuple(motion.applied(ring) for ring in a.rings[1:])
    if not (_same_rings(openings, b.rings[1:]) and _same_holes(a.bored, b.bored, motion)):
        return False
    mine, theirs = a.recesses, b.recesses
    return only == "through" or (
        mine.keys() == theirs.keys()
        and all(_same_area(shapely.transform(mine[d], motion.applied), theirs[d]) for d in mine)
    )


def is_copy(a: Shape, b: Shape) -> bool:
    """Whether part a, shifted, is part b point for point: quick, but not every copy is told."""
    if len(a.rings) != len(b.rings) or np.abs(a.extent - b.extent).max() > CHAIN:
        return False
    (x, y), (u, v) = a.box[:2], b.box[:2]
    shift = Motion(_QUARTERS[0], (float(u - x), float(v - y)))
    rings = all(_same_points(one + shift.shift, other) for one, other in zip(a.rings, b.rings, strict=True))
    return rings and maps(a, b, shift)


def _same_rings(here: Sequence[Floats], there: Sequence[Floats]) -> bool:
    if len(here) != len(there):
        return False
    if all(_same_points(one, other) for one, other in zip(here, there, strict=True)):
        return True
    return _same_area(*(shapely.union_all([shapely.Polygon(r) for r in rings]) for rings in (here, there)))


def _same_points(one: Floats, other: Floats) -> bool:
    """Whether two rings are the same points from the same beginning, one way round or the other."""
    if one.shape != other.shape:
        return False
    return any(np.abs(way - other).max() <= CHAIN / 2 for way in (one, one[::-1]))


def _same_area(one: Any, other: Any) -> bool:
    if np.abs(np.array(one.bounds) - np.array(other.bounds)).max() > CHAIN:
        return False
    return not thick(one.symmetric_difference(other))


def _same_holes(a: Floats, b: Floats, motion: Motion) -> bool:
    if len(a) != len(b):
        return False
    if not len(a):
        return True
    here = np.column_stack((motion.applied(a[:, :2]), a[:, 2]))
    off = np.abs(here[:, None] - b[None]).max(axis=2) <= CHAIN
    return bool(off.any(axis=0).all() and off.any(axis=1).all())


def congruent(a: Shape, b: Shape) -> Motion | None:
    """A motion that lays part a on part b; parts with recesses are not turned over."""
    over = not (a.recesses or b.recesses)
    for candidates in (_upright, _by_spots):
        for motion in candidates(a, b, over):
            if maps(a, b, motion):
                return motion
    return None


def _upright(a: Shape, b: Shape, over: bool) -> list[Motion]:
    """Quarter turns and flips that bring the boxes around both outlines together."""
    box = b.box
    corners = a.box.reshape(2, 2)
    found = []
    for matrix in _QUARTERS if over else _QUARTERS[:4]:
        turned = corners @ np.array(matrix).T
        low, high = turned.min(axis=0), turned.max(axis=0)
        if np.abs((high - low) - (box[2:] - box[:2])).max() <= 2 * CHAIN:
            shift = ((box[:2] - low) + (box[2:] - high)) / 2
            found.append(Motion(matrix, (float(shift[0]), float(shift[1]))))
    return found


_QUARTERS = (
    ((1.0, 0.0), (0.0, 1.0)),
    ((0.0, -1.0), (1.0, 0.0)),
    ((-1.0, 0.0), (0.0, -1.0)),
    ((0.0, 1.0), (-1.0, 0.0)),
    ((-1.0, 0.0), (0.0, 1.0)),
    ((1.0, 0.0), (0.0, -1.0)),
    ((0.0, 1.0), (1.0, 0.0)),
    ((0.0, -1.0), (-1.0, 0.0)),
)


def _by_spots(a: Shape, b: Shape, over: bool) -> list[Motion]:
    """Turns about the middles that bring the farthest spot of a on an equal spot of b."""
    (ax, ay), (bx, by) = a.middle, b.middle
    away = np.hypot(a.spots[:, 0] - ax, a.spots[:, 1] - ay)
    first = int(np.argmax(away))
    u, v, kind = a.spots[first]
    if away[first] < _NEAREST:
        return []
    there = np.hypot(b.spots[:, 0] - bx, b.spots[:, 1] - by)
    equal = (np.abs(there - away[first]) <= _EQUALLY_FAR) & (np.abs(b.spots[:, 2] - kind) <= _EQUALLY_FAR)
    found = []
    for number in np.flatnonzero(equal)[:_MOST_PAIRS].tolist():
        at = math.atan2(b.spots[number, 1] - by, b.spots[number, 0] - bx)
        for flip in (1.0, -1.0) if over else (1.0,):
            turn = at - math.atan2(v - ay, flip * (u - ax))
            cos, sin = math.cos(turn), math.sin(turn)
            matrix = ((flip * cos, -sin), (flip * sin, cos))
            shift = (
                bx - matrix[0][0] * ax - matrix[0][1] * ay,
                by - matrix[1][0] * ax - matrix[1][1] * ay,
            )
            found.append(Motion(matrix, shift))
    return found
