"""What loops mean: by their layer's rule, else by how they are nested; and how parts are named."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from ezdxf.layouts import Modelspace
from support.accounting import unaccounted

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.geometry.path import signed_area
from camkit.part import LayerRule

Dxf = Callable[..., Drawn]


def box(space: Modelspace, x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> Any:
    return space.add_lwpolyline(
        [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs={"layer": layer}
    )


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


def sizes(found: Drawn) -> list[tuple[float, float]]:
    return [(round(b[2] - b[0], 3), round(b[3] - b[1], 3)) for b in (bounds(p.outline) for p in found.parts)]


def test_loops_nest_by_turns(dxf: Dxf) -> None:
    """A part in an opening of a part; outlines run counter-clockwise, openings clockwise."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 600, 400)
        box(space, 100, 100, 500, 300)
        box(space, 150, 150, 300, 250)
        box(space, 200, 180, 240, 220)

    outer, inner = dxf(draw).parts
    assert (signed_area(outer.outline), signed_area(inner.outline)) == (240_000, 15_000)
    assert [signed_area(opening) for opening in outer.openings] == [-80_000]
    assert [signed_area(opening) for opening in inner.openings] == [-1600]


@pytest.mark.parametrize("depth", [8, 300])
def test_loops_nest_by_turns_to_any_depth(dxf: Dxf, depth: int) -> None:
    """Rings one in another, 5 mm apart: every other one is an outline, with the next as its opening."""
    radii = [30 + 5 * (depth - n) for n in range(depth)]

    def draw(space: Modelspace) -> None:
        for radius in radii:
            space.add_circle((0, 0), radius)

    found = dxf(draw)
    assert [(signed_area(p.outline), [signed_area(o) for o in p.openings]) for p in found.parts] == [
        (pytest.approx(math.pi * outer**2), [pytest.approx(-math.pi * inner**2)])
        for outer, inner in zip(radii[::2], radii[1::2], strict=True)
    ]
    assert found.findings == () and unaccounted(found) == 0


