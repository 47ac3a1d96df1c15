"""Sound programs in many dialects bring no error, whoever wrote them.

Programs are planted with one fault at a time; geometry and expectations are arithmetic by hand.
"""

from __future__ import annotations

from functools import cache

import pytest

from camkit.geometry.path import circle, polygon
from camkit.part import Hole, Part

from .witness_moves import Plan, around, whole_panel
from .witness_scenes import THICKNESS, THROUGH, full_panel, job, panel, placed
from .witness_texts import DISC_IN_INCHES, disc_judged, disc_text, ring_text
from .witness_verdicts import judged, must_find, must_pass, outline_plan
from .witness_words import Dialect, spelled

DIALECTS = {
    "plain mm": Dialect(),
    "inch": Dialect(inch=True),
    "relative": Dialect(relative=True),
    "inch, relative, terse": Dialect(inch=True, relative=True, terse=True),
    "radius arcs": Dialect(radius_arcs=True),
    "radius arcs, inch, line numbers": Dialect(radius_arcs=True, inch=True, numbered=True),
    "radius arcs, relative": Dialect(radius_arcs=True, relative=True),
    "lower case, spaces inside numbers": Dialect(airy=True, terse=True),
    "parameters and expressions": Dialect(formulas=True, numbered=True),
    "between percent signs": Dialect(percent=True, terse=True, numbered=True, airy=True),
}


@pytest.mark.parametrize("dialect", DIALECTS.values(), ids=DIALECTS.keys())
def test_a_sound_panel_passes_in_every_dialect(dialect: Dialect) -> None:
    program = spelled(whole_panel(), dialect, start=())
    must_pass(judged(program, full_panel()))


def test_a_sound_panel_passes_with_zero_on_the_table() -> None:
    program = spelled(whole_panel(), Dialect(z_up=THICKNESS), start=())
    must_pass(judged(program, full_panel(), job(machine='zero = "table"')))


@cache
def hollow() -> tuple[tuple[tuple[float, float], ...], Part]:
    corners = ((40.0, 40.0), (240.0, 40.0), (240.0, 100.0), (120.0, 100.0), (120.0, 160.0), (40.0, 160.0))
    return corners, Part("bracket", polygon(corners))


@pytest.mark.parametrize(
    "dialect", [Dialect(), Dialect(radius_arcs=True, relative=True)], ids=["mm", "G91 R"]
)
def test_what_a_round_cutter_cannot_reach_in_a_hollow_corner_is_not_uncut(dialect: Dialect) -> None:
    corners, part = hollow()
    plan = Plan()
    around(plan, corners, tabs=((0, 60), (0, 140), (4, 40), (2, 50)))
    must_pass(judged(spelled(plan, dialect), part))


def test_a_sound_triangle_with_sharp_corners_passes() -> None:
    corners = ((40.0, 40.0), (260.0, 40.0), (150.0, 160.0))
    plan = Plan()
    around(plan, corners, tabs=((0, 60), (0, 160), (1, 80)))
    must_pass(judged(spelled(plan, Dialect(inch=True)), Part("gusset", polygon(corners))))


def test_two_parts_that_share_one_slot_pass() -> None:
    left = ((40.0, 50.0), (120.0, 50.0), (120.0, 150.0), (40.0, 150.0))
    right = ((126.0, 50.0), (206.0, 50.0), (206.0, 150.0), (126.0, 150.0))
    plan = Plan()
    for corners in (left, right):
        around(
            plan,
            corners,
            tabs=((0, 40), (2, 40), (3, 25), (3, 75)) if corners is left else ((0, 40), (2, 40)),
        )
    parts = placed(Part("left", polygon(left)), Part("right", polygon(right)))
    # the right part's own pass runs through the slot again and takes nothing from the left one
    must_pass(judged(spelled(plan), parts))


def test_a_disc_in_inches_with_expressions_and_lifted_tabs_passes() -> None:
    must_pass(disc_judged(DISC_IN_INCHES))


def test_a_lap_that_already_cut_through_leaves_no_tabs_to_jump_over() -> None:
    text = disc_text(N100="G1 Z-.51 F40")
    must_find(disc_judged(text), "loose-part")


