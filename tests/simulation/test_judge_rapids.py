"""Rules `rapid-in-stock` and `rapid-plunge`: G0 where wood still is."""

import pytest
from support.router import Router, job, placed, plate

from camkit.errors import Finding
from camkit.job.machine import Cutter
from camkit.simulation.judge import judge

SHEET = (400.0, 300.0)
SHELF = plate(50, 50)


def rapids(*lines: str, sheet: tuple[float, float] = SHEET, router: Router | None = None) -> list[Finding]:
    """Findings about rapids of a sound program with lines behind it, which begin at X300 Y200 Z15."""
    router = router or Router().around(50, 50, 250, 150)
    router.say("G0 X300 Y200", *lines)
    verdict = judge(router.text(), placed(SHELF), job(), sheet_size=sheet, thickness=18.0).verdict
    assert {f.rule for f in verdict.findings} <= {"rapid-in-stock", "rapid-plunge"}
    return list(verdict.findings)


def test_a_rapid_down_into_wood():
    (finding,) = rapids("G0 Z-3")
    assert finding.rule == "rapid-plunge"
    assert finding.line == len(Router().around(50, 50, 250, 150).lines) + 2
    assert (finding.amount_mm, finding.z_mm) == (3.0, -3.0)
    assert (finding.x_mm, finding.y_mm) == pytest.approx((300, 200), abs=3)


def test_a_rapid_across_wood():
    (finding,) = rapids("G1 Z-3 F900", "G0 X350")
    assert finding.rule == "rapid-in-stock"
    assert finding.amount_mm == 3.0
    assert 300 <= finding.x_mm <= 353


def test_a_rapid_that_slopes_down_into_wood():
    assert [f.rule for f in rapids("G0 X350 Z-3")] == ["rapid-plunge"]


def test_a_rapid_that_slopes_up_out_of_wood_drags_through_it():
    assert [f.rule for f in rapids("G1 Z-3 F900", "G0 X350 Z15")] == ["rapid-in-stock"]


def test_straight_up_is_free():
    assert rapids("G1 Z-10 F900", "G0 Z-5", "Z15") == []


@pytest.mark.parametrize("height", ["Z0", "Z0.5", "Z-0.015"])
def test_on_the_sheet_and_above_it_all_is_free(height):
    assert rapids(f"G0 {height}", "X350") == []


def test_where_it_was_cut_before_a_rapid_is_free():
    slot = ("G1 Z-6 F900", "X350 F3600", "G0 Z15", "X300")
    assert rapids(*slot, "Z-6", "X350") == []
    assert rapids(*slot, "X320 Z-5") == []
    assert [f.rule for f in rapids(*slot, "Z-6.5")] == ["rapid-plunge"]
    assert [f.rule for f in rapids(*slot, "Z-6", "X351")] == ["rapid-in-stock"]


def test_what_is_cut_later_does_not_count():
    found = rapids("G0 Z-3", "X320", "Z15", "X300", "G1 Z-3 F900", "X320 F3600")
    assert [f.rule for f in found] == ["rapid-in-stock", "rapid-plunge"]


def test_beside_the_sheet_there_is_no_wood():
    assert rapids("G0 X-20", "Z-10", "Y100") == []
    assert [f.rule for f in rapids("G0 X-20", "Z-10", "X-1")] == ["rapid-in-stock"]


def test_peck_drilling_returns_into_its_own_hole():
    assert rapids("G83 X300 Y200 Z-15 R2 Q3 F600", "X320", "G80") == []


def test_a_wider_cutter_does_not_fit_the_slot_of_a_narrow_one():
    router = Router(diameter=3.0, cutter=2).say(
        "G0 X300 Y250", "G1 Z-6 F900", "X350 F3000", "G0 Z15", "T1 M6"
    )
    router.diameter = 6.0
    router.say("S18000 M3").around(50, 50, 250, 150).say("G0 X300 Y250", "Z-5")
    cutters = (Cutter(number=1, diameter=6.0), Cutter(number=2, diameter=3.0))
    verdict = judge(router.text(), placed(SHELF), job(*cutters), sheet_size=SHEET, thickness=18.0).verdict
    assert [f.rule for f in verdict.findings] == ["rapid-plunge"]


def test_many_rapids_of_one_cause_are_one_finding():
    (finding,) = rapids("G1 Z-3 F900", *(f"G0 X{x}" for x in range(305, 350, 5)))
    assert "9 lines" in finding.message


def test_hundreds_of_bad_rapids_stay_quick_and_few():
    moves = [f"G0 X{300 + n % 50} Y{200 + n / 10}" for n in range(800)]
    assert 1 <= len(rapids("G1 Z-3 F900", *moves, "G0 Z15")) <= 10
