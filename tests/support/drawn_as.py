"""One and the same drawing written in the many ways that a DXF or an SVG file can hold it."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import ezdxf
from ezdxf.document import Drawing as Document
from ezdxf.layouts import BlockLayout, Modelspace
from ezdxf.math import rational_bspline_from_arc

from support.bulged import Drawing, Loop, Motion, Piece, ways

__all__ = ["DXF_WAYS", "SVG_WAYS", "Stroke", "draw_strokes", "strokes_of", "write_dxf", "write_svg"]

Layout = Modelspace | BlockLayout
Way = Callable[[Document, Drawing, random.Random], None]
BELOW = (0.0, 0.0, -1.0)  # extrusion of a view from below: the entity's own x runs to the left


def _polyline(layout: Layout, loop: Loop, **attribs: object) -> None:
    layout.add_lwpolyline(loop, format="xyb", close=True, dxfattribs=attribs)


def _pieces(layout: Layout, drawing: Drawing) -> None:
    for piece in drawing:
        for loop in (piece.outline, *piece.openings):
            _polyline(layout, loop)
        for x, y, diameter in piece.holes:
            layout.add_circle((x, y), diameter / 2)


def as_lwpolylines(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """LWPOLYLINE with bulges and CIRCLE, in any order and direction."""
    _pieces(doc.modelspace(), drawing)


def as_polylines(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """The older POLYLINE with VERTEX entities."""
    space = doc.modelspace()
    for piece in drawing:
        for loop in (piece.outline, *piece.openings):
            space.add_polyline2d(loop, format="xyb", close=True)
        for x, y, diameter in piece.holes:
            space.add_circle((x, y), diameter / 2)


Stroke = tuple[tuple[float, float], tuple[float, float], float]  # from, to, bulge


def _split(stroke: Stroke, chance: random.Random) -> list[Stroke]:
    """The stroke in one to three pieces; an arc is split by angle."""
    a, b, bulge = stroke
    shares = [0.0, *sorted(chance.uniform(0.2, 0.8) for _ in range(chance.randint(0, 2))), 1.0]
    shares = [s for i, s in enumerate(shares) if i == 0 or s - shares[i - 1] > 0.05 or s == 1.0]
    if not bulge:
        ends = [(a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s) for s in shares]
        return [(p, q, 0.0) for p, q in pairwise(ends)]
    (cx, cy), radius, first, sweep = _arc(stroke)
    ends = [
        (cx + radius * math.cos(first + sweep * s), cy + radius * math.sin(first + sweep * s)) for s in shares
    ]
    ends[0], ends[-1] = a, b
    bulges = [math.tan(sweep * (t - s) / 4) for s, t in pairwise(shares)]
    return list(zip(ends, ends[1:], bulges, strict=False))


def _arc(stroke: Stroke) -> tuple[tuple[float, float], float, float, float]:
    """Centre, radius, first angle and signed sweep of a stroke with a bulge."""
    (ax, ay), (bx, by), bulge = stroke
    shift = (1 - bulge**2) / (4 * bulge)
    centre = ((ax + bx) / 2 - (by - ay) * shift, (ay + by) / 2 + (bx - ax) * shift)
    return (
        centre,
        math.dist(centre, (ax, ay)),
        math.atan2(ay - centre[1], ax - centre[0]),
        4 * math.atan(bulge),
    )


def strokes_of(loop: Loop, chance: random.Random) -> list[Stroke]:
    """The lines and arcs of a loop, each in one to three pieces."""
    return [
        stroke
        for (ax, ay, bulge), (bx, by, _) in ways(loop)
        for stroke in _split(((ax, ay), (bx, by), bulge), chance)
    ]


def as_line_soup(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """LINE and ARC entities, split, some of them turned round, in no order; circles in two arcs or whole."""
    strokes: list[Stroke] = []
    for piece in drawing:
        for loop in (piece.outline, *piece.openings):
            strokes += strokes_of(loop, chance)
        for x, y, diameter in piece.holes:
            if chance.random() < 0.5:
                doc.modelspace().add_circle((x, y), diameter / 2)
                continue
            right, left = (x + diameter / 2, y), (x - diameter / 2, y)
            strokes += [(right, left, 1.0), (left, right, 1.0)]
    draw_strokes(doc.modelspace(), strokes, chance)


def draw_strokes(space: Modelspace, strokes: list[Stroke], chance: random.Random) -> None:
    """LINE and ARC entities in no order, some drawn backwards or seen from below."""
    for a, b, bulge in chance.sample(strokes, len(strokes)):
        if not bulge:
            ends = (a, b) if chance.random() < 0.5 else (b, a)
            space.add_line(*ends)
            continue
        centre, radius, first, sweep = _arc((a, b, bulge))
        low, high = (first, first + sweep) if sweep > 0 else (first + sweep, first)
        if chance.random() < 0.3:  # seen from below, angles run the other way
            angles = (180 - math.degrees(high), 180 - math.degrees(low))
            space.add_arc((-centre[0], centre[1]), radius, *angles, dxfattribs={"extrusion": BELOW})
        else:
            space.add_arc(centre, radius, math.degrees(low), math.degrees(high))


def _insert(layout: Layout, name: str, motion: Motion) -> None:
    layout.add_blockref(
        name,
        (motion.x, motion.y),
        dxfattribs={
            "xscale": -motion.scale if motion.mirrored else motion.scale,
            "yscale": motion.scale,
            "zscale": motion.scale,
            "rotation": motion.turn_deg,
        },
    )


def _any_motion(chance: random.Random) -> Motion:
    return Motion(
        chance.choice((0.0, 90.0, chance.uniform(-180, 180))),
        chance.random() < 0.5,
        chance.choice((1.0, 0.5, 2.0, 25.4)),
        chance.uniform(-500, 500),
        chance.uniform(-500, 500),
    )


def as_blocks(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """Each part a block, inserted with a turn, a scale and perhaps a mirror."""
    for number, piece in enumerate(drawing):
        block = doc.blocks.new(f"PART {number}")
        motion = _any_motion(chance)
        _pieces(block, (motion.undone(piece),))
        _insert(doc.modelspace(), block.name, motion)


def as_nested_blocks(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """Blocks in blocks in blocks; outline and openings of a part lie at different depths."""
    for number, piece in enumerate(drawing):
        outer, middle, inner = (doc.blocks.new(f"PART {number} {name}") for name in "ABC")
        motions = [_any_motion(chance) for _ in range(3)]
        seen = piece
        layers: list[Piece] = []
        for motion in motions:
            seen = motion.undone(seen)
            layers.append(seen)
        _polyline(outer, layers[0].outline)
        for loop in layers[1].openings:
            _polyline(middle, loop)
        for x, y, diameter in layers[2].holes:
            inner.add_circle((x, y), diameter / 2)
        _insert(doc.modelspace(), outer.name, motions[0])
        _insert(outer, middle.name, motions[1])
        _insert(middle, inner.name, motions[2])


def as_seen_from_below(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """Every entity with its extrusion downwards, as a mirrored drawing has it."""
    space = doc.modelspace()
    for piece in drawing:
        for loop in (piece.outline, *piece.openings):
            _polyline(space, tuple((-x, y, -bulge) for x, y, bulge in loop), extrusion=BELOW)
        for x, y, diameter in piece.holes:
            space.add_circle((-x, y), diameter / 2, dxfattribs={"extrusion": BELOW})


def _round_loop(x: float, y: float, diameter: float) -> Loop:
    return ((x + diameter / 2, y, 1.0), (x - diameter / 2, y, 1.0))


def _loops(piece: Piece) -> tuple[Loop, ...]:
    """Every loop of a piece, its holes as two half circles."""
    return (piece.outline, *piece.openings, *(_round_loop(*hole) for hole in piece.holes))


def as_short_chords(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """Every arc in chords with a sagitta of 0.002, as polyline or loose lines; three decimals (mm meant)."""
    space = doc.modelspace()
    for piece in drawing:
        for loop in _loops(piece):
            points: list[tuple[float, float]] = []
            for (ax, ay, bulge), (bx, by, _) in ways(loop):
                points.append((ax, ay))
                if bulge:
                    centre, radius, first, sweep = _arc(((ax, ay), (bx, by), bulge))
                    count = max(2, math.ceil(abs(sweep) / (2 * math.acos(1 - 0.002 / radius))))
                    angles = [first + sweep * i / count for i in range(1, count)]
                    points += [
                        (centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles
                    ]
            points = [(round(x, 3), round(y, 3)) for x, y in points]
            if chance.random() < 0.5:
                space.add_lwpolyline(points, close=True)
            else:
                for a, b in pairwise([*points, points[0]]):
                    space.add_line(a, b)


def as_splines_and_ellipses(doc: Document, drawing: Drawing, chance: random.Random) -> None:
    """Every arc as a rational B-spline, which is exact, or as an ELLIPSE with equal axes."""
    space = doc.modelspace()
    for piece in drawing:
        for loop in _loops(piece):
            for (ax, ay, bulge), (bx, by, _) in ways(loop):
                if not bulge:
                    space.add_line((ax, ay), (bx, by))
                    continue
                centre, radius, first, sweep = _arc(((ax, ay), (bx, by), bulge))
                low, high = (first, first + sweep) if sweep > 0 else (first + sweep, first)
                if chance.random() < 0.5:
                    space.add_ellipse(centre, (radius, 0), 1.0, low, high)
                    continue
                curve = rational_bspline_from_arc(centre, radius, math.degrees(low), math.degrees(high))
                space.add_spline().apply_construction_tool(curve)


DXF_WAYS: dict[str, Way] = {
    "LWPOLYLINE": as_lwpolylines,
    "POLYLINE": as_polylines,
    "LINE and ARC": as_line_soup,
    "INSERT": as_blocks,
    "INSERT in INSERT": as_nested_blocks,
    "from below": as_seen_from_below,
    "short chords": as_short_chords,
    "SPLINE and ELLIPSE": as_splines_and_ellipses,
}

MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}  # by $INSUNITS: inch, foot, mm, cm, m


def write_dxf(path: Path, drawing: Drawing, way: str, seed: int = 0, insunits: int = 4) -> None:
    """Write a drawing given in mm to a DXF file in the unit named by `insunits`."""
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = insunits
    doc.header["$MEASUREMENT"] = 0 if insunits in (1, 2) else 1
    shrunk = Motion(scale=1 / MM[insunits])
    DXF_WAYS[way](doc, tuple(shrunk.piece(piece) for piece in drawing), random.Random(seed))
    doc.saveas(path)


def _data(loop: Loop, mirrored: bool) -> str:
    """Path data with A commands; `mirrored` where the frame's y axis runs down on the screen."""
    text = f"M {loop[0][0]!r} {loop[0][1]!r}"
    for (ax, ay, bulge), (bx, by, _) in ways(loop):
        if not bulge:
            text += f" L {bx!r} {by!r}"
            continue
        radius = math.dist((ax, ay), (bx, by)) / 2 / math.sin(2 * math.atan(abs(bulge)))
        large, sweep = int(abs(bulge) > 1), int((bulge > 0) != mirrored)
        text += f" A {radius!r} {radius!r} 0 {large} {sweep} {bx!r} {by!r}"
    return text + " Z"


