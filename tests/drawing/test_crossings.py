"""Loops that cross themselves or each other: united, cut off, mended or refused, and always told."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from ezdxf.layouts import Modelspace
from hypothesis import given, settings
from hypothesis import strategies as st
from support.accounting import unaccounted

from camkit.drawing.combine import united
from camkit.drawing.drawn import Drawn
from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, Line, Path, circle, rectangle, signed_area
from camkit.part import LayerRule

Dxf = Callable[..., Drawn]
RADIUS = 3.0
QUARTER = math.pi * RADIUS**2 / 4


def box(space: Modelspace, x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> Any:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


def refused(found: Drawn) -> list[str]:
    return [finding.message for finding in told(found, "refused-loop")]


def radii(path: Path) -> list[float]:
    return sorted(segment.radius for segment in path.segments if isinstance(segment, Arc))


def test_relief_circles_over_the_corners_of_a_slot_are_one_opening_with_it(dxf: Dxf) -> None:
    """Each circle about a corner adds three quarters of itself to the slot of 60 x 18 mm."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 50, 40, 110, 58)
        for x, y in ((50, 40), (110, 40), (110, 58), (50, 58)):
            space.add_circle((x, y), RADIUS)

    (part,) = (found := dxf(draw)).parts
    (opening,) = part.openings
    assert -signed_area(opening) == pytest.approx(60 * 18 + 4 * 3 * QUARTER, abs=1e-6)
    assert bounds(opening) == pytest.approx((47, 37, 113, 61))
    # True arcs of 270 degrees, in one or two pieces each, and four straight walls.
    assert radii(opening) == pytest.approx([RADIUS] * len(radii(opening)))
    assert sum(isinstance(segment, Line) for segment in opening.segments) == 4
    (merged,) = told(found, "merged")
    assert (merged.level, merged.count, merged.entity is not None) == ("note", 4, True)
    assert "5 loops that overlap were cut as one opening" in merged.message
    assert part.holes == () and unaccounted(found) == 0 and len(found.findings) == 1


def test_a_circle_covered_by_the_slot_up_to_its_walls_vanishes_in_it(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 50, 40, 110, 58)
        space.add_circle((53, 43), RADIUS)

    (part,) = (found := dxf(draw)).parts
    (opening,) = part.openings
    assert (-signed_area(opening), len(opening.segments)) == (pytest.approx(60 * 18), 4)
    assert told(found, "merged")[0].count == 1 and unaccounted(found) == 0


def test_a_slot_of_two_rectangles_that_overlap_or_share_an_edge_is_one(dxf: Dxf) -> None:
    """A T of 60 x 18 and 18 x 42 mm: once laid over each other by 8 mm, once edge to edge."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 100)
        box(space, 50, 70, 110, 88)
        box(space, 71, 36, 89, 78)
        box(space, 200, 70, 260, 88)
        box(space, 221, 28, 239, 70.004)

    (part,) = (found := dxf(draw)).parts
    areas = [-signed_area(opening) for opening in part.openings]
    assert areas == [pytest.approx(60 * 18 + 18 * 34, abs=1e-6), pytest.approx(60 * 18 + 18 * 42, abs=0.2)]
    assert [len(opening.segments) for opening in part.openings] == [8, 8]
    assert len(told(found, "merged")) == 2 and unaccounted(found) == 0


def test_many_unions_are_told_in_few_notes(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 400, 100)
        for x in range(15, 375, 18):
            box(space, x, 40, x + 12, 58)
            space.add_circle((x, 40), RADIUS)
            space.add_circle((x + 12, 58), RADIUS)

    (part,) = (found := dxf(draw)).parts
    merged = told(found, "merged")
    assert (len(part.openings), len(merged), sum(finding.count for finding in merged)) == (20, 13, 40)
    assert "8 more openings" in merged[-1].message and unaccounted(found) == 0


def test_openings_around_a_piece_of_wood_are_not_united(dxf: Dxf) -> None:
    """Four slots in a ring would let the middle fall out; nobody said so."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 300)
        box(space, 50, 50, 250, 70)
        box(space, 50, 230, 250, 250)
        box(space, 50, 60, 70, 240)
        box(space, 230, 60, 250, 240)

    found = dxf(draw)
    assert told(found, "merged") == [] and len(refused(found)) == 2 and unaccounted(found) == 0


