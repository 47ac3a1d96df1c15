"""What a round cutter can reach of a feature, and which cutter serves it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import region
from camkit.job.model import Cutter
from camkit.toolpath.feature import Feature
from camkit.toolpath.hole import can_bore
from camkit.toolpath.hole_choice import BORE_ROOM, cutter_of_hole
from camkit.toolpath.recess import recess_area
from camkit.toolpath.sink import cutter_of_sink

__all__ = ["Choice", "choose", "left_standing", "widest_cutter"]

# Chords for looking, not for cutting.
_LOOK = 0.01
# A corner of 60 degrees or more leaves at most one radius uncut: r (1 / sin(30 degrees) - 1).
# What stays farther from the cutter than this is a slot or a neck that it cannot enter.
_CORNER = 1.05
# Up to here a feature counts as made whole.
_WHOLE = 0.05


@dataclass(frozen=True, slots=True)
class Choice:
    """The cutter for a feature; `left` is how far (mm) the worst inside corner stays from it, 0 when none."""

    cutter: Cutter
    left: float


def left_standing(feature: Feature, radius: float) -> float:
    """How far the farthest wood that should go stays from a cutter of `radius`; inf when it cannot enter."""
    if feature.kind == "profile":
        outline = as_polygon(feature.outline, _LOOK)
        reached = outline.buffer(radius, quad_segs=64).buffer(-radius, quad_segs=64)
        return _farthest(reached.difference(outline), reached.boundary)
    area = as_polygon(region(feature.outline, feature.islands), _LOOK)
    free = area
    if feature.home is not None:
        open_to = recess_area(feature.outline, feature.islands, feature.home, (), 2 * radius, feature.deeper)
        free = shapely.union_all([as_polygon(piece, _LOOK) for piece in open_to])
        area = area.intersection(as_polygon(feature.home, _LOOK))
    centres = free.buffer(-radius, quad_segs=64)
    if centres.is_empty or (centres.geom_type != "Polygon" and feature.kind != "pocket"):
        return math.inf
    swept = centres.buffer(radius, quad_segs=64)
    return _farthest(area.difference(swept), swept)


def _farthest(wood: shapely.Geometry, cleared: shapely.Geometry) -> float:
    corners = shapely.points(shapely.get_coordinates(wood))
    # Nearly all of them lie at the chords of the boundary.
    shapely.prepare(cleared)
    corners = corners[~shapely.dwithin(cleared, corners, 4 * _LOOK)]
    return float(shapely.distance(cleared, corners).max(initial=0.0))


def serves(feature: Feature, cutter: Cutter) -> bool:
    """Whether the cutter makes the feature but for its inside corners."""
    return left_standing(feature, cutter.diameter / 2) <= _CORNER * cutter.diameter / 2


def reaches(cutter: Cutter, depth: float) -> bool:
    """Whether the cutter's edges are long enough for a cut `depth` mm deep."""
    return cutter.cutting_length is None or cutter.cutting_length >= depth


def choose(
    feature: Feature, cutters: Sequence[Cutter], depth: float, point_room: float = math.inf
) -> Choice | None:
    """The cutter for a feature cut `depth` mm deep, or None when none on hand makes it.

    `depth` of a countersink is how deep the tip of its cutter may go. A hole goes to a drill of its size when
    there is one whose point is no longer than `point_room`. Otherwise the largest milling cutter that makes
    the feature whole, else the largest that fails only in corners.
    """
    long_enough = [cutter for cutter in cutters if reaches(cutter, depth)]
    if feature.kind == "countersink" and feature.hole is not None:
        sinking = cutter_of_sink(feature.hole, cutters, depth)
        return Choice(sinking, 0.0) if sinking is not None else None
    if feature.kind == "hold-down" and feature.hole is not None:
        wide = feature.hole.diameter
        long_enough = [c for c in long_enough if not c.mills or c.plunges or can_bore(wide, c)]
    if feature.hole is not None:
        chosen = cutter_of_hole(feature.hole, long_enough, point_room)
        return Choice(chosen, 0.0) if chosen is not None else None
    milling = sorted((c for c in long_enough if c.mills), key=lambda c: -c.diameter)
    offered = [Choice(cutter, left_standing(feature, cutter.diameter / 2)) for cutter in milling]
    serving = [c for c in offered if c.left <= _CORNER * c.cutter.diameter / 2]
    whole = [c for c in serving if c.left <= _WHOLE]
    return next(iter(whole or serving), None)


def widest_cutter(feature: Feature) -> float:
    """Diameter of the largest cutter that would serve the feature, in mm, to a tenth below."""
    if feature.hole is not None:
        return feature.hole.diameter - BORE_ROOM
    low, high = 0.0, 50.0
    while high - low > 0.05:
        middle = (low + high) / 2
        if left_standing(feature, middle / 2) <= _CORNER * middle / 2:
            low = middle
        else:
            high = middle
    return math.floor(low * 10) / 10
