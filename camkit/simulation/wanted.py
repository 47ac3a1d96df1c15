"""The parts as they must be after cutting, as areas for each depth. Sheet coordinates, mm."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path, Point, circle
from camkit.geometry.tolerance import GOUGE
from camkit.job.model import Cutter
from camkit.part import Countersink, Hole, Part, Placed

__all__ = ["Cone", "Floor", "Through", "Wanted", "wanted_parts"]

# Curves of the parts are taken this exactly, so that rounding stays far below what counts as a gouge.
CHORD = 0.0005
_SAME_DEPTH = 1e-6
# A cone is looked at so often on its way down.
_STEPS = 6
# A drill makes holes that differ from it by up to this much.
_DRILL = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Through:
    """An opening or a hole right through; `hole` is set for round holes. `said` names it in messages."""

    kind: Literal["opening", "hole"]
    said: str
    area: Polygon
    hole: Hole | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Floor:
    """A pocket or a blind hole: its area (islands out) and its depth below the sheet's top."""

    said: str
    area: BaseGeometry
    depth: float
    hole: Hole | None = None


@dataclass(frozen=True, slots=True)
class Cone:
    """Room about `centre` that narrows downwards, from `radius` at depth `top` to depth `bottom`.

    It narrows by `spread` for each mm.
    """

    centre: Point
    radius: float
    top: float
    bottom: float
    spread: float

    def radius_at(self, depth: float) -> float:
        """Its radius at a depth between top and bottom."""
        return self.radius - (depth - self.top) * self.spread

    @property
    def levels(self) -> tuple[float, ...]:
        """Depths at which it is looked at, closest near its top, where a flat cutter would not fit either."""
        deep = self.bottom - self.top
        # Rounded, so that cones alike but for the last digit share their levels.
        return tuple(round(self.top + deep * (k / _STEPS) ** 2, 3) for k in range(_STEPS))


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """One placed part: `fill` is all inside its outline, `solid` what nothing cuts through.

    `points` is the room that the points of drills take below blind holes, `sinks` are countersinks.
    """

    name: str
    fill: Polygon
    solid: BaseGeometry
    through: tuple[Through, ...]
    floors: tuple[Floor, ...]
    points: tuple[Cone, ...] = ()
    sinks: tuple[Cone, ...] = ()

    @property
    def levels(self) -> set[float]:
        """Depths below which another shape must stay than above."""
        return {floor.depth for floor in self.floors} | {
            z for cone in (*self.points, *self.sinks) for z in cone.levels
        }

    def kept_below(self, depth: float) -> BaseGeometry:
        """What must stay just below `depth`: all but what goes deeper.

        Cones are as wide as they are a gouge below it, where cutters are looked at.
        """
        gone = [floor.area for floor in self.floors if floor.depth > depth + _SAME_DEPTH]
        gone += [
            _area(circle(cone.centre, 2 * cone.radius_at(depth + GOUGE)))
            for cone in (*self.points, *self.sinks)
            if cone.top - _SAME_DEPTH <= depth < cone.bottom - 2 * GOUGE
        ]
        return self.solid.difference(shapely.union_all(gone)) if gone else self.solid


def wanted_parts(
    placed: Sequence[Placed], thickness: float, cutters: Sequence[Cutter] = ()
) -> tuple[Wanted, ...]:
    """The areas of every placed part; a copy is named "shelf:2" when there are several of its name.

    Blind holes have room below them for the points of those drills among `cutters` that are of their size.
    """
    copies = Counter(p.shape.name for p in placed)
    return tuple(
        _wanted(
            p.shape,
            f"{p.shape.name}:{p.copy}" if copies[p.shape.name] > 1 else p.shape.name,
            thickness,
            cutters,
        )
        for p in placed
    )


def _point(hole: Hole, cutters: Sequence[Cutter]) -> Cone | None:
    """The longest point of a drill of the hole's size, below its flat depth."""
    own = [c for c in cutters if c.kind == "drill" and abs(c.diameter - hole.diameter) <= _DRILL + 1e-9]
    longest = max(own, key=lambda c: c.point_length, default=None)
    if longest is None or hole.depth is None or longest.point_length <= 0:
        return None
    bottom = hole.depth + longest.point_length
    radius = hole.diameter / 2
    return Cone(hole.centre, radius, hole.depth, bottom, radius / longest.point_length)


def _area(path: Path) -> Polygon:
    area = as_polygon(path, CHORD)
    return area if area.is_valid else shapely.make_valid(area)


def _round(hole: Hole) -> Polygon:
    return _area(circle(hole.centre, hole.diameter))


def _said(hole: Hole) -> str:
    return f"the hole of {hole.diameter:g} mm at ({hole.centre[0]:.2f}, {hole.centre[1]:.2f})"


def _wanted(part: Part, name: str, thickness: float, cutters: Sequence[Cutter]) -> Wanted:
    fill = _area(part.outline)
    through = [
        Through("opening", f"opening {n}", _area(path)) for n, path in enumerate(part.openings, start=1)
    ]
    floors: list[Floor] = []
    for hole in part.holes:
        if hole.depth is None or hole.depth >= thickness:
            through.append(Through("hole", _said(hole), _round(hole), hole))
        else:
            floors.append(Floor(_said(hole), _round(hole), hole.depth, hole))
    for n, pocket in enumerate(part.pockets, start=1):
        area: BaseGeometry = _area(pocket.outline)
        if pocket.islands:
            area = area.difference(shapely.union_all([_area(path) for path in pocket.islands]))
        if pocket.depth < thickness:
            floors.append(Floor(f"pocket {n}", area, pocket.depth))
        else:
            through.append(Through("opening", f"pocket {n}", shapely.get_parts(area)[0]))
    gone = shapely.union_all([feature.area for feature in through])
    points = [_point(floor.hole, cutters) for floor in floors if floor.hole is not None]
    cones = tuple(cone for cone in points if cone is not None)
    sinks = tuple(_sink(hole, hole.countersink) for hole in part.holes if hole.countersink is not None)
    return Wanted(name, fill, fill.difference(gone), tuple(through), tuple(floors), cones, sinks)


def _sink(hole: Hole, sink: Countersink) -> Cone:
    spread = math.tan(math.radians(sink.angle_deg / 2))
    bottom = (sink.diameter - hole.diameter) / 2 / spread
    return Cone(hole.centre, sink.diameter / 2, 0.0, bottom, spread)
