"""Spindle, feed, cutter, arcs, travel and blocks: faults that the text or the machine brings.

Programs are planted with one fault at a time; geometry and expectations are arithmetic by hand.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from camkit.geometry.path import circle
from camkit.part import Part

from .witness_moves import Plan
from .witness_scenes import BORED, THROUGH, job, panel
from .witness_texts import ring_text
from .witness_verdicts import errors, judged, must_find, must_pass, outline_plan, told
from .witness_words import Program, spelled


def first_cut(program: Program) -> int:
    return next(n for n, row in enumerate(program.text.splitlines(), 1) if row.startswith("G1"))


def test_a_spindle_that_never_started_is_found_at_the_first_cut() -> None:
    program = spelled(outline_plan(), start=("T1 M6", "S18000"))
    must_find(judged(program, panel()), "spindle-stopped", lines={first_cut(program)})


def test_a_spindle_stopped_half_way_is_found_there() -> None:
    plan = outline_plan()
    middle = next(k for k, s in enumerate(plan.steps) if s.end[2] == -12)
    plan.steps.insert(middle, replace(plan.steps[0], code="M5"))
    program = spelled(plan)
    stop = program.text.splitlines().index("M5") + 1
    must_find(judged(program, panel()), "spindle-stopped", lines={stop + 1})


def test_a_cutter_change_stops_the_spindle() -> None:
    plan = outline_plan()
    middle = next(k for k, s in enumerate(plan.steps) if s.end[2] == -12)
    plan.steps.insert(middle, replace(plan.steps[0], code="T1 M6"))
    program = spelled(plan)
    at = [n for n, row in enumerate(program.text.splitlines(), 1) if row == "T1 M6"][-1]
    must_find(judged(program, panel()), "spindle-stopped", lines={at + 1})


def test_a_spindle_started_on_the_line_of_the_cut_turns() -> None:
    text = (
        spelled(outline_plan())
        .text.replace("S18000 M3\n", "")
        .replace("G1 Z-6 F1200", "G1 Z-6 F1200 M3 S18000", 1)
    )
    must_pass(judged(text, panel()))


def test_a_spindle_without_a_speed_does_not_cut() -> None:
    program = spelled(outline_plan(), start=("T1 M6", "M3"))
    must_find(judged(program, panel()), "spindle-stopped", lines={first_cut(program)})


def test_a_cut_without_a_feed_is_found() -> None:
    program = spelled(outline_plan())
    rows = [" ".join(w for w in row.split() if w[0] != "F") for row in program.text.splitlines()]
    must_find(judged("\n".join(rows) + "\n", panel()), "no-feed", lines={first_cut(program)})


def test_a_feed_of_zero_is_no_feed() -> None:
    text = spelled(outline_plan()).text.replace("F1200", "F0", 1)
    program = spelled(outline_plan())
    must_find(judged(text, panel()), {"no-feed", "bad-block"}, lines={first_cut(program)})


def test_a_cutter_that_the_job_does_not_have_is_found() -> None:
    program = spelled(outline_plan(), start=("T7 M6", "S18000 M3"))
    change = program.text.splitlines().index("T7 M6") + 1
    found = errors(judged(program, panel()))
    assert any(f.rule == "wrong-cutter" and f.line in {change, first_cut(program)} for f in found), told(
        found
    )


@pytest.mark.parametrize(("length", "depths"), [(12.0, (THROUGH,)), (10.0, (-12, THROUGH))])
def test_a_cut_deeper_than_the_cutting_edges_is_found(length: float, depths: tuple[float, ...]) -> None:
    plan = outline_plan()
    plan.steps = [replace(s, tag=f"at {s.end[2]}") for s in plan.steps]
    program = spelled(plan)
    must_find(
        judged(program, panel(), job(cutting_length=length)),
        "too-deep-for-cutter",
        lines=program.tagged(*(f"at {depth}" for depth in depths)),
    )


def test_cutting_edges_just_long_enough_pass() -> None:
    must_pass(judged(spelled(outline_plan()), panel(), job(cutting_length=18.3)))


def test_a_hole_drilled_smaller_than_it_should_be_is_found() -> None:
    plan = Plan()
    plan.to(*BORED.centre)
    plan.feed(z=THROUGH, f=1200, tag="drilled")
    plan.rapid(z=15)
    drilled = spelled(plan, start=("T2 M6", "S12000 M3"), end=("M5",))
    text = drilled.text + spelled(outline_plan()).text
    must_find(judged(text, panel(holes=(BORED,))), {"uncut", "wrong-cutter"}, also={"missing-hole"})


@pytest.mark.parametrize("feed", [300, 30000])
def test_a_chip_far_too_thin_or_too_thick_is_a_warning_only(feed: int) -> None:
    # common practice, no source: below 0.05 a cutter rubs; 30000 / (18000 x 2) = 0.83 breaks it
    text = spelled(outline_plan()).text.replace("F3600", f"F{feed}")
    verdict = judged(text, panel()).verdict
    chips = [f for f in verdict.findings if f.rule == "chip-load"]
    assert chips and {f.level for f in chips} == {"warning"}
    assert verdict.ok


def arc_with(slip: float) -> tuple[str, int]:
    """The panel, its first arc ending `slip` mm farther from its centre than it began."""
    rows = spelled(outline_plan()).text.splitlines()
    at = next(n for n, row in enumerate(rows) if row.startswith("G2 "))
    assert rows[at].startswith("G2 X50 Y153 I3 J0")
    rows[at] = rows[at].replace("Y153", f"Y{153 + slip:.4f}")
    return "\n".join(rows) + "\n", at + 1


def test_an_arc_whose_radii_differ_is_a_mismatch_from_2_microns() -> None:
    # NISTIR 6556 section 3.5.3: at most 0.002 mm
    text, line = arc_with(0.003)
    must_find(judged(text, panel()), "arc-mismatch", lines={line}, amount=(0.0029, 0.0031))
    text, line = arc_with(0.1)
    must_find(judged(text, panel()), "arc-mismatch", lines={line}, also={"gouge", "uncut"})
    text, _ = arc_with(0.0015)
    must_pass(judged(text, panel()))


@pytest.mark.parametrize(
    ("travel", "words"),
    [
        ("travel = [252, 200, 120]", "X253"),
        ("travel = [300, 152.5, 120]", "Y153"),
        ("travel = [[48, 300], [0, 200], [-60, 60]]", "X47"),
        ("travel = [[0, 300], [47.5, 200], [-60, 60]]", "Y47"),
        ("travel = [300, 200, 78]", "Z-18.3"),
    ],
)
def test_a_move_beyond_the_travel_is_found(travel: str, words: str) -> None:
    program = spelled(outline_plan())
    lines = {n for n, row in enumerate(program.text.splitlines(), 1) if words in row}
    # the set-up move to the corner of the sheet is no part of this
    text = program.text.replace("G0 X0 Y0 Z15", "G0 X60 Y60 Z15")
    must_find(judged(text, panel(), job(machine=travel)), "out-of-travel", lines=lines)


def test_an_arc_that_bows_beyond_the_travel_is_found() -> None:
    # both ends of the upper half circle are inside, its top at Y 163 is not
    text = ring_text()
    line = next(n for n, row in enumerate(text.splitlines(), 1) if row.startswith("g2 x213 y100 i63"))
    part = Part("ring", circle((150, 100), 120), (circle((150, 100), 30),))
    judgement = judged(text, part, job(machine="travel = [300, 162, 120]"))
    must_find(judgement, "out-of-travel", lines=set(range(line, line + 40)), amount=(0.9, 1.1))


def test_a_travel_just_wide_enough_passes() -> None:
    must_pass(judged(spelled(outline_plan()), panel(), job(machine="travel = [253, 153, 80]")))


@pytest.mark.parametrize(
    "block", ["G1 X10 E5 F100", "G0 G1 X5", "G1 X1e3", "X5 X6", "G1 X10 ; there", "N123456 G0 X5", "G2 I5"]
)
def test_a_block_that_the_standard_does_not_allow_is_found(block: str) -> None:
    rows = spelled(outline_plan()).text.splitlines()
    at = rows.index("S18000 M3") + 1
    rows.insert(at, block)
    found = errors(judged("\n".join(rows) + "\n", panel()))
    assert any(f.rule == "bad-block" and f.line == at + 1 for f in found), told(found)