def test_a_ring_whose_opening_is_milled_away_passes() -> None:
    part = Part("ring", circle((150, 100), 120), (circle((150, 100), 30),))
    must_pass(judged(ring_text(), part))


CYCLES = """N1 G21 G17 G90 G94
N2 T2 M6
N3 S12000 M3
N4 G0 X0 Y0 Z15
N5 G83 G98 X70 Y70 Z-18.3 R2 Q7 F1200
N6 X90
N7 X110
N8 G81 G98 X230 Y60 Z-9.5 R2
N9 G91 G81 Y10 Z-11.5 R-13 L4
N10 G90 G80
N11 G0 Z15
N12 M5
"""


def cycles_part(last_depth: float = 9.5) -> Part:
    through = tuple(Hole((x, 70.0), 5.0) for x in (70.0, 90.0, 110.0))
    blind = tuple(Hole((230.0, 60.0 + 10 * k), 5.0, last_depth if k == 4 else 9.5) for k in range(5))
    return panel(holes=through + blind)


def test_holes_drilled_by_canned_cycles_pass() -> None:
    # G98: G81 leaves the drill at Z15, the old Z; in G91 R-13 lies at 2 and Z-11.5 reaches -9.5
    text = CYCLES + spelled(outline_plan()).text
    must_pass(judged(text, cycles_part()))


def test_a_drilled_hole_of_another_depth_than_the_cycle_gives_is_found() -> None:
    text = CYCLES + spelled(outline_plan()).text
    must_find(judged(text, cycles_part(9.4)), "gouge", lines={9}, near=[(230, 100)], amount=(0.09, 0.11))
    must_find(judged(text, cycles_part(9.6)), "uncut", near=[(230, 100)])


def test_inverse_time_feed_is_a_feed() -> None:
    text = """G21 G90 G17
T1 M6
S18000 M3
G0 X17 Y40 Z5
G93 G1 Z-6 F200
G1 X17 Y60 F180
G2 X20 Y63 R3 F700
G1 X60 Y63 F90
G2 X63 Y60 R3 F700
G1 X63 Y20 F90
G2 X60 Y17 R3 F700
G1 X20 Y17 F90
G2 X17 Y20 R3 F700
G1 X17 Y40 F180
G94
G0 Z15
M2
"""
    # a groove 6 deep around a block that stays in the board: all is uncut below, nothing is wrong above
    block = Part("block", polygon(((20, 20), (60, 20), (60, 60), (20, 60))))
    judgement = judged(text, block, None, (80, 80))
    must_find(judgement, "uncut")
    text = text.replace("G1 X60 Y63 F90", "G1 X60 Y63")
    assert any(
        f.level == "error" and f.line == 8 for f in judged(text, block, None, (80, 80)).verdict.findings
    )


def test_wood_left_by_tabs_up_to_their_limits_is_sound() -> None:
    # common practice, no source: a piece is at most 30 mm long, all together at most 35 % of the outline
    plan = outline_plan(tabs=((0, 40), (0, 160), (2, 40), (2, 160)), tab_length=27.0)
    must_pass(judged(spelled(plan), panel()))


def test_full_height_bridges_count_as_tabs_too() -> None:
    plan = Plan()
    for begin, finish in (((40, 153), (140, 153)), ((160, 153), (260, 153))):
        plan.to(*begin)
        for z in (-6, -12, THROUGH):
            plan.feed(*begin, f=3600)
            plan.feed(z=z, f=1200)
            plan.feed(*finish)
        plan.rapid(z=15)
    for begin, finish in (
        ((253, 160), (253, 40)),
        ((47, 160), (47, 40)),
        ((40, 47), (140, 47)),
        ((160, 47), (260, 47)),
    ):
        plan.to(*begin)
        for z in (-6, -12, THROUGH):
            plan.feed(*begin, f=3600)
            plan.feed(z=z, f=1200)
            plan.feed(*finish)
        plan.rapid(z=15)
    must_pass(judged(spelled(plan), panel()))