def _flipped(loop: Loop, height: float) -> Loop:
    return tuple((x, height - y, bulge) for x, y, bulge in loop)


def _plain(drawing: Drawing, height: float, chance: random.Random) -> str:
    """Paths and circles on the page itself."""
    shapes = []
    for piece in drawing:
        shapes += [
            f'<path d="{_data(_flipped(loop, height), True)}"/>' for loop in (piece.outline, *piece.openings)
        ]
        shapes += [f'<circle cx="{x!r}" cy="{height - y!r}" r="{d / 2!r}"/>' for x, y, d in piece.holes]
    chance.shuffle(shapes)
    return "".join(shapes)


def _group(motion: Motion, inside: str) -> str:
    sx = -motion.scale if motion.mirrored else motion.scale
    place, turn = f"translate({motion.x!r} {motion.y!r})", f"rotate({motion.turn_deg!r})"
    return f'<g transform="{place} {turn} scale({sx!r},{motion.scale!r})">{inside}</g>'


def _grouped(drawing: Drawing, height: float, chance: random.Random) -> str:
    """Two groups with transforms about each part, inside one that turns the page over."""
    groups = []
    for piece in drawing:
        outer, inner = _any_motion(chance), _any_motion(chance)
        own = inner.undone(outer.undone(piece))
        shapes = "".join(f'<path d="{_data(loop, False)}"/>' for loop in (own.outline, *own.openings))
        shapes += "".join(f'<circle cx="{x!r}" cy="{y!r}" r="{d / 2!r}"/>' for x, y, d in own.holes)
        groups.append(_group(outer, _group(inner, shapes)))
    return f'<g transform="matrix(1,0,0,-1,0,{height!r})">{"".join(groups)}</g>'


