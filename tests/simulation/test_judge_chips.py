"""The judge measures chips, depth of passes and plunges in the text, against the published chart."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from camkit.errors import Finding
from camkit.job.machine import Cutter
from camkit.job.model import Job
from camkit.program.read import read
from camkit.simulation.chips import find_deep_passes, find_fast_plunges, find_wrong_chips
from camkit.simulation.machine_rules import Tips
from tests.support.router import Router, job

HEAD = ("G21 G90 G94 G17 G40 G61", "T1 M6", "S18000 M3", "G0 X0 Y0 Z15")


def text(*lines: str) -> str:
    return "\n".join((*HEAD, *lines, "G0 Z15", "M5", "M30", ""))


def found(program: str, a_job: Job | None = None) -> list[Finding]:
    tips, a_job = Tips(read(program), 0.0), a_job or job()
    return [*find_wrong_chips(tips, a_job), *find_deep_passes(tips, a_job), *find_fast_plunges(tips, a_job)]


def slot(*depths: float, feed: float = 3600, down: float = 600) -> str:
    """Passes of 100 mm to and fro, each sunk to straight down."""
    lines = []
    for n, depth in enumerate(depths):
        lines += [f"G1 Z{-depth} F{down:g}", f"X{100 if n % 2 == 0 else 0} F{feed:g}"]
    return text(*lines)


@pytest.mark.parametrize(
    ("feed", "level", "said", "least_or_most", "turning"),
    [
        (1700, "warning", "0.047 mm, so thin that it rubs", "3600 mm/min or more", "8500 rev/min or less"),
        (1800, "note", "0.050 mm, rather thin: 0.100", "3600 mm/min or more", "9000 rev/min or less"),
        (3500, "note", "0.097 mm, rather thin: 0.100", "3600 mm/min or more", "17500 rev/min or less"),
        (8100, "warning", "0.225 mm, so thick that it may break: at most 0.218", "7830 mm/min or less",
         "18600 rev/min or more"),
    ],
)  # fmt: skip
def test_chips_of_a_6_mm_cutter(feed: float, level: str, said: str, least_or_most: str, turning: str) -> None:
    """Chip = feed / (18000 x 2). At 6 mm the chart's upper figures 0.127 (1/8 in) and 0.229 (1/4 in) give
    0.218 by straight line, its lower ones 0.144; general routing begins at 0.1."""
    (told,) = found(slot(4.5, 9.0, feed=feed, down=300))
    assert (told.rule, told.level) == ("chip-load", level)
    assert told.message.startswith(f"cutter 1 makes chips of {said}")
    assert told.remedy == f"Feed at {least_or_most}, or turn at {turning}"


@pytest.mark.parametrize("feed", [3600, 5200, 7800])
def test_chips_between_general_routing_and_the_chart_are_no_matter(feed: float) -> None:
    assert found(Router(feed=feed).around(50, 50, 250, 150).text()) == []


@pytest.mark.parametrize(
    ("passes", "most"),
    [
        ((6.0,), 7837),  # 0.218 x 36000, one diameter deep
        ((6.0, 12.0, 18.0), 7837),
        ((12.0,), 5878),  # a quarter less at two diameters
        ((6.0, 18.0), 5878),
        ((18.0,), 3918),  # half at three
        ((3.0, 18.0), 4898),  # 15 mm, 2.5 diameters: 0.625 of it
    ],
)
def test_deep_passes_want_thinner_chips(passes: tuple[float, ...], most: float) -> None:
    assert found(slot(*passes, feed=most * 1.01)) == []
    (told,) = found(slot(*passes, feed=most * 1.03))
    assert told.rule == "chip-load" and "so thick" in told.message
    assert ("shallower" in told.remedy) == (max(b - a for a, b in zip((0, *passes), passes)) > 6)  # noqa: B905


def test_a_pass_over_three_diameters_is_off_the_chart() -> None:
    assert found(slot(18.0)) == []
    (told,) = found(slot(18.2))
    assert (told.rule, told.level) == ("deep-pass", "warning")
    assert "cuts 18.2 mm in one pass, over 3 times its diameter" in told.message
    assert told.remedy == "Cut passes of 6 mm, or at most 18"
    assert told.amount_mm == pytest.approx(18.2)


def test_a_ramp_by_turns_around_an_opening_takes_a_turn_at_a_time() -> None:
    """19.2 deep in 15 turns around 20 x 20 are passes of 1.28; to and fro on one side not."""
    sides = ("X20", "Y20", "X0", "Y0")
    turns = [f"{side} Z{-(k + 1) * 0.32:.2f}" for k, side in enumerate(sides * 15)]
    begin = ["G1 Z0 F600", "F3600"]
    assert not [f for f in found(text(*begin, *turns, *sides)) if f.rule == "deep-pass"]
    to_and_fro = [f"X{20 if k % 2 == 0 else 0} Z{-(k + 1) * 0.32:.2f}" for k in range(60)]
    (told,) = [f for f in found(text(*begin, *to_and_fro, *sides, "X0")) if f.rule == "deep-pass"]
    assert "cuts 19.2 mm in one pass" in told.message


def test_the_top_of_a_tab_is_no_pass() -> None:
    over_a_tab = ("G1 Z-18.2 F600", "X40 F3600", "Z-15", "X54", "Z-18.2 F600", "X100 F3600")
    assert [f.rule for f in found(text(*over_a_tab))] == ["deep-pass"]


@pytest.mark.parametrize(
    ("down", "sinks"),
    [(1200, None), (1210, "1210"), (3600, "3600")],
)
def test_straight_down_at_more_than_a_third_of_the_feed(down: float, sinks: str | None) -> None:
    told = found(slot(6.0, 12.0, down=down))
    assert [f.rule for f in told] == (["fast-plunge"] if sinks else [])
    if sinks:
        assert f"sinks at {sinks} mm/min, more than a third of its feed of 3600" in told[0].message
        assert told[0].remedy == "Sink at 1200 mm/min or less, or along a ramp"
        drill = job(Cutter(number=1, diameter=6.0, kind="drill"))
        assert found(slot(6.0, 12.0, down=down), drill) == []


@given(st.floats(1.0, 89.0))
def test_of_a_ramp_its_downward_share_counts(slope_deg: float) -> None:
    run = 6.0 / math.tan(math.radians(slope_deg))
    told = found(text("G1 Z0 F600", f"X{run:.4f} Z-6 F3600", f"X{run + 100:.4f}"))
    sinks = 3600 * math.sin(math.radians(slope_deg))
    if abs(sinks - 1201) > 2:
        assert [f.rule for f in told] == (["fast-plunge"] if sinks > 1201 else [])


def test_rounded_places_make_no_short_slope_too_steep() -> None:
    """0.0080 along and 0.0046 down is 30 degrees, half the feed; the text says 0.0047 down."""
    for down, rules in (("Z-1.0047", []), ("Z-1.0060", ["fast-plunge"])):
        short = ("G1 Z-1 F600", f"G1 X0.0080 {down} F2400", "G1 X100 F3600")
        assert [f.rule for f in found(text(*short)) if f.rule == "fast-plunge"] == rules


def test_down_an_arc_the_way_along_it_counts_not_its_chord() -> None:
    """A quarter of a turn of radius 3 is 4.7124 long: 2.7207 down is 30 degrees, half of the feed."""
    for feed, sinks in ((2400, []), (2440, ["fast-plunge"])):
        quarter = ("G1 Z0 F600", f"G3 X3 Y3 Z-2.7207 I0 J3 F{feed}", "G1 Y100 F3600")
        assert [f.rule for f in found(text(*quarter)) if f.rule == "fast-plunge"] == sinks


@pytest.mark.parametrize("radius", [1.0, 3.0, 10.0])
def test_along_an_arc_the_outer_edge_says_whether_chips_are_thin(radius: float) -> None:
    """The edge runs on a circle of radius + 3 while the centre runs on one of radius."""
    same = 3600 * radius / (radius + 3)
    ring = "G3 X{0} Y0 I{1} J0 F{2:.1f}"
    for feed, rules in ((same, []), (0.95 * same, ["chip-load"])):
        turn = ring.format(-2 * radius, -radius, feed), ring.format(0, radius, feed)
        assert [f.rule for f in found(text("G1 Z-5 F300", *turn, "G1 X20 F3600"))] == rules


def test_no_helix_ramp_or_drill_counts_as_thin() -> None:
    drill = Cutter(number=1, diameter=6.0, kind="drill")
    slow = Router(feed=600).around(50, 50, 250, 150).text()
    assert "chip-load" in [f.rule for f in found(slow)]
    assert found(slow, job(drill)) == []
    assert found(text("G1 Z0 F300", "X50 Z-3")) == []
