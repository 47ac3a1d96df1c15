"""A cutter that bites into a part is found: where, on which line, and how deep.

Programs are planted with one fault at a time; geometry and expectations are arithmetic by hand.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from camkit.geometry.path import polygon
from camkit.part import Part

from .witness_moves import Plan, Step, around
from .witness_scenes import CORNERS, panel
from .witness_texts import disc_judged, disc_text, line_of
from .witness_verdicts import errors, judged, must_find, must_pass, outline_plan
from .witness_words import Dialect, spelled


@pytest.mark.parametrize(
    ("bite", "dialect"),
    [
        (0.02, Dialect()),
        (0.0205, Dialect()),
        (0.1, Dialect()),
        (1.0, Dialect()),
        (0.0205, Dialect(inch=True, relative=True)),
        (0.1, Dialect(inch=True, relative=True)),
    ],
)
def test_an_edge_cut_too_near_is_a_gouge_of_that_size(bite: float, dialect: Dialect) -> None:
    program = spelled(outline_plan(push={2: -bite}), dialect)
    must_find(
        judged(program, panel()),
        "gouge",
        lines=program.tagged("profile 2 shove"),
        near=[(110, 150), (190, 150)],
        amount=(0.75 * bite, 1.25 * bite),
    )


@pytest.mark.parametrize("bite", [0.006, 0.01])
def test_rounding_of_a_few_microns_is_no_gouge(bite: float) -> None:
    must_pass(judged(spelled(outline_plan(push={0: -bite, 2: -bite})), panel()))


@pytest.mark.parametrize("bite", [0.1, 0.5])
def test_a_single_nick_of_the_cutter_is_a_gouge_where_it_happens(bite: float) -> None:
    plan = outline_plan()
    at = next(k for k, s in enumerate(plan.steps) if s.tag == "profile 0" and s.end[2] == -12)
    nick = [
        replace(plan.steps[at], end=(120.0, 47.0, -12.0), tag="before"),
        replace(plan.steps[at], end=(119.5, 47.0 + bite, -12.0), tag="nick"),
        replace(plan.steps[at], end=(119.0, 47.0, -12.0), tag="nick"),
    ]
    assert plan.steps[at - 1].end[0] > 120 > plan.steps[at].end[0]
    plan.steps[at:at] = nick
    program = spelled(plan)
    must_find(
        judged(program, panel()),
        "gouge",
        lines=program.tagged("nick"),
        near=[(119.5, 50)],
        amount=(0.7 * bite, 1.3 * bite),
    )


@pytest.mark.parametrize("bite", [0.1, 1.0])
def test_a_corner_rounded_too_tightly_is_a_gouge_at_that_corner(bite: float) -> None:
    plan = Plan()
    around(plan, CORNERS, tag="sound")
    # once more around the upper right corner, nearer by `bite`
    r = 3 - bite
    plan.to(250, 160)
    plan.feed(z=-5, f=1200)
    plan.feed(250, 150 + r, tag="tight")
    plan.arc(True, 250 + r, 150, (250, 150), tag="tight")
    plan.feed(260, 150)
    plan.rapid(z=15)
    program = spelled(plan)
    must_find(
        judged(program, panel()),
        "gouge",
        lines=program.tagged("tight"),
        near=[(250, 150)],
        amount=(0.7 * bite, 1.3 * bite),
    )


def test_a_cut_across_the_face_is_a_gouge() -> None:
    plan = Plan()
    plan.to(100, 30)
    plan.feed(z=-1, f=1200)
    plan.feed(100, 120, tag="across")
    plan.rapid(z=15)
    around(plan, CORNERS)
    program = spelled(plan)
    must_find(
        judged(program, panel()),
        "gouge",
        lines=program.tagged("across"),
        near=[(100, 50), (100, 120)],
        amount=(0.9, 6.1),
    )


def test_a_full_circle_about_the_wrong_centre_is_a_gouge() -> None:
    text = disc_text(N110="G2 X[2+#1] Y2 I[0-#1] J.2 F140")
    # a circle of radius 1.1427 in about (2, 2.2): below the disc its centre comes as near as 0.943 in
    assert any(f.rule == "gouge" and f.line == line_of(text, "N110") for f in errors(disc_judged(text)))


def test_a_corner_that_blending_rounds_off_is_a_gouge() -> None:
    # a pointed bump of 1.9 in the upper edge; the path goes over it with three sharp corners, just far enough
    tip, foot = 1.9, 10.0
    slope = math.atan2(tip, foot)
    bump = ((160.0, 150.0), (150.0, 150 + tip), (140.0, 150.0))
    part = Part("panel", polygon((*CORNERS[:3], *bump, CORNERS[3])))
    aside, top = 3 * math.tan(slope / 2), tip + 3 / math.cos(slope)
    plan = outline_plan()
    steps: list[Step] = []
    for step in plan.steps:
        if step.tag == "profile 2" and step.end[0] > 160 and steps[-1].end[0] < 140:
            z = step.end[2]
            for x, y in ((140 - aside, 3.0), (150.0, top), (160 + aside, 3.0)):
                steps.append(replace(step, end=(x, 150 + y, z), tag="bump"))
        steps.append(step)
    plan.steps = steps
    exact = spelled(plan)
    must_pass(judged(exact, part))
    # 0.01 is below what counts; a corner of this much turn is rounded by up to the deviation
    must_pass(judged(exact.text.replace("G61", "G64 P0.01"), part))
    must_find(
        judged(exact.text.replace("G61", "G64 P0.3"), part),
        "gouge",
        lines={n + k for n in exact.tagged("bump") for k in (0, 1)},
        near=[(150, 150 + tip)],
        amount=(0.1, 0.3),
        also={"uncut"},
    )
