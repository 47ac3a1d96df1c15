"""End walls cut over whole, against plane geometry and what a cutter clears."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.reach import cleared_inside, missed, slanted_opening

from camkit.geometry.end_overcut import overcut_ends
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, Line, Path, rectangle


def test_a_square_end_moves_out_by_the_radius_and_is_rounded_to_the_long_walls():
    loop = slanted_opening(6, 60, 90)
    done = overcut_ends(loop, (1,), 2.5)
    assert as_polygon(done, 1e-4).bounds == pytest.approx((0, 0, 62.5, 6), abs=1e-3)
    # the end adds 2.5 x 6 less two corners, (4 - pi) / 4 x 2.5 x 2.5 each
    added = 15 - 2 * (1 - math.pi / 4) * 6.25
    assert as_polygon(done, 1e-4).area == pytest.approx(360 + added, abs=0.01)
    assert loop.segments[0] in done.segments and loop.segments[2] in done.segments


@settings(derandomize=True, deadline=None, max_examples=40)
@given(angle=st.floats(30, 150), width=st.floats(2.02, 3.5), radius=st.floats(1, 6))
def test_the_square_mate_enters_and_the_long_walls_stay_whole(angle, width, radius):
    loop = slanted_opening(width * radius, 20 * radius + 6 * width * radius, angle)
    done = overcut_ends(loop, (1, 3), radius)
    starts = {tuple(round(v, 6) for v in s.start) for s in done.segments}
    ends = {tuple(round(v, 6) for v in s.end) for s in done.segments}
    for wall in (
        loop.segments[0],
        loop.segments[2],
    ):  # whole to the last corner at the blunt end, longer else
        assert (
            tuple(round(v, 6) for v in wall.start) in starts or tuple(round(v, 6) for v in wall.end) in ends
        )
    low, high = as_polygon(done).bounds[1::2]
    assert (low, high) == pytest.approx((0, width * radius), abs=1e-6)
    assert missed(as_polygon(loop), cleared_inside(done, radius)) < 0.004
    assert missed(as_polygon(loop), cleared_inside(loop, radius)) > 0.02


def test_only_ends_of_openings_are_cut_over():
    with pytest.raises(ValueError, match="no end of an opening"):
        overcut_ends(rectangle(0, 0, 60, 6), (1,), 2.5)
    bow = Path((Line((0, 0), (10, 0)), Arc((10, 0), (0, 0), (5, 0), True)))
    with pytest.raises(ValueError, match="straight walls"):
        overcut_ends(bow, (0,), 2.5)


def test_an_end_narrower_than_the_relief_becomes_a_half_circle():
    done = overcut_ends(slanted_opening(6, 60, 90), (1, 3), 3.05)
    assert as_polygon(done).bounds == pytest.approx((-3, 0, 63, 6))
    assert len(done.segments) == 6
