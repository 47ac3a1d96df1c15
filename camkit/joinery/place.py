"""Places of a part's loops that re-fitting changes: which of a loop's walls a feature is made of.

Features are read off copies without fillets, chamfers and jogs; here their walls are found again in the loops
that will be cut. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import shapely

from camkit.geometry.corner import arriving
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path, Point
from camkit.joinery.features import Feature
from camkit.part import Part

__all__ = ["Place", "PlaceKind", "Tip", "place_of", "tip_of", "wall_at"]

PlaceKind = Literal["mortise", "slot", "housing", "rabbet", "wedge opening", "finger gap"]

# Copies without jogs lie this near to the loops they are copies of.
_NEAR = 0.15
_PARALLEL = math.radians(2)
# Chamfers of a tenon's end travel with it.
_CHAMFER = 4.0


@dataclass(frozen=True, slots=True)
class Place:
    """One place that takes a part: `width` across it and `length` along it (a slot's depth), as drawn.

    `loop` is the index of the opening or pocket, None for a slot in the outline. `broad` are the two walls
    whose distance is the width and `corners` the inside corners, each at the end of the segment with that
    index; both count along the loop with material on its left. A rabbet's wall stands alone, so that both of
    its `broad` are the same. `layers` sheets fill the width.
    """

    kind: PlaceKind
    loop: int | None
    broad: tuple[int, int]
    corners: tuple[int, ...]
    width: float
    length: float
    middle: Point
    layers: int = 1


@dataclass(frozen=True, slots=True)
class Tip:
    """The end of a tenon: its end wall, chamfers that travel with it, its two sides and its two shoulders.

    All are indices of an outline's walls; a shoulder is None where the side runs on as the part's edge.
    """

    end: int
    chamfers: tuple[int, ...]
    sides: tuple[int, int]
    shoulders: tuple[int | None, int | None]


def wall_at(walls: Path, spot: Point, along: Point) -> int | None:
    """The straight wall parallel to `along` through `spot`, within a slip of the drawing."""
    best: tuple[float, int] | None = None
    for index, wall in enumerate(walls.segments):
        if not isinstance(wall, Line) or not _parallel(arriving(wall), along):
            continue
        aside, ahead = _frame(spot, wall.start, arriving(wall))
        if abs(aside) <= _NEAR and ahead - _NEAR <= 0 <= ahead + segment_length(wall) + _NEAR:
            best = min(best or (abs(aside), index), (abs(aside), index))
    return best[1] if best else None


def place_of(feature: Feature, walls: Path, part: Part) -> Place | None:
    """The walls of a mortise, slot, housing or rabbet in its loop; None when they are not there sharp."""
    if feature.kind == "slot":
        return _slot(feature, walls)
    if feature.kind == "rabbet":
        return _rabbet(feature, walls, part)
    if len(walls.segments) != 4:
        return None
    found = [wall_at(walls, spot, feature.along) for spot in _beside(feature)]
    if found[0] is None or found[1] is None or (found[0] - found[1]) % 2:
        return None
    first, second = sorted((found[0], found[1]))
    kind: PlaceKind = "housing" if feature.kind == "housing" else "mortise"
    return Place(
        kind,
        feature.loop,
        (first, second),
        (0, 1, 2, 3),
        feature.width,
        feature.length,
        feature.middle,
        feature.layers,
    )


def tip_of(tenon: Feature, walls: Path) -> Tip | None:
    """The walls of a tenon's end in its outline; None when they are not there."""
    end = wall_at(walls, tenon.middle, tenon.along)
    if end is None:
        return None
    count = len(walls.segments)
    chamfers: list[int] = []
    sides: list[int] = []
    shoulders: list[int | None] = []
    for step in (-1, 1):
        index = (end + step) % count
        if _is_chamfer(walls, index, tenon.along):
            chamfers.append(index)
            index = (index + step) % count
        side = walls.segments[index]
        if not isinstance(side, Line) or _parallel(arriving(side), tenon.along):
            return None
        sides.append(index)
        root = (index + step) % count
        shoulder = walls.segments[root]
        level = isinstance(shoulder, Line) and _parallel(arriving(shoulder), tenon.along)
        inward = abs(segment_length(side) - tenon.length) <= _CHAMFER
        shoulders.append(root if level and inward else None)
    return Tip(end, tuple(chamfers), (sides[0], sides[1]), (shoulders[0], shoulders[1]))


def _is_chamfer(walls: Path, index: int, along: Point) -> bool:
    wall = walls.segments[index]
    if not isinstance(wall, Line) or segment_length(wall) > _CHAMFER:
        return False
    (ux, uy) = arriving(wall)
    slant = abs(
        math.degrees(math.atan2(abs(ux * along[1] - uy * along[0]), abs(ux * along[0] + uy * along[1])))
    )
    return 15 < slant < 75


def _beside(feature: Feature) -> Iterator[Point]:
    (x, y), (ux, uy) = feature.middle, feature.along
    for side in (1, -1):
        yield (x - side * uy * feature.width / 2, y + side * ux * feature.width / 2)


def _slot(feature: Feature, walls: Path) -> Place | None:
    (x, y), (ux, uy) = feature.middle, feature.along
    bottom = wall_at(walls, (x + ux * feature.length / 2, y + uy * feature.length / 2), (-uy, ux))
    if bottom is None:
        return None
    count = len(walls.segments)
    broad = ((bottom - 1) % count, (bottom + 1) % count)
    if not all(
        isinstance(walls.segments[k], Line) and _parallel(arriving(walls.segments[k]), feature.along)
        for k in broad
    ):
        return None
    return Place(
        "slot", None, broad, (broad[0], bottom), feature.width, feature.length, feature.middle, feature.layers
    )


def _rabbet(feature: Feature, walls: Path, part: Part) -> Place | None:
    """The inner long wall of a rabbet: the one beside its middle that does not lie on the part's edge."""
    edge = as_polygon(part.outline).boundary
    for spot in _beside(feature):
        index = wall_at(walls, spot, feature.along)
        if index is not None and len(walls.segments) == 4 and edge.distance(shapely.Point(spot)) > _NEAR:
            return Place(
                "rabbet", feature.loop, (index, index), (), feature.width, feature.length, feature.middle
            )
    return None


def _parallel(one: Point, other: Point) -> bool:
    return abs(one[0] * other[1] - one[1] * other[0]) <= math.sin(_PARALLEL)


def _frame(origin: Point, point: Point, along: Point) -> tuple[float, float]:
    """How far a point lies to the left of the unit vector `along` at `origin`, and how far ahead."""
    dx, dy = point[0] - origin[0], point[1] - origin[1]
    return along[0] * dy - along[1] * dx, along[0] * dx + along[1] * dy