def test_parts_come_in_order_of_their_place(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for x, y in ((300, 200), (0, 200), (300, 0), (0, 0)):
            box(space, x, y, x + 100, y + 50)

    found = dxf(draw)
    assert [bounds(part.outline)[:2] for part in found.parts] == [(0, 0), (300, 0), (0, 200), (300, 200)]
    assert [part.name for part in found.parts] == ["part 1", "part 2", "part 3", "part 4"]


def test_rules_decide_over_nesting(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 500, 300, "Outline")
        box(space, 50, 50, 150, 150, "POCKETS 6mm")
        box(space, 80, 80, 120, 120, "POCKETS 6mm")
        space.add_circle((300, 100), 4, dxfattribs={"layer": "blind"})
        space.add_circle((400, 100), 60, dxfattribs={"layer": "BIG HOLE"})
        box(space, 200, 200, 300, 250, "window")
        box(space, 600, 0, 700, 100, "scribbles")
        box(space, -10, -10, 1000, 500, "stock")

    found = dxf(
        draw,
        rules=(
            LayerRule("outline", "profile"),
            LayerRule("pocket*", "pocket", 6.0),
            LayerRule("blind", "hole", 10.0),
            LayerRule("big*", "hole"),
            LayerRule("window", "opening"),
            LayerRule("scrib*", "ignore"),
            LayerRule("stock", "sheet edge"),
        ),
    )
    (part,) = found.parts
    assert {(hole.diameter, hole.depth) for hole in part.holes} == {(8, 10.0), (120, None)}
    (pocket,) = part.pockets
    assert (signed_area(pocket.outline), pocket.depth) == (10_000, 6.0)
    assert [signed_area(island) for island in pocket.islands] == [-1600]
    assert [signed_area(opening) for opening in part.openings] == [-5000]
    assert found.sheet_edge is not None and bounds(found.sheet_edge) == (-10, -10, 1000, 500)
    assert [finding.rule for finding in found.findings] == ["ignored"]


def test_a_pocket_past_the_edge_belongs_to_the_part_it_lies_on_most(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 210, 0, 400, 100)
        box(space, 150, 30, 220, 60, "pocket")

    left, right = dxf(draw, rules=(LayerRule("pocket", "pocket", 5.0),)).parts
    assert len(left.pockets) == 1 and right.pockets == ()


def test_a_profile_is_an_outline_even_if_nested(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 600, 400, "cut")
        box(space, 100, 100, 200, 200, "cut")

    found = dxf(draw, rules=(LayerRule("cut", "profile"),))
    assert sizes(found) == [(600, 400), (100, 100)]
    assert [finding.rule for finding in found.findings] == ["overlap"]


def test_features_in_no_part_are_told(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 100, 100)
        box(space, 200, 0, 250, 50, "pocket")
        box(space, 300, 0, 350, 50, "opening")

    rules = (LayerRule("pocket", "pocket", 5.0), LayerRule("opening", "opening"))
    found = dxf(draw, rules=rules)
    assert len(found.parts) == 1
    assert {finding.layer for finding in told(found, "stray-feature")} == {"pocket", "opening"}


def test_a_loop_that_is_no_circle_on_a_hole_layer_is_told(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 100, 100)
        box(space, 20, 20, 40, 40, "drill")
        box(space, 60, 20, 80, 40, "blind")

    (part,) = (found := dxf(draw, rules=(LayerRule("drill", "hole"), LayerRule("blind", "hole", 8.0)))).parts
    assert (len(part.openings), len(part.pockets), part.holes) == (1, 1, ())
    assert len(told(found, "not-round")) == 2


def test_a_frame_around_parts_is_the_sheets_border(dxf: Dxf) -> None:
    """Border and margin: two rectangles around two parts, one of which has an opening."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 800, 500)
        box(space, 10, 10, 790, 490)
        box(space, 10, 10, 300, 300)
        box(space, 50, 50, 100, 100)
        box(space, 350, 50, 700, 400)

    found = dxf(draw)
    assert sizes(found) == [(290, 290), (350, 350)]
    assert len(found.parts[0].openings) == 1
    assert found.sheet_edge is not None and bounds(found.sheet_edge) == (0, 0, 800, 500)
    assert [finding.level for finding in told(found, "sheet-border")] == ["note", "note"]


def test_a_plain_frame_is_a_border_at_the_size_of_a_sheet_only(dxf: Dxf) -> None:
    def sheet(length: float, width: float) -> Callable[[Modelspace], None]:
        def draw(space: Modelspace) -> None:
            box(space, 0, 0, length, width)
            box(space, 20, 20, length / 2 - 20, width - 20)
            box(space, length / 2 + 20, 20, length - 20, width - 20)

        return draw

    assert len(dxf(sheet(2440, 1220)).parts) == 2
    window = dxf(sheet(900, 600))
    assert [len(part.openings) for part in window.parts] == [2]
    assert [finding.level for finding in told(window, "sheet-border")] == ["warning"]


def test_a_rectangle_with_holes_and_openings_is_a_part(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 800, 300)
        for x in (50, 200, 350):
            box(space, x, 50, x + 90, 68)
        for x in (60, 300, 700):
            space.add_circle((x, 200), 20)

    (part,) = (found := dxf(draw)).parts
    assert (len(part.openings), len(part.holes)) == (3, 3)
    assert found.findings == ()


def test_a_part_that_touches_or_passes_the_border_lies_in_it(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 800, 500)
        box(space, 0, 0, 300, 300)
        box(space, 50, 50, 100, 100)
        box(space, 350, 200, 700, 500.4)

    found = dxf(draw)
    assert sizes(found) == [(300, 300), (350, 300.4)]
    assert "border of the sheet" in told(found, "overlap")[0].message


def test_a_line_around_small_loops_on_wood_is_no_opening(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 5, 5, 195, 95)
        for x in (20, 60, 100):
            space.add_circle((x, 50), 2)

    (part,) = (found := dxf(draw)).parts
    assert (len(part.openings), len(part.holes)) == (0, 3)
    assert [finding.level for finding in told(found, "step-line")] == ["warning"]


def test_a_circle_in_a_hole_is_no_part(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        space.add_circle((50, 50), 6)
        space.add_circle((50, 50), 2.5)

    (part,) = (found := dxf(draw)).parts
    assert [hole.diameter for hole in part.holes] == [12]
    assert len(told(found, "inside-hole")) == 1


def test_a_loop_across_the_outline_is_refused(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 150, 40, 220, 60)
        space.add_circle((0, 50), 5)

    (part,) = (found := dxf(draw)).parts
    assert (part.openings, part.holes) == ((), ())
    assert [finding.level for finding in told(found, "refused-loop")] == ["error", "error"]
    assert told(found, "refused-loop")[0].x_mm == pytest.approx(200)


def test_a_hole_that_touches_the_outline_leaves_no_wood_and_is_refused(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        space.add_circle((190, 50), 10)

    (part,) = (found := dxf(draw)).parts
    assert (part.openings, part.holes) == ((), ())
    (refused,) = told(found, "refused-loop")
    assert "touches" in refused.message
    assert (refused.x_mm, refused.y_mm) == pytest.approx((200, 50))


def test_what_lies_in_a_refused_or_open_outline_does_not_become_a_part(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (300, 0), (0, 300), (300, 300)], close=True)
        space.add_circle((150, 40), 10)
        space.add_lwpolyline([(400, 0), (700, 0), (700, 300), (400, 300), (400, 2)])
        box(space, 450, 50, 550, 150)

    found = dxf(draw)
    assert found.parts == ()
    assert len(told(found, "refused-loop")) == len(told(found, "open-outline")) == 1
    assert len(told(found, "left-out-with")) == 2
    assert [finding.level for finding in told(found, "no-outline")] == ["error"]


def test_an_outline_drawn_twice_on_two_layers_is_one_part(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100, "A")
        box(space, 0, 0, 200, 100, "B")
        space.add_circle((50, 50), 10)

    (part,) = (found := dxf(draw)).parts
    assert part.openings == () and len(part.holes) == 1
    assert len(told(found, "duplicate-loop")) == 1


def test_an_opening_as_large_as_its_part_is_refused(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100, "outline")
        box(space, 0, 0, 200, 100, "opening")

    (part,) = (found := dxf(draw, rules=(LayerRule("opening", "opening"),))).parts
    assert part.openings == ()
    assert [finding.level for finding in told(found, "refused-loop")] == ["error"]


def test_specks_are_left_out(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        space.add_circle((50, 50), 0.1)

    (part,) = (found := dxf(draw)).parts
    assert part.holes == ()
    assert len(told(found, "tiny-loop")) == 1


def test_texts_name_parts(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for x in (0, 200, 400, 600, 800):
            box(space, x, 0, x + 150, 100)
        box(space, 610, 20, 690, 80)
        space.add_text("Shelf").set_placement((20, 20))
        space.add_mtext(r"{\fArial|b1;Side}\P left", {"insert": (220, 50), "layer": "notes"})
        space.add_text("one").set_placement((420, 20))
        space.add_text("two").set_placement((420, 60))
        space.add_text("in the opening").set_placement((620, 50))
        space.add_text("SHELF").set_placement((820, 20))

    found = dxf(draw, rules=(LayerRule("notes", "ignore"),))
    assert [part.name for part in found.parts] == ["Shelf", "Side left", "part 3", "part 4", "SHELF 2"]
