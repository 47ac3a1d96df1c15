"""Which relief a place gets; that it is reachable, no larger than need be, and hidden where said to be.

Witness: areas widened and narrowed by shapely (`support.reach`), which knows nothing of reliefs.
"""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.reach import cleared_inside, cleared_outside, missed, slanted_opening

from camkit.geometry.corner import corner_angle
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path, polygon, rectangle, reversed_path
from camkit.joinery.relief_choice import (
    Choice,
    cover_wanted,
    covered,
    cut_over,
    finger_relief,
    housing_relief,
    mortise_relief,
    notch_relief,
    opened_places,
    room_for,
)
from camkit.joinery.webs import neighbours, opened_by, walls_near

SQUARE = slanted_opening(17.75, 90.2, 90)
BROAD = (0, 2)


def notched(width: float, depth: float, land: float = 60.0) -> tuple[Path, int]:
    """A board with one slot of that size in its upper edge, `land` beside it; and the slot's bottom wall."""
    a = land + width
    corners = [(0, 0), (a + land, 0), (a + land, 100), (a, 100), (a, 100 - depth), (land, 100 - depth)]
    path = polygon([*corners, (land, 100), (0, 100)])
    return path, 4


def comb(gap: float, land: float, depth: float) -> tuple[Path, tuple[int, int]]:
    """A board with two gaps of a finger edge, `land` of wood between them; and the gaps' bottom walls."""
    x = [0.0, 40.0, 40.0 + gap, 40.0 + gap + land, 40.0 + 2 * gap + land, 80.0 + 2 * gap + land]
    low = 100 - depth
    corners = [(0, 0), (x[5], 0), (x[5], 100), (x[4], 100), (x[4], low), (x[3], low), (x[3], 100)]
    corners += [(x[2], 100), (x[2], low), (x[1], low), (x[1], 100), (0, 100)]
    return polygon(corners), (4, 8)


# -- which one


def test_a_mortise_under_shoulders_that_cover_it_gets_t_bones_along_its_length():
    # r + 1 = 4 for r 3
    hidden = mortise_relief(SQUARE, BROAD, 3.0, cover=4.0)
    assert hidden.word == "t-bone"
    done = as_polygon(cut_over(SQUARE, hidden, 3.0))
    assert done.bounds == pytest.approx((-3, 0, 93.2, 17.75), abs=1e-3)  # broad walls whole, ends passed by r
    assert mortise_relief(SQUARE, BROAD, 3.0, cover=3.99).word == "dogbone"
    assert mortise_relief(SQUARE, BROAD, 3.0).word == "dogbone"


def test_t_bones_that_show_where_the_tenon_comes_out_are_told_by_rule_only():
    (said,) = mortise_relief(SQUARE, BROAD, 3.0, cover=9).said
    assert (said.level, said.rule) == ("note", "relief-shows")
    assert mortise_relief(SQUARE, BROAD, 3.0, cover=9, through=False).said == ()
    assert mortise_relief(SQUARE, BROAD, 3.0, cover=9, wish="t-bone").said == ()
    assert mortise_relief(SQUARE, BROAD, 3.0).said == ()


@pytest.mark.parametrize(
    ("width", "cover", "word"),
    [
        (12.02, 4.0, "t-bone"),  # 4 r = 12
        (11.98, 4.0, "dogbone"),
        (8.51, 4.0, "dogbone"),  # 2 sqrt 2 r = 8.485
        (8.48, 4.0, "overcut"),
        (8.48, 0.0, "overcut"),
    ],
)
def test_reliefs_that_would_merge_give_way(width, cover, word):
    chosen = mortise_relief(slanted_opening(width, 60, 90), BROAD, 3.0, cover=cover)
    assert chosen.word == word
    assert (chosen.overcut == (1, 3)) == (word == "overcut")


@pytest.mark.parametrize(
    ("wish", "cover", "word"),
    [("dogbone", 9.0, "dogbone"), ("t-bone", 0.0, "t-bone"), ("none", 9.0, "none")],
)
def test_the_jobs_wish_overrules_the_rule(wish, cover, word):
    assert mortise_relief(SQUARE, BROAD, 3.0, cover=cover, wish=wish).word == word
    path, bottom = notched(17.75, 50)
    assert notch_relief(path, bottom, 3.0, wish=wish).word == word
    assert finger_relief(path, bottom, 3.0, wish=wish).word == word


def test_a_housing_is_relieved_at_its_inner_corners_alone():
    assert housing_relief(SQUARE, BROAD, 3.0, ()) == Choice()
    stopped = housing_relief(SQUARE, BROAD, 3.0, (0, 1))
    assert (sorted(stopped.reliefs), stopped.word) == ([0, 1], "dogbone")
    notched_back = housing_relief(SQUARE, BROAD, 3.0, (0, 1), cover=5)
    assert (notched_back.word, notched_back.said) == ("t-bone", ())  # a housing comes out nowhere
    narrow = housing_relief(slanted_opening(6.15, 60, 90), BROAD, 3.0, (0, 1))
    assert (narrow.word, narrow.overcut) == ("overcut", (1,))


