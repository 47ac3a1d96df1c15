"""Chip loads of the published chart, engagement of a side cut, and the feeds that follow from a cutter."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from camkit.errors import InputError
from camkit.job.chips import (
    chip_range,
    depth_share,
    engaged_deg,
    mean_chip_share,
    thickest_chip_share,
)
from camkit.job.load import parse
from camkit.job.machine import Cutter
from camkit.job.overrule import from_words, overruled

INCH = 25.4


# asttooling.com/pages/speeds-and-feeds-charts, solid-carbide spirals in plywood: inches as printed there.
@pytest.mark.parametrize(
    ("diameter", "low", "high"),
    [
        (1 / 8, 0.003, 0.005),
        (1 / 4, 0.006, 0.009),
        (3 / 8, 0.015, 0.018),
        (1 / 2, 0.018, 0.021),
    ],
)
def test_the_chart_is_met_at_its_own_diameters(diameter: float, low: float, high: float) -> None:
    for times, share in ((0.5, 1.0), (1.0, 1.0), (2.0, 0.75), (3.0, 0.5)):
        found = chip_range(diameter * INCH, times * diameter * INCH)
        # The chart's mm are its inches rounded to a thousandth.
        assert found == pytest.approx((share * low * INCH, share * high * INCH), abs=6e-4)


@given(st.floats(0.1, 30.0), st.floats(0.05, 60.0), st.floats(1.0, 1.5))
def test_chips_grow_with_the_cutter_and_shrink_with_depth(d: float, depth: float, more: float) -> None:
    low, high = chip_range(d, depth)
    assert 0 < low < high
    wider = chip_range(d * more, depth)
    deeper = chip_range(d, depth * more)
    assert wider[0] >= low - 1e-12 and wider[1] >= high - 1e-12
    assert deeper[0] <= low + 1e-12 and deeper[1] <= high + 1e-12
    assert 0.5 <= depth_share(depth, d) <= 1.0


# cos phi = 1 - 2 ae / D, h_max = fz sin phi up to half the diameter, hm = fz (2 ae / D) / phi: worked out by
# hand to the digits printed.
@pytest.mark.parametrize(
    ("width", "degrees", "thickest", "mean"),
    [
        (0.05, 25.842, 0.4359, 0.2217),
        (0.10, 36.870, 0.6000, 0.3108),
        (0.25, 60.000, 0.8660, 0.4775),
        (0.50, 90.000, 1.0000, 0.6366),
        (1.00, 180.00, 1.0000, 0.6366),
    ],
)
def test_engagement_of_a_side_cut(width: float, degrees: float, thickest: float, mean: float) -> None:
    assert engaged_deg(width) == pytest.approx(degrees, abs=5e-4)
    assert thickest_chip_share(width) == pytest.approx(thickest, abs=5e-5)
    assert mean_chip_share(width) == pytest.approx(mean, abs=5e-5)


def test_a_tenth_of_the_diameter_is_the_triangle_of_3_4_5() -> None:
    assert engaged_deg(0.1) == pytest.approx(36.8699, abs=5e-5)
    assert thickest_chip_share(0.1) == pytest.approx(0.6, abs=1e-12)
    # A chip of 0.0508 mm there is a chip load of 0.0508 / 0.6.
    assert 0.0508 / thickest_chip_share(0.1) == pytest.approx(0.08467, abs=5e-6)


@given(st.floats(0.01, 1.0))
def test_chips_of_a_side_cut_by_going_round_the_edge(width: float) -> None:
    """The edge's chip at angle t is fz sin t, from where it enters to where it leaves the wood."""
    last = math.acos(1 - 2 * width)
    chips = [math.sin(last * (k + 0.5) / 4000) for k in range(4000)]
    assert thickest_chip_share(width) == pytest.approx(max(chips), abs=1e-3)
    assert mean_chip_share(width) == pytest.approx(sum(chips) / 4000, abs=1e-3)


@pytest.mark.parametrize(
    ("row", "speed", "feed", "plunge"),
    [
        # 18000 x 2 x 0.1 and its third: at 6 mm the chart begins at 0.144, and 0.1 is gentler.
        ({"diameter": 6.0}, 18000, 3600, 1200),
        # 1/8 in: 18000 x 0.076 x flutes = 1368, 2736.
        ({"diameter": 3.175, "flutes": 1}, 18000, 1360, 450),
        ({"diameter": 3.175}, 18000, 2730, 910),
        # Half of that in passes of three diameters.
        ({"diameter": 3.175, "pass_depth": 9.525}, 18000, 1360, 450),
        ({"diameter": 6.0, "speed": 12000.0, "flutes": 3}, 12000, 3600, 1200),
        ({"diameter": 6.0, "feed": 3000.0}, 18000, 3000, 1000),
        # 6000 x 2 x 0.075, and no faster.
        ({"diameter": 4.5, "kind": "drill"}, 6000, 900, 900),
        ({"diameter": 4.5, "kind": "drill", "flutes": 1}, 6000, 450, 450),
        ({"diameter": 4.5, "kind": "drill", "speed": 18000.0}, 18000, 900, 900),
    ],
)
def test_feeds_that_are_not_written_follow_from_the_cutter(
    row: dict[str, object], speed: float, feed: float, plunge: float
) -> None:
    cutter = Cutter.model_validate({"number": 1, **row})
    assert (cutter.speed, cutter.feed, cutter.plunge) == (speed, feed, plunge)


@given(st.floats(0.2, 25.0), st.floats(0.1, 3.0), st.integers(1, 6), st.floats(5000, 30000))
def test_no_feed_that_is_worked_out_leaves_the_chart_or_plunges_too_fast(
    diameter: float, times: float, flutes: int, speed: float
) -> None:
    row = {"diameter": diameter, "pass_depth": max(0.05, times * diameter), "flutes": flutes, "speed": speed}
    cutter = Cutter.model_validate({"number": 1, **row})
    assert cutter.feed / (speed * flutes) <= min(0.1, chip_range(diameter, cutter.depth_of_pass)[0]) + 1e-9
    assert 0 < cutter.plunge <= cutter.feed / 3 + 1e-9


def test_another_diameter_by_option_brings_its_own_feed_unless_one_is_written() -> None:
    job = from_words(["a.dxf"], 18.0, None, ["6"], None)
    changed, _ = overruled(job, thickness=None, sheet=None, cutters=["3.175"], unit=None)
    assert changed.cutter[0].feed == 2730
    text = "[sheet]\nmeasured_thickness = 17.6\n[[cutter]]\nnumber = 1\ndiameter = 6\nfeed = 3000\n"
    kept, _ = overruled(parse(text, "job.toml"), thickness=None, sheet=None, cutters=["3.175"], unit=None)
    assert (kept.cutter[0].diameter, kept.cutter[0].feed) == (3.175, 3000)


def test_a_mistake_in_a_cutter_is_told_alone() -> None:
    text = "[sheet]\nmeasured_thickness = 17.6\n[[cutter]]\nnumber = 1\ndiameter = -6\n"
    with pytest.raises(InputError, match="-6 is not a diameter") as caught:
        parse(text, "job.toml")
    assert len(caught.value.findings) == 1
