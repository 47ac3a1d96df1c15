"""Widths that look like a sheet's thickness, found by the long sides of slots."""

from __future__ import annotations

import math
import pathlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.drawing.read import read
from camkit.drawing.slots import likely_slots
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.path import Path, circle, oriented, polygon, rectangle
from camkit.geometry.transform import Placement, moved
from camkit.part import Part, Pocket

REAL = pathlib.Path(__file__).parents[3] / "shared" / "drawings"


def said(*parts: Part) -> list[tuple[float, int, tuple[int, ...]]]:
    return [(round(s.width, 3), s.count, s.parts) for s in likely_slots(parts)]


def plate(*openings: Path) -> Part:
    return Part("plate", rectangle(0, 0, 600, 400), tuple(oriented(o, clockwise=True) for o in openings))


def test_slots_of_one_width_are_counted_over_all_parts() -> None:
    one = plate(rectangle(50, 50, 110, 68.2), rectangle(200, 50, 218.2, 110))
    two = plate(rectangle(50, 50, 110, 68.21))
    assert said(one, plate(), two) == [(18.2, 3, (0, 2))]


def test_a_single_slot_and_a_width_that_no_sheet_has_are_no_hint() -> None:
    assert said(plate(rectangle(50, 50, 110, 68))) == []
    assert said(plate(rectangle(50, 50, 200, 110), rectangle(250, 50, 400, 110))) == []


def test_squares_circles_and_pockets_do_not_count() -> None:
    squares = (rectangle(50, 50, 68, 68), rectangle(150, 50, 168, 68))
    circles = (circle((300, 100), 18), circle((350, 100), 18))
    pockets = tuple(Pocket(rectangle(x, 200, x + 60, 218), 6) for x in (50, 150))
    part = Part("plate", rectangle(0, 0, 600, 400), (*squares, *circles), pockets=pockets)
    assert said(part) == []


@pytest.mark.parametrize("radius", [1.5, 3.0, 4.0])
def test_dogbones_do_not_hide_the_width(radius: float) -> None:
    """A relief reaches past both walls of its corner, so that the extent is wider than the slot."""
    openings = []
    for x in (50, 150, 250):
        loop = oriented(rectangle(x, 50, x + 18.1, 110), clockwise=True)
        openings.append(relieve_corners(loop, dict.fromkeys(range(4), CornerRelief(radius))))
    assert said(plate(*openings)) == [(18.1, 3, (0,))]


def test_reliefs_along_the_long_side_do_not_hide_the_width() -> None:
    """Square ears of 7 x 3 at all four corners, drawn sideways into the long walls."""

    def ears(x: float, y: float) -> Path:
        return polygon(
            [(x, y - 3), (x + 7, y - 3), (x + 7, y), (x + 73, y), (x + 73, y - 3), (x + 80, y - 3),
             (x + 80, y + 15), (x + 73, y + 15), (x + 73, y + 12),
             (x + 7, y + 12), (x + 7, y + 15), (x, y + 15)]
        )  # fmt: skip

    assert said(plate(ears(50, 50), ears(50, 150))) == [(12.0, 2, (0,))]


def test_slots_that_open_at_the_edge_count_too() -> None:
    """Halving slots of 15 in the upper edge, sharp and with a round relief in each corner."""
    comb = polygon(
        [(0, 0), (400, 0), (400, 200), (315, 200), (315, 100), (300, 100), (300, 200),
         (115, 200), (115, 100), (100, 100), (100, 200), (0, 200)]
    )  # fmt: skip
    assert said(Part("comb", comb)) == [(15.0, 2, (0,))]
    eased = relieve_corners(comb, dict.fromkeys((3, 4, 7, 8), CornerRelief(3.0)))
    assert eased != comb
    assert said(Part("comb", eased)) == [(15.0, 2, (0,))]


def test_tenons_are_wood_and_not_slots() -> None:
    """Tongues as wide as a sheet, far apart: the air between them is no slot."""
    outline = polygon(
        [(0, 0), (400, 0), (400, 100), (318, 100), (318, 150), (300, 150), (300, 100),
         (118, 100), (118, 150), (100, 150), (100, 100), (0, 100)]
    )  # fmt: skip
    assert said(Part("rail", outline)) == []


@settings(derandomize=True, deadline=None, max_examples=40)
@given(st.floats(0, 360), st.sampled_from([6.1, 12.0, 17.6, 18.4]), st.booleans())
def test_turning_and_mirroring_change_nothing(turn: float, width: float, mirrored: bool) -> None:
    loops = [rectangle(50, 50, 120, 50 + width), rectangle(200, 50, 200 + width, 120)]
    placed = Placement(10, -30, turn, mirrored)
    assert said(plate(*(moved(loop, placed) for loop in loops))) == [(width, 2, (0,))]


@pytest.mark.parametrize(
    ("name", "width"),
    [
        ("desk-fillets-mm.dxf", 22.0),
        ("desk-cm.dxf", 21.0),
        ("desk-2004.dxf", 12.2),
        ("rack-inches.dxf", 20.6375),
    ],
)
def test_published_drawings_tell_their_sheet(name: str, width: float) -> None:
    """Measured in the drawings by hand: 22 for 21 mm by the layers' names, 13/16 in for 3/4 in."""
    if not (REAL / name).exists():
        pytest.skip("the published drawings are not here")
    best = likely_slots(read(REAL / name).parts)
    assert best and math.isclose(best[0].width, width, abs_tol=0.01)
