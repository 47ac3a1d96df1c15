"""Countersinks measured in the program's text, and what the judge makes of cones."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from support.replayed import Move, replay
from support.router import placed, plate

from camkit.errors import Finding
from camkit.job.model import Cutter, Job, Sheet
from camkit.part import Countersink, Hole
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (500.0, 400.0)
THICKNESS = 18.0
SIX = Cutter(number=1, diameter=6.0, kind="upcut spiral")
DRILL = Cutter(number=2, diameter=4.5, kind="drill")
WIDE = Cutter(number=3, diameter=12.0, kind="v-groove")
NARROW = Cutter(number=4, diameter=6.0, kind="v-groove")
PART = plate(50, 50, 300, 200)


def sunk(hole: Hole, *cutters: Cutter) -> tuple[str, list[Finding]]:
    """The program of a plate with the hole, and all that plan and judge say of it."""
    part = plate(50, 50, 300, 200, holes=(hole,))
    job = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=cutters)
    planned = plan(placed(part), job, SIZE, THICKNESS)
    text = write(planned.cuts, job, job.sheet[0], name="test", size=SIZE)
    said = judge(text, placed(part), job, sheet_size=SIZE, thickness=THICKNESS).verdict
    return text, [*planned.findings, *said.findings]


def wrong(findings: list[Finding]) -> list[str]:
    return [finding.rule for finding in findings if finding.level != "note"]


def judged(text: str, hole: Hole) -> list[str]:
    part = plate(50, 50, 300, 200, holes=(hole,))
    job = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=(SIX, DRILL, WIDE))
    return wrong(list(judge(text, placed(part), job, sheet_size=SIZE, thickness=THICKNESS).verdict.findings))


def sinking(text: str, *cutters: Cutter) -> list[Move]:
    """The moves of the first countersink."""
    lines = text.splitlines()
    first = next(i for i, line in enumerate(lines, 1) if " COUNTERSINK " in line)
    last = next((i for i, row in enumerate(lines, 1) if i > first and row.startswith("(CU")), len(lines))
    return [m for m in replay(text, {c.number: c.diameter for c in cutters}) if first < m.line < last]


# DIN 74-1:1980 form A, medium: screw, clearance hole, countersink, depth about (a copy on scribd).
DIN_74 = [
    (3.0, 3.4, 6.5, 1.6),
    (3.5, 3.9, 7.6, 1.9),
    (4.0, 4.5, 8.6, 2.1),
    (4.5, 5.0, 9.5, 2.3),
    (5.0, 5.5, 10.4, 2.5),
    (5.5, 6.0, 11.4, 2.7),
    (6.0, 6.6, 12.4, 2.9),
]


@pytest.mark.parametrize(("screw", "bore", "rim", "depth"), DIN_74)
def test_depths_are_those_of_the_standards_table(screw: float, bore: float, rim: float, depth: float) -> None:
    del screw
    assert Hole((0, 0), bore, None, Countersink(rim)).sink_depth() == pytest.approx(depth, abs=0.0501)


def test_a_wide_cutter_plunges_until_its_cone_is_as_wide_as_the_rim_and_does_not_stay() -> None:
    """8.6 at 90 degrees: the tip 4.3 down, in the hole of 4.5 that is drilled before."""
    hole = Hole((100, 100), 4.5, None, Countersink(8.6))
    text, said = sunk(hole, SIX, DRILL, WIDE)
    assert wrong(said) == []
    assert text.index(" HOLE ") < text.index(" COUNTERSINK ") < text.index(" PROFILE ")
    assert "G4 " not in text
    here = np.concatenate([m.points for m in sinking(text, SIX, DRILL, WIDE)])
    assert here[:, 2].min() == pytest.approx(-4.3, abs=1e-4)
    assert (here[here[:, 2] < 0][:, :2] == (100, 100)).all()
    assert f"G1 Z0.5 F{WIDE.plunge:g}\nG1 Z-4.3\nG0 Z15" in text


def test_a_narrow_cutter_goes_round_as_deep_as_its_cone_and_makes_the_same_cone() -> None:
    """6 wide: 3 deep, on a circle of 4.3 - 3 = 1.3; at every depth the rim lies 4.3 - z from the middle."""
    hole = Hole((100, 100), 4.5, None, Countersink(8.6))
    text, said = sunk(hole, SIX, DRILL, NARROW)
    assert wrong(said) == []
    moves = sinking(text, SIX, DRILL, NARROW)
    around = np.concatenate([m.points for m in moves if len(m.points) > 2])
    assert around[:, 2] == pytest.approx(-3.0, abs=1e-4)
    assert np.hypot(*(around[:, :2] - 100).T) == pytest.approx(1.3, abs=2e-4)
    turned = sum(float(np.linalg.norm(b - a)) for a, b in pairwise(around[:, :2]))
    assert turned == pytest.approx(2 * math.pi * 1.3, rel=1e-3)
    # One turn sweeps the wood from the wall of the hole to the rim: 3 - z on both sides of the path.
    for z in (0.0, 1.0, 2.0):
        assert 1.3 - (3 - z) <= 2.25 and 1.3 + (3 - z) == pytest.approx(4.3 - z)


def test_a_blind_hole_keeps_its_floor_and_a_steeper_angle_its_own_cutter() -> None:
    shallow = Hole((100, 100), 4.5, 4.0, Countersink(8.6))
    text, said = sunk(shallow, SIX, DRILL, WIDE)
    assert wrong(said) == []
    assert min(m.points[:, 2].min() for m in sinking(text, SIX, DRILL, WIDE)) == pytest.approx(-4.0)
    sharp = WIDE.model_copy(update={"point_angle": 60.0})
    text, said = sunk(Hole((100, 100), 4.5, None, Countersink(8.6, 60.0)), SIX, DRILL, WIDE, sharp)
    assert wrong(said) == []
    deep = 4.3 / math.tan(math.radians(30))
    assert min(m.points[:, 2].min() for m in sinking(text, SIX, DRILL, sharp)) == pytest.approx(
        -deep, abs=1e-4
    )


@pytest.mark.parametrize("cutter", [SIX, WIDE.model_copy(update={"point_angle": 60.0})])
def test_a_countersink_that_no_cutter_makes_is_an_error_that_names_the_cutter(cutter: Cutter) -> None:
    hole = Hole((100, 100), 4.5, None, Countersink(8.6))
    others = (DRILL,) if cutter == SIX else (SIX, DRILL)
    _, said = sunk(hole, *others, cutter)
    found = next(f for f in said if f.rule == "no-cutter")
    assert (
        found.message == "no cutter on hand makes a countersink of 8.6 mm, 90 degrees, about a hole of 4.5 mm"
    )
    assert "point_angle = 90 and a diameter of 4.1 mm or more" in found.remedy
    assert "uncut" in wrong(said)


def test_the_judge_tells_cones_too_deep_too_shallow_and_beside_their_place() -> None:
    """0.03 deeper is 0.03 of radius more, over the 0.02 of a gouge; 0.1 short is over the 0.05 of uncut."""
    hole = Hole((100, 100), 4.5, None, Countersink(8.6))
    text, _ = sunk(hole, SIX, DRILL, WIDE)
    first = text.index(" COUNTERSINK ")
    for z, rules in (("Z-4.315", []), ("Z-4.33", ["gouge"]), ("Z-4.2", ["uncut"]), ("Z-4.27", [])):
        assert judged(text[:first] + text[first:].replace("Z-4.3", z, 1), hole) == rules
    for away, rules in (("G0 X100.01\nG0 Z2", []), ("G0 X100.03\nG0 Z2", ["gouge"])):
        assert judged(text[:first] + text[first:].replace("G0 Z2", away, 1), hole) == rules
    # Over a plain hole the cone bites: 4.3 - 2.25 wide, as far as it is deep.
    assert judged(text, Hole((100, 100), 4.5)) == ["gouge"]
    # A flat cutter as wide as the rim makes no cone.
    job = Job(
        sheet=Sheet(measured_thickness=(THICKNESS,)),
        cutter=(SIX, DRILL, Cutter(number=3, diameter=8.6, kind="straight")),
    )
    part = plate(50, 50, 300, 200, holes=(hole,))
    flat = text[:first] + text[first:].replace("Z-4.3", "Z-2.05", 1)
    said = judge(flat, placed(part), job, sheet_size=SIZE, thickness=THICKNESS).verdict.findings
    assert {f.rule for f in said if f.level == "error"} == {"gouge"}


def test_without_countersinks_nothing_changes_and_a_v_groove_cutter_makes_nothing_else() -> None:
    text, said = sunk(Hole((100, 100), 12.0), SIX, WIDE)
    assert wrong(said) == []
    assert "T3" not in text
