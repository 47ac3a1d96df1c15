"""What each shape is taken for before anybody asks for its mate; drawn by hand for a sheet of 18."""

from __future__ import annotations

import itertools
import math

import pytest

from camkit.geometry.path import Arc, Line, Path, circle, polygon, rectangle
from camkit.joinery.features import Feature, features, in_band, oblongs
from camkit.part import Hole, Part, Pocket

T = 18.0
BOARD = rectangle(0, 0, 400, 300)


def found(part: Part, *kinds: str) -> list[Feature]:
    return [one for one in features(0, part, T) if one.kind in kinds]


def only(part: Part, kind: str) -> Feature:
    (one,) = found(part, kind)
    return one


def right_side(*points: tuple[float, float]) -> Part:
    """A board 400 x 300 whose right side runs through these points, from below."""
    return Part("board", polygon([(0, 0), (400, 0), *points, (400, 300), (0, 300)]))


@pytest.mark.parametrize(
    ("width", "layers"), [(17.8, 1), (18.0, 1), (19.2, 1), (35.9, 2), (37.2, 2), (54.0, 3), (55.2, 3)]
)
def test_widths_in_band_are_told_by_how_many_sheets_fill_them(width, layers):
    assert in_band(width, T) == layers


@pytest.mark.parametrize("width", [6.0, 17.7, 19.3, 27.0, 35.7, 37.3, 72.0])
def test_widths_that_no_sheets_fill_are_out_of_band(width):
    assert in_band(width, T) is None


def test_a_mortise_has_its_middle_its_sides_and_its_direction():
    one = only(Part("board", BOARD, (rectangle(100, 50, 190.3, 68.1),)), "mortise")
    assert (one.width, one.length, one.layers, one.loop) == (pytest.approx(18.1), pytest.approx(90.3), 1, 0)
    assert one.middle == pytest.approx((145.15, 59.05))
    assert abs(one.along[0]) == pytest.approx(1)


def test_a_mortise_about_as_wide_as_long_is_measured_across_the_sheet():
    one = only(Part("board", BOARD, (rectangle(100, 50, 118, 66),)), "mortise")
    assert (one.width, one.length) == pytest.approx((18, 16))


@pytest.mark.parametrize(
    ("what", "opening"),
    [
        ("no side in band", rectangle(100, 50, 130, 90)),
        ("leaning by 6 degrees", polygon([(100, 50), (118, 50), (127.4, 140), (109.4, 140)])),
        ("round", circle((200, 150), 18)),
        ("five-sided", polygon([(100, 50), (118, 50), (118, 140), (109, 150), (100, 140)])),
    ],
)
def test_other_openings_are_no_mortises(what, opening):
    assert found(Part("board", BOARD, (opening,)), "mortise") == [], what


@pytest.mark.parametrize(("reach", "kind"), [(9, "tenon"), (17.5, "step"), (18, "step"), (60, "tenon")])
def test_a_tenon_reaches_as_far_as_it_does_and_is_a_step_where_that_is_the_sheet(reach, kind):
    end = 400 + reach
    part = right_side((400, 100), (end, 100), (end, 180), (400, 180))
    (one,) = [f for f in found(part, "tenon", "step") if f.width == 80]
    assert (one.kind, one.length, one.roots) == (kind, pytest.approx(reach), 2)
    assert one.middle == pytest.approx((end, 140))


def test_a_tenon_flush_with_a_side_has_one_root():
    part = Part("board", polygon([(0, 0), (430, 0), (430, 100), (400, 100), (400, 300), (0, 300)]))
    (one,) = [f for f in found(part, "tenon") if f.width == 100]
    assert (one.length, one.roots) == (pytest.approx(30), 1)


def test_a_short_tenon_keeps_its_sides_when_its_corners_are_rounded():
    # 4 long with corners of 1.5: the straight side is 2.5, shorter than chords of a relief may be.
    r, end = 1.5, 404.0
    corners = Path(
        (
            *(Line((0, 0), (400, 0)), Line((400, 0), (400, 100)), Line((400, 100), (end - r, 100))),
            Arc((end - r, 100), (end, 100 + r), (end - r, 100 + r), False),
            Line((end, 100 + r), (end, 180 - r)),
            Arc((end, 180 - r), (end - r, 180), (end - r, 180 - r), False),
            *(Line((end - r, 180), (400, 180)), Line((400, 180), (400, 300))),
            *(Line((400, 300), (0, 300)), Line((0, 300), (0, 0))),
        )
    )
    (one,) = [f for f in found(Part("board", corners), "tenon") if f.middle[0] > 400]
    assert (one.width, one.length, one.roots) == (pytest.approx(80), pytest.approx(4), 2)


@pytest.mark.parametrize("chords", [0, 6, 12])
def test_a_mortise_keeps_a_short_wall_between_two_reliefs(chords):
    # Dogbones of 1.5 take 2.12 of each wall: of the sheet of 6 there are 1.76 left.
    one = only_at(6.0, Part("board", BOARD, (dogboned(100, 50, 6, 60, 1.5, chords),)))
    assert (one.width, one.length) == (pytest.approx(6, abs=1e-6), pytest.approx(60, abs=1e-6))


