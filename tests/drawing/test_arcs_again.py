"""Drawings whose arcs were drawn as something else: polylines, line soup, splines, Bézier curves, blocks."""

import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf.layouts import Modelspace
from ezdxf.math import BSpline, Vec3

from camkit.drawing.curves import lines_through
from camkit.drawing.drawn import Drawn
from camkit.drawing.dxf_spline import spline_points
from camkit.drawing.read import read
from camkit.geometry.path import Arc, Line, arc_sweep, signed_area
from camkit.geometry.path import Path as Outline

Dxf = Callable[..., Drawn]
Svg = Callable[..., Drawn]
DRAWINGS = Path(__file__).parents[3] / "shared" / "drawings"


def arcs_of(path: Outline) -> list[Arc]:
    return [s for s in path.segments if isinstance(s, Arc)]


def notes(found: Drawn) -> list[str]:
    return [f.message for f in found.findings if f.rule == "arcs-recognised" and f.level == "note"]


def sampled(
    x: float, y: float, radius: float, first_deg: float, sweep_deg: float
) -> list[tuple[float, float]]:
    """Corners on an arc every 3 degrees: the sagitta is R (1 - cos 1.5 degrees), 0.0027 mm at R 8."""
    count = round(abs(sweep_deg) / 3)
    turns = [math.radians(first_deg + sweep_deg * k / count) for k in range(count + 1)]
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]


def rounded(x: float, y: float, length: float, width: float, radius: float) -> list[tuple[float, float]]:
    """A rectangle with round corners, in short lines."""
    left, right, low, high = x + radius, x + length - radius, y + radius, y + width - radius
    return [
        *sampled(right, low, radius, -90, 90),
        *sampled(right, high, radius, 0, 90),
        *sampled(left, high, radius, 90, 90),
        *sampled(left, low, radius, 180, 90),
    ]


def draw_polyline(space: Modelspace, corners: list[tuple[float, float]]) -> None:
    space.add_lwpolyline(corners, close=True)


def draw_lines(space: Modelspace, corners: list[tuple[float, float]]) -> None:
    """Every other line first, and some of them backwards."""
    lines = list(pairwise([*corners, corners[0]]))
    for number, (a, b) in enumerate([*lines[::2], *lines[1::2]]):
        space.add_line(*((a, b) if number % 3 else (b, a)))


def draw_old_polyline(space: Modelspace, corners: list[tuple[float, float]]) -> None:
    space.add_polyline3d([(x, y, 3) for x, y in corners], close=True)


@pytest.mark.parametrize("draw", [draw_polyline, draw_lines, draw_old_polyline])
def test_round_corners_drawn_in_short_lines_are_arcs_again(dxf: Dxf, draw: Callable[..., None]) -> None:
    found = dxf(lambda space: draw(space, rounded(10, 20, 200, 90, 8)))
    outline = found.parts[0].outline
    assert len(outline.segments) == 8
    assert [arc.radius for arc in arcs_of(outline)] == pytest.approx([8] * 4)
    assert signed_area(outline) == pytest.approx(200 * 90 - (4 - math.pi) * 64, abs=1e-5)
    assert notes(found) == ["arcs recognised in short lines: 4 (from 120 lines)"]


def test_a_drawing_without_such_lines_says_nothing(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0, 0), (200, 0, 1), (200, 60, 0), (0, 60, 1)], format="xyb", close=True)
        space.add_circle((100, 30), 5)
        space.add_lwpolyline(
            [(30 + 9 * math.cos(k * math.tau / 8), 30 + 9 * math.sin(k * math.tau / 8)) for k in range(8)],
            close=True,
        )

    found = dxf(draw)
    assert notes(found) == []
    (octagon,) = found.parts[0].openings
    assert len(octagon.segments) == 8 and not arcs_of(octagon)


def test_a_ring_of_short_lines_is_a_hole_of_the_true_diameter(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (200, 0), (200, 100), (0, 100)], close=True)
        draw_lines(space, sampled(60, 40, 8, 0, 360)[:-1])

    (hole,) = dxf(draw).parts[0].holes
    assert hole.centre == pytest.approx((60, 40), abs=1e-9)
    assert hole.diameter == pytest.approx(16, abs=1e-9)


