"""How much clearance joints get, by worked sums."""

from __future__ import annotations

import pytest
from support.fitting import fit_without_mates

from camkit.geometry.path import circle, rectangle
from camkit.job.model import Cutter, Finish, Fit, Machine, Sheet
from camkit.joinery.clearance import Stack, allowance, film_of, play_told, stack
from camkit.joinery.largest import largest_cutter
from camkit.part import Hole, Part

END = Part("end", rectangle(0, 0, 400, 300), (rectangle(100, 50, 190, 68),))


def said(fit: Fit, errors: Stack, thickness: float = 17.6) -> list[tuple[str, str]]:
    findings = play_told(allowance(fit), errors, thickness, fit.finish)
    return [(finding.level, finding.rule) for finding in findings]


def test_errors_add_up_at_worst_and_by_squares_when_independent():
    """0.10 + 0.04 + 0.05 = 0.19; sqrt(0.0100 + 0.0016 + 0.0025) = 0.1187."""
    sheet = Sheet(measured_thickness=(17.6, 17.7, 17.6, 17.5))
    errors = stack(sheet, Machine())
    assert errors.worst == pytest.approx(0.19)
    assert errors.likely == pytest.approx(0.119, abs=5e-4)
    assert stack(sheet, Machine(), after_coupon=True).worst == pytest.approx(0.1)


def test_one_reading_counts_as_the_spread_a_panel_may_have():
    errors = stack(Sheet(measured_thickness=(17.6,)), Machine())
    assert (errors.sheet, errors.assumed) == (0.3, True)


@pytest.mark.parametrize(
    ("on", "closes"), [("tenons and mortises", 0.36), ("tenons", 0.18), ("mortises", 0.18), ("masked", 0.0)]
)
def test_a_finish_closes_a_joint_by_its_coated_walls(on, closes):
    """3 coats x 0.03 x 4 walls = 0.36; a tenon's two faces only, 0.18."""
    assert film_of(Finish(coats=3, film=0.03, on=on)) == pytest.approx(closes)
    assert film_of(None) == 0


def test_the_kind_follows_from_glue_and_the_sign_of_the_clearance():
    assert allowance(Fit()).kind == "knock-down"
    assert allowance(Fit(glue=True)).kind == "glued"
    assert allowance(Fit(clearance=-0.05)).kind == "press"


def test_openings_are_cut_wider_for_the_film_and_say_why(job):
    finish = {"coats": 3, "film": 0.03}
    (joint,) = fit_without_mates([END], job(fit={"clearance": 0.15, "finish": finish})).joints
    assert joint.fitted_mm == pytest.approx(17.6 + 0.15 + 0.36)
    assert joint.clearance_mm == pytest.approx(0.51)
    assert joint.why == "17.60 sheet + 0.15 knock-down + 0.36 finish"
    (joint,) = fit_without_mates([END], job(fit={"clearance": -0.05})).joints
    assert joint.why == "17.60 sheet - 0.05 press"
    double = Part("top", rectangle(0, 0, 400, 300), (rectangle(50, 50, 150, 86),))
    assert (
        fit_without_mates([double], job()).joints[0].why
        == "2 x 17.60 sheet + 0.10 glue line + 0.15 knock-down"
    )


def test_joints_that_may_jam_are_told_with_the_clearance_to_write():
    errors = Stack(0.10, 0.04, 0.05)
    (found,) = play_told(allowance(Fit(clearance=0.15)), errors, 17.6)
    assert (found.level, found.rule) == ("warning", "joints-may-jam")
    assert "errors up to 0.19 at worst and 0.12 likely" in found.message
    assert "about IT13 of ISO 286" in found.message  # 2 x 0.119 = 0.237: over 0.18, under 0.27
    assert found.remedy.startswith("Raise clearance in [fit] to 0.17, or choose thinner tenons")
    (found,) = play_told(allowance(Fit(clearance=0.2)), errors, 17.6)
    assert found.level == "note"
    assert "to 0.24" in found.remedy


