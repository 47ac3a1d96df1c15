"""Arcs by which a cutter comes to its path and leaves it, tangent to it, on the side of the waste."""

from __future__ import annotations

import math

from camkit.geometry.path import Arc, Path
from camkit.toolpath.track import direction_at, place_at

__all__ = ["lead_in", "lead_out", "run_of_lead"]


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