def _curved(drawing: Drawing, height: float, chance: random.Random) -> str:
    """Arcs as cubic Bezier curves of at most 30 degrees, off by less than 1e-6 of the radius."""
    shapes = []
    for piece in drawing:
        for loop in _loops(piece):
            flat = _flipped(loop, height)
            text = f"M{flat[0][0]!r},{flat[0][1]!r}"
            for (ax, ay, bulge), (bx, by, _) in ways(flat):
                if not bulge:
                    text += f"L{bx!r},{by!r}"
                    continue
                # The page's y axis runs down: the bulge turns the other way in its coordinates.
                (cx, cy), radius, first, sweep = _arc(((ax, ay), (bx, by), -bulge))
                count = math.ceil(abs(sweep) / math.radians(30))
                step = sweep / count
                handle = 4 / 3 * math.tan(step / 4) * radius
                for i in range(count):
                    a, b = first + step * i, first + step * (i + 1)
                    p = (cx + radius * math.cos(a), cy + radius * math.sin(a))
                    q = (cx + radius * math.cos(b), cy + radius * math.sin(b)) if i + 1 < count else (bx, by)
                    text += f"C{p[0] - handle * math.sin(a)!r},{p[1] + handle * math.cos(a)!r}"
                    text += (
                        f" {q[0] + handle * math.sin(b)!r},{q[1] - handle * math.cos(b)!r} {q[0]!r},{q[1]!r}"
                    )
            shapes.append(f'<path d="{text}Z"/>')
    return "".join(shapes)


SVG_WAYS: dict[str, Callable[[Drawing, float, random.Random], str]] = {
    "plain": _plain,
    "grouped": _grouped,
    "curves": _curved,
}
PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96}  # CSS Values 3, section 5.2


def write_svg(path: Path, drawing: Drawing, way: str, seed: int = 0, unit: str = "mm") -> None:
    """Write a drawing given in mm to an SVG page of 2000 x 2000 mm, its origin lower left."""
    per = PER_UNIT[unit]
    side = 2000.0 / per
    shrunk = Motion(scale=1 / per)
    body = SVG_WAYS[way](tuple(shrunk.piece(piece) for piece in drawing), side, random.Random(seed))
    space = 'xmlns="http://www.w3.org/2000/svg"'
    size = f'width="{side!r}{unit}" height="{side!r}{unit}" viewBox="0 0 {side!r} {side!r}"'
    style = 'fill="none" stroke="black"'
    path.write_text(f"<svg {space} {size}><g {style}>{body}</g></svg>", encoding="utf-8")
