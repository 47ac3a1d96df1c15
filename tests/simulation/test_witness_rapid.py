"""Rapids through wood and down into it are found at any height.

Programs are planted with one fault at a time; geometry and expectations are arithmetic by hand.
"""

from __future__ import annotations

import pytest

from .witness_moves import Plan, around
from .witness_scenes import CORNERS, THROUGH, panel
from .witness_verdicts import errors, judged, must_find, must_pass, outline_plan
from .witness_words import Program, spelled


def travelled(height: float, *, through: bool = False) -> Program:
    """In waste, down at a feed, then across at a rapid `height` above the sheet's top."""
    plan = Plan()
    plan.to(20, 20)
    plan.feed(z=height, f=1200)
    plan.rapid(20, 180, tag="travel")
    plan.rapid(z=15)
    if through:
        plan.steps = plan.steps[:-1]
        plan.at = (20, 180, height)
        plan.rapid(150, 100, tag="into part")
        plan.rapid(z=15)
    around(plan, CORNERS)
    return spelled(plan)


@pytest.mark.parametrize("height", [-0.2, -1.0, -9.0, THROUGH])
def test_a_rapid_through_the_wood_is_found_at_any_height(height: float) -> None:
    program = travelled(height)
    must_find(
        judged(program, panel()),
        "rapid-in-stock",
        lines=program.tagged("travel"),
        near=[(20, 20), (20, 180)],
    )


@pytest.mark.parametrize("height", [0.1, 2.0])
def test_a_rapid_above_the_wood_passes(height: float) -> None:
    must_pass(judged(travelled(height), panel()))


def test_a_rapid_through_a_part_is_a_gouge_as_well() -> None:
    program = travelled(-2, through=True)
    judgement = judged(program, panel())
    must_find(judgement, "rapid-in-stock", lines=program.tagged("travel", "into part"), also={"gouge"})
    assert any(f.rule == "gouge" and f.line in program.tagged("into part") for f in errors(judgement))


@pytest.mark.parametrize("depth", [-0.5, -6.0])
def test_a_rapid_straight_down_into_wood_is_found(depth: float) -> None:
    plan = Plan()
    plan.to(20, 100)
    plan.rapid(z=depth, tag="drop")
    plan.feed(20, 150)
    plan.rapid(z=15)
    around(plan, CORNERS)
    program = spelled(plan)
    must_find(
        judged(program, panel()),
        "rapid-plunge",
        lines=program.tagged("drop"),
        near=[(20, 100)],
        also={"rapid-in-stock"},
    )


def test_a_rapid_slanting_into_wood_is_found() -> None:
    plan = Plan()
    plan.to(20, 30)
    plan.rapid(20, 170, -4, tag="slant")
    plan.rapid(z=15)
    around(plan, CORNERS)
    program = spelled(plan)
    must_find(
        judged(program, panel()),
        {"rapid-in-stock", "rapid-plunge"},
        lines=program.tagged("slant"),
        near=[(20, 75), (20, 170)],
    )


def test_a_rapid_along_a_slot_hits_the_tab_left_in_it() -> None:
    plan = outline_plan()
    plan.to(70, 47)
    plan.rapid(z=-17)
    plan.rapid(130, 47, tag="along")
    plan.rapid(z=15)
    program = spelled(plan)
    must_find(
        judged(program, panel()),
        "rapid-in-stock",
        lines=program.tagged("along"),
        near=[(90, 47), (110, 47)],
    )


def test_a_rapid_down_an_open_slot_meets_nothing() -> None:
    plan = outline_plan(depths=(-6, -12), tabs=())
    plan.to(47, 100)
    plan.rapid(z=-11.9)
    plan.rapid(z=15)
    around(plan, CORNERS, depths=(THROUGH,))
    must_pass(judged(spelled(plan), panel()))
