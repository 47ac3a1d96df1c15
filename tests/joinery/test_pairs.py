"""Joints found and paired: figures of published drawings, and outlines whose truth is known by hand."""

from __future__ import annotations

from collections import Counter

import pytest
from support.places import published

from camkit.drawing.read import read
from camkit.geometry.path import polygon, rectangle
from camkit.joinery.pairs import Pairs, pairs
from camkit.part import Part, Pocket


def found(name: str, thickness: float) -> Pairs:
    parts = read(published(name)).parts
    return pairs(parts, [thickness] * len(parts))


def board(name: str, *openings: tuple[float, float], x: float = 0.0) -> Part:
    """A board of 600 x 300 with upright mortises, each given by where it begins and how long it is."""
    loops = tuple(rectangle(x + 100, y, x + 118, y + size) for y, size in openings)
    return Part(name, rectangle(x, 0, x + 600, 300), loops)


def shelf(*tenons: tuple[float, float], proud: float = 18.0) -> Part:
    """A shelf with tenons on its right edge, each given by where it begins and how wide it is."""
    points = [(2000.0, 0.0), (2500.0, 0.0)]
    for y, size in tenons:
        points += [(2500, y), (2500 + proud, y), (2500 + proud, y + size), (2500, y + size)]
    return Part("shelf", polygon([*points, (2500, 300), (2000, 300)]))


def rules(result: Pairs) -> list[tuple[str, str]]:
    return [(finding.level, finding.rule) for finding in result.findings]


@pytest.mark.parametrize(
    ("name", "thickness", "mortises", "tenons", "wedges"),
    [
        ("desk-fillets-mm.dxf", 21, 10, 10, 10),
        ("desk-cm.dxf", 21, 10, 10, 10),
        ("desk-2004.dxf", 12, 13, 11, 11),
    ],
)
def test_proud_tenons_in_wide_mortises_are_paired_and_wedge_openings_are_no_joints(
    name, thickness, mortises, tenons, wedges
):
    result = found(name, thickness)
    paired = [f for pair in result.pairs if pair.kind == "mortise and tenon" for f in pair.enters]
    may_take = {mortise for fits in result.options.values() for fit in fits for mortise in fit}
    assert (len(may_take), len(set(paired)), len(result.wedges)) == (mortises, tenons, wedges)
    assert {pair.kind for pair in result.pairs} == {"mortise and tenon"}
    assert result.lone == ()


def test_mortises_for_hooks_are_found_and_told_to_have_no_mate():
    lone = [f for f in found("rack-inches.dxf", 20.64).lone if f.kind == "mortise"]
    assert [(round(f.width, 2), round(f.length, 1)) for f in lone] == [(20.64, 114.3)] * 4


def test_sides_that_stand_on_feet_lap_them_along_one_edge():
    # Looked at: each side has a slot for the front foot and one for the back foot; the two slots of the panel
    # hook over the sides, which have mortises for them.
    result = found("rack-inches.dxf", 20.64)
    assert sorted((pair.kind, pair.parts) for pair in result.pairs) == [
        ("cross-lap", (0, 5)),
        ("cross-lap", (0, 6)),
        ("cross-lap", (1, 5)),
        ("cross-lap", (1, 6)),
    ]
    assert [f.part for f in result.lone if f.kind == "slot"] == [4, 4]


@pytest.mark.parametrize(
    "name",
    [
        *("case-middle-plate.dxf", "case-mirrored.dxf", "case-projected-solid.dxf", "cover-splines.dxf"),
        *("enclosure-circles.dxf", "enclosure-older.dxf", "front-plate.dxf"),
    ],
)
def test_drawings_without_joints_have_none(name):
    parts = read(published(name)).parts
    for thickness in (3.0, 6.0, 18.0):
        result = pairs(parts, [thickness] * len(parts))
        assert (result.pairs, result.wedges, result.lone, result.findings) == ((), (), (), ())


@pytest.mark.parametrize("proud", [9.0, 18.0, 60.0])
def test_projection_decides_nothing(proud):
    result = pairs([board("end", (50, 80.3)), shelf((50, 80), proud=proud)], [18, 18])
    assert [(pair.kind, pair.parts) for pair in result.pairs] == [("mortise and tenon", (1, 0))]
    assert result.findings == ()


