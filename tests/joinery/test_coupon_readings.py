"""What readings of a coupon mean, by worked sums, and which of them contradict."""

from __future__ import annotations

import re

import pytest
from support.fitting import fit_without_mates

from camkit.errors import InputError
from camkit.geometry.path import rectangle
from camkit.job.load import parse
from camkit.job.measured import Measured
from camkit.joinery.clearance import Stack, allowance, play_told
from camkit.joinery.coupon_readings import clearance_of, coupon_told, machine_errors
from camkit.part import Part

END = Part("end", rectangle(0, 0, 400, 300), (rectangle(100, 50, 190, 68),))
SOUND = {
    "cut_for": 17.6,
    "cutter": 6.0,
    "tongue": 17.62,
    "by_hand": (0.15, 0.10),
    "by_mallet": (0.0, 0.0),
    "widest_slot": (17.95, 17.97),
    "block": (49.93, 49.95),
}


def readings(**changed: object) -> Measured:
    return Measured.model_validate({**SOUND, **changed})


def test_clearance_is_mark_plus_sheet_less_tongue_of_the_looser_axis():
    """Dry: 0.15 + 17.60 - 17.62 = 0.13; press: 0.00 - 0.02 = -0.02; glued, one step looser: 0.03."""
    assert clearance_of(readings(), "knock-down") == pytest.approx(0.13)
    assert clearance_of(readings(), "press") == pytest.approx(-0.02)
    assert clearance_of(readings(), "glued") == pytest.approx(0.03)


def test_without_a_measured_tongue_the_mark_is_the_clearance():
    assert clearance_of(readings(tongue=None), "knock-down") == pytest.approx(0.15)


def test_slot_and_block_tell_cutter_and_backlash_apart():
    """e_slot = -0.05 and -0.03, e_block = -0.07 and -0.05: cutter +0.01 on both, backlash 0.06 and 0.04."""
    errors = machine_errors(readings())
    assert errors.cutter == pytest.approx((0.01, 0.01))
    assert errors.backlash == pytest.approx((0.06, 0.04))
    assert machine_errors(readings(block=None)) is None


def test_a_worn_cutter_leaves_openings_tight_and_parts_large():
    """True diameter 5.94 instead of 6.00, no backlash: slot 18.00 - 0.06, block 50.00 + 0.06."""
    errors = machine_errors(readings(widest_slot=(17.94, 17.94), block=(50.06, 50.06)))
    assert errors.cutter_mean == pytest.approx(-0.06)
    assert errors.backlash == pytest.approx((0, 0))


def test_the_coupon_says_the_clearance_and_the_errors(job):
    said = coupon_told(job(fit={"clearance": 0.2, "measured": SOUND}))
    assert [f.level for f in said] == ["note", "note"]
    assert "knock-down joints get a clearance of 0.13 as a coupon measured: mark 0.15, and -0.02" in (
        said[0].message
    )
    assert "clearance = 0.2 in [fit] is not used" in said[0].message
    assert "cuts 6.01 wide, +0.01 from the diameter entered" in said[1].message
    assert "backlash is 0.06 along X, 0.04 along Y" in said[1].message
    assert coupon_told(job()) == ()


def test_large_errors_are_a_warning_since_outside_sizes_carry_them_too(job):
    worn = {**SOUND, "by_hand": (0.3, 0.3), "widest_slot": (17.8, 17.8), "block": (50.18, 50.18)}
    (_, found) = coupon_told(job(fit={"measured": worn}))
    assert found.level == "warning"
    assert found.remedy == "Write diameter = 5.81 and cut another coupon"
    slack = {**SOUND, "by_hand": (0.3, 0.3), "widest_slot": (17.84, 17.84), "block": (49.84, 49.84)}
    (_, found) = coupon_told(job(fit={"measured": slack}))
    assert found.remedy.startswith("Mend the axis")


def test_joints_are_cut_as_the_coupon_measured_and_say_so(job):
    wanted = job(fit={"clearance": 0.2, "measured": SOUND, "finish": {"coats": 1, "film": 0.02}})
    fitted = fit_without_mates([END], wanted)
    (joint,) = fitted.joints
    assert joint.fitted_mm == pytest.approx(17.6 + 0.13 + 0.08)
    assert joint.why == "17.60 sheet + 0.13 knock-down, measured by coupon + 0.08 finish"


def test_the_machines_share_is_not_added_again(job):
    """0.13 on a sheet that differs by 0.02 is tight with the machine's 0.06 and 0.06 on top, else not."""

    def rules(**asked: object) -> set[str]:
        sheet = {"drawn_thickness": 18.0, "measured_thickness": (17.6, 17.61, 17.59)}
        wanted = job(sheet=sheet, machine={"cutter_error": 0.06, "backlash": 0.06}, fit=asked)
        return {f.rule for f in fit_without_mates([END], wanted).findings}

    assert "joints-may-jam" in rules(clearance=0.13)
    assert {"joints-may-jam", "joints-may-rattle"} & rules(measured=SOUND) == set()


def test_only_thicker_places_of_the_sheet_can_jam_after_a_coupon(job):
    asked = allowance(job(fit={"measured": SOUND}).fit)
    (found,) = play_told(asked, Stack(0.1), 17.6)
    assert (found.level, found.rule) == ("warning", "joints-may-jam")
    assert "where it is up to 0.10 thicker, joints go as much tighter" in found.message
    assert "one step looser under by_hand" in found.remedy
    (found,) = play_told(asked, Stack(0.3, assumed=True), 17.6)
    assert found.level == "note" and found.remedy.startswith("Measure the sheet")
    assert play_told(asked, Stack(0.05), 17.6) == []


