"""What is taken for a joint and what is not; shapes drawn by hand for an 18 mm sheet."""

from __future__ import annotations

import pytest

from camkit.geometry.path import Arc, Line, Path, circle, polygon, rectangle, reversed_path
from camkit.geometry.walls import walls_of
from camkit.joinery.recognise import places, tenon_roots
from camkit.part import Part, Pocket

BOARD = rectangle(0, 0, 400, 300)


def board(*openings: Path, pockets: tuple[Pocket, ...] = ()) -> Part:
    return Part("board", BOARD, openings, (), pockets)


def notched(x: float, width: float, depth: float) -> Path:
    """A board 400 x 300 with a notch from its upper edge."""
    corners = [(0, 0), (400, 0), (400, 300), (x + width, 300), (x + width, 300 - depth)]
    return polygon([*corners, (x, 300 - depth), (x, 300), (0, 300)])


@pytest.mark.parametrize("width", [17.4, 17.6, 18.0, 18.2, 18.6])
@pytest.mark.parametrize("upright", [False, True])
def test_a_rectangle_about_as_wide_as_the_sheet_is_a_mortise(width, upright):
    size = (width, 90.0) if upright else (90.0, width)
    (place,) = places(board(rectangle(100, 50, 100 + size[0], 50 + size[1])), 18)
    assert (place.kind, place.layers) == ("mortise", 1)
    assert (place.width, place.length) == pytest.approx((width, 90.0))
    assert place.middle == pytest.approx((100 + size[0] / 2, 50 + size[1] / 2))


@pytest.mark.parametrize(
    ("what", "opening"),
    [
        ("too narrow", rectangle(100, 50, 190, 67.3)),
        ("too wide", rectangle(100, 50, 190, 68.7)),
        ("square, for a wedge or a cable", rectangle(100, 50, 126, 68)),
        ("out of square by 0.05", polygon([(100, 50), (190, 50), (190.05, 68), (100.05, 68)])),
        ("a parallelogram", polygon([(100, 50), (190, 50), (200, 68), (110, 68)])),
        ("tapered by 0.1", polygon([(100, 50), (190, 50), (190, 68.05), (100, 67.95)])),
        ("round", circle((200, 150), 18)),
        (
            "with round ends",
            Path(
                (
                    Line((100, 50), (190, 50)),
                    Arc((190, 50), (190, 68), (190, 59), False),
                    Line((190, 68), (100, 68)),
                    Arc((100, 68), (100, 50), (100, 59), False),
                )
            ),
        ),
    ],
)
def test_other_openings_are_no_mortises(what, opening):
    assert places(board(opening), 18) == (), what


@pytest.mark.parametrize(("width", "layers"), [(36.0, 2), (35.5, 2), (54.2, 3)])
def test_an_opening_for_glued_layers_counts_them(width, layers):
    (place,) = places(board(rectangle(100, 50, 200, 50 + width)), 18)
    assert place.layers == layers


def test_a_wall_drawn_in_pieces_is_one_wall():
    opening = polygon([(100, 50), (130, 50), (190, 50), (190, 60), (190, 68), (100, 68), (100, 59)])
    assert len(walls_of(opening, hollow=True).segments) == 4
    (place,) = places(board(opening), 18)
    assert place.width == pytest.approx(18)


@pytest.mark.parametrize("clockwise", [False, True])
def test_a_slot_is_found_whichever_way_the_outline_was_drawn(clockwise):
    outline = notched(191, 18, 150)
    (place,) = places(Part("rail", reversed_path(outline) if clockwise else outline), 18)
    assert (place.kind, place.loop) == ("slot", None)
    assert (place.width, place.length) == pytest.approx((18, 150))
    assert place.middle == pytest.approx((200, 225))


@pytest.mark.parametrize(("width", "depth"), [(17.3, 100), (18.7, 100), (60, 18)])
def test_other_notches_are_no_slots(width, depth):
    assert places(Part("rail", notched(150, width, depth)), 18) == ()


def test_a_step_at_the_end_of_a_board_is_no_slot():
    step = polygon([(0, 0), (400, 0), (400, 282), (382, 282), (382, 300), (0, 300)])
    assert places(Part("rail", step), 18) == ()


def finger_edge(gap: float) -> Path:
    """A board with five gaps 18 deep along its upper edge, lands 18 wide between them."""
    top = [(0.0, 300.0)]
    for count in range(5):
        x = 100 + count * (gap + 18)
        top += [(x, 300.0), (x, 282.0), (x + gap, 282.0), (x + gap, 300.0)]
    return polygon([(0, 0), (400, 0), (400, 300), *reversed(top)])


def test_gaps_of_a_finger_edge_are_no_slots():
    part = Part("side", finger_edge(18))
    assert places(part, 18) == ()


def test_a_lone_notch_as_deep_as_the_sheet_is_a_slot():
    part = Part("slat", notched(200, 18, 18))
    assert [place.kind for place in places(part, 18)] == ["slot"]


def test_a_pocket_as_wide_as_the_sheet_is_a_housing_unless_an_island_stands_in_it():
    outline = rectangle(100, 50, 300, 68)
    (place,) = places(board(pockets=(Pocket(outline, 6.0),)), 18)
    assert (place.kind, place.loop) == ("housing", 0)
    assert places(board(pockets=(Pocket(outline, 6.0, (rectangle(110, 55, 120, 60),)),)), 18) == ()


def test_roots_of_tenons_are_counted_but_not_the_bottoms_of_slots():
    tenoned = polygon(
        [(0, 0), (400, 0), (400, 100), (418, 100), (418, 200), (400, 200), (400, 300), (0, 300)]
    )
    assert tenon_roots(Part("shelf", tenoned), 18) == 2
    bare_faced = polygon([(0, 0), (400, 0), (400, 100), (418, 100), (418, 300), (0, 300)])
    assert tenon_roots(Part("shelf", bare_faced), 18) == 1
    assert tenon_roots(Part("slat", notched(200, 18, 18)), 18) == 0
    assert tenon_roots(Part("board", BOARD), 18) == 0
