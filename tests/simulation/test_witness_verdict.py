"""Several faults at once, and the figures of a verdict.

Programs are planted with one fault at a time; geometry and expectations are arithmetic by hand.
"""

from __future__ import annotations

import math

import pytest

from .witness_moves import Plan, around, clear_opening, clear_pocket, whole_panel
from .witness_scenes import BORED, CORNERS, OPENING, POCKET, full_panel, panel
from .witness_verdicts import errors, judged, must_pass, outline_plan, told
from .witness_words import spelled


def test_every_kind_of_fault_in_a_bad_program_is_told() -> None:
    plan = Plan()
    clear_pocket(plan, (80, 80, 120, 110), 6, floor=0.5)
    around(plan, CORNERS, depths=(-6, -12, -20.3), push={2: -0.5})
    found = errors(judged(spelled(plan), panel(pockets=(POCKET,), holes=(BORED,))))
    assert {f.rule for f in found} == {"gouge", "table-cut", "missing-hole"}, told(found)


def test_gouges_in_different_places_are_told_apart() -> None:
    # who mends the worst one only must not have to judge again to learn of the next
    plan = Plan()
    clear_pocket(plan, (80, 80, 120, 110), 6, floor=0.5)
    around(plan, CORNERS, push={2: -0.4})
    program = spelled(plan)
    lines = {f.line for f in errors(judged(program, panel(pockets=(POCKET,)))) if f.rule == "gouge"}
    assert lines & program.tagged("pocket")
    assert lines & program.tagged("profile 2 shove")


def test_lengths_and_cutters_of_a_verdict() -> None:
    plan = Plan()
    plan.to(20, 20)
    plan.feed(z=-2, f=1200)
    plan.feed(20, 120)
    plan.arc(True, 40, 120, (30, 120))
    plan.rapid(z=15)
    text = spelled(plan).text
    waste = judged(text, panel())
    # rapids: (0, 0, 15) to (20, 20, 15), down 13, and up 17; where it began is unknown
    assert waste.verdict.feed_mm == pytest.approx(4 + 100 + 10 * math.pi, abs=1e-3)
    assert waste.verdict.rapid_mm >= math.hypot(20, 20) + 13 + 17 - 1e-6
    assert [c.number for c in waste.verdict.cutters] == [1]
    assert waste.verdict.cutters[0].diameter_mm == 6.0
    assert len(waste.verdict.timing) == len(waste.reading.motions)
    assert waste.verdict.time_s >= (100 + 10 * math.pi) / 60 + 4 / 20


def test_the_same_program_gives_the_same_verdict() -> None:
    program = spelled(whole_panel(), start=())
    assert judged(program, full_panel()) == judged(program, full_panel())


def test_an_opening_milled_after_the_part_is_held_by_tabs_passes() -> None:
    plan = outline_plan()
    clear_opening(plan, (150, 90, 170, 101))
    must_pass(judged(spelled(plan), panel(openings=(OPENING,))))


def test_a_finding_says_what_is_wrong_and_what_to_do() -> None:
    found = errors(judged(spelled(outline_plan(push={2: -1.0})), panel()))
    assert found and all(f.message and f.remedy for f in found)
    assert all(not f.message.endswith(".") and not f.remedy.endswith(".") for f in found)
