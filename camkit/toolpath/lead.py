"""Arcs by which a cutter comes to its path and leaves it, tangent to it, on the side of the waste."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.geometry.flatten import arc_points, as_polygon
from camkit.geometry.path import Arc, Path
from camkit.job.fixtures import AROUND
from camkit.part import JointFace, Placed
from camkit.toolpath.track import direction_at, place_at

__all__ = ["CHORD", "Room", "Wood", "lead_in", "lead_out", "run_of_lead"]

Floats = NDArray[np.float64]

# Parts are seen this coarsely, and an arc that begins on the path may seem that much nearer to its part.
CHORD = 0.005
# A joint face this near to the cutter's rim is met by the wall where it begins, or nearly so.
_AT_JOINT = 1.0


class Wood:
    """The parts on a sheet, ready to be asked what lies near."""

    def __init__(
        self,
        placed: Sequence[Placed],
        size: tuple[float, float],
        blocked: shapely.Geometry | None = None,
        reach: tuple[tuple[float, float], ...] | None = None,
    ) -> None:
        """`size` is the sheet's length and width in mm; on the `blocked` area nothing is cut.

        `reach` are the least and the greatest X and Y that the machine goes to, where that is known.
        """
        self.blocked = blocked
        self.names = [(p.part.name, p.copy) for p in placed]
        self.place_of = {name: k for k, name in enumerate(self.names)}
        self.areas = np.array([as_polygon(p.shape.region(), CHORD) for p in placed], dtype=object)
        shapely.prepare(self.areas)
        self.tree = shapely.STRtree(self.areas)
        self.free = np.array([(0.0, 0.0), size])
        if reach is not None:
            low, high = np.array(reach[:2]).T
            self.free = np.array([np.maximum(self.free[0], low), np.minimum(self.free[1], high)])

    def others_within(self, line: shapely.Geometry, reach: float, part: tuple[str, int]) -> bool:
        """Whether another part than the one of that name and copy lies within `reach` mm of the line."""
        return any(self.names[k] != part for k in self.tree.query(line, "dwithin", reach))

    def others_beside(self, points: Floats, reach: float, part: tuple[str, int]) -> list[shapely.Polygon]:
        """Other parts whose extent comes within `reach` mm of the extent of points (n, 2)."""
        low, high = points.min(axis=0) - reach, points.max(axis=0) + reach
        near = np.sort(self.tree.query(shapely.box(*low, *high)))
        return [self.areas[k] for k in near if self.names[k] != part]


@dataclass(frozen=True, slots=True)
class Room:
    """Where a cutter of `radius` mm may come to the walls of one part (name, copy) and leave them.

    `faces` are its walls that bear on other parts.
    """

    wood: Wood
    part: tuple[str, int]
    radius: float
    faces: tuple[JointFace, ...] = ()

    def holds(self, arc: Arc) -> bool:
        """Whether the arc lies over the sheet, off the part, and clear of others and of the cuts round them.

        Their tabs stand in those cuts. Of the sheet counts what the machine reaches.
        """
        return bool(self.hold_all(arc_points(arc, CHORD)[None])[0])

    def hold_all(self, lines: Floats) -> NDArray[np.bool_]:
        """Which of the lines of points (n, m, 2) lie so."""
        low, high = self.wood.free
        inside = (lines.min(axis=1) >= low).all(axis=1) & (lines.max(axis=1) <= high).all(axis=1)
        shapes = shapely.linestrings(lines)
        own = self.wood.place_of[self.part]
        # By extents first: the part's own, which always lies near, would cost the most.
        low, high = lines.min(axis=1) - 3 * self.radius, lines.max(axis=1) + 3 * self.radius
        near, whose = self.wood.tree.query(shapely.box(*low.T, *high.T))
        near, whose = near[whose != own], whose[whose != own]
        inside[near[shapely.dwithin(self.wood.areas[whose], shapes[near], 3 * self.radius)]] = False
        if self.wood.blocked is not None:
            inside &= ~shapely.dwithin(self.wood.blocked, shapes, self.radius + AROUND)
        free: NDArray[np.bool_] = inside & ~shapely.dwithin(self.wood.areas[own], shapes, self.radius - CHORD)
        return free

    def off_joints(self, points: Floats) -> NDArray[np.bool_]:
        """At which points (n, 2) of a cutter's path its rim does not meet the part at a joint face."""
        if not self.faces:
            return np.ones(len(points), dtype=bool)
        away = shapely.distance(shapely.MultiLineString(list(self.faces)), shapely.points(points))
        off: NDArray[np.bool_] = away > self.radius + _AT_JOINT
        return off


def run_of_lead(aside: float, radius: float) -> float:
    """How far an arc of `radius` runs along its tangent until it lies `aside` from it, in mm."""
    return math.sqrt(max(0.0, 2 * radius * aside - aside * aside))


def lead_in(path: Path, distance: float, aside: float, radius: float, *, left: bool) -> Arc:
    """The arc that reaches the closed path `distance` mm along it, from `aside` mm beside it.

    It comes from the left of the path, seen along it, or from the right; `aside` is at most `radius`.
    """
    return _lead(path, distance, aside, radius, left=left, arriving=True)


def lead_out(path: Path, distance: float, aside: float, radius: float, *, left: bool) -> Arc:
    """The arc that leaves the closed path `distance` mm along it and ends `aside` mm beside it."""
    return _lead(path, distance, aside, radius, left=left, arriving=False)


def _lead(path: Path, distance: float, aside: float, radius: float, *, left: bool, arriving: bool) -> Arc:
    (x, y), (tx, ty) = place_at(path, distance), direction_at(path, distance)
    side = 1.0 if left else -1.0
    run = -run_of_lead(aside, radius) if arriving else run_of_lead(aside, radius)
    nx, ny = -ty * side, tx * side
    away = (x + tx * run + nx * aside, y + ty * run + ny * aside)
    centre = (x + nx * radius, y + ny * radius)
    return Arc(away, (x, y), centre, not left) if arriving else Arc((x, y), away, centre, not left)
