"""Pairs other than mortises and tenons, what the job's rows decide, and what is said; outlines by hand."""

from __future__ import annotations

import pytest

from camkit.geometry.path import polygon, rectangle
from camkit.joinery.pairs import Pairs, pairs
from camkit.part import Hole, Part, Pocket

T = 18.0


def joined(*parts: Part, rows: tuple[tuple[str, str], ...] = ()) -> Pairs:
    return pairs(parts, [T] * len(parts), rows)


def meetings(result: Pairs) -> list[tuple[str, tuple[int, int]]]:
    return [(pair.kind, pair.parts) for pair in result.pairs]


def plain(name: str, x: float, wide: float, high: float) -> Part:
    return Part(name, rectangle(x, 0, x + wide, high))


def housed(name: str, x: float, long: float, *heights: float) -> Part:
    """A side 500 wide with stopped housings of this length at these heights."""
    pockets = tuple(Pocket(rectangle(x + 50, y, x + 50 + long, y + 18.1), 6.0) for y in heights)
    return Part(name, rectangle(x, 0, x + 500, 900), (), (), pockets)


def slotted(name: str, x: float, high: float, depth: float, *, below: bool = False) -> Part:
    """A board on edge, 400 long, with a slot 18 wide from above or from below."""
    a, b = x + 191, x + 209
    if below:
        slot = [(a, 0), (a, depth), (b, depth), (b, 0)]
        return Part(name, polygon([(x, 0), *slot, (x + 400, 0), (x + 400, high), (x, high)]))
    slot = [(b, high), (b, high - depth), (a, high - depth), (a, high)]
    return Part(name, polygon([(x, 0), (x + 400, 0), (x + 400, high), *slot, (x, high)]))


def test_a_housing_takes_the_edge_that_is_as_long():
    result = joined(
        plain("short", 0, 300, 290), housed("side", 600, 320.3, 400), plain("shelf", 1200, 700, 320)
    )
    assert meetings(result) == [("housing", (2, 1))]
    (pair,) = result.pairs
    assert (pair.enters[0].width, pair.takes[0].length) == pytest.approx((320, 320.3))


def test_the_two_ends_of_a_shelf_go_to_two_sides():
    result = joined(
        housed("left", 0, 320.3, 400), housed("right", 600, 320.3, 400), plain("shelf", 1200, 700, 320)
    )
    assert sorted(meetings(result)) == [("housing", (2, 0)), ("housing", (2, 1))]
    assert len({pair.enters for pair in result.pairs}) == 2


def test_parts_without_a_joint_are_housed_before_an_end_that_is_free():
    parts = (housed("side", 0, 320.3, 300, 600), plain("one", 600, 700, 320), plain("two", 1400, 640, 320))
    assert sorted(meetings(joined(*parts))) == [("housing", (1, 0)), ("housing", (2, 0))]


def test_a_rabbet_takes_an_edge_as_long():
    side = Part("side", rectangle(0, 0, 320, 600), (), (), (Pocket(rectangle(-3, 582, 323, 603), 9.0),))
    assert meetings(joined(side, plain("back", 700, 500, 320))) == [("rabbet", (1, 0))]


def test_slots_of_unequal_depths_that_fill_the_height_are_a_lap():
    assert meetings(joined(slotted("a", 0, 100, 30), slotted("b", 500, 100, 70, below=True))) == [
        ("cross-lap", (0, 1))
    ]


def test_a_tall_board_laps_its_foot_along_the_floor():
    # The foot is 100 high and slotted by 40 from above; the board is 700 high, slotted by 60 from below.
    result = joined(slotted("foot", 0, 100, 40), slotted("board", 500, 700, 60, below=True))
    assert [kind for kind, _ in meetings(result)] == ["cross-lap"]
    assert result.lone == ()


def test_slots_that_leave_a_gap_are_no_lap():
    result = joined(slotted("foot", 0, 100, 40), slotted("board", 500, 700, 50, below=True))
    assert meetings(result) == []
    assert [f.kind for f in result.lone] == ["slot", "slot"]


