"""Borders, margins, pages, title blocks and lettering are told and not cut; parts that look alike are cut."""

import itertools
from collections.abc import Callable
from typing import Any

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.pages import page_of
from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.part import LayerRule
from tests.support.accounting import unaccounted

Dxf = Callable[..., Drawn]


def box(space: Modelspace, x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> None:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def text(space: Modelspace, said: str, x: float, y: float) -> None:
    space.add_text(said).set_placement((x, y))


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


def sizes(found: Drawn) -> list[tuple[float, float]]:
    return [(round(b[2] - b[0], 1), round(b[3] - b[1], 1)) for b in (bounds(p.outline) for p in found.parts)]


def shelf(space: Modelspace, x: float, y: float) -> None:
    """A part of 400 x 200 with an opening."""
    box(space, x, y, x + 400, y + 200)
    box(space, x + 50, y + 50, x + 150, y + 68)


def test_a_border_and_its_margin_hold_a_single_part(dxf: Dxf) -> None:
    """Depth 0 the border, depth 1 the margin, depth 2 the part, depth 3 its opening, all on one layer."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 2440, 1220)
        box(space, 20, 20, 2420, 1200)
        shelf(space, 100, 100)

    found = dxf(draw)
    assert sizes(found) == [(400, 200)]
    assert len(found.parts[0].openings) == 1
    assert found.sheet_edge is not None and bounds(found.sheet_edge) == (0, 0, 2440, 1220)
    assert len(told(found, "sheet-border")) == 2 and not told(found, "border-likely")
    assert unaccounted(found) == 0


@pytest.mark.parametrize("likely", [False, True])
def test_a_margin_of_an_odd_sheet_is_one_and_said_to_be_likely(dxf: Dxf, likely: bool) -> None:
    def draw(space: Modelspace) -> None:
        length = 900 if likely else 1250
        box(space, 0, 0, length, 625)
        box(space, 10, 10, length - 10, 615)
        shelf(space, 100, 100)

    found = dxf(draw)
    assert sizes(found) == [(400, 200)]
    assert bool(told(found, "border-likely")) == likely


def test_a_frame_of_wood_with_a_panel_in_its_opening_is_two_parts(dxf: Dxf) -> None:
    """A picture frame of 30 mm wood: too wide for a margin."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 500, 400)
        box(space, 30, 30, 470, 370)
        shelf(space, 40, 100)

    assert sizes(dxf(draw)) == [(500, 400), (400, 200)]


def test_rings_one_in_another_are_rings(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for inset in (0, 10, 20, 30):
            box(space, inset, inset, 600 - inset, 600 - inset)

    assert sizes(dxf(draw)) == [(600, 600), (560, 560)]


def test_a_drilled_plate_in_a_sheet_is_a_part_not_a_margin(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 2440, 1220)
        box(space, 20, 20, 2420, 1200)
        box(space, 200, 200, 900, 900)
        space.add_circle((60, 60), 4)

    found = dxf(draw)
    assert sizes(found) == [(2400, 1180)]
    assert (len(found.parts[0].openings), len(found.parts[0].holes)) == (1, 1)
    assert len(told(found, "border-likely")) == 1


def test_parts_beside_the_border_do_not_make_a_part_of_it(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 2440, 1220)
        shelf(space, 100, 100)
        box(space, 600, 100, 900, 300)
        shelf(space, 2600, 100)

    assert sizes(dxf(draw)) == [(400, 200), (300, 200), (400, 200)]


def title_block(space: Modelspace, x: float, y: float, scale: float = 1.0) -> None:
    """180 x 40, the width that ISO 7200 gives, with three cells and the names of their fields."""
    box(space, x, y, x + 180 * scale, y + 40 * scale)
    box(space, x, y, x + 60 * scale, y + 20 * scale)
    box(space, x + 60 * scale, y, x + 180 * scale, y + 20 * scale)
    box(space, x, y + 20 * scale, x + 180 * scale, y + 40 * scale)
    text(space, "Title: potting bench", x + 5 * scale, y + 25 * scale)
    text(space, "Scale 1:5", x + 5 * scale, y + 5 * scale)
    text(space, "Date 2026-11-25", x + 65 * scale, y + 5 * scale)


@pytest.mark.parametrize("scale", [1.0, 2.0, 5.0])
def test_a_page_with_the_margins_of_iso_5457_and_a_title_block_is_no_part(dxf: Dxf, scale: float) -> None:
    """A3 is 420 x 297 (ISO 216); 20 mm are kept for filing and 10 on the other sides (ISO 5457)."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 420 * scale, 297 * scale)
        box(space, 20 * scale, 10 * scale, 410 * scale, 287 * scale)
        title_block(space, 230 * scale, 10 * scale, scale)
        box(space, 40 * scale, 100 * scale, 140 * scale, 200 * scale)
        box(space, 60 * scale, 120 * scale, 80 * scale, 125 * scale)

    found = dxf(draw)
    assert sizes(found) == [(100 * scale, 100 * scale)]
    assert [finding.count for finding in told(found, "title-block")] == [4]
    same = "A1 at 1:1" if scale == 2 else f"A3 at 1:{scale:g}"
    assert same in told(found, "sheet-border")[0].message
    assert found.sheet_edge is None  # a page is no sheet of plywood
    assert unaccounted(found) == 0


def test_a_page_without_a_title_block_is_known_by_its_margins(dxf: Dxf) -> None:
    """An A3 page drawn twice as large: 40 mm on the left, 20 mm on the other sides."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 840, 594)
        box(space, 40, 20, 820, 574)
        shelf(space, 100, 100)

    found = dxf(draw)
    assert sizes(found) == [(400, 200)]
    assert found.sheet_edge is None


def test_a_title_block_of_lines_in_a_page_frames_what_is_beside_it(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 1000, 700)
        space.add_line((800, 0), (800, 100))
        space.add_line((800, 100), (1000, 100))
        text(space, "Drawn: K. Muster", 810, 20)
        text(space, "Date: 25.11.2026", 810, 60)
        shelf(space, 100, 200)

    found = dxf(draw)
    assert sizes(found) == [(400, 200)]
    assert "frame of a page" in told(found, "sheet-border")[0].message


def test_a_page_of_lines_that_end_on_its_title_block_is_a_page(dxf: Dxf) -> None:
    """Joined, such lines enclose a page without its corner, and the cells."""

    def draw(space: Modelspace) -> None:
        runs = [
            [(0, 0), (1000, 0), (1000, 700), (0, 700), (0, 0)],
            [(800, 0), (800, 100), (1000, 100)],
            [(800, 50), (1000, 50)],
            [(900, 0), (900, 50)],
        ]
        for run in runs:
            for a, b in itertools.pairwise(run):
                space.add_line(a, b)
        for said, x, y in (("Title: bench", 810, 60), ("Scale 1:1", 810, 20), ("Date", 910, 20)):
            text(space, said, x, y)
        shelf(space, 100, 200)

    found = dxf(draw)
    assert sizes(found) == [(400, 200)]
    assert [finding.count for finding in told(found, "title-block")] == [3]
    assert len(told(found, "sheet-border")) == 1
    assert not told(found, "texts")


def test_words_of_a_title_block_on_a_part_do_not_make_a_page_of_it(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 400, 300)
        box(space, 50, 50, 100, 68)
        text(space, "Scale 1:1", 200, 200)
        text(space, "Date 2026", 200, 150)

    assert sizes(dxf(draw)) == [(400, 300)]


def test_a_single_loop_in_a_whole_sheet_is_an_opening_and_asked_about(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 2440, 1220)
        box(space, 100, 100, 500, 300)

    found = dxf(draw)
    assert sizes(found) == [(2440, 1220)]
    assert [finding.level for finding in told(found, "sheet-border")] == ["warning"]


def test_named_rectangles_that_share_edges_are_parts(dxf: Dxf) -> None:
    """Parts laid edge to edge in a corner of the sheet look like the cells of a title block."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 2440, 1220)
        for number, name in enumerate(("Shelf", "Side", "Back")):
            box(space, 300 * number, 0, 300 * number + 300, 200)
            text(space, name, 300 * number + 50, 50)

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["Shelf", "Side", "Back"]
    assert not told(found, "title-block")


def test_a_list_of_parts_is_a_table(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        shelf(space, 0, 0)
        for row in range(4):
            for column, said in enumerate(("1", "Shelf", "400 x 200")):
                x, y = 600 + 80 * column, 12 * row
                box(space, x, y, x + 80, y + 12)
                text(space, said, x + 5, y + 3)

    found = dxf(draw)
    assert sizes(found) == [(400, 200)]
    assert [(f.level, f.count) for f in told(found, "table")] == [("warning", 12)]
    assert unaccounted(found) == 0


def test_slats_edge_to_edge_are_parts(dxf: Dxf) -> None:
    """One column of slats, named or not, and a grid without texts."""

    def draw(space: Modelspace) -> None:
        for number in range(8):
            box(space, 0, 18 * number, 300, 18 * number + 18)
            text(space, f"slat {number}", 20, 18 * number + 5)
            for column in range(2):
                box(space, 400 + 80 * column, 18 * number, 480 + 80 * column, 18 * number + 18)

    assert len(dxf(draw).parts) == 24


def test_a_rule_for_the_layer_makes_a_frame_a_part(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 2440, 1220, "ring")
        box(space, 20, 20, 2420, 1200)
        shelf(space, 100, 100)

    found = dxf(draw, rules=(LayerRule("ring", "profile"),))
    assert sizes(found) == [(2440, 1220), (400, 200)]
    assert not told(found, "sheet-border")


@pytest.mark.parametrize(
    ("size", "page"),
    [
        ((297, 210), ("A4", 1)),
        ((841, 594), ("A1", 1)),
        ((1189, 841), ("A0", 1)),
        ((2100, 1485), ("A3", 5)),
        ((2440, 1220), None),
        ((600, 400), None),
    ],
)
def test_pages_have_the_sizes_of_iso_216(size: tuple[float, float], page: tuple[str, float] | None) -> None:
    assert page_of(*size) == page == page_of(*reversed(size))


def letters(space: Modelspace, x: float, y: float, scale: float = 1) -> int:
    """Closed outlines of T, L, I and O (with its inner line), 8 mm high."""
    shapes: list[list[tuple[float, float]]] = [
        [(2, 0), (4, 0), (4, 6), (6, 6), (6, 8), (0, 8), (0, 6), (2, 6)],
        [(8, 0), (13, 0), (13, 2), (10, 2), (10, 8), (8, 8)],
        [(15, 0), (17, 0), (17, 8), (15, 8)],
        [(19, 0), (25, 0), (25, 8), (19, 8)],
        [(21, 2), (23, 2), (23, 6), (21, 6)],
    ]
    for shape in shapes:
        space.add_lwpolyline([(x + scale * u, y + scale * v) for u, v in shape], close=True)
    return len(shapes)


def test_letters_on_bare_sheet_are_left_out_and_counted(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        shelf(space, 0, 0)
        letters(space, 500, 50)

    found = dxf(draw)
    assert sizes(found) == [(400, 200)]
    (finding,) = told(found, "lettering")
    assert (finding.level, finding.count, finding.x_mm, finding.y_mm) == ("warning", 5, 500, 50)
    assert unaccounted(found) == 0


def test_letters_on_the_wood_stay_and_are_warned_of(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        shelf(space, 0, 0)
        letters(space, 200, 120)

    part, inside_the_o = (found := dxf(draw)).parts
    assert len(part.openings) == 5 and inside_the_o.openings == ()
    (finding,) = told(found, "lettering-on-part")
    assert (finding.level, finding.count) == ("warning", 4)
    assert unaccounted(found) == 0


def test_letters_as_large_as_parts_are_parts_and_warned_of(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        shelf(space, 0, 0)
        letters(space, 500, 50, 4)

    found = dxf(draw)
    assert len(found.parts) == 5
    assert [(f.level, f.count) for f in told(found, "lettering-likely")] == [("warning", 4)]


def test_rows_of_small_parts_are_parts(dxf: Dxf) -> None:
    """Plugs and spacers are all alike; letters are not."""

    def draw(space: Modelspace) -> None:
        shelf(space, 0, 0)
        for number in range(6):
            space.add_circle((500 + 14 * number, 20), 5)
            box(space, 500 + 14 * number, 40, 510 + 14 * number, 48)

    found = dxf(draw)
    assert len(found.parts) == 13
    assert not told(found, "lettering")


def test_rectangles_of_many_sizes_are_parts(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        shelf(space, 0, 0)
        for number, width in enumerate((4, 6, 8, 10)):
            box(space, 500 + 14 * number, 0, 500 + 14 * number + width, 9)

    assert len(dxf(draw).parts) == 5


def test_a_drawing_of_small_parts_only_keeps_them(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        letters(space, 0, 0)

    found = dxf(draw, unit="mm")
    assert len(found.parts) == 4
    assert told(found, "small-part") and not told(found, "lettering")


def test_what_has_no_sheet_around_it_keeps_its_outline(svg: Callable[..., Any]) -> None:
    found = svg('<rect x="10" y="10" width="180" height="80"/><rect x="30" y="30" width="60" height="18"/>')
    assert sizes(found) == [(180, 80)]
    assert found.sheet_edge is None
