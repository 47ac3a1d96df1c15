"""Round holes measured in the program's text: drilled, by cycles or spelled out, and bored by a helix."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Point
from support.replayed import Move, replay, swept
from support.router import placed, plate

from camkit.errors import Finding
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Hole
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (500.0, 400.0)
THICKNESS = 18.0
SIX = Cutter(number=1, diameter=6.0, kind="upcut spiral")
DRILL = Cutter(number=2, diameter=4.5, kind="drill")
TWIST = Cutter(number=2, diameter=8.0, kind="drill", point_angle=118.0)
FLAT = Cutter(number=2, diameter=8.0, kind="drill")


def made(
    *holes: Hole, cutters: tuple[Cutter, ...] = (SIX, DRILL), **machine: object
) -> tuple[str, list[Finding]]:
    """The program of a plate with the holes, and all that plan and judge say of it."""
    part = plate(50, 50, 300, 200, holes=holes)
    own = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=cutters, machine=Machine(**machine))
    planned = plan(placed(part), own, SIZE, THICKNESS)
    text = write(planned.cuts, own, own.sheet[0], name="test", size=SIZE)
    said = judge(text, placed(part), own, sheet_size=SIZE, thickness=THICKNESS).verdict
    return text, [*planned.findings, *said.findings]


def errors(findings: list[Finding]) -> list[str]:
    return [finding.message for finding in findings if finding.level == "error"]


def hole_moves(text: str, cutters: tuple[Cutter, ...] = (SIX, DRILL)) -> list[Move]:
    """The moves of all cuts of holes."""
    lines, inside, chosen = text.splitlines(), False, set()
    for number, line in enumerate(lines, 1):
        if line.startswith("(CU"):
            inside = " HOLE " in line
        if inside:
            chosen.add(number)
    return [m for m in replay(text, {c.number: c.diameter for c in cutters}) if m.line in chosen]


def turning_points(moves: list[Move], x: float, y: float) -> list[float]:
    """Heights at which the cutter over (x, y) turns from down to up or back, below the sheet's top."""
    here = np.concatenate([m.points for m in moves if np.allclose(m.points[-1][:2], (x, y), atol=1e-4)])[:, 2]
    here = here[np.insert(np.diff(here) != 0, 0, True)]
    turn = np.sign(np.diff(here))
    return [float(z) for z in here[1:-1][turn[1:] != turn[:-1]] if z < 0]


def test_pecks_come_out_above_the_sheet_and_no_rapid_goes_down_into_the_hole() -> None:
    """20.3 from 2 above the sheet to 0.3 below: two pecks of 10.15, as none is longer than 4 x 4.5 = 18."""
    text, said = made(Hole((100, 100), 4.5))
    assert errors(said) == []
    lines = text.splitlines()
    downward = [m for m in hole_moves(text) if m.points[-1][2] < min(0.0, m.points[0][2])]
    assert [round(m.points[-1][2], 4) for m in downward] == [-8.15, -7.65, -18.3]
    for move in downward:
        assert not lines[move.line - 1].startswith("G0")
    feeds = [float(lines[m.line - 1].split("F")[1]) for m in downward]
    assert feeds[0] == feeds[2] == DRILL.plunge and feeds[0] < feeds[1] <= 3 * DRILL.plunge


def test_cycles_drill_the_same_wood_as_pecks_that_are_spelled_out() -> None:
    holes = (Hole((100, 100), 4.5), Hole((180, 100), 4.5, 9.0), Hole((180, 160), 4.5))
    by_hand, said = made(*holes)
    cycles, also_said = made(*holes, drilling_cycles=True)
    assert errors(said) == errors(also_said) == []
    block = next(line for line in cycles.splitlines() if "G83" in line)
    assert block == "G98 G83 X100 Y100 Z-18.3 R2 Q10.15 F900" or "X180" in block
    # A hole that needs one peck only is a plain cycle, and none stays in force.
    assert sum("G83" in line for line in cycles.splitlines()) == 2
    assert sum("G81" in line for line in cycles.splitlines()) == 1
    assert cycles.splitlines().count("G80") == 3
    for hole in holes:
        around = Point(hole.centre).buffer(10)
        spots = [turning_points(hole_moves(text), *hole.centre) for text in (by_hand, cycles)]
        assert min(spots[0]) == pytest.approx(min(spots[1]))
        for z in (-0.01, -8.9, -17.9):
            one, other = (swept(hole_moves(text), z, around) for text in (by_hand, cycles))
            assert one.symmetric_difference(other).area == 0.0
    pecks = turning_points(hole_moves(cycles), 100, 100)
    assert [z for z in pecks if z < -1] == pytest.approx([-8.15, -18.3])


def test_a_blind_hole_is_as_deep_as_drawn_at_its_full_width_whatever_the_point() -> None:
    """118 degrees: the point of an 8 mm drill is 4 / tan 59 = 2.403 long, and goes that much deeper."""
    hole = Hole((100, 100), 8.0, 10.0)
    assert TWIST.point_length == pytest.approx(2.4034, abs=1e-4)
    text, said = made(hole, cutters=(SIX, TWIST))
    assert errors(said) == []
    assert min(turning_points(hole_moves(text, (SIX, TWIST)), 100, 100)) == pytest.approx(-12.4034, abs=1e-4)
    text, said = made(hole, cutters=(SIX, FLAT))
    assert errors(said) == []
    assert min(turning_points(hole_moves(text, (SIX, FLAT)), 100, 100)) == pytest.approx(-10.0)