def test_the_numbers_to_write_satisfy_the_rule_that_asked_for_them():
    errors = Stack(0.10, 0.04, 0.05)
    assert said(Fit(clearance=0.17), errors) == [("note", "joints-may-jam")]
    assert said(Fit(clearance=0.24), errors) == []
    assert said(Fit(clearance=0.25), errors) == [("warning", "joints-may-rattle")]
    assert said(Fit(clearance=0.2), Stack(0.02)) == []
    (found,) = play_told(allowance(Fit(clearance=0.3)), Stack(0.02), 17.6)
    assert found.remedy == "Lower clearance in [fit] to 0.20"
    assert said(Fit(clearance=0.2, glue=True), Stack(0.02)) == [("warning", "joints-may-rattle")]


def test_an_assumed_spread_asks_for_readings_first():
    (found,) = play_told(allowance(Fit()), Stack(0.3, assumed=True), 17.6)
    assert found.level == "note"
    assert found.remedy.startswith("Measure the sheet at three places or more")


def test_press_joints_are_told_how_tight_and_how_loose():
    (found,) = play_told(allowance(Fit(clearance=-0.05)), Stack(0.1), 17.6)
    assert found.rule == "joints-press"
    assert "from 0.15 tight to 0.05 loose" in found.message


def test_a_film_thicker_than_the_clearance_is_told_once():
    coats = Finish(coats=3, film=0.03)
    (found,) = play_told(allowance(Fit(clearance=0.2, finish=coats)), Stack(0.02), 17.6, coats)
    assert (found.level, found.rule) == ("warning", "film")
    assert "3 coats x 0.03 x 4 walls = 0.36 against 0.20" in found.message
    assert "Mask the joints" in found.remedy
    assert said(Fit(clearance=0.2, finish=Finish(coats=3, film=0.03, on="masked")), Stack(0.02)) == []
    thick = Finish(coats=8, film=0.05)
    assert said(Fit(clearance=0.2, finish=thick), Stack(0.02)) == [("error", "film")]
    assert said(Fit(glue=True, finish=coats), Stack(0.02)) == [("warning", "finish-on-glue")]


def test_the_largest_cutter_is_named_with_the_part_that_sets_it(job):
    """Dogbones merge below 2 sqrt 2 r: 17.75 gives r 6.27, 12.4 in diameter with the relief's allowance."""
    (note,) = [f for f in fit_without_mates([END], job()).findings if f.rule == "largest-cutter"]
    assert (note.part, note.amount_mm) == ("end", 12.4)
    assert note.message.startswith("the largest milling cutter for everything in this drawing is 12.4 mm")


def test_openings_holes_and_inside_curves_limit_the_cutter():
    board = rectangle(0, 0, 400, 300)
    cutters = ()
    slot = Part("vent", board, (rectangle(10, 10, 100, 20),))
    assert largest_cutter([slot], (), cutters).diameter == pytest.approx(8.0, abs=0.11)
    eye = Part("eye", board, (circle((50, 50), 30),), (Hole((200, 200), 5.0),))
    limit = largest_cutter([slot, eye], (), cutters)
    assert (limit.part, limit.diameter, (limit.x, limit.y)) == ("eye", 4.0, (200, 200))
    drill = (Cutter(number=2, kind="drill", diameter=5.0),)
    assert largest_cutter([eye], (), drill).diameter == pytest.approx(24.0, abs=0.11)
    assert largest_cutter([Part("plain", board)], (), cutters) is None


def test_a_clearance_no_larger_than_the_cutters_error_jams_on_any_sheet():
    """A cutter 0.06 small cuts openings 0.06 narrow: a clearance of 0.06 is gone, whatever the sheet."""
    for errors in (Stack(0.0, 0.06), Stack(0.3, 0.06, assumed=True)):
        (found,) = play_told(allowance(Fit(clearance=0.06)), errors, 17.6)
        assert (found.level, found.rule) == ("warning", "joints-may-jam")
        assert "with the smallest cutter in tolerance the walls of an opening touch" in found.message
        assert found.remedy.startswith("Raise clearance in [fit] to")
    (found,) = play_told(allowance(Fit(clearance=0.07)), Stack(0.3, 0.06, assumed=True), 17.6)
    assert (found.level, "touch" in found.message) == ("note", False)