CONTRADICTING = {
    "axes differ": (
        {"by_hand": (0.05, 0.15)},
        "by_hand: X 0.05 and Y 0.15 differ by 0.10, over one step: backlash or belt. Mend the axis",
    ),
    "no slot": ({"by_hand": ("none", 0.4)}, "the tongue enters no slot: wrong thickness or cutter"),
    "no slot by mallet": ({"by_mallet": ("none", "none")}, "by_mallet: the tongue enters no slot"),
    "every slot": (
        {"by_hand": (-0.1, -0.05), "by_mallet": (-0.1, -0.1), "tongue": 17.4},
        "the tongue enters every slot by hand: wrong thickness or cutter",
    ),
    "mallet": (
        {"by_mallet": (0.2, 0.15)},
        "along X a mallet needs 0.20, yet by hand 0.15 goes in",
    ),
    "tongue": ({"tongue": 16.9}, "fit.measured.tongue: 16.9 is 0.70 off the sheet of 17.6"),
    "slot misread": ({"widest_slot": (17.95, 17.4)}, "17.4 along Y is far off the 18.00 programmed"),
    "block misread": ({"block": (50.6, 49.95)}, "50.6 along X is far off the 50.00 programmed"),
    "no block": (
        {"block": None},
        "fit.measured.block: is missing: slot and block only tell something together",
    ),
    "no slot width": ({"widest_slot": None}, "fit.measured.widest_slot: is missing"),
    "negative backlash": (
        {"block": (50.25, 49.95)},
        "slot and block along X contradict: they make a backlash of -0.10",
    ),
    "too tight to be true": (
        {"by_hand": (-0.05, -0.05), "by_mallet": (-0.05, -0.1), "tongue": 17.75},
        "along X slot -0.05 must then be 0.25 narrower than the tongue",
    ),
    "too loose to be true": (
        {"by_hand": (0.4, 0.4)},
        "along X slot 0.40 must then be 0.33 wider than the tongue",
    ),
    "no reading by hand": (
        {"by_hand": None},
        "fit.measured.by_hand: is missing, and knock-down joints take their clearance from it",
    ),
}


@pytest.mark.parametrize("name", CONTRADICTING)
def test_readings_that_contradict_are_one_clear_error(job, name):
    changed, words = CONTRADICTING[name]
    wanted = job(fit={"measured": {**SOUND, **changed}})
    with pytest.raises(InputError, match=re.escape(words)):
        coupon_told(wanted)


def test_glued_and_press_joints_need_the_mallet(job):
    for fit_asked in ({"glue": True}, {"clearance": -0.05}):
        with pytest.raises(InputError, match="by_mallet: is missing"):
            coupon_told(job(fit={**fit_asked, "measured": {**SOUND, "by_mallet": None}}))


def test_a_row_that_glues_takes_its_clearance_from_the_mallet_too(job):
    """0.00 by mallet, one step looser, and a tongue 0.02 thicker: 0.03. A clearance of its own stays."""
    row = {"mortise": "end", "glue": True}
    (joint,) = fit_without_mates([END], job(joint=(row,), fit={"measured": SOUND})).joints
    assert joint.why == "17.60 sheet + 0.03 glued, measured by coupon"
    (joint,) = fit_without_mates(
        [END], job(joint=({**row, "clearance": 0.08},), fit={"measured": SOUND})
    ).joints
    assert joint.why == "17.60 sheet + 0.08 glued"
    unread = job(joint=(row,), fit={"measured": {**SOUND, "by_mallet": None}})
    with pytest.raises(InputError, match="by_mallet: is missing, and glued joints take"):
        fit_without_mates([END], unread)


def test_a_coupon_of_another_cutter_does_not_count(job):
    with pytest.raises(InputError, match=r"a cutter of 6 mm, which the job does not have\. Cut a coupon"):
        coupon_told(job(cutters=(6.05,), fit={"measured": SOUND}))


BASE = "[sheet]\nmeasured_thickness = 17.6\n[[cutter]]\nnumber = 1\ndiameter = 6\n[fit.measured]\n"


def test_the_lines_of_the_printed_sheet_are_a_job():
    lines = "cut_for = 17.6\ncutter = 6\ntongue = 17.62\nby_hand = [0.1, 0.15]\nby_mallet = [0, 0.05]\n"
    measured = parse(
        BASE + lines + "widest_slot = [18.02, 18.03]\nblock = [49.96, 49.95]\n", "j"
    ).fit.measured
    assert measured is not None and measured.by_hand == (0.1, 0.15) and measured.by_mallet == (0.0, 0.05)


@pytest.mark.parametrize("wrong", ["0.12", "0.45", "-0.15", '"all"', "true", '"0.1"'])
def test_what_no_slot_is_marked_with_is_refused_with_its_line(wrong):
    text = BASE + f"cut_for = 17.6\ncutter = 6\nby_hand = [0.1, {wrong}]\n"
    with pytest.raises(InputError) as caught:
        parse(text, "job.toml")
    (found,) = caught.value.findings
    assert f'{wrong} is not a mark: from -0.1 to 0.4 by 0.05, or "none"' in found.message
    assert found.line == 9
