"""Arcs next to straight are lines; arcs with a bow to be seen stay, wherever their centre lies."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.errors import InputError
from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, Line

ReadDxf = Callable[..., Drawn]
ReadSvg = Callable[..., Drawn]


@pytest.mark.parametrize("bulge", [1e-6, 1e-7, 1e-8, -1e-6, 1e-12, 1e-300])
def test_a_bulge_next_to_nothing_is_a_line(read_dxf: ReadDxf, bulge: float) -> None:
    corners = [(0, 0, bulge), (300, 0, 0), (300, 200, 0), (0, 200, 0)]
    (part,) = read_dxf(lambda space: space.add_lwpolyline(corners, format="xyb", close=True)).parts
    assert bounds(part.outline) == pytest.approx((0, 0, 300, 200), abs=0.001)
    assert all(isinstance(segment, Line) for segment in part.outline.segments)


@pytest.mark.parametrize("bow", [0.01, 0.1, 1.0])
def test_a_bow_to_be_seen_stays_an_arc_about_its_far_centre(read_dxf: ReadDxf, bow: float) -> None:
    """The radius over a chord c is c^2 / (8 h) + h / 2: 18 km at a bow h of 0.01 mm over 1200 mm."""
    corners = [(0, 0, 2 * bow / 1200), (1200, 0, 0), (1200, 200, 0), (0, 200, 0)]
    drawn = read_dxf(lambda space: space.add_lwpolyline(corners, format="xyb", close=True))
    (part,) = drawn.parts
    (arc,) = (segment for segment in part.outline.segments if isinstance(segment, Arc))
    assert arc.radius == pytest.approx(1200**2 / (8 * bow) + bow / 2)
    assert bounds(part.outline) == pytest.approx((0, -bow, 1200, 200), abs=1e-6)


@pytest.mark.parametrize("normal", [None, (0, 0, 1)])
def test_an_arc_of_18_km_radius_closes_with_lines(
    read_dxf: ReadDxf, normal: tuple[int, int, int] | None
) -> None:
    radius = 1200**2 / (8 * 0.01) + 0.005
    half = math.degrees(math.asin(600 / radius))

    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(1200, 0), (1200, 200), (0, 200), (0, 0)])
        how = {"extrusion": normal} if normal else {}
        space.add_arc((600, radius - 0.01), radius, 270 - half, 270 + half, dxfattribs=how)

    (part,) = read_dxf(draw).parts
    assert bounds(part.outline) == pytest.approx((0, -0.01, 1200, 200), abs=1e-4)


@pytest.mark.parametrize("radius", ["1e6", "1e9", "1e9 2e9"])
def test_an_svg_arc_next_to_straight_is_a_line(read_svg: ReadSvg, radius: str) -> None:
    radii = radius if " " in radius else f"{radius} {radius}"
    drawn = read_svg(f'<path d="M0 0A{radii} 0 0 1 15 0V80H0z" fill="none" stroke="black"/>')
    (part,) = drawn.parts
    assert bounds(part.outline) == pytest.approx((0, 20, 15, 100), abs=0.001)
    assert all(isinstance(segment, Line) for segment in part.outline.segments)


def test_an_arc_that_is_drawn_more_than_10_km_out_is_refused(read_dxf: ReadDxf) -> None:
    """Both ends near, but the way between them is nearly a full circle of 20 km."""
    corners = [(0, 0, 1e5), (300, 0, 0), (300, 200, 0), (0, 200, 0)]
    with pytest.raises(InputError, match="lies more than 10 km out"):
        read_dxf(lambda space: space.add_lwpolyline(corners, format="xyb", close=True))