def test_loops_that_fill_a_rectangle_may_be_parts_and_are_not_united(dxf: Dxf) -> None:
    """Two boards that share an edge, in the border of an odd sheet: one opening would be their loss."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 900, 500)
        box(space, 20, 20, 450, 480)
        box(space, 450, 20, 880, 480)

    found = dxf(draw)
    assert told(found, "merged") == [] and unaccounted(found) == 0
    assert len(refused(found)) == 1 and "touches" in refused(found)[0]


def test_a_large_loop_mostly_in_an_opening_is_united_but_doubted(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 50, 50, 250, 150)
        box(space, 240, 80, 256, 120)

    (part,) = (found := dxf(draw)).parts
    assert -signed_area(part.openings[0]) == pytest.approx(200 * 100 + 6 * 40)
    assert told(found, "merged")[0].level == "warning"


def test_a_part_that_hardly_leaves_its_opening_is_a_part_that_overlaps(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 50, 50, 250, 150)
        box(space, 150, 80, 250.5, 120)

    found = dxf(draw)
    assert len(found.parts) == 2 and told(found, "merged") == []
    (overlap,) = told(found, "overlap")
    assert overlap.level == "error" and unaccounted(found) == 0


def notched(space: Modelspace) -> None:
    """A board of 200 x 100 mm with an open slot of 18 x 40 mm in its upper edge."""
    corners = [(0, 0), (200, 0), (200, 100), (118, 100), (118, 60), (100, 60), (100, 100), (0, 100)]
    space.add_lwpolyline(corners, close=True)


NOTCHED = 200 * 100 - 18 * 40


def test_relief_circles_over_the_corners_of_an_open_slot_are_cut_out_of_the_outline(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        notched(space)
        space.add_circle((100, 60), RADIUS)
        # Through the corner and about a point on the diagonal of the slot.
        aside = RADIUS / math.sqrt(2)
        space.add_circle((118 - aside, 60 + aside), RADIUS)

    (part,) = (found := dxf(draw)).parts
    # Two caps of 90 degrees stand out of the walls.
    cap = RADIUS**2 * (math.pi / 2 - 1) / 2
    assert signed_area(part.outline) == pytest.approx(NOTCHED - 3 * QUARTER - 2 * cap, abs=1e-3)
    assert radii(part.outline) == pytest.approx([RADIUS] * len(radii(part.outline)), abs=1e-4)
    (cut,) = told(found, "relief-cut")
    assert (cut.level, cut.count) == ("note", 2)
    assert (part.openings, part.holes) == ((), ()) and unaccounted(found) == 0


@pytest.mark.parametrize(
    ("at", "radius"),
    [((0, 50), 5), ((200, 100), 3), ((100, 60), 8), ((100, 75), 3)],
    ids=["on a straight edge", "at an outer corner", "too large", "away from the corner"],
)
def test_other_circles_across_the_outline_are_refused(
    dxf: Dxf, at: tuple[float, float], radius: float
) -> None:
    def draw(space: Modelspace) -> None:
        notched(space)
        space.add_circle(at, radius)

    (part,) = (found := dxf(draw)).parts
    assert signed_area(part.outline) == NOTCHED and part.holes == ()
    (finding,) = told(found, "refused-loop")
    assert finding.level == "error" and "crosses LWPOLYLINE" in finding.message and unaccounted(found) == 0
    assert finding.x_mm is not None and finding.y_mm is not None
    assert math.dist(at, (finding.x_mm, finding.y_mm)) == pytest.approx(radius, abs=0.01)


def test_an_opening_by_its_layer_may_run_off_the_edge(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 100, 60, 118, 110, "slots")
        box(space, 20, 0, 38, 30, "slots")  # flush with the edge
        space.add_circle((0, 50), 5, dxfattribs={"layer": "slots"})

    (part,) = (found := dxf(draw, rules=(LayerRule("slots", "opening"),))).parts
    assert signed_area(part.outline) == pytest.approx(NOTCHED - 18 * 30 - math.pi * 25 / 2, abs=1e-6)
    assert told(found, "runs-off-edge")[0].count == 3
    assert part.openings == () and unaccounted(found) == 0


def test_an_opening_that_would_cut_the_part_in_two_is_refused(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 100, -10, 118, 110, "slots")

    (part,) = (found := dxf(draw, rules=(LayerRule("slots", "opening"),))).parts
    assert signed_area(part.outline) == 20_000 and len(refused(found)) == 1 and unaccounted(found) == 0


def test_a_relief_that_passes_over_its_wall_is_cut_with_the_opening(dxf: Dxf) -> None:
    """A full turn from corner to corner about a point in the slot: two caps stand out of the walls."""
    aside = RADIUS * math.sqrt(2)

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        for x, bulge in ((20, 1), (120, -1)):
            # Both half turns have the other end of the circle's diagonal between them.
            corners = [(x, 40, bulge), (x + aside, 40 + aside, bulge), (x, 40, 0)]
            walls = [(x + 60, 40, 0), (x + 60, 58, 0), (x, 58, 0)]
            space.add_lwpolyline(corners + walls, format="xyb", close=True)

    (part,) = (found := dxf(draw)).parts
    cap = RADIUS**2 * (math.pi / 2 - 1) / 2
    for opening in part.openings:
        assert -signed_area(opening) == pytest.approx(60 * 18 + 2 * cap, abs=1e-6)
        assert radii(opening) == pytest.approx([RADIUS] * len(radii(opening)))
    mended = told(found, "lobes-mended")
    assert [finding.level for finding in mended] == ["warning"] * 2 and "cut with it" in mended[0].message
    assert unaccounted(found) == 0


def test_a_lobe_that_hangs_on_a_point_is_left_out_of_an_opening(dxf: Dxf) -> None:
    """The left wall is drawn 4 mm past the lower one, and a square of 4 mm leads back to it."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        corners = [(50, 58), (50, 36), (46, 36), (46, 40), (110, 40), (110, 58)]
        space.add_lwpolyline(corners, close=True)

    (part,) = (found := dxf(draw)).parts
    assert [-signed_area(opening) for opening in part.openings] == [60 * 18]
    assert told(found, "lobes-mended")[0].amount_mm == pytest.approx(4)