def test_the_wood_between_two_slots_of_laps_is_no_tenon():
    # 60 wide, as a mortise of 60.3 would take it.
    comb = polygon(
        [
            *((0, 0), (400, 0), (400, 100), (248, 100), (248, 50), (230, 50), (230, 100)),
            *((170, 100), (170, 50), (152, 50), (152, 100), (0, 100)),
        ]
    )
    trap = Part("trap", rectangle(2000, 0, 2300, 300), (rectangle(2050, 100, 2110.3, 118),))
    across = [slotted(f"across {k}", 500 + 600 * k, 100, 50, below=True) for k in range(2)]
    result = joined(Part("comb", comb), trap, *across)
    assert [kind for kind, _ in meetings(result)] == ["cross-lap", "cross-lap"]
    assert [f.rule for f in result.findings] == ["no-mate"]


def fingered(name: str, x: float, *walls: tuple[float, float, float]) -> Part:
    """A board with its right side at x, out by so much between these heights."""
    points = [(x - 200, 0.0)]
    for low, high, out in walls:
        points += [(x + out, low), (x + out, high)]
    return Part(name, polygon([*points, (x - 200, walls[-1][1])]))


@pytest.mark.parametrize(("low", "fits"), [(50.0, True), (50.3, True), (54.0, False)])
def test_one_finger_in_one_gap_is_a_joint_where_the_ends_meet_too(low, fits):
    finger = fingered("finger", 300, (0, 50, 0), (50, 90, 18), (90, 150, 0))
    gap = fingered("gap", 900, (0, low, 18), (low, low + 40.2, 0), (low + 40.2, 150, 18))
    assert meetings(joined(finger, gap)) == ([("finger edge", (0, 1))] if fits else [])


def bored(name: str, x: float, *holes: tuple[float, float], diameter: float = 8.0) -> Part:
    return Part(name, rectangle(x, 0, x + 400, 300), (), tuple(Hole((x + u, v), diameter) for u, v in holes))


def test_dowel_holes_at_the_same_distances_are_a_joint_either_face_up():
    pattern = ((30.0, 20.0), (130.0, 20.0), (290.0, 20.0))
    mirrored = tuple((400 - u, 250 + v) for u, v in pattern)
    result = joined(bored("one", 0, *pattern, (350, 150)), bored("two", 500, *mirrored))
    (pair,) = result.pairs
    assert (pair.kind, len(pair.enters), len(pair.takes)) == ("dowels", 3, 3)
    for one, other in zip(pair.enters, pair.takes, strict=True):
        assert one.middle[0] + (other.middle[0] - 500) == pytest.approx(400)


@pytest.mark.parametrize("off", [0.3, 5.0])
def test_dowel_holes_at_other_distances_are_none(off):
    result = joined(bored("one", 0, (30, 20), (130, 20)), bored("two", 500, (30, 20), (130 + off, 20)))
    assert result.pairs == ()


def test_copies_with_the_same_holes_are_no_mates():
    holes = ((30.0, 20.0), (130.0, 20.0))
    assert joined(bored("one", 0, *holes), bored("two", 500, *holes)).pairs == ()
    elsewhere = tuple((u, v + 60) for u, v in holes)
    assert [pair.kind for pair in joined(bored("one", 0, *holes), bored("two", 500, *elsewhere)).pairs] == [
        "dowels"
    ]


def test_holes_of_6_are_dowels_where_they_match_and_screws_where_they_do_not():
    long = Part("two", rectangle(500, 0, 1000, 300), (), (Hole((540, 60), 6.0), Hole((640, 60), 6.0)))
    result = joined(bored("one", 0, (30, 20), (130, 20), (350, 250), diameter=6.0), long)
    kinds = [f.kind for f in result.features if f.part == 0 and "hole" in f.kind]
    assert kinds == ["dowel hole", "dowel hole", "screw hole"]


