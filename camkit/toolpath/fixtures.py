"""What stands on the sheet or under it, and cuts that would come too near."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely

from camkit.cut import Drill, Move, Turn
from camkit.errors import Finding
from camkit.geometry.flatten import arc_points
from camkit.geometry.path import Arc, Point
from camkit.job.fixtures import AROUND, CLEAR_OVER, HoldDown, KeepOut
from camkit.job.model import Cutter
from camkit.toolpath.feature import Feature

__all__ = ["Standing", "blocked", "keeping_out", "refused", "screws_at"]

# Curves are seen this coarsely; what comes nearer than that to the distance kept is no fault.
_CHORD = 0.02
# Over a pod this much of the sheet stays, or its hold is lost (common practice, no source).
_OVER_POD = 0.5
# Travel at exactly the height that clears a fixture clears it.
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Standing:
    """A fixture: its area on the sheet and how far it stands above the top, None for a pod below."""

    said: str
    area: shapely.Polygon
    height: float | None


def keeping_out(rows: Iterable[KeepOut]) -> tuple[Standing, ...]:
    """The job's keep-outs as areas."""
    return tuple(Standing(row.said, _area(row), row.height) for row in rows)


def _area(row: KeepOut) -> shapely.Polygon:
    if row.box is not None:
        return shapely.box(*row.box)
    return _disc(row.at or (0.0, 0.0), row.diameter or 0.0)


def _disc(centre: Point, diameter: float) -> shapely.Polygon:
    return shapely.Point(centre).buffer(diameter / 2, quad_segs=32)


def screws_at(places: Iterable[Point], hold: HoldDown) -> tuple[Standing, ...]:
    """The heads of hold-down screws."""
    return tuple(
        Standing(f"the hold-down screw at ({x:.1f}, {y:.1f})", _disc((x, y), hold.head), hold.head_height)
        for x, y in places
    )


def blocked(standing: Iterable[Standing]) -> shapely.Geometry | None:
    """The area that leads keep off, or None when nothing stands on the sheet."""
    areas = [one.area for one in standing if one.height is not None]
    return shapely.union_all(areas) if areas else None


def _pieces(moves: Sequence[Move]) -> list[tuple[shapely.Geometry, float]]:
    """The way of each move from the one before it, and its lowest height."""
    found: list[tuple[shapely.Geometry, float]] = []
    for before, move in pairwise(moves):
        low = min(move.z, before.retract if isinstance(before, Drill) else before.z)
        a, b = (before.x, before.y), (move.x, move.y)
        if math.dist(a, b) < _ROUNDING:
            found.append((shapely.Point(b), low))
        elif isinstance(move, Turn):
            arc = Arc(a, b, move.centre, move.clockwise)
            found.append((shapely.LineString(arc_points(arc, _CHORD)), low))
        else:
            found.append((shapely.LineString((a, b)), low))
    return found


def refused(
    feature: Feature, moves: Sequence[Move], cutter: Cutter, standing: Sequence[Standing], thickness: float
) -> Finding | None:
    """The error for a cut whose moves come too near to a fixture, or cut through over a pod; else None."""
    if not standing or not moves:
        return None
    near = cutter.diameter / 2 + AROUND
    xs, ys = [move.x for move in moves], [move.y for move in moves]
    extent = shapely.box(min(xs), min(ys), max(xs), max(ys))
    close = [one for one in standing if extent.distance(one.area) < near]
    pieces = _pieces(moves) if close else []
    for one in close:
        low = _OVER_POD - thickness if one.height is None else one.height + CLEAR_OVER
        inside = [line for line, z in pieces if z < low - _ROUNDING]
        away = min((float(line.distance(one.area)) for line in inside), default=math.inf)
        if away < near - _CHORD:
            return _told(feature, cutter, one, away)
    return None


def _told(feature: Feature, cutter: Cutter, one: Standing, away: float) -> Finding:
    name = feature.part if feature.copy == 1 else f"{feature.part}:{feature.copy}"
    what = "hold-down hole" if feature.kind == "hold-down" else feature.kind
    gap = away - cutter.diameter / 2
    place = one.area.representative_point()
    if one.height is None:
        said = f"the {what} would be cut through over {one.said}, which holds the sheet from below"
    elif gap <= 0:
        said = f"the {what} would be cut through {one.said}"
    else:
        said = f"the {what} would be cut {gap:.1f} mm beside {one.said}, nearer than {AROUND:g} mm"
    return Finding(
        "error",
        "keep-out",
        said,
        "Move it, or lay the part elsewhere; the cut is left out",
        x_mm=round(place.x, 3),
        y_mm=round(place.y, 3),
        part=name,
    )
