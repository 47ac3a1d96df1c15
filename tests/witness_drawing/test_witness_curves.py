"""Arcs stay arcs, arcs drawn as chords or splines are found again, other curves keep within 0.002 mm."""

from __future__ import annotations

import math
from collections.abc import Callable

import ezdxf
import numpy as np
import pytest
from ezdxf.layouts import Modelspace
from ezdxf.math import BSpline, rational_bspline_from_arc
from shapely import Polygon
from support.bulged import exact_area, path_polygon

from camkit.drawing.drawn import Drawn
from camkit.geometry.path import Arc, Line, Path

ReadDxf = Callable[..., Drawn]
ReadSvg = Callable[..., Drawn]
QUARTER = math.tan(math.pi / 8)
ROUNDED = [
    (10, 0, 0),
    (90, 0, QUARTER),
    (100, 10, 0),
    (100, 50, QUARTER),
    (90, 60, 0),
    (10, 60, QUARTER),
    (0, 50, 0),
    (0, 10, QUARTER),
]


def arcs(path: Path) -> list[Arc]:
    return [s for s in path.segments if isinstance(s, Arc)]


def off(path: Path, curve: np.ndarray) -> float:
    """Largest distance between what was read and a closed curve given by dense points."""
    read, meant = path_polygon(path, 1e-5).exterior, Polygon(curve).exterior
    return float(read.hausdorff_distance(meant))


def rounded(layout: Modelspace) -> None:
    layout.add_lwpolyline(ROUNDED, format="xyb", close=True)


def assert_four_fillets(drawn: Drawn, radius: float) -> None:
    (part,) = drawn.parts
    found = arcs(part.outline)
    assert len(found) == 4
    assert len(part.outline.segments) == 8
    assert [arc.radius for arc in found] == pytest.approx([radius] * 4, abs=1e-9)


def test_a_bulge_is_an_arc(read_dxf: ReadDxf) -> None:
    assert_four_fillets(read_dxf(rounded), 10)


@pytest.mark.parametrize(
    "how",
    (
        {"rotation": 37.0},
        {"xscale": -1.0},
        {"yscale": -1.0},
        {"xscale": -1.0, "yscale": -1.0},
        {"xscale": 2.5, "yscale": 2.5, "rotation": -110.0},
        {"xscale": -0.5, "yscale": 0.5, "rotation": 12.5},
        {"extrusion": (0.0, 0.0, -1.0), "rotation": 30.0},
    ),
)
def test_an_arc_stays_an_arc_through_an_insert(read_dxf: ReadDxf, how: dict[str, float]) -> None:
    def draw(space: Modelspace) -> None:
        block = space.doc.blocks.new("PLATE")
        rounded(block)
        space.add_blockref("PLATE", (500, 300), dxfattribs=how)

    assert_four_fillets(read_dxf(draw), 10 * abs(float(how.get("xscale", 1.0))))


@pytest.mark.parametrize("from_below", (False, True))
def test_arc_entities_stay_arcs_whichever_way_they_look(read_dxf: ReadDxf, from_below: bool) -> None:
    side = -1 if from_below else 1
    look = {"extrusion": (0.0, 0.0, float(side))}

    def draw(space: Modelspace) -> None:
        for y in (0, 60):
            space.add_line((10, y), (90, y))
        for x in (0, 100):
            space.add_line((x, 10), (x, 50))
        for x, y, start in ((90, 50, 0), (10, 50, 90), (10, 10, 180), (90, 10, 270)):
            angles = (start, start + 90) if side == 1 else (180 - start - 90, 180 - start)
            space.add_arc((side * x, y), 10, *angles, dxfattribs=look)

    drawn = read_dxf(draw)
    assert_four_fillets(drawn, 10)
    assert drawn.parts[0].bounds() == pytest.approx((0, 0, 100, 60))


def test_an_svg_arc_command_is_an_arc(read_svg: ReadSvg) -> None:
    path = (
        "M10 0 H90 A10 10 0 0 1 100 10 V50 A10 10 0 0 1 90 60 H10 A10 10 0 0 1 0 50 V10 A10 10 0 0 1 10 0 Z"
    )
    assert_four_fillets(read_svg(f'<path d="{path}" fill="none" stroke="black"/>'), 10)


def plate_with(draw: Callable[[Modelspace], object]) -> Callable[[Modelspace], None]:
    def both(space: Modelspace) -> None:
        space.add_lwpolyline([(-100, -60), (100, -60), (100, 60), (-100, 60)], close=True)
        draw(space)

    return both


@pytest.mark.parametrize(("radius", "corners"), ((20.0, 200), (4.0, 72), (2.5, 64)))
def test_a_circle_of_many_chords_is_a_hole(read_dxf: ReadDxf, radius: float, corners: int) -> None:
    assert radius * (1 - math.cos(math.pi / corners)) < 0.006  # the sagitta of a chord
    turns = [math.tau * i / corners for i in range(corners)]

    def draw(space: Modelspace) -> None:
        points = [(7 + radius * math.cos(a), -3 + radius * math.sin(a)) for a in turns]
        space.add_lwpolyline(points, close=True)

    (part,) = read_dxf(plate_with(draw)).parts
    (hole,) = part.holes
    assert not part.openings
    assert hole.diameter == pytest.approx(2 * radius, abs=0.005)
    assert hole.centre == pytest.approx((7, -3), abs=0.005)