def test_a_slot_is_relieved_into_its_bottom_then_by_dogbones_then_into_its_sides():
    order = []
    for width in (12.02, 11.98, 8.48):
        path, bottom = notched(width, 50)
        chosen = notch_relief(path, bottom, 3.0)
        order.append((chosen.word, [chosen.reliefs[c].past for c in sorted(chosen.reliefs)]))
    assert order == [
        ("t-bone", ["after", "before"]),
        ("dogbone", ["both", "both"]),
        ("t-bone", ["before", "after"]),
    ]
    path, bottom = notched(8.48, 5.9)  # T-bones into the sides need 2 r of their depth
    (said,) = notch_relief(path, bottom, 3.0).said
    assert (said.level, said.rule) == ("error", "relief-room")


def test_a_finger_gap_gets_the_smallest_relief_since_nothing_covers_one():
    path, (first, _) = comb(40, 40, 18)
    assert finger_relief(path, first, 3.0).word == "dogbone"
    shallow, (first, _) = comb(40, 40, 4.0)  # less than sqrt 2 r deep: only the bottom holds one
    chosen = finger_relief(shallow, first, 3.0)
    assert [chosen.reliefs[c].past for c in sorted(chosen.reliefs)] == ["after", "before"]


def test_fingers_that_reliefs_would_cut_through_are_refused_by_name():
    # gaps of 8 between fingers of 2.9: no room for dogbones or T-bones on the bottom, and T-bones into a
    # finger take 3 of it
    path, (first, _) = comb(8, 2.9, 18)
    others = neighbours([path], 0, walls_near(len(path.segments), (first - 1, first, first + 1)))
    (said,) = finger_relief(path, first, 3.0, others=others).said
    assert (said.level, said.rule) == ("error", "relief-breaks-through")
    wide, _ = comb(8, 12, 18)
    others = neighbours([wide], 0, walls_near(len(wide.segments), (first - 1, first, first + 1)))
    assert finger_relief(wide, first, 3.0, others=others).word == "t-bone"


def test_a_t_bone_that_leaves_too_thin_a_web_gives_way_to_dogbones():
    # wood of 4 beyond the mortise's end: a T-bone leaves 1 of it, a dogbone 4 - 0.879 = 3.12
    near = reversed_path(rectangle(94.2, 0, 120, 17.75))
    others = neighbours([SQUARE, near], 0, range(4))
    assert mortise_relief(SQUARE, BROAD, 3.0, cover=9, others=others).word == "dogbone"
    farther = reversed_path(rectangle(94.8, 0, 120, 17.75))  # 4.6 - 3 = 1.6, more than r / 2
    others = neighbours([SQUARE, farther], 0, range(4))
    assert mortise_relief(SQUARE, BROAD, 3.0, cover=9, others=others).word == "t-bone"


def test_play_along_the_mortise_uncovers_as_much():
    assert covered(10.0, 0.3) == pytest.approx(9.7)
    assert cover_wanted(3.0) == pytest.approx(4.0)
    assert cover_wanted(3.0, math.radians(60)) == pytest.approx(5.5)  # 3 (1 + 1/2) + 1


def test_room_needs_straight_walls():
    from camkit.geometry.path import Arc, Line

    bow = Path((Line((0, 0), (10, 0)), Arc((10, 0), (0, 0), (5, 0), True)))
    with pytest.raises(ValueError, match="two straight walls"):
        room_for(bow, {0: CornerRelief(1.0)})


# -- reachable, minimal, hidden


@settings(derandomize=True, deadline=None, max_examples=30)
@given(
    angle=st.floats(30, 150),
    radius=st.floats(1, 6),
    share=st.floats(2.1, 8),
    covers=st.booleans(),
)
def test_a_mates_true_section_enters_whatever_is_chosen(angle, radius, share, covers):
    width = share * radius
    loop = slanted_opening(width, 12 * radius + 3 * width, angle)
    chosen = mortise_relief(loop, BROAD, radius, cover=20 * radius if covers else 0.0)
    done = cut_over(loop, chosen, radius)
    wanted = as_polygon(loop)
    assert missed(wanted, cleared_inside(done, radius)) < 0.004
    assert missed(wanted, cleared_inside(loop, radius)) > 0.02  # unrelieved the check fails
    if chosen.word != "dogbone":  # T-bones and cut-over ends leave both broad walls whole, to the last corner
        low, high = as_polygon(done).bounds[1::2]
        assert (low, high) == pytest.approx((0, width), abs=1e-6)


