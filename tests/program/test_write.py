"""The writer: neutral text, read back by a reader that was written apart from it."""

from __future__ import annotations

import math
import re
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.cut import Cut, Feed, Move, Rapid, Turn
from camkit.job.model import Job
from camkit.program.read import read
from camkit.program.words import comment, number
from camkit.program.write import write

JOB = """
title = "Potting bench (garden)"
[sheet]
size = [600, 400]
measured_thickness = 17.6
[[cutter]]
number = 1
diameter = 6
[[cutter]]
number = 2
kind = "drill"
diameter = 4.5
"""


def job(**machine: Any) -> Job:
    data = tomllib.loads(JOB)
    data["machine"] = machine
    return Job.model_validate(data)


def text_of(*cuts: Cut, **machine: Any) -> str:
    return write(cuts, job(**machine), job().sheet[0], name="bench-1", size=(600, 400))


def cut(*moves: Move, number: int = 1, cutter: int = 1) -> Cut:
    return Cut(number, "profile", "shelf", 2, 1, cutter, moves)


SLOT = cut(
    Rapid(10, 10, 15),
    Rapid(10, 10, 2),
    Feed(10, 10, -3, 900),
    Feed(50, 10, -3, 3000),
    Turn(60, 20, -3, (50, 20), False, 3000),
    Rapid(60, 20, 15),
)


def test_numbers_have_four_places_and_no_trailing_zeros() -> None:
    assert [number(v) for v in (1.0, -0.00001, 12.34567, 100, 0.5)] == ["1", "0", "12.3457", "100", "0.5"]


def test_comments_are_printable_ascii_without_nested_parentheses() -> None:
    """NISTIR 6556 3.3.4: printable characters, no "(" inside a comment."""
    assert comment("Potting table (H\u00f6he 900) \u2013 2\u00d7") == "(Potting table [Hohe 900] ? 2x)"


def test_the_start_block_sets_every_mode_that_a_control_may_have_kept() -> None:
    lines = text_of(SLOT).splitlines()
    assert "G17 G21 G40 G49 G80 G90 G94" in lines and "G54" in lines and "G61" in lines
    assert lines[-2:] == ["M5", "M30"]


def test_only_words_of_the_standard_that_need_no_option_are_written() -> None:
    words = set()
    for line in text_of(SLOT).splitlines():
        if not line.startswith("("):
            words |= set(re.findall(r"[GM]\d+|[A-Z](?=[-\d.])", line))
    allowed = {"G0", "G1", "G2", "G3", "G17", "G21", "G40", "G49", "G54", "G61", "G80", "G90", "G94"}
    allowed |= {"M0", "M3", "M5", "M6", "M30", *"XYZIJFSTGM"}
    assert words <= allowed


def test_the_reader_finds_the_same_moves_spindle_and_cutter() -> None:
    reading = read(text_of(SLOT))
    assert reading.findings == () and reading.ended
    assert [(m.number, m.kind, m.name) for m in reading.marks] == [(1, "PROFILE", "SHELF 2")]
    ends = [m.end for m in reading.motions][1:]
    assert ends == [
        (10, 10, 15),
        (10, 10, 2),
        (10, 10, -3),
        (50, 10, -3),
        (60, 20, -3),
        (60, 20, 15),
    ]
    arc = next(m for m in reading.motions if m.kind == "arc")
    assert arc.centre == pytest.approx((50, 20)) and not arc.clockwise
    assert arc.feed_mm_min == 3000 and arc.cutter == 1 and arc.spindle_rev_min == 18000


def test_a_change_of_cutter_stops_the_spindle_above_the_sheet_and_waits() -> None:
    lines = text_of(SLOT, cut(Rapid(5, 5, 15), Feed(5, 5, -2, 900), number=2, cutter=2)).splitlines()
    change = lines.index("T2 M6")
    assert lines[change - 1] == "M5"
    assert lines[change + 2] == "M0" and lines[change + 1].startswith("(MSG, fit cutter 2")
    assert lines[change + 3 : change + 5] == ["G0 Z15", "S6000 M3"], "hands may have left it anywhere"
    automatic = text_of(SLOT, cutter_change="automatic").splitlines()
    assert "M0" not in automatic


def test_zero_on_the_table_lifts_every_height_by_the_thickness() -> None:
    on_top, on_table = read(text_of(SLOT)).motions, read(text_of(SLOT, zero="table")).motions
    assert [b.end[2] - a.end[2] for a, b in zip(on_top, on_table, strict=True)] == pytest.approx(
        [17.6] * len(on_top)
    )


@settings(derandomize=True, deadline=None, max_examples=50)
@given(
    x=st.floats(0, 2440),
    y=st.floats(0, 1220),
    radius=st.floats(0.02, 1500),
    first=st.floats(0, 2 * math.pi),
    sweep=st.floats(1e-7, math.pi),
    clockwise=st.booleans(),
    unit=st.sampled_from(["mm", "inch"]),
)
def test_arcs_keep_the_rule_of_two_microns_and_never_turn_into_a_full_circle(
    x: float, y: float, radius: float, first: float, sweep: float, clockwise: bool, unit: str
) -> None:
    """NISTIR 6556 3.5.3: end radii within 0.002 mm or 0.0002 inch; and no path goes farther than meant."""
    way = -sweep if clockwise else sweep
    start = (x + radius * math.cos(first), y + radius * math.sin(first))
    end = (x + radius * math.cos(first + way), y + radius * math.sin(first + way))
    moves = cut(Rapid(*start, 15), Turn(*end, 15, (x, y), clockwise, 3000), Rapid(*end, 20))
    reading = read(text_of(moves, program_unit=unit))
    assert reading.findings == ()
    for motion in reading.motions:
        if motion.kind == "arc":
            assert motion.centre is not None
            a = math.atan2(motion.start[1] - motion.centre[1], motion.start[0] - motion.centre[0])
            b = math.atan2(motion.end[1] - motion.centre[1], motion.end[0] - motion.centre[0])
            turned = (a - b if motion.clockwise else b - a) % (2 * math.pi)
            assert turned == pytest.approx(sweep, abs=0.21)
    assert reading.motions[-1].end[:2] == pytest.approx(end, abs=6e-5 if unit == "mm" else 1.3e-4)


def test_no_line_is_longer_than_256_characters() -> None:
    """NISTIR 6556 3.3 allows 256."""
    data = tomllib.loads(JOB) | {"title": "bench " * 100}
    text = write([SLOT], Job.model_validate(data), job().sheet[0], name="n" * 300, size=(600, 400))
    assert max(map(len, text.splitlines())) < 256