def test_a_rational_spline_circle_is_a_hole(read_dxf: ReadDxf) -> None:
    # A circle as a rational B-spline of degree 2 is exact (Piegl & Tiller, The NURBS Book, section 7.5).
    curve = rational_bspline_from_arc((7, -3), radius=12.5, start_angle=0, end_angle=360)

    def draw(space: Modelspace) -> None:
        space.add_spline().apply_construction_tool(curve)

    (part,) = read_dxf(plate_with(draw)).parts
    assert [hole.diameter for hole in part.holes] == pytest.approx([25.0], abs=0.005)


def test_four_bezier_curves_of_a_small_circle_are_a_hole(read_svg: ReadSvg) -> None:
    # The usual handle of 0.5523 r is off by 2.7e-4 r at most: 0.0027 mm here.
    k = 10 * 0.5522847
    circle = (
        f"M60 50 C60 {50 + k} {50 + k} 60 50 60 C{50 - k} 60 40 {50 + k} 40 50 "
        f"C40 {50 - k} {50 - k} 40 50 40 C{50 + k} 40 60 {50 - k} 60 50 Z"
    )
    drawn = read_svg(
        f'<path d="M0 0H200V100H0Z" /><path d="{circle}"/>'.replace("/>", ' fill="none" stroke="black"/>')
    )
    (part,) = drawn.parts
    assert [hole.diameter for hole in part.holes] == pytest.approx([20.0], abs=0.006)


@pytest.mark.parametrize("corners", (3, 4, 5, 6, 8, 12))
def test_a_regular_polygon_stays_one(read_dxf: ReadDxf, corners: int) -> None:
    points = [
        (30 * math.cos(math.tau * i / corners), 30 * math.sin(math.tau * i / corners)) for i in range(corners)
    ]

    def draw(space: Modelspace) -> None:
        space.add_lwpolyline(points, close=True)
        space.add_lwpolyline([(x / 6, y / 6) for x, y in points], close=True)

    (part,) = read_dxf(draw).parts
    assert not part.holes
    (opening,) = part.openings
    for path in (part.outline, opening):
        assert len(path.segments) == corners
        assert all(isinstance(s, Line) for s in path.segments)


def dense(curve: BSpline, count: int = 20000) -> np.ndarray:
    last = curve.max_t
    return np.array([(p.x, p.y) for p in curve.points(np.linspace(0, last, count))])


@pytest.mark.parametrize("ratio", (0.1, 0.3, 0.75))
def test_an_ellipse_keeps_within_two_micrometres(read_dxf: ReadDxf, ratio: float) -> None:
    drawn = read_dxf(lambda space: space.add_ellipse((20, 10), (80, 30), ratio))
    a, turn = math.hypot(80, 30), math.atan2(30, 80)
    t = np.linspace(0, math.tau, 40000, endpoint=False)
    x, y = a * np.cos(t), ratio * a * np.sin(t)
    curve = np.column_stack(
        (20 + x * math.cos(turn) - y * math.sin(turn), 10 + x * math.sin(turn) + y * math.cos(turn))
    )
    (part,) = drawn.parts
    assert off(part.outline, curve) <= 0.0025
    assert exact_area(part.outline) == pytest.approx(math.pi * a * a * ratio, rel=2e-4)


@pytest.mark.parametrize("scale", (1.0, 10.0))
def test_a_closed_spline_keeps_within_two_micrometres(read_dxf: ReadDxf, scale: float) -> None:
    fit = [
        (x * scale, y * scale)
        for x, y in ((0, 0), (60, -10), (90, 30), (50, 45), (20, 70), (-15, 30), (0, 0))
    ]
    curve = ezdxf.math.fit_points_to_cad_cv([(*p, 0) for p in fit])
    drawn = read_dxf(lambda space: space.add_spline().apply_construction_tool(curve))
    (part,) = drawn.parts
    assert off(part.outline, dense(curve)) <= 0.0025


def test_svg_bezier_curves_keep_within_two_micrometres(read_svg: ReadSvg) -> None:
    body = '<path d="M20 80 C20 10 90 -5 110 40 S190 90 150 95 Q60 60 20 80 Z" fill="none" stroke="black"/>'
    drawn = read_svg(body)
    t = np.linspace(0, 1, 8000)[:, None]

    def cubic(*p: tuple[float, float]) -> np.ndarray:
        a, b, c, d = map(np.array, p)
        return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d

    def quadratic(*p: tuple[float, float]) -> np.ndarray:
        a, b, c = map(np.array, p)
        return (1 - t) ** 2 * a + 2 * (1 - t) * t * b + t**2 * c

    curve = np.vstack(
        (
            cubic((20, 80), (20, 10), (90, -5), (110, 40)),
            cubic((110, 40), (130, 85), (190, 90), (150, 95)),  # S mirrors the handle at (110, 40)
            quadratic((150, 95), (60, 60), (20, 80)),
        )
    )
    curve[:, 1] = 100 - curve[:, 1]
    (part,) = drawn.parts
    assert off(part.outline, curve) <= 0.0025


def test_the_measure_itself_sees_a_hundredth() -> None:
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    path = Path(tuple(Line(a, b) for a, b in zip(square, square[1:] + square[:1], strict=True)))
    assert off(path, np.array(square) + np.array((0.01, 0.0))) == pytest.approx(0.01)