def test_an_outline_loses_the_lobe_that_crosses_its_edge(dxf: Dxf) -> None:
    """Two edges drawn 4 mm past the corner where they should meet: the triangle beyond is no wood."""

    def draw(space: Modelspace) -> None:
        corners = [(0, 0), (200, 0), (200, 100), (-4, 100), (0, 104)]
        space.add_lwpolyline(corners, close=True)

    (part,) = (found := dxf(draw)).parts
    assert signed_area(part.outline) == pytest.approx(200 * 100)
    assert bounds(part.outline) == pytest.approx((0, 0, 200, 100))
    (mended,) = told(found, "lobes-mended")
    assert (mended.x_mm, mended.y_mm) == pytest.approx((0, 100)) and mended.amount_mm == pytest.approx(4)
    assert "do not belong to the part" in mended.message and unaccounted(found) == 0


@pytest.mark.parametrize("bulge", [1, -1], ids=["counter-clockwise", "clockwise"])
def test_an_outline_loses_what_a_relief_takes_off_beyond_its_walls(dxf: Dxf, bulge: float) -> None:
    """A full turn from corner to corner about a point in the open slot, whichever way around."""
    aside = RADIUS * math.sqrt(2)

    def draw(space: Modelspace) -> None:
        corners = [(0, 0, 0), (200, 0, 0), (200, 100, 0), (118, 100, 0), (118, 60, 0)]
        turn = [(100, 60, bulge), (100 + aside, 60 + aside, bulge), (100, 60, 0)]
        space.add_lwpolyline([*corners, *turn, (100, 100, 0), (0, 100, 0)], format="xyb", close=True)

    (part,) = (found := dxf(draw)).parts
    cap = RADIUS**2 * (math.pi / 2 - 1) / 2
    assert signed_area(part.outline) == pytest.approx(NOTCHED - 2 * cap, abs=1e-6)
    assert len(told(found, "lobes-mended")) == 1 and unaccounted(found) == 0


