"""DXF entities as paths in mm: OCS turned into WCS, Z dropped, bulges and circles as true arcs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from ezdxf.math import Vec3

from camkit.drawing.curves import (
    arc_by_angles,
    arc_through,
    bulge_segments,
    ellipse_points,
    lines_through,
)
from camkit.drawing.dxf_spline import spline_points
from camkit.drawing.sketch import printable
from camkit.geometry.path import Line, Path, Point, Segment, circle
from camkit.geometry.tolerance import FLATTEN, SAME_POINT

__all__ = ["DRAWN_TYPES", "entity_label", "entity_paths", "entity_points", "is_tilted", "looks_round"]

# A plane tilted less than this against the drawing's plane shortens 3 m by 2 nm.
_UPRIGHT = 1 - 1e-9
# Steeper than this, and over more than this many mm, a thing drawn flat was meant to be no more.
_SLOPE, _RISE = 1.4e-3, 0.05
_FULL = 2 * math.pi
_LONGEST_NAME = 2000
# Fitting takes memory with the square of their number; splines drawn by hand have tens.
_MOST_FIT_POINTS = 1000


def entity_paths(entity: Any, scale: float) -> list[Path] | None:
    """The paths that an entity draws in plan, in mm; None for a kind that draws no line to cut.

    An empty list means that the entity has no extent in plan (a vertical line, a point-like polyline).
    """
    return _DRAW[entity.dxftype()](entity, scale)


def entity_points(entity: Any) -> list[Point]:
    """The coordinates that an entity stores, in drawing units: places, corners and control points."""
    names = ("start", "end", "center", "major_axis", "insert")
    stored = [Vec3(entity.dxf.get(name)) for name in names if entity.dxf.hasattr(name)]
    if entity.dxf.hasattr("radius"):
        stored.append(Vec3(entity.dxf.radius, 0))
    match entity.dxftype():
        case "LWPOLYLINE":
            stored += [Vec3(x, y) for x, y, _ in entity.get_points("xyb")]
        case "POLYLINE":
            places = (vertex.dxf.get("location") for vertex in entity.vertices)
            stored += [Vec3(place) for place in places if place is not None]
        case "SPLINE":
            stored += [Vec3(point) for point in (*entity.control_points, *entity.fit_points)]
    return [(place.x, place.y) for place in stored]


def looks_round(entity: Any) -> bool:
    """Whether arcs in the entity's plane are arcs in plan, however large: its plane is the drawing's own."""
    return _side(entity) != 0


def is_tilted(entity: Any, scale: float) -> bool:
    """Whether an entity leaves the drawing's plane, so that it is longer than it looks from above."""
    match entity.dxftype():
        case "LINE":
            points = (entity.dxf.start, entity.dxf.end)
        case "SPLINE":
            points = (*map(Vec3, entity.control_points), *map(Vec3, entity.fit_points))
        case "POLYLINE" if not entity.is_2d_polyline:
            points = tuple(Vec3(vertex.dxf.location) for vertex in entity.vertices)
        case _:
            normal = Vec3(entity.dxf.extrusion) if entity.dxf.hasattr("extrusion") else Vec3(0, 0, 1)
            return bool(math.hypot(normal.x, normal.y) > _SLOPE * abs(normal.z))
    heights = [point.z for point in points]
    rise = max(heights) - min(heights)
    if rise * scale <= _RISE:
        return False
    xs, ys = [point.x for point in points], [point.y for point in points]
    return bool(rise > _SLOPE * max(max(xs) - min(xs), max(ys) - min(ys)))


def entity_label(entity: Any, scale: float) -> tuple[str, Point, int] | None:
    """Text of a TEXT, MTEXT or ATTRIB, where it is anchored, in mm, and its lines; None when it is empty."""
    stored = entity.text if entity.dxftype() == "MTEXT" else entity.dxf.get("text", "")
    if len(stored) > _LONGEST_NAME:  # no part is called so, and long texts take long to be cleared of codes
        return None
    if entity.dxftype() == "MTEXT":
        place = Vec3(entity.dxf.insert)
    else:
        place = _to_wcs(entity, [entity.get_placement()[1]])[0]
    plain = entity.plain_text()
    text = printable(plain)
    return (text, (place.x * scale, place.y * scale), len(plain.strip().splitlines())) if text else None


def _to_wcs(entity: Any, points: Iterable[Any]) -> list[Vec3]:
    vectors = [Vec3(p) for p in points]
    if not entity.dxf.hasattr("extrusion"):
        return vectors
    normal = Vec3(entity.dxf.extrusion)
    if normal.z > 0 and abs(normal.x) < 1e-12 and abs(normal.y) < 1e-12:
        return vectors
    return list(entity.ocs().points_to_wcs(vectors))


def _side(entity: Any) -> int:
    """1 when the entity's plane looks up, -1 when it looks down, 0 when it is tilted."""
    if not entity.dxf.hasattr("extrusion"):
        return 1
    normal = Vec3(entity.dxf.extrusion)
    if normal.magnitude == 0:
        return 1
    z = normal.normalize().z
    return 0 if abs(z) < _UPRIGHT else (1 if z > 0 else -1)


def _path(segments: Sequence[Segment]) -> list[Path]:
    return [Path(tuple(segments))] if segments else []


def _line(entity: Any, scale: float) -> list[Path]:
    a, b = entity.dxf.start, entity.dxf.end
    start, end = (a.x * scale, a.y * scale), (b.x * scale, b.y * scale)
    return _path((Line(start, end),)) if start != end else []


def _circle(entity: Any, scale: float) -> list[Path]:
    radius = abs(entity.dxf.radius) * scale
    if radius <= SAME_POINT:
        return []
    if _side(entity) == 0:
        return _tilted(entity, radius, 0.0, _FULL, scale)
    centre = _to_wcs(entity, [entity.dxf.center])[0]
    return [circle((centre.x * scale, centre.y * scale), 2 * radius)]


