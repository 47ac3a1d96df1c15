"""Passes, ramps and rises over tabs, by hand arithmetic."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.toolpath.heights import Rise, over_tabs, pass_depths, ramped


def test_passes_are_even_and_none_is_deeper_than_allowed() -> None:
    assert pass_depths(17.9, 6) == pytest.approx((17.9 / 3, 2 * 17.9 / 3, 17.9))
    assert pass_depths(6, 6) == (6,)
    assert pass_depths(6.1, 6) == pytest.approx((3.05, 6.1))


def test_the_ramp_of_a_six_millimetre_pass_at_three_degrees_is_114_5_long() -> None:
    """6 / tan 3 degrees = 114.5 (plain geometry)."""
    heights = ramped(1000, (6,), 0.0, 3.0)
    assert heights[0] == (0, 0.0)
    assert heights[1][0] == pytest.approx(114.487, abs=1e-3)


def at(heights: list[tuple[float, float]], s: float) -> float:
    for (s0, z0), (s1, z1) in itertools.pairwise(heights):
        if s0 <= s <= s1:
            return z0 + (z1 - z0) * (s - s0) / (s1 - s0)
    raise AssertionError(s)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(around=st.floats(20, 2000), depth=st.floats(3, 30), deepest=st.floats(2, 8))
def test_every_place_is_cut_to_full_depth_and_no_bite_is_deeper_than_a_pass(
    around: float, depth: float, deepest: float
) -> None:
    depths = pass_depths(depth, deepest)
    heights = ramped(around, depths, 0.5, 3.0)
    end = heights[-1][0]
    for k in range(40):
        s = around * k / 40
        visits = []
        while s <= end:
            visits.append(at(heights, s))
            s += around
        assert min(visits) == pytest.approx(-depth)
        before = 0.5
        for z in visits:
            assert z <= before + 1e-9
            assert before - z <= max(depths[0], around * math.tan(math.radians(3))) + 0.5 + 1e-6
            before = z


def test_a_tab_stands_on_every_pass_that_is_lower_than_it() -> None:
    """Passes at 6, 12 and 17.9 under a tab whose top is 14.6 deep: the first two do not notice it."""
    heights = ramped(500, (6, 12, 17.9), 0.5, 3.0)
    lifted = over_tabs(heights, 500, [Rise(200, 214, -14.6)])
    assert [round(at(lifted, 207 + 500 * k), 6) for k in range(3)] == [-6.0, -12.0, -14.6]


def test_the_flank_of_a_tab_falls_at_thirty_degrees() -> None:
    """3.3 down takes 3.3 / tan 30 degrees = 5.716."""
    lifted = over_tabs(ramped(500, (17.9,), 0.5, 10.0), 500, [Rise(200, 214, -14.6)])
    assert at(lifted, 214.0) == pytest.approx(-14.6)
    assert at(lifted, 217.0) == pytest.approx(-14.6 - 3 * math.tan(math.radians(30)))
    assert at(lifted, 214 + 5.716) == pytest.approx(-17.9, abs=1e-3)


def test_a_tab_across_the_start_is_lifted_over_at_both_ends() -> None:
    heights = ramped(300, (5,), 0.5, 3.0)
    lifted = over_tabs(heights, 300, [Rise(-7, 7, -2.0)])
    for s in (300.0, 295.0, 305.0):
        assert at(lifted, s) == pytest.approx(-2.0)