def only_at(thickness: float, part: Part) -> Feature:
    (one,) = [f for f in features(0, part, thickness) if f.kind == "mortise"]
    return one


def dogboned(x: float, y: float, wide: float, high: float, r: float, chords: int) -> Path:
    """A rectangle with a circle through each corner, its centre r off along the diagonal."""
    taken, off = math.sqrt(2) * r, r / math.sqrt(2)
    segments: list[Line | Arc] = []
    corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]
    ways = [(1, 0), (0, 1), (-1, 0), (0, -1)]
    ends = []
    for k, (px, py) in enumerate(corners):
        (ux, uy), (vx, vy) = ways[k - 1], ways[k]
        start, end = (px - taken * ux, py - taken * uy), (px + taken * vx, py + taken * vy)
        centre = (px - off * ux + off * vx, py - off * uy + off * vy)
        ends.append((start, end, centre))
    for k, (start, end, centre) in enumerate(ends):
        if chords:
            first = math.atan2(start[1] - centre[1], start[0] - centre[0])
            turns = [first + math.pi * j / chords for j in range(1, chords)]
            chain = [start, *((centre[0] + r * math.cos(a), centre[1] + r * math.sin(a)) for a in turns), end]
            segments += [Line(a, b) for a, b in itertools.pairwise(chain)]
        else:
            segments.append(Arc(start, end, centre, False))
        segments.append(Line(end, ends[(k + 1) % 4][0]))
    return Path(tuple(segments))


def test_a_slot_knows_its_depth_and_the_wood_below_its_bottom():
    one = only(right_side((400, 141), (300, 141), (300, 159), (400, 159)), "slot")
    assert (one.width, one.length, one.rest) == pytest.approx((18, 100, 300))
    assert one.middle == pytest.approx((350, 150))
    assert one.along == pytest.approx((-1, 0))


def test_a_notch_at_a_corner_or_of_another_width_is_no_slot():
    corner = Part("board", polygon([(0, 0), (382, 0), (382, 18), (400, 18), (400, 300), (0, 300)]))
    assert found(corner, "slot") == []
    assert found(right_side((400, 140), (300, 140), (300, 165), (400, 165)), "slot") == []


def test_an_end_without_roots_is_an_edge():
    assert sorted(one.width for one in found(Part("board", BOARD), "edge")) == [300, 300, 400, 400]


def pocketed(x0: float, y0: float, x1: float, y1: float) -> Part:
    return Part("board", BOARD, (), (), (Pocket(rectangle(x0, y0, x1, y1), 6.0),))


def test_a_housing_is_as_long_as_it_is_inside_the_board():
    stopped, open_ended = (
        only(pocketed(50, 100, 350, 118), "housing"),
        only(pocketed(-4, 100, 404, 118), "housing"),
    )
    assert (stopped.width, stopped.length) == pytest.approx((18, 300))
    assert (open_ended.width, open_ended.length) == pytest.approx((18, 400))


@pytest.mark.parametrize(
    "part", [pocketed(0, 282, 400, 300), pocketed(-4, 282, 404, 304), pocketed(50, 282, 350, 303)]
)
def test_a_recess_along_an_edge_is_a_rabbet_and_no_housing(part):
    assert found(part, "housing") == []
    one = only(part, "rabbet")
    assert one.width == pytest.approx(18)
    assert one.length == pytest.approx(min(400, one.length))


@pytest.mark.parametrize("box", [(50, 100, 350, 130), (0, 260, 400, 300)])
def test_recesses_of_other_widths_are_neither(box):
    assert found(pocketed(*box), "housing", "rabbet") == []


def test_a_recess_round_an_island_is_neither():
    pocket = Pocket(rectangle(50, 100, 350, 118), 6.0, (rectangle(100, 104, 120, 112),))
    assert found(Part("board", BOARD, (), (), (pocket,)), "housing", "rabbet") == []


@pytest.mark.parametrize(
    ("diameters", "kinds"),
    [
        ((8.0,), ["dowel hole"]),
        ((8.3,), ["dowel hole"]),
        ((8.4,), []),
        ((4.5,), ["screw hole"]),
        ((3.0,), ["pilot hole"]),
        ((3.2,), []),
        ((6.6,), ["screw hole"]),
        ((7.0,), []),
        ((35.0,), []),
        ((4.5, 9.5), ["countersunk screw hole"]),
        ((4.5, 10.0), ["countersunk screw hole"]),
        ((6.0,), ["screw hole", "dowel hole"]),
    ],
)
def test_holes_are_told_by_their_diameters(diameters, kinds):
    part = Part("board", BOARD, (), tuple(Hole((200, 150), d) for d in diameters))
    assert [one.kind for one in features(0, part, T) if "hole" in one.kind] == kinds


def test_oblongs_are_four_sided_openings_of_any_width():
    part = Part("board", BOARD, (rectangle(10, 10, 22, 60), circle((200, 150), 20)))
    assert [(one.width, one.length) for one in oblongs(0, part)] == [pytest.approx((12, 50))]