@settings(derandomize=True, deadline=None, max_examples=30)
@given(
    angle=st.floats(30, 150),
    radius=st.floats(1, 6),
    share=st.floats(2.1, 8),
    covers=st.booleans(),
    small=st.floats(0.01, 0.05),
    play=st.floats(0.05, 2),
)
def test_with_the_smallest_cutter_in_tolerance_walls_jam_before_relieved_corners(
    angle, radius, share, covers, small, play
):
    """A cutter small by d in radius leaves d at every wall: 2 d of clearance, and corners ask no more."""
    width = share * radius
    loop = slanted_opening(width, 12 * radius + 3 * width, angle)
    chosen = mortise_relief(loop, BROAD, radius, cover=20 * radius if covers else 0.0)
    cleared = cleared_inside(cut_over(loop, chosen, radius), radius, small)
    half = play * small  # half of the clearance, so that 1 is just enough
    mate = as_polygon(loop).buffer(-half, join_style="mitre", mitre_limit=10)
    assert missed(mate, cleared) == pytest.approx(max(0.0, small - half), abs=0.004)


@pytest.mark.parametrize("past", ["both", "before", "after"])
@pytest.mark.parametrize("angle", [30, 60, 90, 120, 150])
def test_a_relief_two_percent_smaller_keeps_the_square_corner_out(angle, past):
    far = math.radians(angle)
    sharp = polygon([(0, 0), (8000 * math.cos(far), 8000 * math.sin(far)), (8000, 0)])
    corner, seat = shapely.Point(0, 0), []
    for share in (1.0, 0.98):
        done = relieve_corners(sharp, {2: CornerRelief(500.0 * share, past)})
        seat.append(cleared_inside(done, 500.0).distance(corner))
    assert seat[0] < 0.008
    assert seat[1] > 0.02  # least by hand: T-bones at 150 degrees, 0.033


@settings(derandomize=True, deadline=None, max_examples=30)
@given(angle=st.floats(30, 150), radius=st.floats(1, 6), share=st.floats(4.1, 9), spare=st.floats(0, 4))
def test_hidden_t_bones_lie_under_the_shadow_of_their_shoulder(angle, radius, share, spare):
    """The shoulder covers the strip between the broad walls, beyond both ends, so far as it reaches."""
    width = share * radius
    loop = slanted_opening(width, 12 * radius + 3 * width, angle)
    cover = max(cover_wanted(radius, math.radians(a)) for a in (angle, 180 - angle)) + spare
    chosen = mortise_relief(loop, BROAD, radius, cover=cover)
    assume(chosen.word == "t-bone")
    beyond = shapely.union_all([one.area for one in opened_places(loop, chosen, radius, loop=0, place="")])
    end = math.sin(math.radians(angle))
    along = cover / end  # a strip as wide as `cover`, square to the ends, is that long along the walls
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = (wall.start for wall in loop.segments)
    shadow = shapely.Polygon([(ax - along, ay), (bx + along, by), (cx + along, cy), (dx - along, dy)])
    assert shadow.buffer(1e-6).covers(beyond)
    spot = 1.0 / end  # a millimetre stays covered all round the relief's far side
    near = along - spot
    inner = [(ax - near, ay), (bx + near, by), (cx + near, cy), (dx - near, dy)]
    assert shapely.Polygon(inner).buffer(1e-6).covers(beyond)


@settings(derandomize=True, deadline=None, max_examples=30)
@given(radius=st.floats(1, 6), share=st.floats(2.1, 8), deep=st.floats(2.1, 9))
def test_a_partner_seats_on_the_bottom_of_any_slot_and_gap(radius, share, deep):
    width, depth = share * radius, deep * radius
    for choose in (notch_relief, finger_relief):
        path, bottom = notched(width, depth, land=20 * radius)
        chosen = choose(path, bottom, radius)
        done = cut_over(path, chosen, radius)
        land = 20 * radius
        wanted = shapely.box(land, 100 - depth, land + width, 100)
        assert not chosen.said
        assert missed(wanted, cleared_outside(done, radius)) < 0.004
        assert missed(wanted, cleared_outside(path, radius)) > 0.02


def test_a_t_bone_into_a_slots_bottom_stays_between_its_walls_where_the_partner_covers_it():
    path, bottom = notched(17.75, 50)
    chosen = notch_relief(path, bottom, 3.0)
    for corner, relief in chosen.reliefs.items():
        x0, y0, x1, y1 = opened_by(path, corner, relief).bounds
        assert 60 - 1e-9 <= x0 < x1 <= 77.75 + 1e-9
        assert (y0, y1) == pytest.approx((47, 50), abs=1e-4)


def test_slanted_ends_too_short_for_reliefs_are_cut_over_and_rounded():
    loop = slanted_opening(6.5, 60, 60)
    chosen = mortise_relief(loop, BROAD, 3.0)
    assert chosen.word == "overcut"
    done = cut_over(loop, chosen, 3.0)
    angles = [math.degrees(corner_angle(loop.segments[k - 1], loop.segments[k])) for k in range(4)]
    assert sorted(angles) == pytest.approx([60, 60, 120, 120])
    assert missed(as_polygon(loop), cleared_inside(done, 3.0)) < 0.004