def _arc(entity: Any, scale: float) -> list[Path]:
    radius = abs(entity.dxf.radius) * scale
    first = math.radians(entity.dxf.start_angle)
    sweep = (math.radians(entity.dxf.end_angle) - first) % _FULL or _FULL
    if radius <= SAME_POINT:
        return []
    side = _side(entity)
    if side == 0:
        return _tilted(entity, radius, first, first + sweep, scale)
    centre = _to_wcs(entity, [entity.dxf.center])[0]
    at = (centre.x * scale, centre.y * scale)
    if radius * (_FULL - sweep) <= SAME_POINT:
        return [circle(at, 2 * radius)]
    if side < 0:  # seen from below: X runs the other way
        first = math.pi - (first + sweep)
    return _path(arc_by_angles(at, radius, first, first + sweep))


def _tilted(entity: Any, radius: float, first: float, last: float, scale: float) -> list[Path]:
    """A circle in a tilted plane looks like an ellipse from above."""
    ocs = entity.ocs()
    centre, x, y = (Vec3(ocs.to_wcs(Vec3(v))) for v in (entity.dxf.center, (1, 0, 0), (0, 1, 0)))
    points = ellipse_points(
        (centre.x * scale, centre.y * scale),
        (x.x * radius, x.y * radius),
        (y.x * radius, y.y * radius),
        first,
        last,
        FLATTEN,
    )
    return _through(points, closed=last - first >= _FULL)


def _ellipse(entity: Any, scale: float) -> list[Path]:
    major, minor = Vec3(entity.dxf.major_axis) * scale, Vec3(entity.minor_axis) * scale
    centre = (entity.dxf.center.x * scale, entity.dxf.center.y * scale)
    first = entity.dxf.start_param
    sweep = (entity.dxf.end_param - first) % _FULL
    if sweep < 1e-9:
        sweep = _FULL
    a, b = math.hypot(major.x, major.y), math.hypot(minor.x, minor.y)
    if a <= SAME_POINT:
        return []
    square = abs(major.x * minor.x + major.y * minor.y) <= 1e-9 * a * a
    if square and abs(a - b) <= 1e-9 * a:
        if sweep == _FULL:
            return [circle(centre, 2 * a)]
        ends = [
            (
                centre[0] + major.x * math.cos(t) + minor.x * math.sin(t),
                centre[1] + major.y * math.cos(t) + minor.y * math.sin(t),
            )
            for t in (first, first + sweep)
        ]
        return _path(arc_through(ends[0], ends[1], centre, major.x * minor.y < major.y * minor.x))
    points = ellipse_points(centre, (major.x, major.y), (minor.x, minor.y), first, first + sweep, FLATTEN)
    return _through(points, closed=sweep == _FULL)


def _through(points: list[Point], *, closed: bool) -> list[Path]:
    if not all(math.isfinite(x) and math.isfinite(y) for x, y in points):
        raise ValueError("a point is not a number")
    if closed and len(points) > 2:
        points = [*points[:-1], points[0]]
    return _path(lines_through(points)) if len(points) > 1 else []


def _spline(entity: Any, scale: float) -> list[Path]:
    if not entity.control_points and len(entity.fit_points) > _MOST_FIT_POINTS:
        raise ValueError(f"a curve through more than {_MOST_FIT_POINTS} points cannot be fitted")
    points = [(x * scale, y * scale) for x, y in spline_points(entity.construction_tool(), FLATTEN / scale)]
    ends_meet = len(points) > 2 and math.dist(points[0], points[-1]) <= SAME_POINT
    return _through(points, closed=ends_meet)


def _lwpolyline(entity: Any, scale: float) -> list[Path]:
    corners = [(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")]
    places = _to_wcs(entity, [(x, y, entity.dxf.elevation) for x, y, _ in corners])
    return _bulged(entity, places, [b for _, _, b in corners], scale)


def _polyline(entity: Any, scale: float) -> list[Path] | None:
    if not (entity.is_2d_polyline or entity.is_3d_polyline):
        return None  # a mesh
    # Vertices with flag 16 only frame the curve that the others draw (DXF reference, VERTEX group 70).
    vertices = [v for v in entity.vertices if not v.dxf.flags & 16]
    places = [Vec3(v.dxf.location) for v in vertices]
    if entity.is_3d_polyline:
        points = [(p.x * scale, p.y * scale) for p in places]
        if entity.is_closed and len(points) > 2:
            points.append(points[0])
        return _through(points, closed=entity.is_closed)
    return _bulged(entity, _to_wcs(entity, places), [v.dxf.get("bulge", 0.0) for v in vertices], scale)


def _bulged(entity: Any, places: list[Vec3], bulges: list[float], scale: float) -> list[Path]:
    side = _side(entity)
    points = [(p.x * scale, p.y * scale) for p in places]
    if side == 0 and any(bulges):
        return [path for part in entity.virtual_entities() for path in entity_paths(part, scale) or ()]
    segments: list[Segment] = []
    last = len(points) if entity.is_closed else len(points) - 1
    start = points[0] if points else (0.0, 0.0)
    for index in range(last):
        end = points[(index + 1) % len(points)]
        if math.dist(start, end) <= SAME_POINT and index < last - 1:
            continue  # the same corner twice
        bulge = bulges[index] * side
        if math.dist(start, end) <= SAME_POINT:
            break
        segments.extend(bulge_segments(start, end, bulge) if bulge else (Line(start, end),))
        start = end
    return _path(segments)


_DRAW = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
}
DRAWN_TYPES = frozenset(_DRAW)
