"""Plates' positions: sums worked by hand, and rectangles laid where the solved positions say."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.uprights import board, shelf, turned, upright

from camkit.geometry.path import Path, polygon, rectangle
from camkit.joinery.pairs import pairs
from camkit.joinery.positions import Keep, Positions, positions
from camkit.part import Part, Pocket

T, M = 18.0, 17.6
SHELF = (200.0, 100.3, 18.0)  # an upright's mortise for a shelf: height, length, width
RAIL = (60.0, 60.3, 18.0)


def solved(
    parts: Sequence[Part],
    drawn: Sequence[float] | float = T,
    measured: Sequence[float] | float = M,
    keep: Keep = "shoulders",
) -> Positions:
    one, other = (
        [value] * len(parts) if isinstance(value, float) else list(value) for value in (drawn, measured)
    )
    return positions(parts, pairs(parts, one), one, other, keep)


def moves(result: Positions, part: int = 0) -> dict[tuple[float, float], tuple[float, float]]:
    """How far each feature of the part moves, by its middle as drawn."""
    return {one.feature.middle: one.move for one in result.located if one.feature.part == part}


def along_x(result: Positions, places: Sequence[float], part: int = 0) -> list[float]:
    """Moves at the places along x; what is not listed does not move."""
    by_place = {round(x, 3): dx for (x, _), (dx, _) in moves(result, part).items()}
    return [by_place.get(round(x, 3), 0.0) for x in places]


def spaced(*bays: float) -> list[float]:
    places = [0.0]
    for bay in bays:
        places.append(places[-1] + bay)
    return places


@pytest.mark.parametrize(("count", "worst"), [(2, 0.2), (3, 0.4), (4, 0.6), (6, 1.0)])
def test_a_seat_over_equal_bays_is_solved_for_any_number_of_uprights(count, worst):
    # Inner distances stay 282: middles come to stand 282 + 17.6 apart, that is 0.4 nearer in each bay. About
    # the middle the ends would miss by (count - 1) x 0.4 / 2.
    places = spaced(*[300.0] * (count - 1))
    result = solved([board("seat", places), upright("upright", mortises=[SHELF]), shelf("shelf", 282)])
    got = along_x(result, places)
    assert got == pytest.approx([0.4 * ((count - 1) / 2 - k) for k in range(count)], abs=1e-9)
    assert max(map(abs, got)) == pytest.approx(worst)
    assert result.findings == ()
    assert all("upright" in one.why and "shelf" in one.why for one in result.located)


def test_two_uprights_keep_their_inner_faces():
    result = solved([board("seat", [0, 600]), upright("end", mortises=[SHELF]), shelf("shelf", 582)])
    assert along_x(result, [0, 600]) == pytest.approx([0.2, -0.2])


def test_unequal_bays_and_plates_of_two_thicknesses():
    # Ends 18 -> 17.6, dividers 12 -> 12.3; clear bays 200, 260 and 200 stay.
    # Middles: 0, 215, 487, 702 drawn; 214.95, then 272.3, then 214.95 apart when made.
    places = [0.0, 215.0, 487.0, 702.0]
    seat = board("seat", [])
    openings = [
        rectangle(x - t / 2, 110, x + t / 2, 110 + s)
        for x, t, s in zip(places, (18, 12, 12, 18), (80.3, 70.3, 70.3, 80.3), strict=True)
    ]
    seat = Part("seat", seat.outline, tuple(openings))
    end = upright("end", mortises=[(200, 100.3, 18)])
    divider = upright("divider", (70,), [(200, 100.3, 18), (150, 90.3, 18)])
    short, long = shelf("short", 200), shelf("long", 260, 90)
    result = solved([seat, end, divider, short, long], [18, 18, 12, 18, 18], [17.6, 17.6, 12.3, 17.6, 17.6])
    got = along_x(result, places)
    assert [b - a for a, b in pairwise(got)] == pytest.approx([-0.05, 0.3, -0.05], abs=1e-9)
    assert sum(got) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("degrees", [0, 90, 180, 270, 17.3, -101.0])
def test_moves_turn_with_the_drawing(degrees, mirrored):
    places = spaced(300, 400)
    seat = turned(board("seat", places), degrees, mirrored=mirrored)
    parts = [seat, upright("upright", mortises=[SHELF]), shelf("a", 282), shelf("b", 382)]
    got = moves(solved(parts))
    cos, sin, sign = math.cos(math.radians(degrees)), math.sin(math.radians(degrees)), -1 if mirrored else 1
    for x, move in ((0.0, 0.4), (700.0, -0.4)):
        at = (sign * x * cos - 150.15 * sin, sign * x * sin + 150.15 * cos)
        near = [moved for middle, moved in got.items() if math.dist(middle, at) < 0.5]
        assert near == [pytest.approx((sign * move * cos, sign * move * sin), abs=1e-9)]
    assert len(got) == 2


def test_uprights_drawn_once_or_each_by_itself_are_solved_alike():
    places = spaced(300, 300, 300)
    once = [board("seat", places), upright("upright", mortises=[SHELF]), shelf("shelf", 282)]
    each = [
        board("seat", places),
        *(turned(upright(f"upright {k}", mortises=[SHELF]), 90.0 * k) for k in range(4)),
        *(shelf(f"shelf {k}", 282) for k in range(3)),
    ]
    assert along_x(solved(once), places) == pytest.approx([0.6, 0.2, -0.2, -0.6])
    assert along_x(solved(each), places) == pytest.approx([0.6, 0.2, -0.2, -0.6])


def test_a_rail_over_six_uprights_with_shelves_between_cannot_close():
    # Five bays want the outer middles 5 x 0.4 nearer, the rail only 0.4: 4 x 0.4 is left.
    places = spaced(*[300.0] * 5)
    parts = [
        board("seat", places),
        upright("upright", mortises=[SHELF, RAIL]),
        shelf("shelf", 282),
        shelf("rail", 1482, 60),
    ]
    result = solved(parts)
    (said,) = result.findings
    assert (said.level, said.rule, said.amount_mm) == ("error", "loop-cannot-close", pytest.approx(1.6))
    assert "rail" in said.message
    assert "shelf (5 times)" in said.message
    assert "rail 1.60 mm shorter" in said.remedy
    assert "0.32 mm each" in said.remedy
    assert (result.located, result.shoulders) == ((), ())


def test_a_rail_alone_holds_the_outer_uprights_and_leaves_the_others():
    places = spaced(*[300.0] * 5)
    parts = [board("seat", places), upright("upright", mortises=[RAIL]), shelf("rail", 1482, 60)]
    assert along_x(solved(parts), places) == pytest.approx([0.2, 0, 0, 0, 0, -0.2])


def test_without_shoulders_everything_stays_about_its_middle():
    assert solved([board("seat", [0, 300]), upright("upright")]) == Positions()


def housed(name: str, depth: float) -> Part:
    """An upright with a tenon on top and a housing 200 from below, open at both sides."""
    one = upright(name)
    return Part(name, one.outline, (), (), (Pocket(rectangle(-5, 191, 305, 209), depth),))


def test_an_edge_in_a_housing_has_its_shoulder_at_the_housings_bottom():
    # 594 long, 6 in each end: faces 582 apart, middles 600 as drawn and 599.6 as made.
    parts = [board("seat", [0, 600]), housed("left", 6), housed("right", 6)]
    parts.append(Part("shelf", rectangle(0, 0, 594, 300)))
    assert along_x(solved(parts), [0, 600]) == pytest.approx([0.2, -0.2])


@pytest.mark.parametrize("keep", ["shoulders", "outside"])
def test_an_edge_as_long_as_a_housing_that_stands_in_none_keeps_its_place(keep):
    # Uprights in housings of a seat, a shelf in either bay: the feet are as long as the tops.
    places = [0.0, 300.0, 600.0]
    seat = Part(
        "seat",
        rectangle(-100, 0, 700, 300),
        pockets=tuple(Pocket(rectangle(x - 9, -5, x + 9, 305), 6.0) for x in places),
    )
    uprights = [
        Part(name, rectangle(0, 0, 300, 406), (rectangle(99.85, 191, 200.15, 209),))
        for name in ("a", "b", "c")
    ]
    result = solved([seat, *uprights, shelf("left", 282), shelf("right", 282)], keep=keep)
    assert along_x(result, places) == pytest.approx([0.4, 0, -0.4] if keep == "shoulders" else [-0.2, 0, 0.2])
    assert {one.part for one in result.shoulders} == ({4, 5} if keep == "outside" else set())


def test_a_divider_between_two_seats_lands_alike_in_both():
    # The lower board holds the ends with its shoulders, and a short shelf ties the divider to the left end
    # only: from face to face 232 stays, so the divider goes 0.4 to the left of the left end's middle.
    places = [0.0, 250.0, 600.0]
    lower = shelf("lower", 582, 100, slots=[241.0])
    divider = upright("divider", mortises=[(200, 50.3, 18)])
    end = upright("end", (70,), [SHELF, (250, 50.3, 18)])
    seat = board("seat", [250])
    seat = Part(
        "seat",
        seat.outline,
        (*seat.openings, *(rectangle(x - 9, 110, x + 9, 180.3) for x in (0.0, 600.0))),
    )
    short = shelf("short", 232, 50)
    result = solved([seat, end, divider, lower, short])
    top = along_x(result, places)
    # In the lower board's frame the left end's middle moves from -9 to -8.8.
    (low,) = along_x(result, [241.0], part=3)
    assert top[1] - top[0] == pytest.approx(-0.4)
    assert top[2] - top[0] == pytest.approx(-0.4)
    assert low == pytest.approx(top[1] - top[0] + 0.2)


def test_a_back_drawn_the_other_way_round_agrees_with_the_seat():
    # The back lacks the first upright, and only through that one its two are tied: 300 and 700 from it.
    seat = board("seat", [0, 300, 700])
    back = turned(board("back", [300, 700], span=60.3), 0, mirrored=True)
    parts = [
        seat,
        back,
        upright("upright", (80, 60), [SHELF]),
        shelf("short", 282),
        shelf("long", 682),
    ]
    result = solved(parts)
    in_seat = along_x(result, [0, 300, 700])
    in_back = along_x(result, [-300, -700], part=1)
    assert in_seat[1] - in_seat[0] == pytest.approx(-0.4)
    assert in_seat[2] - in_seat[0] == pytest.approx(-0.4)
    assert in_back[0] - in_back[1] == pytest.approx(in_seat[2] - in_seat[1], abs=1e-9)


def test_holes_on_the_middle_of_a_plate_move_with_it():
    seat = board("seat", [0, 600], holes=[(0.0, 30.0), (599.7, 250.0), (300.0, 40.0), (-20.0, 40.0)])
    result = solved([seat, upright("end", mortises=[SHELF]), shelf("shelf", 582)])
    holes = {one.feature.middle: one.move[0] for one in result.located if one.feature.kind == "screw hole"}
    assert holes == {(0.0, 30.0): pytest.approx(0.2), (599.7, 250.0): pytest.approx(-0.2)}


@pytest.mark.parametrize("count", [2, 3, 4, 6])
def test_outer_faces_stay_when_asked_and_shelves_take_up_the_rest(count):
    places = spaced(*[300.0] * (count - 1))
    parts = [board("seat", places), upright("upright", mortises=[SHELF]), shelf("shelf", 282)]
    result = solved(parts, keep="outside")
    middles = [x + move for x, move in zip(places, along_x(result, places), strict=True)]
    # Faces at -9 and +9 outside the first and the last middle as drawn.
    assert middles[0] - M / 2 == pytest.approx(-9)
    assert middles[-1] + M / 2 == pytest.approx(places[-1] + 9)
    assert {one.part for one in result.shoulders} == {2}
    left, right = sorted(one.move[0] for one in result.shoulders)
    longer = 282 + right - left
    for one, other in pairwise(middles):
        assert other - one - M == pytest.approx(longer, abs=1e-9)
    assert longer == pytest.approx(282 + 0.4 * count / (count - 1))


def test_a_rail_over_shelves_closes_when_outer_faces_stay():
    places = spaced(*[300.0] * 5)
    parts = [
        board("seat", places),
        upright("upright", mortises=[SHELF, RAIL]),
        shelf("shelf", 282),
        shelf("rail", 1482, 60),
    ]
    result = solved(parts, keep="outside")
    assert result.findings == ()
    rail = sorted(one.move[0] for one in result.shoulders if one.part == 3)
    assert rail == pytest.approx([-0.4, 0.4])


def test_the_mortises_of_uprights_tell_in_which_bay_a_shelf_stands():
    # Two bays and a rail over both, a shelf in the left bay only: the right end has no mortise for one.
    parts = [
        board("seat", [0, 300, 600]),
        *(upright(name, mortises=has) for name, has in (("l", [SHELF, RAIL]), ("m", [SHELF]), ("r", [RAIL]))),
        *(shelf("shelf", 282), shelf("rail", 582, 60)),
    ]
    result = solved(parts)
    assert [(said.level, said.rule) for said in result.findings] == [("warning", "stand-in-order")]
    assert "from (0.0, 150.0) in seat on stand l, m, r:" in result.findings[0].message
    got = along_x(result, [0, 300, 600])
    assert (got[1] - got[0], got[2] - got[0]) == pytest.approx((-0.4, -0.4))


@pytest.mark.parametrize("thick", [T, M])
def test_openings_that_do_not_meet_their_shoulders_as_drawn_are_told(thick):
    # Each 18.4 wide with its inner wall at the shelf's shoulder: middles 600.4 apart, 600 would be right.
    parts = [board("seat", [-0.2, 600.2], wide=18.4), upright("end", mortises=[SHELF]), shelf("shelf", 582)]
    (said,) = solved(parts, T, thick).findings
    assert (said.level, said.rule, said.amount_mm) == ("warning", "drawn-off", pytest.approx(0.4))
    assert "farther apart" in said.message
    assert said.remedy == "Draw their middles 600.00 mm apart"


def test_large_drawn_play_is_meant_and_not_told():
    parts = [board("seat", [-0.4, 600.4], wide=18.8), upright("end", mortises=[SHELF]), shelf("shelf", 582)]
    assert solved(parts).findings == ()


def test_a_part_drawn_once_that_fits_many_bays_is_said_to_be_taken_to_stand_in_all():
    # Two bays and a rail over both; the shelf may be meant for one bay only.
    uprights = upright("upright", mortises=[SHELF, RAIL])
    parts = [board("seat", [0, 300, 600]), uprights, shelf("shelf", 282), shelf("rail", 582, 60)]
    (said,) = solved(parts).findings
    assert said.amount_mm == pytest.approx(0.4)
    assert "shelf is taken to stand in all 2 bays that it fits" in said.message
    both = [*parts[:2], shelf("left shelf", 282), shelf("right shelf", 282), parts[3]]
    assert "taken to stand" not in solved(both).findings[0].message


def fingered(name: str, length: float, first_out: bool, tenon: float) -> Part:
    """A side of a box `length` long between the bottoms of its fingers, which stand 18 out at both ends.

    300 high; a tenon on its lower edge enters the bottom of the box.
    """
    points: list[tuple[float, float]] = []
    steps = [(60.0 * k, 60.0 * (k + 1)) for k in range(5)]
    for k, (low, high) in enumerate(steps):
        x = length + (18 if (k % 2 == 0) == first_out else 0)
        points += [(x, low), (x, high)]
    for k, (low, high) in reversed(list(enumerate(steps))):
        x = -18 if (k % 2 == 0) == first_out else 0
        points += [(x, high), (x, low)]
    middle = length / 2
    low = [
        (middle - tenon / 2, 0),
        (middle - tenon / 2, -9),
        (middle + tenon / 2, -9),
        (middle + tenon / 2, 0),
    ]
    return Part(name, polygon(list(dict.fromkeys([*points, *low]))))


def test_sides_of_a_box_with_fingers_keep_their_inner_faces_in_its_bottom():
    # Inside 600 x 400: the middles of opposite sides stand 618 and 418 apart as drawn, 0.4 less as made.
    openings = [rectangle(x - 9, 160, x + 9, 240.3) for x in (0.0, 618.0)]
    openings += [rectangle(259, y - 9, 359.3, y + 9) for y in (-9.0, 409.0)]
    bottom = Part("bottom", rectangle(-50, -50, 668, 450), tuple(openings))
    front, side = fingered("front", 600, True, 100), fingered("side", 400, False, 80)
    parts = [bottom, front, replace(front, name="back"), side, replace(side, name="other side")]
    got = moves(solved(parts))
    assert {(round(x), round(y)): move for (x, y), move in got.items()} == {
        (0, 200): pytest.approx((0.2, 0.0)),
        (618, 200): pytest.approx((-0.2, 0.0)),
        (309, -9): pytest.approx((0.0, 0.2)),
        (309, 409): pytest.approx((0.0, -0.2)),
    }
    told = solved(parts, keep="outside")
    assert {finding.rule for finding in told.findings} == {"outside-not-kept"}
    assert moves(told) == got


def glued() -> list[Part]:
    """A top over two ends of two layers each, of which the inner ones have tenons; a shelf through both."""
    layers = [upright("inner", mortises=[SHELF]), Part("outer", *_plain(upright("", mortises=[SHELF])))]
    return [board("top", [0, 618]), shelf("shelf", 600), *layers, *layers]


def _plain(part: Part) -> tuple[Path, tuple[Path, ...]]:
    return rectangle(0, 0, 300, 400), part.openings


@pytest.mark.parametrize(("keep", "move", "shoulder"), [("shoulders", 0.2, 0), ("outside", -0.6, -0.8)])
def test_of_glued_layers_the_one_at_the_shoulder_is_held(keep, move, shoulder):
    # 600 between inner faces: middles of the inner layers 618 apart as drawn. With shoulders kept they are
    # 617.6 apart; with outer faces kept, 672 apart, they are 672 - 2 x 17.6 - 17.6 = 619.2 apart.
    parts = glued()
    stacks = [(2, 3), (5, 4)]
    found = pairs(parts, [T] * 6, (), stacks)
    result = positions(parts, found, [T] * 6, [M] * 6, keep, stacks)
    assert along_x(result, [0, 618]) == pytest.approx([move, -move])
    assert sorted(one.move[0] for one in result.shoulders) == pytest.approx(
        [shoulder, -shoulder] if shoulder else []
    )


BAYS = st.lists(st.integers(100, 700), min_size=1, max_size=6)


@settings(derandomize=True, deadline=None, max_examples=30)
@given(BAYS, st.integers(0, 359), st.booleans())
def test_nothing_moves_in_a_sheet_as_drawn(bays, degrees, mirrored):
    places = spaced(*map(float, bays))
    seat = turned(board("seat", places), degrees, mirrored=mirrored)
    shelves = [shelf(f"shelf {bay}", bay - 18.0) for bay in sorted(set(bays))]
    parts = [seat, upright("upright", mortises=[SHELF]), *shelves]
    assert solved(parts, T, T) == Positions()
    assert solved(parts, T, T, "outside") == Positions()


@settings(derandomize=True, deadline=None, max_examples=60)
@given(BAYS, st.floats(-0.9, 0.9).filter(lambda d: abs(d) > 0.01))
def test_each_shelf_fits_between_its_uprights(bays, change):
    """Rectangles side by side: every shelf fills its bay from face to face, no gap and no overlap."""
    places = spaced(*map(float, bays))
    sums = {sum(bays[i:j]) for i in range(len(bays)) for j in range(i + 2, len(bays) + 1)}
    if sums.intersection(bays):
        return  # a shelf would fit over several bays too: told by hand above
    shelves = [shelf(f"shelf {bay}", bay - 18.0) for bay in sorted(set(bays))]
    thick = T + change
    result = solved([board("seat", places), upright("upright", mortises=[SHELF]), *shelves], T, thick)
    assert result.findings == ()
    middles = [x + move for x, move in zip(places, along_x(result, places), strict=True)]
    for one, other, bay in zip(middles[:-1], middles[1:], bays, strict=True):
        face, next_face = one + thick / 2, other - thick / 2
        assert next_face - face == pytest.approx(bay - 18.0, abs=1e-9)
    assert sum(middles) == pytest.approx(sum(places), abs=1e-6)


THIN, THIN_MADE = 12.0, 12.3
BENCH = st.tuples(
    st.lists(
        st.tuples(st.integers(130, 600), st.booleans()), min_size=1, max_size=5
    ),  # clear bay, shelf in it
    st.lists(st.booleans(), min_size=6, max_size=6),  # which uprights are of the thin sheet
    st.lists(st.booleans(), min_size=6, max_size=6),  # which of them the back holds
    st.integers(0, 359),
    st.booleans(),
)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(BENCH)
def test_seat_and_back_agree_on_every_upright_and_all_shelves_fit(bench):
    """Uprights of two sheets, some bays with a shelf, a back over some of them that lies anyhow."""
    bays, thin, held, degrees, mirrored = bench
    count = len(bays) + 1
    drawn = [THIN if thin[k] else T for k in range(count)]
    made = [THIN_MADE if thin[k] else M for k in range(count)]
    places = [0.0]
    for k, (clear, _) in enumerate(bays):
        places.append(places[-1] + clear + (drawn[k] + drawn[k + 1]) / 2)
    shelves = sorted({clear for clear, shelved in bays if shelved})
    for i in range(count):
        for j in range(i + 1, count):
            between = places[j] - places[i] - (drawn[i] + drawn[j]) / 2
            if between in shelves and not (j == i + 1 and bays[i][1]):
                return  # a shelf would fit there too: told by hand above

    def over(name: str, spans: tuple[float, float], which: list[int]) -> Part:
        loops = [
            rectangle(places[k] - drawn[k] / 2, 150 - span / 2, places[k] + drawn[k] / 2, 150 + span / 2)
            for k in which
            for span in (spans[drawn[k] == THIN] + 0.3,)
        ]
        return Part(name, rectangle(-50, 0, places[-1] + 50, 300), tuple(loops))

    backed = [k for k in range(count) if held[k]]
    parts = [
        over("seat", (80, 70), list(range(count))),
        turned(over("back", (60, 50), backed), degrees, mirrored=mirrored),
        upright("thick", (80, 60), [SHELF]),
        upright("thin", (70, 50), [SHELF]),
        *(shelf(f"shelf {clear}", clear) for clear in shelves),
    ]
    sheets = [T, T, T, THIN, *[T] * len(shelves)]
    result = solved(parts, sheets, [M, M, M, THIN_MADE, *[M] * len(shelves)])
    assert [finding for finding in result.findings if finding.level == "error"] == []
    middles = [x + move for x, move in zip(places, along_x(result, places), strict=True)]
    for k, (clear, shelved) in enumerate(bays):
        if shelved:
            assert middles[k + 1] - middles[k] - (made[k] + made[k + 1]) / 2 == pytest.approx(clear, abs=1e-9)
    angle, sign = math.radians(degrees), -1 if mirrored else 1
    axis = (sign * math.cos(angle), sign * math.sin(angle))
    got = moves(result, part=1)
    in_back = []
    for k in backed:
        at = (axis[0] * places[k] - 150 * math.sin(angle), axis[1] * places[k] + 150 * math.cos(angle))
        near = [m[0] * axis[0] + m[1] * axis[1] for middle, m in got.items() if math.dist(middle, at) < 0.01]
        in_back.append(places[k] + sum(near))
    for one, other in pairwise(range(len(backed))):
        apart = middles[backed[other]] - middles[backed[one]]
        assert in_back[other] - in_back[one] == pytest.approx(apart, abs=1e-9)
    kept = solved(parts, sheets, [M, M, M, THIN_MADE, *[M] * len(shelves)], "outside")
    if kept.findings:  # one shelf in too many bays of unlike uprights
        assert [finding.rule for finding in kept.findings] == ["loop-cannot-close"]
        assert len(shelves) < sum(shelved for _, shelved in bays)
        return
    middles = [x + move for x, move in zip(places, along_x(kept, places), strict=True)]
    if shelves:
        assert middles[0] - made[0] / 2 == pytest.approx(-drawn[0] / 2, abs=1e-9)
        assert middles[-1] + made[-1] / 2 == pytest.approx(places[-1] + drawn[-1] / 2, abs=1e-9)
    for k, (clear, shelved) in enumerate(bays):
        if shelved:
            moved = [one for one in kept.shoulders if one.part == 4 + shelves.index(clear)]
            assert len(moved) == len({one.tenons for one in moved}) <= 2
            # Moves to the right of the right end and to the left of the left end make it longer.
            longer = sum(one.move[0] * (1 if one.tenons[0].middle[0] > 0 else -1) for one in moved)
            between = middles[k + 1] - middles[k] - (made[k] + made[k + 1]) / 2
            assert between == pytest.approx(clear + longer, abs=1e-9)


def test_a_back_that_fits_two_pairs_of_uprights_serves_either():
    # Bays 148, 149, 148 from middle to middle, a shelf in the middle one: the back's two may be either pair.
    back = board("back", [0, 148], span=60.3, length=300)
    seat = board("seat", [0, 148, 297, 445])
    result = solved([seat, back, upright("upright", (80, 60), [SHELF]), shelf("shelf", 131)])
    got, (one, other) = along_x(result, [0, 148, 297, 445]), along_x(result, [0, 148], part=1)
    assert got[2] - got[1] == pytest.approx(-0.4)
    assert got[1] - got[0] == pytest.approx(other - one)
    assert got[3] - got[2] == pytest.approx(other - one)
    assert result.findings == ()


def test_a_part_that_should_move_unlike_in_two_places_is_told():
    # Two short bays bring the first and the third upright 0.8 nearer; the fourth and the fifth are both held
    # by rails to the last and keep their distance, 148 as well. The back has two mortises 148 apart.
    places = [0.0, 60.0, 148.0, 400.0, 548.0, 900.0]
    back = board("back", [0, 148], span=60.3, length=300)
    between = [shelf("first", 42), shelf("second", 70), shelf("long", 482, 60), shelf("short", 334, 60)]
    result = solved([board("seat", places), back, upright("upright", (80, 60), [SHELF, RAIL]), *between])
    (said,) = result.findings
    assert (said.level, said.rule, said.part) == ("warning", "fits-several-places", "back")
    got, there = along_x(result, places), along_x(result, [0, 148], part=1)
    assert (got[2] - got[0], got[4] - got[3]) == pytest.approx((-0.8, 0.0))
    assert there[1] - there[0] in (pytest.approx(-0.8), pytest.approx(0.0))


def test_like_uprights_stand_where_what_is_between_is_level_and_no_mortise_is_left():
    # Six equal bays, drawn in no order: a and b share a shelf at 200, c to e two at 120 and 200, f has the
    # rail's mortise as a. Between d and b, or from e to f, there is no mortise at one level to share.
    low = (120.0, 100.3, 18.0)
    a, b, c = ("a", [SHELF, RAIL]), ("b", [SHELF]), ("c", [low])
    d, e, f = ("d", [low, SHELF]), ("e", [SHELF]), ("f", [RAIL])
    drawn = [upright(name, mortises=has) for name, has in (a, b, c, d, e, f)]
    places = spaced(*[300.0] * 5)
    shelves = [shelf(f"shelf {k}", 282) for k in range(3)]
    result = solved([board("seat", places), *drawn, *shelves, shelf("rail", 1482, 60)])
    (said,) = result.findings
    assert said.rule == "stand-in-order"
    assert "stand a, b, c, d, e, f:" in said.message
    got = along_x(result, places)
    gaps = [right - left for left, right in pairwise(got)]
    assert (gaps[0], gaps[2], gaps[3]) == pytest.approx((-0.4, -0.4, -0.4))
    assert got[5] - got[0] == pytest.approx(-0.4)


def test_rails_between_legs_without_a_seat_grow_where_outer_faces_stay():
    # Nothing is mortised over the legs: each of two equal rails takes up 0.4 of either leg.
    rails = [shelf("front", 582), shelf("back", 582)]
    legs = [upright("left", mortises=[SHELF]), upright("right", mortises=[SHELF])]
    result = solved([*legs, *rails], keep="outside")
    assert sorted(one.move[0] for one in result.shoulders) == pytest.approx([-0.4, -0.4, 0.4, 0.4])
    assert (result.located, result.findings) == ((), ())
    assert solved([*legs, *rails]) == Positions()


def test_boards_in_housings_grow_where_outer_faces_stay():
    # Two unlike boards in two housings of either side; which board is in which matters to nobody.
    pockets = tuple(Pocket(rectangle(-5, y - 9, 305, y + 9), 6.0) for y in (200, 500))
    sides = [Part(name, rectangle(0, 0, 300, 700), pockets=pockets) for name in ("left", "right")]
    plain = Part("plain", rectangle(0, 0, 594, 300))
    opened = Part("open", rectangle(0, 400, 594, 700), (rectangle(100, 500, 200, 540),))
    result = solved([*sides, plain, opened], keep="outside")
    got = sorted((one.part, one.move[0]) for one in result.shoulders)
    assert got == [(part, pytest.approx(move)) for part in (2, 3) for move in (-0.4, 0.4)]
    assert result.findings == ()


def test_slots_of_crossing_boards_follow_what_shoulders_hold():
    # Two dividers stand in slots of a lower rail, halved with it, and in mortises of a seat; a shelf between.
    def divider(name: str) -> Part:
        one = upright(name, mortises=[SHELF])
        points = [wall.start for wall in one.outline.segments]
        slot = [(130.0, 0.0), (130.0, 40.0), (148.0, 40.0), (148.0, 0.0)]
        return replace(one, outline=polygon([points[0], *slot, *points[1:]]))

    rail = [(-60.0, 0.0), (360.0, 0.0), (360.0, 80.0)]
    for x in (300.0, 0.0):
        rail += [(x + 9, 80.0), (x + 9, 40.0), (x - 9, 40.0), (x - 9, 80.0)]
    lower = Part("lower rail", polygon([*rail, (-60.0, 80.0)]))
    dividers = [replace(divider(name), name=name) for name in ("left", "right")]
    found = pairs([board("seat", [0, 300]), *dividers, shelf("shelf", 282), lower], [T] * 5)
    assert [pair.parts for pair in found.pairs if pair.kind == "cross-lap"] != []
    result = solved([board("seat", [0, 300]), *dividers, shelf("shelf", 282), lower])
    assert along_x(result, [0, 300]) == pytest.approx([0.2, -0.2])
    assert along_x(result, [0, 300], part=4) == pytest.approx([0.2, -0.2])
