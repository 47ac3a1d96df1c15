"""Gaps of several millimetres in what is plainly an outline: told with place and size, and not cut."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding

ReadDxf = Callable[..., Drawn]


def open_outlines(drawn: Drawn) -> list[Finding]:
    return [finding for finding in drawn.findings if finding.rule == "open-outline"]


@pytest.mark.parametrize("gap", [1.0, 5.0, 12.0, 19.0])
@pytest.mark.parametrize("scale", [1.0, 3.0])
def test_a_gap_of_up_to_19_mm_is_told_with_its_place_and_size(
    read_dxf: ReadDxf, gap: float, scale: float
) -> None:
    def draw(space: Modelspace) -> None:
        far = 100 * scale, 60 * scale
        corners = [(0, 0), (far[0], 0), far, (0, far[1]), (0, gap)]
        for a, b in pairwise(corners):
            space.add_line(a, b)
        space.add_circle((30 * scale, 30 * scale), 4)  # is no part of its own

    drawn = read_dxf(draw, unit="mm")
    assert drawn.parts == ()
    (told,) = open_outlines(drawn)
    assert told.level == "warning"
    assert told.amount_mm == pytest.approx(gap, abs=0.001)
    assert told.x_mm == 0 and told.y_mm in (0, pytest.approx(gap))


def test_two_halves_19_mm_apart_are_one_open_outline(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(119, 0), (219, 0), (219, 160), (119, 160)])
        space.add_lwpolyline([(100, 0), (0, 0), (0, 160), (100, 160)])

    (told,) = open_outlines(read_dxf(draw, unit="mm"))
    assert told.amount_mm == pytest.approx(19)


@pytest.mark.parametrize(("radius", "open_deg"), [(28, 40), (14, 60), (14, 90), (14, 30)])
def test_a_letter_c_is_no_outline(read_dxf: ReadDxf, radius: float, open_deg: float) -> None:
    """Its gap is 2 r sin(a / 2), under 20 mm each time; one letter is large, one nearly closed."""
    assert 2 * radius * math.sin(math.radians(open_deg / 2)) < 20

    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
        space.add_arc((100, 100), radius, open_deg / 2, -open_deg / 2)
        space.add_circle((100, 100), 4)

    drawn = read_dxf(draw, unit="mm")
    assert not open_outlines(drawn) and len(drawn.parts[0].holes) == 1


def test_a_hook_and_a_row_of_dashes_are_no_outlines(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
        space.add_lwpolyline([(50, 50), (150, 50), (150, 54), (62, 54)])  # lacks 13 of 205 mm
        for start in range(0, 160, 22):  # a dashed square around nothing
            for a, b in (((start, 0), (start + 20, 0)), ((start + 2, 178), (start + 22, 178))):
                space.add_line((400 + a[0], a[1]), (400 + b[0], b[1]))
            for a, b in (((0, start + 2), (0, start + 22)), ((178, start), (178, start + 20))):
                space.add_line((400 + a[0], a[1]), (400 + b[0], b[1]))

    assert not open_outlines(read_dxf(draw, unit="mm"))
