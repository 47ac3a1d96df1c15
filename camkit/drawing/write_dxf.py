"""What was read from a drawing as a DXF text of its own: one layer a kind, lengths in mm, true arcs."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new

from camkit.drawing.drawn import Drawn
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import Bounds, bounds_of_all
from camkit.geometry.path import Arc, Path, Point, arc_sweep
from camkit.part import LayerRule, Part

__all__ = ["dxf_rules", "dxf_text"]

# Colour numbers of the DXF reference. Layers with a depth take turns, shallow to deep, pockets first.
_COLOURS = {"outline": 7, "opening": 1, "hole": 5, "sheet edge": 8, "name": 9}
_DEPTH_COLOURS = (3, 30, 6, 4, 52, 200)
# Every moment in the header is this one (Julian day of 2000-01-01), every identifier is nil: the loader would
# take the clock and chance, and one drawing would never give the same bytes twice.
_MOMENT = "2451544.5"
_NIL = "{00000000-0000-0000-0000-000000000000}"
_MOMENTS = re.compile(r"(\$TDU?(?:CREATE|UPDATE)\n *40\n)\S+")
_IDENTIFIERS = re.compile(r"(\$(?:FINGERPRINT|VERSION)GUID\n *2\n)\S+")
_WRITTEN_AT = re.compile(r"\n[^\n]+ @ \d{4}-\d\d-\d\dT[^\n]+\n")
# A name is written this high: a share of the part's smaller side, within limits that can be read.
_LETTER_SHARE = 0.1
_LETTERS = (2.0, 20.0)
_CHORDS = 0.05


@dataclass(frozen=True, slots=True)
class _Layer:
    """A layer of the file and what a job must say about it."""

    name: str
    meaning: LayerRule


def dxf_rules(drawn: Drawn) -> tuple[LayerRule, ...]:
    """The rules with which the text of `dxf_text` reads back as the same parts, one a layer."""
    return tuple(layer.meaning for layer in _layers(drawn))


def dxf_text(drawn: Drawn) -> str:
    """The parts and the sheet's border as the text of a DXF file (R2010), to be saved in UTF-8.

    Outlines, openings and pockets are polylines with bulges, or circles where they are round; each depth has
    a layer of its own, whose name says it. Names stand on their part's wood. What was not cut is not written.
    """
    document = new("R2010", units=4)
    document.header["$MEASUREMENT"] = 1
    document.header["$LASTSAVEDBY"] = "camkit"
    deep = 0
    for layer in _layers(drawn):
        colour = _COLOURS.get(layer.name)
        if colour is None:
            colour, deep = _DEPTH_COLOURS[deep % len(_DEPTH_COLOURS)], deep + 1
        document.layers.add(layer.name, color=colour)
    space = document.modelspace()
    _draw(space, drawn)
    paths = [part.outline for part in drawn.parts] + ([drawn.sheet_edge] if drawn.sheet_edge else [])
    if paths:
        _show_all(document, bounds_of_all(paths))
    # The loader would add these from a set, in an order that changes from run to run.
    for kind in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(kind)
    stream = io.StringIO()
    document.write(stream)
    return "999\nwritten by camkit\n" + _without_clock(stream.getvalue())


def _layers(drawn: Drawn) -> Iterator[_Layer]:
    parts = drawn.parts
    if parts:
        yield _Layer("outline", LayerRule("outline", "profile"))
    if any(part.openings for part in parts):
        yield _Layer("opening", LayerRule("opening", "opening"))
    if any(hole.depth is None for part in parts for hole in part.holes):
        yield _Layer("hole", LayerRule("hole", "hole"))
    for depth in sorted({pocket.depth for part in parts for pocket in part.pockets}):
        yield _Layer(_pocket_layer(depth), LayerRule(_pocket_layer(depth), "pocket", depth))
    for depth in sorted({hole.depth for part in parts for hole in part.holes if hole.depth is not None}):
        yield _Layer(_hole_layer(depth), LayerRule(_hole_layer(depth), "hole", depth))
    for angle in sorted({h.countersink.angle_deg for part in parts for h in part.holes if h.countersink}):
        layer = _sink_layer(angle)
        yield _Layer(layer, LayerRule(layer, "countersink", angle_deg=angle))
    if drawn.sheet_edge is not None:
        yield _Layer("sheet edge", LayerRule("sheet edge", "sheet edge"))
    if parts:
        yield _Layer("name", LayerRule("name", "ignore"))


def _pocket_layer(depth: float) -> str:
    return f"pocket {depth:.12g}"


def _hole_layer(depth: float | None) -> str:
    return "hole" if depth is None else f"hole {depth:.12g} deep"


def _sink_layer(angle: float) -> str:
    return f"countersink {angle:.12g}"


def _draw(space: Any, drawn: Drawn) -> None:
    if drawn.sheet_edge is not None:
        _add(space, drawn.sheet_edge, "sheet edge")
    for part, spot in zip(drawn.parts, _spots(drawn.parts), strict=True):
        _add(space, part.outline, "outline")
        for opening in part.openings:
            _add(space, opening, "opening")
        for hole in part.holes:
            space.add_circle(hole.centre, hole.diameter / 2, {"layer": _hole_layer(hole.depth)})
            if (sink := hole.countersink) is not None:
                rim = {"layer": _sink_layer(sink.angle_deg)}
                space.add_circle(hole.centre, sink.diameter / 2, rim)
        for pocket in part.pockets:
            for loop in (pocket.outline, *pocket.islands):
                _add(space, loop, _pocket_layer(pocket.depth))
        text = space.add_text(_as_text(part.name), height=_letters(part), dxfattribs={"layer": "name"})
        text.set_placement(spot, align=TextEntityAlignment.MIDDLE_CENTER)


def _add(space: Any, path: Path, layer: str) -> None:
    first = path.segments[0]
    if isinstance(first, Arc) and _is_full_circle(path, first):
        space.add_circle(first.centre, first.radius, {"layer": layer})
        return
    corners = [(*segment.start, _bulge(segment)) for segment in path.segments]
    space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": layer})


def _is_full_circle(path: Path, first: Arc) -> bool:
    turned = 0.0
    for segment in path.segments:
        if not isinstance(segment, Arc) or math.dist(segment.centre, first.centre) > 1e-9:
            return False
        turned += -arc_sweep(segment) if segment.clockwise else arc_sweep(segment)
    return abs(abs(turned) - 2 * math.pi) < 1e-6


def _bulge(segment: object) -> float:
    """The tangent of a quarter of the sweep, negative clockwise (DXF reference, LWPOLYLINE group 42)."""
    if not isinstance(segment, Arc):
        return 0.0
    bulge = math.tan(arc_sweep(segment) / 4)
    return -bulge if segment.clockwise else bulge


def _spots(parts: Sequence[Part]) -> list[Point]:
    """A point on the wood of each part and of no other part, where there is one."""
    wood = [shapely.make_valid(as_polygon(part.region(), _CHORDS)) for part in parts]
    tree = shapely.STRtree(wood)
    spots = []
    for number, area in enumerate(wood):
        others = [wood[k] for k in sorted(tree.query(area, predicate="intersects").tolist()) if k != number]
        own = area.difference(shapely.union_all(others)) if others else area
        spot = shapely.point_on_surface(area if own.is_empty else own)
        spots.append((float(spot.x), float(spot.y)))
    return spots


def _letters(part: Part) -> float:
    x0, y0, x1, y1 = part.bounds()
    return max(_LETTERS[0], min(_LETTERS[1], round(_LETTER_SHARE * min(x1 - x0, y1 - y0), 1)))


def _as_text(name: str) -> str:
    """The name as group 1 takes it: a caret stands before control signs, two percent signs before others."""
    while "%%" in name:
        name = name.replace("%%", "% %")
    return name.replace("^", "^ ")


def _show_all(document: Any, extent: Bounds) -> None:
    x0, y0, x1, y1 = extent
    document.modelspace().reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
    document.set_modelspace_vport(
        height=1.1 * max(y1 - y0, (x1 - x0) / 2), center=((x0 + x1) / 2, (y0 + y1) / 2)
    )


def _without_clock(text: str) -> str:
    text = _MOMENTS.sub(rf"\g<1>{_MOMENT}", text)
    text = _IDENTIFIERS.sub(rf"\g<1>{_NIL}", text)
    return _WRITTEN_AT.sub("\ncamkit\n", text)
