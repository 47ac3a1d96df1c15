"""Arcs by which a cutter comes to its path and leaves it, tangent to it, on the side of the waste."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from camkit.geometry.flatten import arc_points, as_polygon
from camkit.geometry.path import Arc, Path
from camkit.job.fixtures import AROUND
from camkit.part import Placed
from camkit.toolpath.track import direction_at, place_at

__all__ = ["Room", "Wood", "lead_in", "lead_out", "run_of_lead"]

# Parts are seen this coarsely, and an arc that begins on the path may seem that much nearer to its part.
_CHORD = 0.005


class Wood:
    """The parts on a sheet, ready to be asked what lies near."""

    def __init__(
        self,
        placed: Sequence[Placed],
        size: tuple[float, float],
        blocked: shapely.Geometry | None = None,
    ) -> None:
        """`size` is the sheet's length and width in mm; on the `blocked` area fixtures stand."""
        self.blocked = blocked
        self.names = [(p.part.name, p.copy) for p in placed]
        self.areas = np.array([as_polygon(p.shape.region(), _CHORD) for p in placed], dtype=object)
        self.tree = shapely.STRtree(self.areas)
        self.size = size

    def others_within(self, line: shapely.Geometry, reach: float, part: tuple[str, int]) -> bool:
        """Whether another part than the one of that name and copy lies within `reach` mm of the line."""
        return any(self.names[k] != part for k in self.tree.query(line, "dwithin", reach))


@dataclass(frozen=True, slots=True)
class Room:
    """Where a cutter of `radius` mm may come to the walls of one part (name, copy) and leave them."""

    wood: Wood
    part: tuple[str, int]
    radius: float

    def holds(self, arc: Arc) -> bool:
        """Whether the arc lies over the sheet, off the part, and clear of others and of the cuts round them.

        Their tabs stand in those cuts.
        """
        line = shapely.LineString(arc_points(arc, _CHORD))
        x0, y0, x1, y1 = line.bounds
        long, wide = self.wood.size
        if min(x0, y0) < 0 or x1 > long or y1 > wide:
            return False
        blocked = self.wood.blocked
        if blocked is not None and blocked.distance(line) < self.radius + AROUND:
            return False
        if self.wood.others_within(line, 3 * self.radius, self.part):
            return False
        own = self.wood.areas[self.wood.names.index(self.part)]
        return bool(own.distance(line) >= self.radius - _CHORD)


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
