"""Pockets and holes: too deep, too shallow, off their place, not cleared, not there.

Programs are planted with one fault at a time; geometry and expectations are arithmetic by hand.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from camkit.geometry.path import circle, rectangle
from camkit.part import Pocket

from .witness_moves import Plan, around, bore, clear_pocket
from .witness_scenes import BLIND, BORED, CORNERS, POCKET, THROUGH, panel
from .witness_verdicts import judged, must_find, must_pass, outline_plan
from .witness_words import Program, spelled


def pocket_program(**how: float | bool) -> Program:
    plan = Plan()
    clear_pocket(plan, (80, 80, 120, 110), 6, **how)
    around(plan, CORNERS)
    return spelled(plan)


POCKETED = panel(pockets=(POCKET,))


@pytest.mark.parametrize("deep", [0.03, 0.1, 1.0])
def test_a_pocket_floor_too_deep_is_a_gouge_of_that_size(deep: float) -> None:
    program = pocket_program(floor=deep)
    must_find(
        judged(program, POCKETED),
        "gouge",
        lines=program.tagged("pocket"),
        near=[(83, 83), (117, 107), (83, 107), (117, 83)],
        within=12,
        amount=(0.9 * deep, 1.1 * deep),
    )


def test_a_pocket_floor_short_by_a_little_passes_and_by_more_is_uncut() -> None:
    must_pass(judged(pocket_program(floor=-0.03), POCKETED))
    for short in (0.07, 0.2, 3.0):
        must_find(judged(pocket_program(floor=-short), POCKETED), "uncut", near=[(100, 95)], within=20)


@pytest.mark.parametrize("short", [0.2, 3.0])
def test_a_pocket_that_is_too_shallow_is_short_by_that_much(short: float) -> None:
    must_find(judged(pocket_program(floor=-short), POCKETED), "uncut", amount=(0.9 * short, 1.1 * short))


@pytest.mark.parametrize("past", [0.1, 0.6])
def test_a_pocket_wall_gouged_on_the_ramp_is_found_on_the_ramp(past: float) -> None:
    program = pocket_program(ramp_past=past)
    must_find(
        judged(program, POCKETED),
        "gouge",
        lines=program.tagged("pocket ramp"),
        near=[(120, 83)],
        amount=(0.7 * past, 1.3 * past),
    )


def test_a_pocket_wall_gouged_by_the_last_lap_is_found() -> None:
    program = pocket_program(wall=0.1)
    must_find(
        judged(program, POCKETED),
        "gouge",
        lines=program.tagged("pocket wall"),
        near=[(120, 83), (120, 107)],
        amount=(0.07, 0.13),
    )


@pytest.mark.parametrize("left", [2.0, 8.0])
def test_a_pocket_not_cleared_in_a_corner_is_uncut_there(left: float) -> None:
    # rows end short of the corner too: they stop at y = 103, the wall cuts across at 45 degrees
    must_find(
        judged(pocket_program(cut_corner=left, rows=6.0 if left < 5 else 4.0), POCKETED),
        "uncut",
        near=[(120, 110)],
        within=8,
    )


def test_a_pocket_whose_middle_stands_is_uncut_there() -> None:
    must_find(
        judged(pocket_program(skip_rows=True), POCKETED), "uncut", near=[(86, 95), (114, 95)], within=10
    )


def test_rows_too_far_apart_leave_ridges() -> None:
    # rows at 83, 90.5, 98, 105.5: ridges of 1.5 between cutters of 6
    must_find(judged(pocket_program(rows=7.5), POCKETED), "uncut", near=[(86, 94), (114, 94)], within=9)


def test_an_island_in_a_pocket_stays_at_full_height() -> None:
    island = Pocket(rectangle(80, 80, 120, 110), 6.0, (circle((100, 95), 4),))
    program = pocket_program()
    must_find(
        judged(program, panel(pockets=(island,))),
        "gouge",
        lines=program.tagged("pocket"),
        near=[(100, 95)],
        within=5,
    )


@pytest.mark.parametrize("depth", [6.0, 17.9])
def test_a_missing_pocket_is_uncut(depth: float) -> None:
    part = panel(pockets=(replace(POCKET, depth=depth),))
    must_find(judged(spelled(outline_plan()), part), "uncut", near=[(85, 95), (115, 95)], within=20)


def bored_program(
    bored: float = 8.0, blind: float = -9.0, aside: float = 0.0, depth: float = THROUGH
) -> Program:
    plan = Plan()
    if bored:
        bore(plan, (200 + aside, 75), bored, depth, tag="bored")
    if blind:
        bore(plan, (220, 125), 10, blind, tag="blind")
    around(plan, CORNERS)
    return spelled(plan)


BORED_PANEL = panel(holes=(BORED, BLIND))


def test_bored_holes_pass() -> None:
    must_pass(judged(bored_program(), BORED_PANEL))


def test_a_hole_that_nothing_cut_is_missing() -> None:
    must_find(judged(bored_program(bored=0), BORED_PANEL), "missing-hole", near=[(200, 75)], within=0.5)
    must_find(judged(bored_program(blind=0), BORED_PANEL), "missing-hole", near=[(220, 125)], within=0.5)


def test_a_through_hole_that_stops_short_is_found() -> None:
    must_find(
        judged(bored_program(depth=-15), BORED_PANEL), {"uncut", "missing-hole"}, near=[(200, 75)], within=5
    )


@pytest.mark.parametrize("deep", [0.1, 2.0])
def test_a_blind_hole_too_deep_is_a_gouge(deep: float) -> None:
    program = bored_program(blind=-9 - deep)
    must_find(
        judged(program, BORED_PANEL),
        "gouge",
        lines=program.tagged("blind"),
        near=[(220, 125)],
        within=6,
        amount=(0.9 * deep, 1.1 * deep),
    )


@pytest.mark.parametrize("wide", [0.05, 0.2])
def test_a_hole_too_wide_is_a_gouge_of_half_as_much(wide: float) -> None:
    program = bored_program(bored=8 + wide)
    must_find(
        judged(program, BORED_PANEL),
        "gouge",
        lines=program.tagged("bored"),
        near=[(200, 75)],
        within=6,
        amount=(0.35 * wide, 0.65 * wide),
    )


def test_a_hole_too_narrow_is_uncut() -> None:
    must_find(judged(bored_program(bored=7.7), BORED_PANEL), {"uncut"}, near=[(200, 75)], within=5)


def test_a_hole_off_its_place_is_found_there() -> None:
    program = bored_program(aside=0.4)
    must_find(
        judged(program, BORED_PANEL),
        {"gouge", "misplaced-hole"},
        lines=program.tagged("bored"),
        near=[(200, 75)],
        within=6,
        also={"uncut"},
    )
