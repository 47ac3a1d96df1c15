"""Rule `fixture-hit`: clamps, screws and pods that the text would run into, planted one at a time."""

from __future__ import annotations

import pytest
from support.router import Router, job, placed, plate

from camkit.job.fixtures import HoldDown, KeepOut
from camkit.job.model import Job
from camkit.simulation.judge import judge

PART = plate(50, 50)


def clamp(x0: float, y0: float, x1: float, y1: float, height: float = 10.0) -> KeepOut:
    return KeepOut(kind="clamp", box=(x0, y0, x1, y1), height=height)


def hits(text: str, own: Job) -> list[tuple[float | None, str]]:
    """Amount and message of each fixture-hit; no other error is found."""
    said = judge(text, placed(PART), own, sheet_size=(400, 300), thickness=18).verdict.findings
    assert {f.rule for f in said if f.level == "error"} <= {"fixture-hit"}
    return [(f.amount_mm, f.message) for f in said if f.rule == "fixture-hit"]


def with_keep_outs(*rows: KeepOut, hold: HoldDown | None = None) -> Job:
    return job().model_copy(update={"keep_out": rows, "hold_down": hold})


def outline() -> Router:
    """Around the plate from (50, 50) to (250, 150): the rim of the cutter comes to 6.005 off it."""
    return Router().around(50, 50, 250, 150)


def test_a_clamp_clear_of_the_cutter_is_no_fault_and_one_in_its_way_is_told_with_its_depth() -> None:
    assert hits(outline().text(), with_keep_outs(clamp(0, 80, 43.9, 120))) == []
    ((amount, said),) = hits(outline().text(), with_keep_outs(clamp(0, 80, 45, 120)))
    assert amount == pytest.approx(45 - 43.995, abs=1e-3)
    assert "mm into the clamp at (0, 80)" in said
    round_one = KeepOut(kind="screw", at=(30, 100), diameter=27.9, height=4.0, name="stop")
    assert hits(outline().text(), with_keep_outs(round_one)) == []
    ((amount, said),) = hits(
        outline().text(), with_keep_outs(round_one.model_copy(update={"diameter": 29.0}))
    )
    assert amount == pytest.approx(44.5 - 43.995, abs=1e-3) and "screw 'stop'" in said


def test_travel_below_a_clamps_height_hits_it_and_above_it_does_not() -> None:
    """The way from the rest to the plate leads over (0, 0) to (40, 40) at 15, or at 9."""
    over = clamp(10, 10, 40, 40, height=12.0)
    high = Router().say("G0 X5 Y5", "G0 X45 Y45 Z15", "G0 X46.995 Y50").around(50, 50, 250, 150)
    assert hits(high.text(), with_keep_outs(over)) == []
    low = Router().say("G0 X5 Y5", "G0 Z9", "G0 X45 Y45", "G0 Z15").around(50, 50, 250, 150)
    ((amount, _),) = hits(low.text(), with_keep_outs(over))
    assert amount == pytest.approx(3.0, abs=1e-3)
    assert hits(low.text(), with_keep_outs(clamp(10, 10, 40, 40, height=8.9))) == []


def test_a_pod_is_met_by_what_comes_through_and_by_nothing_else() -> None:
    inside = KeepOut(kind="pod", at=(150, 100), diameter=90.0)
    assert hits(outline().text(), with_keep_outs(inside)) == []
    under = KeepOut(kind="pod", box=(40, 80, 60, 120))
    ((amount, said),) = hits(outline().text(), with_keep_outs(under))
    assert amount == pytest.approx(3.0) and "the pod at (40, 80)" in said
    # Its through passes alone, not those that end in the sheet.
    shallow = Router().say("G0 X46.995 Y60", "G1 Z-17.9 F900", "G1 Y140", "G0 Z15")
    text = shallow.around(50, 50, 250, 150).text()
    ((_, said),) = hits(text, with_keep_outs(under))
    assert "lines from" not in said


def test_hold_down_screws_stand_where_the_text_has_drilled_them_from_then_on() -> None:
    hold = HoldDown()
    drilled = ["(CUT 1 HOLD-DOWN SHEET 1)", "G0 X20 Y100", "G0 Z2", "G1 Z-18.2 F900", "G0 Z15", "M5", "M0"]

    def program(*after: str) -> str:
        router = Router().say(*drilled, "S18000 M3", "(CUT 2 PROFILE SHELF 1)", *after)
        return router.around(50, 50, 250, 150).text()

    # Drilling them is no hit, nor is what keeps clear; travel at 3 over a head of 4 is.
    assert hits(program(), with_keep_outs(hold=hold)) == []
    ((amount, said),) = hits(program("G0 X10 Y100", "G0 Z3", "G0 X30", "G0 Z15"), with_keep_outs(hold=hold))
    assert amount == pytest.approx(3.0, abs=1e-2) and "the hold-down screw at (20.0, 100.0)" in said
    # Without marks the job's places count, from the beginning.
    low = Router().say("G0 X10 Y100", "G0 Z3", "G0 X30", "G0 Z15").around(50, 50, 250, 150).text()
    assert hits(low, with_keep_outs(hold=hold)) == []
    assert len(hits(low, with_keep_outs(hold=HoldDown(places=((20, 100),))))) == 1
