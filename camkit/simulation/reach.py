"""What a round cutter can reach inside free room. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from camkit.simulation.swept import grown

__all__ = ["Reach", "reach_inside", "reach_outside"]

# A passage this much narrower than needed still counts as fitting: a slot of exactly the cutter's width.
SNUG = 0.01
# Walls are followed this closely: far below every margin used here, and much faster than their finest chords.
FINE = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """`area` is what the disc sweeps, `rim` the edge of that, `path` its centre's line along the walls."""

    area: BaseGeometry
    rim: BaseGeometry
    path: BaseGeometry


def reach_inside(free: BaseGeometry, radius: float, margin: float) -> Reach:
    """What a disc of `radius` reaches inside `free` while it stays `margin` off the walls.

    Where the disc fits between the walls, but not with that margin, the way straight through still counts,
    `margin` narrower than the walls. All empty when the disc fits nowhere.
    """
    free = shapely.simplify(free, FINE)
    core = grown(free, -(radius + margin))
    area = grown(core, radius)
    snug_core = grown(free, SNUG - radius)
    snug = grown(snug_core, radius - SNUG - margin)
    tight = [part for part in _polygons(snug.difference(grown(area, 2 * margin))) if _wide(part, margin)]
    if tight:
        passage = shapely.union_all([grown(part, 2 * margin) for part in tight])
        area = shapely.union_all([area, passage.intersection(snug)])
        core = shapely.union_all([core, passage.intersection(snug_core)])
    return Reach(area, _lines(area.boundary), _lines(core.boundary))


def reach_outside(fill: Polygon, radius: float, margin: float) -> Reach:
    """The same around the outside of an outline, looked at as far as a cut along it reaches."""
    frame = grown(fill, 3 * radius + 1)
    around = reach_inside(frame.difference(fill), radius, margin)
    close = grown(fill, 1.5 * radius + 0.5)
    return Reach(
        around.area.intersection(close),
        _lines(around.rim.intersection(close)),
        _lines(around.path.intersection(close)),
    )


def _polygons(area: BaseGeometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(area) if isinstance(part, Polygon)]


def _wide(area: BaseGeometry, width: float) -> bool:
    return not grown(area, -width / 2).is_empty


def _lines(lines: BaseGeometry) -> BaseGeometry:
    return shapely.line_merge(lines) if lines.geom_type == "MultiLineString" else lines
