"""Which turns and flips lay an outline upon itself. Lengths in mm, angles in radians."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from camkit.geometry.path import Point

__all__ = ["Symmetry", "symmetries"]

# An outline without principal axes (square, circle) is tried at corners and sides, and this often besides.
_EVERY = math.radians(5)
# Second moments closer than this share make any direction a principal axis.
_ISOTROPIC = 0.02
# Corners and sides more than this many are those of a curve; equal steps serve it better.
_CORNERS = 24


@dataclass(frozen=True, slots=True)
class Symmetry:
    """A turn about `centre` by `angle`, or a flip over the line through `centre` at `angle`."""

    centre: Point
    angle: float
    flip: bool

    def applied(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Where the points (n, 2) land."""
        turn = 2 * self.angle if self.flip else self.angle
        cos, sin = math.cos(turn), math.sin(turn)
        matrix = np.array([[cos, sin], [sin, -cos]]) if self.flip else np.array([[cos, -sin], [sin, cos]])
        landed: NDArray[np.float64] = (points - self.centre) @ matrix.T + self.centre
        return landed


def symmetries(outline: Polygon, within: float) -> tuple[Symmetry, ...]:
    """Turns and flips that map the outline on itself, no point farther off than `within`.

    Only the outline counts, not its openings. Flips are looked for over the principal axes and along X and Y;
    where principal axes are undetermined, over lines through corners and middles of sides and every
    5 degrees. Turns are half and quarter turns and those that two of the flips make up.
    """
    outline = Polygon(outline.exterior).simplify(within / 20)
    centre = (outline.centroid.x, outline.centroid.y)
    likely = _axes(outline, centre)
    axes = [angle for angle in likely if _maps(outline, Symmetry(centre, angle, True), within)]
    axes = _distinct(axes, math.pi)
    turns = [math.pi, math.pi / 2, 3 * math.pi / 2, *(2 * (angle - axes[0]) for angle in axes[1:])]
    turns = [turn for turn in turns if _maps(outline, Symmetry(centre, turn, False), within)]
    return (
        *(Symmetry(centre, turn, False) for turn in _distinct(turns, 2 * math.pi, (0.0,))),
        *(Symmetry(centre, angle, True) for angle in axes),
    )


def _maps(outline: Polygon, symmetry: Symmetry, within: float) -> bool:
    there = Polygon(symmetry.applied(np.asarray(outline.exterior.coords)))
    away = shapely.hausdorff_distance(outline.exterior, there.exterior, densify=0.25)
    return bool(away <= within)


def _axes(outline: Polygon, centre: Point) -> list[float]:
    """Directions over which a flip may map the outline on itself, the most exact ones first."""
    xx, yy, xy = _second_moments(outline, centre)
    principal = math.atan2(2 * xy, xx - yy) / 2
    angles = [principal, principal + math.pi / 2, 0.0, math.pi / 2]
    if math.hypot(2 * xy, xx - yy) > _ISOTROPIC * (xx + yy):
        return angles
    angles += [principal + step * _EVERY for step in range(round(math.pi / _EVERY))]
    corners = np.asarray(outline.simplify(0.5).exterior.coords)[:-1]
    if len(corners) > _CORNERS:
        return angles
    middles = (corners + np.roll(corners, -1, axis=0)) / 2
    through = [math.atan2(y - centre[1], x - centre[0]) for x, y in np.vstack((corners, middles))]
    return through + angles


def _distinct(angles: list[float], period: float, taken: tuple[float, ...] = ()) -> list[float]:
    """The angles within 0 to `period`, in their order, none near an earlier one or one `taken`."""
    found: list[float] = []
    for angle in (angle % period for angle in angles):
        apart = (abs(angle - other) for other in (*taken, *found))
        if all(min(gap, period - gap) > _EVERY / 2 for gap in apart):
            found.append(angle)
    return found


def _second_moments(outline: Polygon, centre: Point) -> tuple[float, float, float]:
    """Integrals of x x, y y and x y over the area about `centre` (Green's theorem on the polygon)."""
    x, y = (np.asarray(outline.exterior.coords) - centre).T
    cross = x[:-1] * y[1:] - x[1:] * y[:-1]
    sign = 1.0 if cross.sum() > 0 else -1.0
    xx = ((x[:-1] ** 2 + x[:-1] * x[1:] + x[1:] ** 2) * cross).sum() / 12
    yy = ((y[:-1] ** 2 + y[:-1] * y[1:] + y[1:] ** 2) * cross).sum() / 12
    xy = ((x[:-1] * y[1:] + 2 * x[:-1] * y[:-1] + 2 * x[1:] * y[1:] + x[1:] * y[:-1]) * cross).sum() / 24
    return sign * float(xx), sign * float(yy), sign * float(xy)