def test_a_point_that_would_not_come_through_or_would_break_through_is_told_with_figures() -> None:
    text, said = made(Hole((100, 100), 8.0), cutters=(FLAT.model_copy(update={"point_angle": 118.0}),))
    found = next(f for f in said if f.rule == "no-cutter" and "hole" in f.message)
    assert "would not come through" in found.message and "2.4 mm long" in found.message
    assert "into_table = 2.5" in found.remedy
    assert " HOLE " not in text
    blind = Hole((100, 100), 8.0, 16.0)
    _, said = made(blind, cutters=(TWIST,))
    found = next(f for f in said if f.rule == "no-cutter" and "hole" in f.message)
    assert "would break through" in found.message and "1.5 mm are left" in found.message
    # With a milling cutter on hand the hole is bored instead.
    assert errors(made(blind, cutters=(SIX, TWIST))[1]) == []
    # With room in the table it is drilled, and full width comes through.
    text, said = made(Hole((100, 100), 8.0), cutters=(SIX, TWIST), into_table=2.5)
    assert errors(said) == []
    assert min(turning_points(hole_moves(text, (SIX, TWIST)), 100, 100)) == pytest.approx(-20.5)


def test_the_judge_knows_that_a_point_is_narrow() -> None:
    """The tip of 118 degrees 0.3 in the table: at the underside the hole is 2 x 0.3 tan 59 = 1 mm wide."""
    hole = Hole((100, 100), 8.0)
    part = plate(50, 50, 300, 200, holes=(hole,))
    text, _ = made(hole, cutters=(SIX, FLAT))
    own = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=(SIX, TWIST))
    said = judge(text, placed(part), own, sheet_size=SIZE, thickness=THICKNESS).verdict.findings
    assert [f.rule for f in said if f.level == "error"] == ["uncut"]
    # Below a blind hole its point may go; a flat cutter as deep bites, and so does a point deeper still.
    blind = plate(50, 50, 300, 200, holes=(Hole((100, 100), 8.0, 10.0),))
    deep, _ = made(Hole((100, 100), 8.0, 10.0), cutters=(SIX, TWIST))
    flat = own.model_copy(update={"cutter": (SIX, FLAT)})
    for job, text, rules in (
        (own, deep, []),
        (flat, deep, ["gouge"]),
        (own, deep.replace("Z-12.4034", "Z-12.5"), ["gouge"]),
        (own, deep.replace("Z-12.4034", "Z-12.3"), ["uncut"]),
    ):
        said = judge(text, placed(blind), job, sheet_size=SIZE, thickness=THICKNESS).verdict.findings
        assert [f.rule for f in said if f.level == "error"] == rules


@pytest.mark.parametrize(("wide", "helix"), [(8.0, 0.55), (10.0, 1.10), (11.9, 1.62)])
def test_a_helix_sinks_by_pi_times_path_times_the_tangent_of_five_degrees(wide: float, helix: float) -> None:
    """Path 8 - 6 = 2 wide: pi 2 tan 5 = 0.5498 a turn at the most; slope 5 degrees at the most."""
    text, said = made(Hole((100, 100), wide), cutters=(SIX,))
    assert errors(said) == []
    sinking = [m for m in hole_moves(text) if len(m.points) > 2 and m.points[-1][2] < m.points[0][2] - 1e-6]
    turn = [2 * (m.points[0][2] - m.points[-1][2]) for m in sinking]
    assert helix * 0.93 < max(turn) <= math.pi * (wide - 6) * math.tan(math.radians(5)) + 1e-3
    assert max(turn) == pytest.approx(helix, abs=0.08) and max(turn) - min(turn) < 1e-3
    assert (
        swept(hole_moves(text), -18.0).symmetric_difference(Point(100, 100).buffer(wide / 2, 256)).area < 0.5
    )


def test_a_milling_cutter_plunges_only_on_request() -> None:
    hole = Hole((100, 100), 6.0)
    _, said = made(hole, cutters=(SIX,))
    found = next(f for f in said if f.rule == "no-cutter")
    assert "write plunges = true for cutter 1" in found.remedy
    willing = SIX.model_copy(update={"plunges": True})
    text, said = made(hole, cutters=(willing,))
    assert errors(said) == [] and [f.rule for f in said if f.rule == "fast-plunge"] == []
    assert min(turning_points(hole_moves(text), 100, 100)) == pytest.approx(-18.3)
    # Pecks as deep as its passes: 20.3 / 6, none more.
    tops = sorted(z for z in turning_points(hole_moves(text), 100, 100))
    assert len([z for z in tops if z < -1]) >= 4


@pytest.mark.parametrize(
    ("drill", "serves"), [(4.41, False), (4.42, True), (4.5, True), (4.53, True), (4.54, False)]
)
def test_a_drill_serves_holes_as_far_as_the_judge_calls_it_neither_gouge_nor_uncut(
    drill: float, serves: bool
) -> None:
    """From 0.08 narrower, of twice the 0.05 that is uncut, to 0.03 wider, of twice the 0.02 of a gouge."""
    near = DRILL.model_copy(update={"diameter": drill})
    _, said = made(Hole((100, 100), 4.5), cutters=(SIX, near))
    assert ("no-cutter" not in [f.rule for f in said]) is serves
    assert [f.rule for f in said if f.level == "error"] == ([] if serves else ["no-cutter", "missing-hole"])