@pytest.mark.parametrize("scale", [1.0, 0.05], ids=["large", "small"])
def test_a_figure_of_eight_is_refused_where_it_crosses(dxf: Dxf, scale: float) -> None:
    def draw(space: Modelspace) -> None:
        corners = [(0, 0), (300, 0), (0, 300), (300, 300)]
        space.add_lwpolyline([(x * scale, y * scale) for x, y in corners], close=True)

    found = dxf(draw)
    (finding,) = told(found, "refused-loop")
    assert found.parts == () and finding.level == "error"
    assert (finding.x_mm, finding.y_mm) == pytest.approx((150 * scale, 150 * scale))
    assert unaccounted(found) == 0


def test_a_lobe_wider_than_half_an_inch_is_refused(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (200, 0), (200, 100), (-14, 100), (0, 114)], close=True)

    found = dxf(draw)
    assert found.parts == () and len(refused(found)) == 1


def test_an_outline_that_touches_itself_is_refused(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        corners = [(0, 0), (100, 0), (100, 50), (60, 100), (100, 150), (100, 200), (0, 200), (60, 100)]
        space.add_lwpolyline(corners, close=True)

    found = dxf(draw)
    (finding,) = told(found, "refused-loop")
    assert found.parts == () and (finding.x_mm, finding.y_mm) == pytest.approx((60, 100))


def test_overlapping_outlines_are_an_error_at_the_overlap(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 180, 20, 350, 90)

    found = dxf(draw)
    (overlap,) = told(found, "overlap")
    assert (len(found.parts), overlap.level, overlap.amount_mm) == (2, "error", pytest.approx(20, abs=0.1))
    assert overlap.entity is not None and overlap.message.count("LWPOLYLINE") == 1
    assert 180 <= (overlap.x_mm or 0) <= 200 and 20 <= (overlap.y_mm or 0) <= 90
    assert unaccounted(found) == 0


def test_outlines_that_share_an_edge_or_overlap_by_rounding_only_touch(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        box(space, 199.995, 20, 350, 90)
        box(space, 350, 0, 400, 90)

    found = dxf(draw)
    assert len(found.parts) == 3 and found.findings == ()


# Lengths in quarters of a millimetre, so that loops often share corners and edges exactly.
_QUARTERS = st.integers(0, 120).map(lambda n: n / 4)


@st.composite
def rectangles_and_circles(draw: st.DrawFn) -> list[Path]:
    paths = []
    for _ in range(draw(st.integers(2, 5))):
        x, y = draw(_QUARTERS), draw(_QUARTERS)
        if draw(st.booleans()):
            paths.append(circle((x, y), draw(st.integers(4, 60)) / 4))
        else:
            paths.append(rectangle(x, y, x + draw(st.integers(4, 60)) / 4, y + draw(st.integers(4, 60)) / 4))
    return paths


@given(rectangles_and_circles())
@settings(derandomize=True, deadline=None, max_examples=50)
def test_a_union_covers_all_of_its_loops_and_nothing_else(paths: list[Path]) -> None:
    """Points on a grid, by the definition of a rectangle and of a disc, no polygon in between."""
    union = united(paths)
    if union is None:
        return
    discs = [(*bounds(p), isinstance(p.segments[0], Arc)) for p in paths]

    def covers(x: float, y: float, margin: float) -> bool:
        return any(
            math.dist((x, y), ((x0 + x1) / 2, (y0 + y1) / 2)) < (x1 - x0) / 2 + margin
            if is_round
            else x0 - margin < x < x1 + margin and y0 - margin < y < y1 + margin
            for x0, y0, x1, y1, is_round in discs
        )

    area = signed_area(union)
    assert area >= max(abs(signed_area(path)) for path in paths) - 0.1
    x0, y0, x1, y1 = bounds(union)
    for segment in union.segments:  # its corners lie on the edge of the union: not well inside any loop
        assert not covers(*segment.start, -0.02) and covers(*segment.start, 0.02)
    assert (x0, y0) == pytest.approx((min(d[0] for d in discs), min(d[1] for d in discs)), abs=0.02)
    assert (x1, y1) == pytest.approx((max(d[2] for d in discs), max(d[3] for d in discs)), abs=0.02)
