"""Gaps, doubled lines, shared edges and crossings: mended as little as needed, told, or refused by name."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from ezdxf.layouts import Modelspace
from support.bulged import exact_area, path_polygon

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding

ReadDxf = Callable[..., Drawn]
Point = tuple[float, float]


def lines(space: Modelspace, *corners: Point, closed: bool = True) -> None:
    for a, b in zip(corners, corners[1:] + corners[: 1 if closed else 0], strict=False):
        space.add_line(a, b)


def rectangle(space: Modelspace, x0: float, y0: float, x1: float, y1: float) -> None:
    lines(space, (x0, y0), (x1, y0), (x1, y1), (x0, y1))


def loud(drawn: Drawn) -> list[Finding]:
    return [finding for finding in drawn.findings if finding.level != "note"]


def areas(drawn: Drawn) -> list[float]:
    return sorted(exact_area(part.outline) for part in drawn.parts)


def gapped(gap: float, unit: float = 1.0) -> Callable[[Modelspace], None]:
    """A rectangle 100 x 60 mm whose last side falls short of the start by `gap`."""

    def draw(space: Modelspace) -> None:
        corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0), (0.0, gap)]
        lines(space, *[(x / unit, y / unit) for x, y in corners], closed=False)

    return draw


@pytest.mark.parametrize("gap", (0.001, 0.005, 0.0099))
def test_a_gap_up_to_a_hundredth_is_closed_silently(read_dxf: ReadDxf, gap: float) -> None:
    drawn = read_dxf(gapped(gap))
    assert areas(drawn) == pytest.approx([6000.0], abs=1.0)
    assert not loud(drawn)


@pytest.mark.parametrize("gap", (0.02, 0.06, 0.3, 0.49))
def test_a_gap_up_to_half_a_millimetre_is_closed_with_a_warning(read_dxf: ReadDxf, gap: float) -> None:
    drawn = read_dxf(gapped(gap))
    assert areas(drawn) == pytest.approx([6000.0], abs=60 * gap)
    (warning,) = loud(drawn)
    assert warning.level == "warning"
    assert warning.amount_mm == pytest.approx(gap, abs=0.001)
    assert warning.x_mm == pytest.approx(0.0, abs=gap)
    assert warning.y_mm == pytest.approx(0.0, abs=gap)
    assert "gap" in str(warning)


@pytest.mark.parametrize("gap", (0.51, 0.6, 3.0))
def test_a_wider_gap_is_refused_with_its_place_and_size(read_dxf: ReadDxf, gap: float) -> None:
    drawn = read_dxf(gapped(gap))
    assert not drawn.parts
    told = [finding for finding in loud(drawn) if finding.amount_mm is not None]
    assert told and told[0].amount_mm == pytest.approx(gap, abs=0.001)
    assert told[0].x_mm == pytest.approx(0.0, abs=gap)
    assert told[0].y_mm == pytest.approx(0.0, abs=gap)


@pytest.mark.parametrize(("insunits", "unit"), ((5, 10.0), (1, 25.4), (6, 1000.0)))
def test_gaps_are_measured_in_mm_whatever_the_unit(read_dxf: ReadDxf, insunits: int, unit: float) -> None:
    closed, refused = (
        read_dxf(gapped(0.4, unit), insunits),
        read_dxf(gapped(0.6, unit), insunits),
    )
    assert len(closed.parts) == 1
    assert loud(closed)[0].amount_mm == pytest.approx(0.4, abs=0.001)
    assert not refused.parts


def test_two_gaps_in_one_outline_are_both_shown(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        lines(space, (0, 0), (100, 0), (100, 60), closed=False)
        lines(space, (100, 60.2), (0, 60), (0, 0.3), closed=False)

    drawn = read_dxf(draw)
    assert len(drawn.parts) == 1
    told = loud(drawn)
    said = " ".join(map(str, told))
    assert {round(f.amount_mm or 0, 3) for f in told} == {0.2, 0.3} or ("0.2" in said and "0.3" in said)


def test_two_parts_a_third_of_a_millimetre_apart_stay_two(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        rectangle(space, 0, 0, 50, 40)
        rectangle(space, 50.3, 0, 90.3, 40)

    drawn = read_dxf(draw)
    assert areas(drawn) == pytest.approx([1600.0, 2000.0])


def test_a_gap_between_two_arcs_is_closed(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_arc((0, 0), 40, 0, 180)
        space.add_arc((0, 0), 40, 180, 360 - math.degrees(0.2 / 40))

    drawn = read_dxf(draw)
    assert areas(drawn) == pytest.approx([math.pi * 1600], abs=10)
    assert loud(drawn)[0].amount_mm == pytest.approx(0.2, abs=0.001)


@pytest.mark.parametrize("times", (2, 3))
def test_lines_drawn_again_are_dropped_and_counted(read_dxf: ReadDxf, times: int) -> None:
    def draw(space: Modelspace) -> None:
        rectangle(space, 0, 0, 100, 60)
        for _ in range(times - 1):
            lines(space, (0, 60), (100, 60), (100, 0), (0, 0))  # the other way round

    drawn = read_dxf(draw)
    assert areas(drawn) == pytest.approx([6000.0])
    (told,) = (f for f in drawn.findings if f.rule == "duplicate")
    assert str(4 * (times - 1)) in told.message


def test_outlines_and_circles_drawn_again_are_dropped_and_counted(
    read_dxf: ReadDxf,
) -> None:
    def draw(space: Modelspace) -> None:
        for _ in range(2):
            space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
            space.add_circle((30, 30), 5)

    drawn = read_dxf(draw)
    assert areas(drawn) == pytest.approx([6000.0])
    assert [hole.diameter for hole in drawn.parts[0].holes] == [10.0]
    (told,) = (f for f in drawn.findings if f.rule == "duplicate")
    assert "2" in told.message


def test_an_arc_over_a_circle_leaves_one_hole(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        rectangle(space, 0, 0, 100, 60)
        space.add_circle((30, 30), 5)
        space.add_arc((30, 30), 5, 0, 180)
        space.add_arc((30, 30), 5, 180, 360)

    drawn = read_dxf(draw)
    assert [hole.diameter for hole in drawn.parts[0].holes] == pytest.approx([10.0])
    assert not drawn.parts[0].openings


def test_lines_that_partly_cover_each_other_count_once(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_line((0, 0), (60, 0))
        space.add_line((40, 0), (100, 0))
        lines(space, (100, 0), (100, 60), (0, 60), (0, 0), closed=False)

    assert areas(read_dxf(draw)) == pytest.approx([6000.0])


def test_pieces_without_length_are_dropped_and_counted(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        rectangle(space, 0, 0, 100, 60)
        for x in (0, 50, 100):
            space.add_line((x, 0), (x, 0))

    drawn = read_dxf(draw)
    assert areas(drawn) == pytest.approx([6000.0])
    (told,) = (f for f in drawn.findings if f.rule == "no-length")
    assert "3" in told.message


def test_a_shared_edge_of_two_parts_goes_to_both(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        lines(space, (0, 0), (100, 0), (100, 60), (0, 60))  # the fourth side is the shared one, at x = 0
        lines(space, (0, 0), (-80, 0), (-80, 60), (0, 60), closed=False)

    assert areas(read_dxf(draw)) == pytest.approx([4800.0, 6000.0])


def test_four_parts_in_a_block_of_shared_edges(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        for i in range(3):
            for j in range(2):
                space.add_line((j * 50, i * 40), (j * 50 + 50, i * 40))
                space.add_line((i * 50, j * 40), (i * 50, j * 40 + 40))

    drawn = read_dxf(draw)
    assert areas(drawn) == pytest.approx([2000.0] * 4)


def test_one_long_edge_shared_by_two_shorter_parts(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        rectangle(space, 0, 0, 100, 40)
        lines(space, (0, 40), (0, 70), (45, 70), (45, 40), closed=False)
        lines(space, (45, 70), (100, 70), (100, 40), closed=False)

    assert areas(read_dxf(draw)) == pytest.approx([1350.0, 1650.0, 4000.0])


def test_a_shared_arc_goes_to_both(read_dxf: ReadDxf) -> None:
    half = math.pi * 900 / 2

    def draw(space: Modelspace) -> None:
        rectangle_without_right = ((0, 30), (-80, 30), (-80, -30), (0, -30))
        lines(space, *rectangle_without_right, closed=False)
        space.add_arc((0, 0), 30, -90, 90)
        lines(space, (0, 30), (80, 30), (80, -30), (0, -30), closed=False)

    drawn = read_dxf(draw)
    assert areas(drawn) == pytest.approx(sorted((4800 + half, 4800 - half)))


def test_a_bow_tie_is_not_cut_silently(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (100, 60), (100, 0), (0, 50)], close=True)
        rectangle(space, 200, 0, 260, 40)

    drawn = read_dxf(draw)
    crossing = 100 * 50 / 110  # the two diagonals y = 0.6 x and y = 50 - 0.5 x meet at x = 45.45, y = 27.27
    told = [f for f in loud(drawn) if f.x_mm is not None]
    assert told
    assert min(abs((f.x_mm or 0) - crossing) for f in told) < 1
    assert 2400.0 in [pytest.approx(area) for area in areas(drawn)]


def test_overlapping_parts_are_named_and_nothing_is_cut_silently(
    read_dxf: ReadDxf,
) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
        space.add_lwpolyline([(90, 20), (190, 20), (190, 80), (90, 80)], close=True)

    drawn = read_dxf(draw)
    told = [f for f in loud(drawn) if f.entity]
    assert told
    shapes = [path_polygon(part.outline) for part in drawn.parts]
    overlap = any(a.intersection(b).area > 1 for i, a in enumerate(shapes) for b in shapes[:i])
    assert not overlap or any(f.level == "error" for f in told)


def test_an_opening_across_the_outline_is_named(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
        space.add_lwpolyline([(80, 20), (120, 20), (120, 40), (80, 40)], close=True)

    told = [f for f in loud(read_dxf(draw)) if f.entity]
    assert told and told[0].x_mm is not None
