"""A rectangle around one part: read as a part with an opening, but never without a word."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding

ReadDxf = Callable[..., Drawn]
Corners = Sequence[tuple[float, ...]]
BRACKET: Corners = ((50, 30), (350, 30), (350, 130), (200, 230), (50, 230))
WINDOW: Corners = ((50, 30), (350, 30), (350, 230), (50, 230))
# A handle: straight above, round below (a bulge of 0.5 leaves the chord by a quarter of it).
HANDLE: Corners = ((100, 60, 0.5), (250, 60, 0), (250, 100, 0), (100, 100, 0))
# A lopsided opening much smaller than the panel, as cables need.
SMALL: Corners = tuple((x / 4 + 100, y / 4 + 100) for x, y in BRACKET)


def told(drawn: Drawn) -> list[Finding]:
    return [finding for finding in drawn.findings if finding.rule == "sheet-border"]


def around(length: float, width: float, inner: Corners) -> Callable[[Modelspace], None]:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (length, 0), (length, width), (0, width)], close=True)
        corners = [(*corner, 0.0)[:3] for corner in inner]
        space.add_lwpolyline(corners, format="xyb", close=True)

    return draw


@pytest.mark.parametrize(("length", "width"), [(2440, 1220), (1220, 2440), (1500, 1500), (2500, 1250)])
@pytest.mark.parametrize("inner", [BRACKET, WINDOW])
def test_a_border_of_a_trade_size_round_one_part_is_told(
    read_dxf: ReadDxf, length: float, width: float, inner: Corners
) -> None:
    (finding,) = told(read_dxf(around(length, width, inner)))
    assert finding.level == "warning"
    assert "read as a part with openings" in finding.message and "border" in finding.remedy


def test_a_border_of_any_size_round_one_lopsided_part_is_told(read_dxf: ReadDxf) -> None:
    (finding,) = told(read_dxf(around(700, 500, BRACKET)))
    assert finding.level == "warning"


@pytest.mark.parametrize("inner", [WINDOW, HANDLE, SMALL, [(x + 100, y) for x, y in WINDOW]])
def test_a_panel_with_a_window_or_a_handle_is_not_called_a_border(read_dxf: ReadDxf, inner: Corners) -> None:
    drawn = read_dxf(around(900, 600, inner))
    assert len(drawn.parts[0].openings) == 1 and not told(drawn)


def test_a_panel_with_holes_beside_its_opening_is_not_called_a_border(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        around(700, 500, BRACKET)(space)
        space.add_circle((20, 20), 4)
        space.add_circle((680, 480), 4)

    drawn = read_dxf(draw)
    assert len(drawn.parts[0].holes) == 2 and not told(drawn)


def test_a_ring_is_no_border_whatever_its_corners(read_dxf: ReadDxf) -> None:
    drawn = read_dxf(around(400, 300, [(40, 40), (360, 40), (360, 200), (300, 260), (40, 260)]))
    assert len(drawn.parts[0].openings) == 1 and not told(drawn)