def test_tenons_of_one_edge_match_as_a_pattern():
    right, wrong = board("right", (30, 60.3), (190, 60.3)), board("wrong", (30, 60.3), (160, 60.3), x=700)
    result = pairs([wrong, right, shelf((40, 60), (200, 60))], [18] * 3)
    (pair,) = result.pairs
    assert (pair.parts, len(pair.takes)) == ((2, 1), 2)


@pytest.mark.parametrize(("other", "level"), [(18.0, "note"), (17.7, "error")])
def test_two_mates_stop_only_where_the_cut_would_differ(other, level):
    # The second end is longer, so the two are no equal parts.
    second = Part("second", rectangle(700, 0, 1400, 300), board("", (50, 80.3), x=700).openings)
    parts = [board("first", (50, 80.3)), second, shelf((50, 80))]
    assert rules(pairs(parts, [18, other, 18])) == [(level, "two-mates")]
    (said,) = pairs(parts, [18, other, 18]).findings
    assert "first" in said.message
    assert "second" in said.message
    if level == "error":
        assert '[[joint]]\ntenon = "shelf"\nmortise = "first"' in said.remedy
        decided = pairs(parts, [18, other, 18], [("shelf", "second")])
        assert [pair.parts for pair in decided.pairs] == [(2, 1)]
        assert ("error", "two-mates") not in rules(decided)


def test_a_small_plate_gets_the_part_that_has_one_end_and_the_rails_span_equal_frames():
    # Looked at: part 5 is a bracket's plate beside its tongue, part 6; parts 1 and 2 are the two frames.
    result = found("desk-2004.dxf", 12)
    mates = {(pair.parts[0] + 1, pair.parts[1] + 1) for pair in result.pairs}
    assert mates == {(3, 1), (3, 2), (6, 5), (17, 1), (17, 2), (18, 1), (18, 2), (19, 1), (19, 2)}
    (note,) = result.findings
    assert "part 1 as well as those of part 5; the cut is the same" in note.message


def test_equal_parts_are_interchangeable():
    parts = [board("first", (50, 80.3)), board("second", (50, 80.3), x=700), shelf((50, 80))]
    assert pairs(parts, [18] * 3).findings == ()


def test_a_tenon_longer_than_its_mortise_is_an_error():
    (said,) = pairs([board("end", (50, 80)), shelf((50, 80.8))], [18, 18]).findings
    assert (said.level, said.rule) == ("error", "tenon-too-long")
    assert "80.80 mm wide" in said.message
    assert "longer" in said.remedy


def test_a_mortise_without_a_tenon_and_a_tenon_without_a_mortise_are_told():
    assert rules(pairs([board("end", (50, 80)), shelf((50, 120))], [18, 18])) == [
        ("warning", "no-mate"),
        ("warning", "no-mate"),
    ]


def test_slots_that_halve_their_common_height_are_a_cross_lap():
    def slotted(x: float) -> Part:
        return Part(
            f"board {x}",
            polygon(
                (
                    *((x, 0), (x + 400, 0), (x + 400, 100), (x + 209, 100)),
                    *((x + 209, 50), (x + 191, 50), (x + 191, 100), (x, 100)),
                )
            ),
        )

    result = pairs([slotted(0), slotted(500)], [18, 18])
    assert Counter(pair.kind for pair in result.pairs) == {"cross-lap": 1}


def test_edges_with_complementary_intervals_are_a_finger_edge_and_no_tenons():
    def fingered(x: float, out: bool) -> Part:
        points, level = [(x, 0.0)], 18.0 if out else 0.0
        for k in range(7):
            points += [(x + 300 + level, 40.0 * k), (x + 300 + level, 40.0 * (k + 1))]
            level = 18.0 - level
        return Part(f"side {x}", polygon([*dict.fromkeys(points), (x, 280.0)]))

    result = pairs([fingered(0, True), fingered(500, False)], [18, 18])
    assert [pair.kind for pair in result.pairs] == ["finger edge"]
    assert result.lone == ()


def test_a_shelf_enters_the_housings_of_two_sides_whose_own_edges_are_as_long():
    housing = (Pocket(rectangle(-5, 191, 305, 209), 6.0),)
    sides = [Part(name, rectangle(0, 0, 300, 900), pockets=housing) for name in ("left", "right")]
    result = pairs([*sides, Part("shelf", rectangle(0, 0, 594, 300))], [18] * 3)
    assert sorted((pair.kind, pair.parts) for pair in result.pairs) == [
        ("housing", (2, 0)),
        ("housing", (2, 1)),
    ]
