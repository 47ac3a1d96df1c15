"""Wood left over, cuts into the table, and parts that come loose.

Programs are planted with one fault at a time; geometry and expectations are arithmetic by hand.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from camkit.geometry.path import polygon, rectangle
from camkit.part import Part

from .witness_moves import Plan, around, bore
from .witness_scenes import BORED, CORNERS, OPENING, THICKNESS, THROUGH, job, panel, placed
from .witness_verdicts import judged, must_find, must_pass, outline_plan
from .witness_words import spelled


@pytest.mark.parametrize("skin", [0.2, 1.0])
def test_an_outline_not_cut_through_is_uncut(skin: float) -> None:
    program = spelled(outline_plan(depths=(-6, -12, -THICKNESS + skin), tabs=()))
    finding = must_find(judged(program, panel()), "uncut")
    assert finding.part is not None and finding.part.startswith("panel")


def test_a_stretch_of_wood_longer_than_a_tab_is_uncut() -> None:
    program = spelled(outline_plan(tabs=((0, 100),), tab_length=60.0))
    must_find(judged(program, panel()), "uncut", near=[(120, 48.5), (180, 48.5)], within=5)


def test_too_many_tabs_are_uncut() -> None:
    # ten of 28 on an outline of 600: 47 %
    sides = [(0, s) for s in (30, 70, 110, 150)] + [(2, s) for s in (30, 70, 110, 150)]
    sides += [(1, 30), (1, 70)]
    must_find(judged(spelled(outline_plan(tabs=sides, tab_length=28.0)), panel()), "uncut")


def test_an_edge_left_proud_is_uncut() -> None:
    must_pass(judged(spelled(outline_plan(away=3.03)), panel()))
    must_find(judged(spelled(outline_plan(away=3.1)), panel()), "uncut")
    program = spelled(outline_plan(push={2: 0.3}))
    must_find(judged(program, panel()), "uncut", near=[(110, 151), (190, 151)], within=4)


def test_a_part_that_nobody_cut_is_uncut() -> None:
    spare = Part("spare", polygon(((10, 160), (60, 160), (60, 190), (10, 190))))
    finding = must_find(judged(spelled(outline_plan()), placed(panel(), spare)), "uncut")
    assert finding.part is not None and finding.part.startswith("spare")


def test_a_missing_opening_is_uncut() -> None:
    finding = must_find(
        judged(spelled(outline_plan()), panel(openings=(OPENING,))),
        "uncut",
        near=[(150, 95), (170, 95)],
        within=12,
    )
    assert finding.part is not None and finding.part.startswith("panel")


@pytest.mark.parametrize("below", [0.05, 0.5, 2.0])
def test_a_cut_into_the_table_is_found(below: float) -> None:
    program = spelled(outline_plan(depths=(-6, -12, THROUGH - below)))
    must_find(
        judged(program, panel()),
        "table-cut",
        lines=program.tagged("profile"),
        near=[(47, 47), (253, 47), (253, 153), (47, 153), (47, 47)],
        amount=(0.9 * below, 1.1 * (below + 0.3)),
    )


def test_a_job_may_allow_more_into_the_table() -> None:
    program = spelled(outline_plan(depths=(-6, -12, -19)))
    must_pass(judged(program, panel(), job(machine="into_table = 1.0")))


def test_a_part_without_tabs_is_loose_from_the_move_that_freed_it() -> None:
    plan = outline_plan(tabs=())
    program = spelled(plan)
    last = max(n for lines in program.lines.values() for n in lines)
    finding = must_find(judged(program, panel()), "loose-part", lines={last})
    assert finding.part is not None and finding.part.startswith("panel")


def test_one_tab_holds_a_part() -> None:
    must_pass(judged(spelled(outline_plan(tabs=((0, 100),))), panel()))


def test_a_part_freed_before_its_hole_is_cut_is_loose() -> None:
    plan = outline_plan(tabs=())
    freed = [k for k, s in enumerate(plan.steps) if s.code == "G1"][-1]
    plan.steps[freed] = replace(plan.steps[freed], tag="freed")
    bore(plan, BORED.centre, 8, THROUGH, tag="late")
    program = spelled(plan)
    must_find(judged(program, panel(holes=(BORED,))), "loose-part", lines=program.tagged("freed", "late"))


def test_cutting_the_tabs_off_in_the_end_leaves_a_loose_part() -> None:
    plan = outline_plan()
    for x, y in ((100, 153), (200, 153), (100, 47), (200, 47)):
        plan.to(x - 10, y)
        plan.feed(z=THROUGH, f=1200, tag="off" if (x, y) == (200, 47) else "")
        plan.feed(x + 10, y, tag="off" if (x, y) == (200, 47) else "")
    plan.rapid(z=15)
    program = spelled(plan)
    must_find(judged(program, panel()), "loose-part", lines=program.tagged("off"))


def test_a_part_held_only_by_another_that_is_freed_is_loose() -> None:
    # the left part hangs on the frame by nothing but the right one: one tab between them, none elsewhere
    left = ((40.0, 50.0), (120.0, 50.0), (120.0, 150.0), (40.0, 150.0))
    right = ((126.0, 50.0), (206.0, 50.0), (206.0, 150.0), (126.0, 150.0))
    plan = Plan()
    around(plan, left, tabs=((1, 75),))
    around(plan, right, tabs=((3, 25),))
    parts = placed(Part("left", polygon(left)), Part("right", polygon(right)))
    must_find(judged(spelled(plan), parts), "loose-part")


def test_a_slug_that_comes_free_in_an_opening_is_loose() -> None:
    plan = Plan()
    plan.to(103, 83)
    for z in (-6, -12, THROUGH):
        plan.feed(z=z, f=1200)
        for x, y in ((157, 83), (157, 117), (103, 117), (103, 83)):
            plan.feed(x, y, tag="around")
    plan.rapid(z=15)
    around(plan, CORNERS)
    program = spelled(plan)
    part = panel(openings=(rectangle(100, 80, 160, 120),))
    must_find(
        judged(program, part), "loose-part", lines=program.tagged("around"), near=[(130, 100)], within=30
    )


CORNER_PART = Part("corner", rectangle(0, 0, 100, 80))


def corner_plan(*, bridge: bool) -> Plan:
    """A part in the sheet's own corner: two sides are the sheet's edges, the others are cut."""
    plan = Plan()
    for begin, finish in (((103, -5), (103, 70 if bridge else 83)), ((-5, 83), (103, 83))):
        plan.to(*begin)
        for z in (-6, -12, THROUGH):
            plan.feed(*begin)
            plan.feed(z=z, f=1200)
            plan.feed(*finish, tag="side")
        plan.rapid(z=15)
    return plan


def test_no_wood_is_left_where_the_outline_is_the_edge_of_the_sheet() -> None:
    # the 10 mm between (103, 70) and (103, 80) hold it
    must_pass(judged(spelled(corner_plan(bridge=True)), CORNER_PART))


def test_a_part_in_the_corner_of_the_sheet_comes_loose_by_two_cuts() -> None:
    program = spelled(corner_plan(bridge=False))
    must_find(judged(program, CORNER_PART), "loose-part", lines=program.tagged("side"))