def test_reordering_or_turning_the_drawing_keeps_areas(dxf: Dxf) -> None:
    corners = rounded(0, 0, 120, 70, 6)
    areas = []
    for turn_deg, begin in ((0, 0), (0, 17), (33, 5), (90, 60)):
        turn = math.radians(turn_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        turned = [(x * cos - y * sin, x * sin + y * cos) for x, y in (*corners[begin:], *corners[:begin])]
        outline = dxf(lambda space, c=turned: draw_lines(space, c)).parts[0].outline
        assert len(outline.segments) == 8
        areas.append(signed_area(outline))
    assert areas == pytest.approx([areas[0]] * 4, abs=0.005)


def farthest_from(path: Outline, points: np.ndarray) -> float:
    """The largest distance of points from a path, arcs measured by their centre and radius."""
    chords, best = [], np.full(len(points), np.inf)
    for s in path.segments:
        if isinstance(s, Line):
            chords.append((s.start, s.end))
            continue
        away = points - s.centre
        begin = math.atan2(s.start[1] - s.centre[1], s.start[0] - s.centre[0])
        turned = np.arctan2(away[:, 1], away[:, 0]) - begin
        within = (-turned if s.clockwise else turned) % math.tau <= arc_sweep(s) + 1e-9
        off = np.abs(np.hypot(*away.T) - math.dist(s.start, s.centre))
        best = np.where(within, np.minimum(best, off), best)
    if chords:
        lines = shapely.MultiLineString(chords)
        best = np.minimum(best, shapely.distance(shapely.points(points), lines))
    return float(best.max())


def on_curve(spline: BSpline) -> np.ndarray:
    """The true curve in 4000 steps, by ezdxf."""
    knots = spline.knots()
    times = np.linspace(knots[spline.order - 1], knots[spline.count], 4001)
    return np.array([(p.x, p.y) for p in spline.points(times.tolist())])


def closed_by_a_corner(space: Modelspace, spline: BSpline, corner: tuple[float, float]) -> None:
    space.add_spline().apply_construction_tool(spline)
    points = list(spline.points([spline.knots()[spline.order - 1], spline.knots()[spline.count]]))
    space.add_line(points[0], corner)
    space.add_line(points[1], corner)


def test_a_spline_that_was_an_arc_is_an_arc_again(dxf: Dxf) -> None:
    """A rational quadratic spline draws an arc exactly (Piegl and Tiller, The NURBS Book, chapter 7)."""
    from ezdxf.math import rational_bspline_from_arc

    spline = rational_bspline_from_arc(Vec3(50, 40), 30, 20, 200)
    outline = dxf(lambda space: closed_by_a_corner(space, spline, (70, -40))).parts[0].outline
    (arc,) = arcs_of(outline)
    assert len(outline.segments) == 3
    assert arc.centre == pytest.approx((50, 40), abs=1e-6)
    assert arc.radius == pytest.approx(30, abs=1e-6)
    assert arc_sweep(arc) == pytest.approx(math.pi)
    assert farthest_from(outline, on_curve(spline)) <= 1e-6


@pytest.mark.parametrize("radius", [2.0, 8.0, 15.0])
def test_a_cubic_spline_near_an_arc_becomes_an_arc_within_5_um_of_the_true_curve(
    dxf: Dxf, radius: float
) -> None:
    """The usual cubic for a quarter circle strays outward by up to 0.000273 R."""
    k = 4 / 3 * math.tan(math.pi / 8)
    points = [Vec3(radius, 0), Vec3(radius, k * radius), Vec3(k * radius, radius), Vec3(0, radius)]
    spline = BSpline(points, order=4)
    outline = dxf(lambda space: closed_by_a_corner(space, spline, (-60, -70))).parts[0].outline
    (arc,) = arcs_of(outline)
    assert arc.radius == pytest.approx(radius, abs=0.02)
    assert farthest_from(outline, on_curve(spline)) <= 0.005


@pytest.mark.parametrize("seed", range(8))
def test_free_splines_stay_chords_near_the_true_curve(dxf: Dxf, seed: int) -> None:
    """Random cubic splines of seven control points; chords keep within 0.002 mm."""
    rng = np.random.default_rng(seed)
    controls = [Vec3(40 * k, 30 * float(y)) for k, y in enumerate(rng.uniform(-1, 1, 7))]
    spline = BSpline(controls, order=4)
    outline = dxf(lambda space: closed_by_a_corner(space, spline, (120, -200))).parts[0].outline
    assert not arcs_of(outline)
    assert farthest_from(outline, on_curve(spline)) <= 0.002 + 1e-6


def test_a_spline_that_turns_back_is_flattened_beyond_the_end_of_its_chord() -> None:
    """Its hairpin is some hundredths of a millimetre wide and stands past the chords beside it."""
    corners = [(0.17, -0.6445), (-0.5349, -0.8218), (-1.4743, -2.2023), (-0.9052, 0.9532), (-1.225, -1.2547)]
    spline = BSpline([Vec3(x, y) for x, y in corners], order=4)
    chords = lines_through(spline_points(spline, 0.002))
    assert farthest_from(Outline(chords), on_curve(spline)) <= 0.002 + 1e-6


def test_an_ellipse_stays_chords(dxf: Dxf) -> None:
    outline = dxf(lambda space: space.add_ellipse((50, 40), (60, 0), 0.6)).parts[0].outline
    assert not arcs_of(outline)
    turns = np.linspace(0, math.tau, 5000)
    points = np.column_stack((50 + 60 * np.cos(turns), 40 + 36 * np.sin(turns)))
    assert farthest_from(outline, points) <= 0.002 + 1e-6


def test_bezier_circles_and_corners_of_an_svg_are_arcs_again(svg: Svg) -> None:
    """Circles of editors that know no arcs: four cubics each, handles of 0.5523 R."""
    r, k = 6.0, 6.0 * 0.55228475
    ring = (
        f"M{60 + r},50 C{60 + r},{50 + k} {60 + k},{50 + r} 60,{50 + r} S{60 - r},{50 + k} {60 - r},50"
        f" S{60 - k},{50 - r} 60,{50 - r} S{60 + r},{50 - k} {60 + r},50 Z"
    )
    plate = "M10,10 H100 C105.5228475,10 110,14.4771525 110,20 V90 H10 Z"
    found = svg("".join(f'<path d="{d}" fill="none" stroke="black"/>' for d in (plate, ring)))
    (part,) = found.parts
    (hole,) = part.holes
    assert hole.centre == pytest.approx((60, 50), abs=1e-6)
    assert hole.diameter == pytest.approx(12, abs=0.004)
    (arc,) = arcs_of(part.outline)
    assert arc.radius == pytest.approx(10, abs=0.02)
    assert len(part.outline.segments) == 5


def draw_tombstone(space: Modelspace, **how: object) -> None:
    """A rectangle of 80 x 60 with a half disc on its right, by one bulged and one arc of its own."""
    block = space.doc.blocks.new("TOMB")
    block.add_lwpolyline([(0, 0, 0), (80, 0, 1), (80, 60, 0), (0, 60, 0)], format="xyb", close=True)
    block.add_line((20, 20), (20, 40))
    block.add_arc((20, 30), 10, 270, 90)
    space.add_blockref("TOMB", (300, 300), how)


@pytest.mark.parametrize(
    ("how", "scale"),
    [
        ({"rotation": 37}, 1.0),
        ({"xscale": -1}, 1.0),
        ({"yscale": -1, "rotation": 120}, 1.0),
        ({"xscale": 2.5, "yscale": 2.5, "zscale": 2.5, "rotation": -20}, 2.5),
        ({"xscale": -0.5, "yscale": 0.5}, 0.5),
        ({"extrusion": (0, 0, -1)}, 1.0),
        ({"extrusion": (0, 0, -1), "rotation": 15, "xscale": -3, "yscale": 3}, 3.0),
    ],
)
def test_inserts_keep_bulges_and_arcs_true(dxf: Dxf, how: dict[str, object], scale: float) -> None:
    found = dxf(lambda space: draw_tombstone(space, **how))
    (part,) = found.parts
    (opening,) = part.openings
    assert [arc.radius for arc in arcs_of(part.outline)] == pytest.approx([30 * scale])
    assert [arc.radius for arc in arcs_of(opening)] == pytest.approx([10 * scale])
    assert signed_area(part.outline) == pytest.approx((4800 + math.pi * 450) * scale**2)
    assert abs(signed_area(opening)) == pytest.approx(math.pi * 50 * scale**2)
    assert notes(found) == []


def test_an_ellipse_that_is_round_stays_a_true_arc_in_a_turned_insert(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        block = space.doc.blocks.new("HALF")
        block.add_ellipse((0, 0), (25, 0), 1.0, 0, math.pi)
        block.add_line((-25, 0), (25, 0))
        space.add_blockref("HALF", (100, 100), {"rotation": 50, "xscale": -2, "yscale": 2})

    outline = dxf(draw).parts[0].outline
    assert [arc.radius for arc in arcs_of(outline)] == pytest.approx([50])
    assert signed_area(outline) == pytest.approx(math.pi * 1250)


def test_a_circle_in_four_quarters_is_a_hole(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True)
        for k in range(4):
            space.add_arc((40, 30), 7, 90 * k, 90 * k + 90)

    (hole,) = dxf(draw).parts[0].holes
    assert (hole.centre, hole.diameter) == (pytest.approx((40, 30)), pytest.approx(14))


@pytest.mark.skipif(not DRAWINGS.is_dir(), reason="the published drawings are not at hand")
def test_the_cover_drawn_in_splines_has_holes_of_its_true_sizes() -> None:
    """Screw holes of 5.0 and 3.84 mm, each drawn as eight splines."""
    found = read(DRAWINGS / "cover-splines.dxf")
    assert notes(found) == ["arcs recognised in short lines: 142 (from 9088 lines)"]
    (part,) = found.parts
    assert sorted({round(hole.diameter, 2) for hole in part.holes}) == [3.84, 5.0]


@pytest.mark.skipif(not DRAWINGS.is_dir(), reason="the published drawings are not at hand")
def test_the_coarse_facets_of_the_rack_stay_lines() -> None:
    """36 facets of 1/8 inch stand off by 3.175 (1 - cos 5 degrees) = 0.012 mm."""
    found = read(DRAWINGS / "rack-inches.dxf")
    assert notes(found) == []
    assert not any(arcs_of(part.outline) for part in found.parts)