def mortised(name: str, x: float, size: float = 80.3, wide: float = 18.0, high: float = 300) -> Part:
    return Part(name, rectangle(x, 0, x + 400, high), (rectangle(x + 50, 50, x + 50 + wide, 50 + size),))


def tenoned(name: str, x: float, size: float = 80.0) -> Part:
    out = [(x + 300, 50), (x + 318, 50), (x + 318, 50 + size), (x + 300, 50 + size)]
    return Part(name, polygon([(x, 0), (x + 300, 0), *out, (x + 300, 300), (x, 300)]))


def test_rows_of_the_job_decide_between_two_mortises():
    parts = (mortised("one", 0), mortised("two", 500, high=350), tenoned("shelf", 1000))
    assert meetings(joined(*parts, rows=(("shelf", "two"),))) == [("mortise and tenon", (2, 1))]
    assert joined(*parts, rows=(("shelf", "two"),)).findings[0].rule == "no-mate"


def test_rows_of_the_job_decide_laps_and_housings_too():
    boards = (slotted("a", 0, 100, 50), slotted("b", 500, 100, 50), slotted("c", 1000, 100, 50))
    assert meetings(joined(*boards, rows=(("c", "a"),))) == [("cross-lap", (0, 2))]
    shelves = (housed("side", 0, 320.3, 400), plain("one", 600, 700, 320), plain("two", 1400, 640, 320))
    assert meetings(joined(*shelves, rows=(("two", "side"),))) == [("housing", (2, 0))]


def test_a_row_that_fits_nothing_says_what_both_parts_have():
    result = joined(mortised("end", 0, 60.3), tenoned("shelf", 1000), rows=(("shelf", "end"),))
    (said,) = [f for f in result.findings if f.rule == "joint-fits-nothing"]
    assert said.level == "error"
    assert "joins shelf and end" in said.message
    assert "80.00 wide" in said.message
    assert "18.00 x 60.30" in said.message
    assert "1.3 mm longer" in said.remedy


def test_a_row_that_fits_is_not_spoken_of():
    result = joined(mortised("end", 0), tenoned("shelf", 1000), rows=(("shelf", "end"),))
    assert result.findings == ()


def test_rows_for_parts_that_are_not_there_are_left_to_others():
    result = joined(mortised("end", 0), tenoned("shelf", 1000), rows=(("shelf", "top"),))
    assert [f.rule for f in result.findings] == []


def test_openings_for_another_sheet_are_noted_once():
    board = Part(
        "board", rectangle(0, 0, 400, 300), tuple(rectangle(x, 50, x + 12, 90) for x in (50, 100, 150))
    )
    (said,) = joined(board).findings
    assert (said.level, said.rule) == ("note", "other-stock")
    assert "3 openings are 12.00 wide" in said.message
    assert "other stock, or no joints?" in said.message
    lone = Part("board", rectangle(0, 0, 400, 300), (rectangle(50, 50, 62, 90),))
    wedges = Part("board", rectangle(0, 0, 400, 300), tuple(rectangle(x, 50, x + 12, 64) for x in (50, 100)))
    assert joined(lone).findings == joined(wedges).findings == ()


def test_tenons_of_two_sheets_that_could_change_places_are_an_error():
    parts = (
        mortised("end", 0),
        mortised("top", 500, high=350),
        tenoned("thick", 1000),
        tenoned("thin", 1500),
    )
    found = [f for f in pairs(parts, [18, 18, 18, 17.5]).findings if f.level == "error"]
    assert [f.rule for f in found] == ["two-mates"]
    assert "thick, 18 thick" in found[0].message
    assert "thin, 17.5 thick" in found[0].message
    assert "[[joint]]" in found[0].remedy
    decided = pairs(parts, [18, 18, 18, 17.5], [("thick", "end"), ("thin", "top")])
    assert decided.findings == ()
    assert [pair.parts for pair in decided.pairs] == [(2, 0), (3, 1)]
