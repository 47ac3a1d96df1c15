"""What a round cutter can reach inside free room. Lengths in mm."""

from __future__ import annotations

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from camkit.simulation.swept import grown

__all__ = ["reachable", "rim_outside"]

# A passage this much narrower than needed still counts as fitting: a slot of exactly the cutter's width.
SNUG = 0.01


def reachable(free: BaseGeometry, radius: float, margin: float) -> BaseGeometry:
    """The part of `free` that a disc of `radius` sweeps while it stays `margin` off the walls.

    Where the disc fits between the walls, but not with that margin, the way straight through still counts,
    `margin` narrower than the walls. Empty when the disc fits nowhere.
    """
    roomy = grown(grown(free, -(radius + margin)), radius)
    snug = grown(grown(free, SNUG - radius), radius - SNUG - margin)
    tight = [part for part in _parts(snug.difference(grown(roomy, 2 * margin))) if not _thin(part, margin)]
    return shapely.union_all([roomy, *(grown(part, 2 * margin).intersection(snug) for part in tight)])


def rim_outside(fill: Polygon, radius: float, margin: float) -> BaseGeometry:
    """The line `margin` off an outline that a disc of `radius` outside can sweep, concave corners rounded."""
    frame = grown(fill, 3 * radius + 1)
    free = frame.difference(fill)
    return shapely.line_merge(
        reachable(free, radius, margin).boundary.intersection(grown(fill, 1.5 * radius + 0.5))
    )


def _parts(area: BaseGeometry) -> list[BaseGeometry]:
    return [part for part in shapely.get_parts(area) if isinstance(part, Polygon)]


def _thin(area: BaseGeometry, width: float) -> bool:
    return bool(grown(area, -width / 2).is_empty)
