"""The parts as they must be after cutting, as areas for each depth. Sheet coordinates, mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path, circle
from camkit.part import Hole, Part, Placed

__all__ = ["Floor", "Through", "Wanted", "wanted_parts"]

# Curves of the parts are taken this exactly, so that rounding stays far below what counts as a gouge.
CHORD = 0.0005
_SAME_DEPTH = 1e-6


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


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """One placed part: `fill` is all inside its outline, `solid` what nothing cuts through."""

    name: str
    fill: Polygon
    solid: BaseGeometry
    through: tuple[Through, ...]
    floors: tuple[Floor, ...]

    def kept_below(self, depth: float) -> BaseGeometry:
        """What must stay just below `depth`: all but what goes deeper."""
        gone = [floor.area for floor in self.floors if floor.depth > depth + _SAME_DEPTH]
        return self.solid.difference(shapely.union_all(gone)) if gone else self.solid


def wanted_parts(placed: Sequence[Placed], thickness: float) -> tuple[Wanted, ...]:
    """The areas of every placed part; a copy is named "shelf:2" when there are several of its name."""
    copies = Counter(p.shape.name for p in placed)
    return tuple(
        _wanted(p.shape, f"{p.shape.name}:{p.copy}" if copies[p.shape.name] > 1 else p.shape.name, thickness)
        for p in placed
    )


def _area(path: Path) -> Polygon:
    area = as_polygon(path, CHORD)
    return area if area.is_valid else shapely.make_valid(area)


def _round(hole: Hole) -> Polygon:
    return _area(circle(hole.centre, hole.diameter))


def _said(hole: Hole) -> str:
    return f"the hole of {hole.diameter:g} mm at ({hole.centre[0]:.2f}, {hole.centre[1]:.2f})"


def _wanted(part: Part, name: str, thickness: float) -> Wanted:
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
    return Wanted(name, fill, fill.difference(gone), tuple(through), tuple(floors))
