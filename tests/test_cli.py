"""The commands: their statuses, their words for bad input, and what they leave on disk."""

from __future__ import annotations

import json
import os
import pathlib
import shutil
import subprocess
import sys
from typing import Any

import ezdxf
import numpy as np
import pytest
from click.testing import CliRunner, Result
from support.places import DEMO
from support.replayed import replay

from camkit.cli import main

PLATE_JOB = """
[sheet]
size = [400, 300]
measured_thickness = 12
[[cutter]]
number = 1
diameter = 6
[drawings]
files = ["plate.dxf"]
"""


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def plate(tmp_path: pathlib.Path) -> pathlib.Path:
    """A folder with a job of one plate, 200 x 120, with an opening of 60 x 40 and a hole of 10."""
    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    for x0, y0, x1, y1 in ((50, 50, 250, 170), (80, 80, 140, 120)):
        space.add_lwpolyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True)
    space.add_circle((200, 100), 5)
    drawing.saveas(tmp_path / "plate.dxf")
    (tmp_path / "job.toml").write_text(PLATE_JOB, encoding="utf-8")
    return tmp_path


def changed(folder: pathlib.Path, old: str, new: str) -> pathlib.Path:
    job = folder / "job.toml"
    text = job.read_text(encoding="utf-8")
    assert old in text
    job.write_text(text.replace(old, new), encoding="utf-8")
    return job


def test_cut_writes_program_report_preview_and_pictures_and_ends_with_0(plate: pathlib.Path) -> None:
    result = run("cut", plate / "job.toml")
    assert result.exit_code == 0
    assert sorted(p.name for p in (plate / "job-cut").iterdir()) == [
        "job-1.nc",
        "preview.html",
        "report.json",
        "sheet-1.png",
        "sheet-1.svg",
    ]
    assert "Sound" in result.stdout and "400 x 300" in result.stdout


def test_cut_json_is_one_object_and_nothing_else(plate: pathlib.Path) -> None:
    result = run("cut", plate / "job.toml", "--json")
    said = json.loads(result.stdout)
    assert [p["ok"] for p in said["programs"]] == [True]
    assert said == json.loads((plate / "job-cut" / "report.json").read_text("utf-8"))


def test_an_option_overrules_the_job_and_the_report_says_so(plate: pathlib.Path) -> None:
    result = run("cut", plate / "job.toml", "--thickness", "11.6", "--json")
    said = json.loads(result.stdout)
    assert said["sheets"][0]["thickness_mm"] == 11.6
    assert any("--thickness" in f["message"] for f in said["findings"])


def test_a_drawing_alone_is_cut_with_thickness_and_cutter(plate: pathlib.Path) -> None:
    words = ("cut", plate / "plate.dxf", "--thickness", "12", "--cutter", "6", "--out", plate / "out")
    assert run(*words).exit_code == 0
    assert (plate / "out" / "plate-1.nc").exists()


def test_a_refused_cut_leaves_no_program_not_even_an_earlier_one(plate: pathlib.Path) -> None:
    """A cutter wider than the hole: status 1, the text as .refused.txt, the earlier program set aside."""
    assert run("cut", plate / "job.toml").exit_code == 0
    earlier = (plate / "job-cut" / "job-1.nc").read_text("utf-8")
    result = run("cut", changed(plate, "diameter = 6", "diameter = 16"))
    assert result.exit_code == 1
    assert "no cutter on hand makes a hole of 10 mm" in result.stdout
    left = {p.name for p in (plate / "job-cut").iterdir()}
    assert "job-1.nc" not in left
    assert left >= {"job-1.nc.old", "job-1.refused.txt", "report.json", "preview.html"}
    assert (plate / "job-cut" / "job-1.nc.old").read_text("utf-8") == earlier
    assert run("cut", changed(plate, "diameter = 16", "diameter = 6")).exit_code == 0
    left = {p.name for p in (plate / "job-cut").iterdir()}
    assert "job-1.nc" in left and "job-1.refused.txt" not in left


def test_a_cut_that_breaks_off_leaves_no_program_of_an_earlier_run(plate: pathlib.Path) -> None:
    assert run("cut", plate / "job.toml").exit_code == 0
    (plate / "plate.dxf").write_text("not a drawing", encoding="utf-8")
    assert run("cut", plate / "job.toml").exit_code == 2
    assert not list((plate / "job-cut").glob("*.nc"))
    assert [p.name for p in (plate / "job-cut").glob("*.old")] == ["job-1.nc.old"]


def test_coupon_writes_its_drawing_program_and_page(plate: pathlib.Path) -> None:
    result = run("coupon", plate / "job.toml", "--sheet", "500x300")
    assert result.exit_code == 0, result.output
    left = {p.name for p in (plate / "job-coupon").iterdir()}
    assert left >= {"coupon-1.nc", "coupon.dxf", "coupon.html", "report.json", "preview.html", "sheet-1.png"}
    said = json.loads(run("coupon", plate / "job.toml", "--sheet", "500x300", "--json").stdout)
    assert {part["name"] for part in said["parts"]} == {"slots X", "slots Y", "tongue", "block"}


def test_a_coupon_that_cannot_be_cut_ends_with_1_and_leaves_no_program(plate: pathlib.Path) -> None:
    assert run("coupon", plate / "job.toml", "--sheet", "500x300").exit_code == 0
    result = run("coupon", changed(plate, "diameter = 6", "diameter = 16"))
    assert result.exit_code == 1
    assert "no milling cutter of the job makes the coupon's narrowest slot of 11.90 mm" in result.stderr
    assert not list((plate / "job-coupon").glob("*.nc"))


def test_a_coupon_needs_a_job(plate: pathlib.Path) -> None:
    result = run("coupon", plate / "plate.dxf", "--thickness", "12", "--cutter", "6")
    assert result.exit_code == 2 and "a coupon is cut for a job" in result.stderr


def test_of_several_sheets_one_gets_the_coupon(plate: pathlib.Path) -> None:
    sheets = (
        "[[sheet]]\nname = '{}'\nmeasured_thickness = {}\n[[sheet]]\nname = 'thin'\nmeasured_thickness = 9\n"
    )
    old = "[sheet]\nsize = [400, 300]\nmeasured_thickness = 12\n"
    job = changed(plate, old, sheets.format("thick", 12))
    rows = "".join(f"[[part]]\nname = 'p{n}'\nat = [60, 60]\nsheet = '{n}'\n" for n in ("thick", "thin"))
    job.write_text(job.read_text("utf-8") + rows, encoding="utf-8")
    unsaid = run("coupon", job)
    assert unsaid.exit_code == 2 and 'Say --of "thick" or --of "thin"' in unsaid.stderr
    assert run("coupon", job, "--of", "thicc").exit_code == 2
    said = json.loads(run("coupon", job, "--of", "thin", "--json").stdout)
    assert said["sheets"][0]["thickness_mm"] == 9.0


READINGS = "[fit.measured]\ncut_for = 12\ncutter = 6\ntongue = 11.98\nby_hand = [0.1, 0.1]\n"


def test_cut_takes_the_clearance_that_the_coupon_measured(plate: pathlib.Path) -> None:
    """0.10 + 12.00 - 11.98 = 0.12, in the report and behind every joint."""
    drawing = ezdxf.readfile(plate / "plate.dxf")
    space = drawing.modelspace()
    space.add_lwpolyline([(150, 130), (190, 130), (190, 142), (150, 142)], close=True)
    tenon = [
        (300, 60),
        (380, 60),
        (380, 110),
        (359.8, 110),
        (359.8, 122),
        (320.1, 122),
        (320.1, 110),
        (300, 110),
    ]
    space.add_lwpolyline(tenon, close=True)
    drawing.saveas(plate / "plate.dxf")
    changed(plate, "measured_thickness = 12", "measured_thickness = 12\ndrawn_thickness = 12")
    (plate / "job.toml").write_text((plate / "job.toml").read_text("utf-8") + READINGS, encoding="utf-8")
    said = json.loads(run("cut", plate / "job.toml", "--json").stdout)
    assert said["fit"] == {"kind": "knock-down", "clearance_mm": 0.12, "film_mm": 0.0, "measured": True}
    (mortise,) = [joint for joint in said["joints"] if joint["kind"] == "mortise"]
    assert mortise["clearance_mm"] == 0.12
    assert mortise["why"] == "12.00 sheet + 0.12 knock-down, measured by coupon"
    assert any("as a coupon measured: mark 0.10, and +0.02" in f["message"] for f in said["findings"])


def test_readings_that_contradict_stop_with_words_before_anything_is_cut(plate: pathlib.Path) -> None:
    text = (plate / "job.toml").read_text("utf-8") + READINGS.replace("[0.1, 0.1]", "[0.1, 0.2]")
    (plate / "job.toml").write_text(text, encoding="utf-8")
    result = run("cut", plate / "job.toml")
    assert result.exit_code == 2
    assert "fit.measured.by_hand: X 0.10 and Y 0.20 differ by 0.10" in result.stderr
    assert "backlash or belt. Mend the axis first" in result.stderr
    assert not list(plate.glob("job-cut/*.nc"))
    assert run("coupon", plate / "job.toml", "--sheet", "500x300").exit_code == 0  # to measure again


BAD_JOBS: dict[str, tuple[str, str, int, str]] = {
    "unknown key": ("diameter = 6", "diametre = 6", 2, "diametre"),
    "negative thickness": ("measured_thickness = 12", "measured_thickness = -12", 2, "measured_thickness"),
    "unreadable unit": ("diameter = 6", 'diameter = "6 parsec"', 2, "6 parsec"),
    "decimal comma": ("measured_thickness = 12", 'measured_thickness = "11,6 mm"', 2, "11,6 mm"),
    "missing drawing": ("plate.dxf", "gone.dxf", 2, "gone.dxf"),
    "cutter wider than an opening": ("diameter = 6", "diameter = 45", 1, "an opening of 60 x 40 mm"),
}


@pytest.mark.parametrize("name", BAD_JOBS)
def test_a_bad_job_ends_in_one_clear_message(plate: pathlib.Path, name: str) -> None:
    old, new, status, word = BAD_JOBS[name]
    result = run("cut", changed(plate, old, new))
    assert result.exit_code == status
    assert word in result.output
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert not list(plate.glob("job-cut/*.nc"))


@pytest.mark.parametrize(
    ("what", "word"),
    [
        ("missing.dxf", "missing.dxf"),
        ("empty.dxf", "empty"),
        ("folder.dxf", "folder"),
        ("words.dxf", "words.dxf"),
    ],
)
@pytest.mark.parametrize("command", ["inspect", "cut"])
def test_a_bad_drawing_ends_with_2_and_words(plate: pathlib.Path, what: str, word: str, command: str) -> None:
    (plate / "empty.dxf").touch()
    (plate / "folder.dxf").mkdir()
    (plate / "words.dxf").write_text("nothing like a drawing\n" * 5, encoding="utf-8")
    more = ("--thickness", "12", "--cutter", "6") if command == "cut" else ()
    result = run(command, plate / what, *more)
    assert result.exit_code == 2
    assert word in result.stderr and result.stderr.count("error:") == 1
    assert "Traceback" not in result.output


def test_a_failing_command_with_json_prints_json(plate: pathlib.Path) -> None:
    result = run("inspect", plate / "missing.dxf", "--json")
    assert result.exit_code == 2
    assert json.loads(result.stdout)["ok"] is False


def test_inspect_lists_parts_and_draws_them(plate: pathlib.Path) -> None:
    result = run("inspect", plate / "plate.dxf", "--picture", plate / "seen.svg")
    assert result.exit_code == 0
    assert "200 x 120" in result.stdout and "of 10" in result.stdout
    assert (plate / "seen.svg").read_text("utf-8").startswith("<svg")


def test_inspect_writes_a_clean_drawing_and_says_how_a_job_reads_it(plate: pathlib.Path) -> None:
    """The lines that it prints are a job's [layers]: with them pockets come back as pockets."""
    layers = '[layers]\n"0" = { pocket = 4.5 }\n'
    (plate / "job.toml").write_text(PLATE_JOB + layers, encoding="utf-8")
    drawing = ezdxf.readfile(plate / "plate.dxf")
    space = drawing.modelspace()
    drawing.layers.add("outer")
    space.query("LWPOLYLINE")[0].dxf.layer = "outer"
    drawing.saveas(plate / "plate.dxf")
    first = run("inspect", plate / "plate.dxf", "--job", plate / "job.toml", "--write", plate / "clean.dxf")
    assert first.exit_code == 0
    said = first.stdout[first.stdout.index("[layers]") :]
    (plate / "again.toml").write_text(PLATE_JOB + said, encoding="utf-8")
    words = ("inspect", plate / "clean.dxf", "--job", plate / "again.toml", "--json")
    (drawing_said,) = json.loads(run(*words).stdout)["drawings"]
    (part,) = drawing_said["parts"]
    assert [pocket["depth_mm"] for pocket in part["pockets"]] == [4.5, 4.5]
    assert part["bounds_mm"] == [50, 50, 250, 170]


def test_inspect_never_writes_over_a_drawing(plate: pathlib.Path) -> None:
    before = (plate / "plate.dxf").read_bytes()
    result = run("inspect", plate / "plate.dxf", "--write", plate / "plate.dxf")
    assert result.exit_code == 2 and "is the drawing that was read, and is kept" in result.stderr
    assert (plate / "plate.dxf").read_bytes() == before


def test_inspect_json_stays_one_object_when_files_are_written(plate: pathlib.Path) -> None:
    result = run("inspect", plate / "plate.dxf", "--json", "--write", plate / "clean.dxf")
    assert json.loads(result.stdout)["drawings"] and "[layers]" in result.stderr


def test_inspect_says_when_an_option_overrules_the_job(plate: pathlib.Path) -> None:
    job = changed(plate, "files =", 'unit = "cm"\nfiles =')
    result = run("inspect", plate / "plate.dxf", "--job", job, "--unit", "mm")
    assert "200 x 120" in result.stdout
    assert '--unit overrules drawings.unit: "mm" instead of "cm"' in result.stdout
    assert "2000 x 1200" in run("inspect", plate / "plate.dxf", "--job", job).stdout


def test_inspect_of_a_drawing_without_parts_is_one_object_and_ends_with_2(plate: pathlib.Path) -> None:
    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_line((0, 0), (300, 0))
    drawing.saveas(plate / "line.dxf")
    result = run("inspect", plate / "line.dxf", "--json", "--picture", plate / "line.svg")
    assert result.exit_code == 2 and "no closed outline was found" in result.stderr
    assert json.loads(result.stdout)["drawings"][0]["parts"] == []
    assert "stroke-dasharray" in (plate / "line.svg").read_text("utf-8")


def test_inspect_json_follows_the_contract(plate: pathlib.Path) -> None:
    (drawing,) = json.loads(run("inspect", plate / "plate.dxf", "--json").stdout)["drawings"]
    (part,) = drawing["parts"]
    assert (drawing["unit"], drawing["unit_from"]) == ("mm", "header")
    # 200 x 120 less 60 x 40 less a circle of 10.
    assert part["area_mm2"] == pytest.approx(24000 - 2400 - 78.53982, abs=0.01)
    assert part["perimeter_mm"] == pytest.approx(640)
    assert part["holes"] == [{"x_mm": 200, "y_mm": 100, "diameter_mm": 10, "depth_mm": None}]


def test_what_needs_the_other_face_is_refused_by_name_unless_rows_name_the_parts(
    tmp_path: pathlib.Path,
) -> None:
    """A pocket drawn in the rear view alone; with a row the front is cut, and the pocket is warned of."""
    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    for x, name in ((20, "front view"), (260, "rear view")):
        space.add_lwpolyline([(x, 20), (x + 200, 20), (x + 200, 120), (x, 120)], close=True)
        space.add_text(name).set_placement((x + 50, 130))
    pocket = [(300, 40), (330, 40), (330, 90), (300, 90)]
    space.add_lwpolyline(pocket, close=True, dxfattribs={"layer": "pocket"})
    drawing.saveas(tmp_path / "plate.dxf")
    job = tmp_path / "job.toml"
    text = PLATE_JOB.replace("[400, 300]", "[500, 300]") + "[layers]\npocket = { pocket = 5 }\n"
    job.write_text(text, encoding="utf-8")
    refused = run("cut", job)
    assert refused.exit_code == 1
    assert "belong to the other face: pocket 30.0 x 50.0 at (315.0, 65.0)" in refused.stdout
    assert not list((tmp_path / "job-cut").glob("*.nc"))
    job.write_text(text + "[[part]]\nname = 'front'\nat = [30, 30]\n", encoding="utf-8")
    taken = run("cut", job)
    assert taken.exit_code == 0 and "warning: " in taken.stdout and "other face" in taken.stdout


def test_check_judges_the_text_on_disk(plate: pathlib.Path) -> None:
    run("cut", plate / "job.toml")
    program = plate / "job-cut" / "job-1.nc"
    assert run("check", program, "--job", plate / "job.toml").exit_code == 0
    program.write_text(program.read_text("utf-8").replace("M3", "M5"), encoding="utf-8")
    result = run("check", program, "--job", plate / "job.toml", "--json")
    said = json.loads(result.stdout)
    assert result.exit_code == 1 and said["ok"] is False
    assert "spindle-stopped" in {f["rule"] for f in said["findings"]}


def test_separate_programs_are_written_reported_and_checked_in_running_order(plate: pathlib.Path) -> None:
    """A hole of 10 for the drill, then the rest: two programs, neither of which is enough alone."""
    drill = "[[cutter]]\nnumber = 2\nkind = 'drill'\ndiameter = 10\npoint_angle = 180\n"
    machine = "[machine]\ncutter_change = 'separate programs'\n"
    job = changed(plate, "[drawings]", f"{drill}{machine}[drawings]")
    done = run("cut", job)
    assert done.exit_code == 0, done.output
    first, second = (plate / "job-cut" / f"job-1-{k}.nc" for k in (1, 2))
    assert not (plate / "job-cut" / "job-1.nc").exists()
    rows = json.loads((plate / "job-cut" / "report.json").read_text("utf-8"))
    assert [(p["program"], p["sheet"]) for p in rows["programs"]] == [(first.name, 1), (second.name, 1)]
    assert [[c["number"] for c in p["cutters"]] for p in rows["programs"]] == [[2], [1]]
    assert [(c["number"], c["program"]) for c in rows["cuts"]] == [
        (1, first.name),
        (2, second.name),
        (3, second.name),
    ]
    assert "(Program 2 of 2 for this sheet, to be run after job-1-1)" in second.read_text("utf-8")
    both = json.loads(run("check", first, second, "--job", job, "--json").stdout)
    assert both["ok"] and [p["program"] for p in both["programs"]] == [str(first), str(second)]
    alone = run("check", second, "--job", job, "--json")
    assert alone.exit_code == 1
    assert {f["rule"] for f in json.loads(alone.stdout)["findings"] if f["level"] == "error"} == {
        "missing-hole"
    }


def test_the_rest_from_a_cut_is_written_beside_the_whole_and_judged_as_if_the_first_were_made(
    plate: pathlib.Path,
) -> None:
    """Cuts: the hole, the opening, the outline. Without the first two made the last is not enough."""
    job = plate / "job.toml"
    assert run("cut", job).exit_code == 0
    out = plate / "job-cut"
    whole = {p.name: p.read_bytes() for p in out.iterdir()}
    said = json.loads(run("cut", job, "--from", "3", "--json").stdout)
    assert said["made"] == {"from": 3}
    assert [(p["program"], p["ok"]) for p in said["programs"]] == [("job-1-from-3.nc", True)]
    assert [(c["number"], c["kind"]) for c in said["cuts"]] == [(3, "profile")]
    assert {p.name: p.read_bytes() for p in out.iterdir() if p.name in whole} == whole
    assert {p.name for p in out.iterdir()} - set(whole) == {
        *("job-1-from-3.nc", "job-from-3.json", "job-from-3.html"),
    }
    text = (out / "job-1-from-3.nc").read_text("utf-8")
    assert "(Cuts 1 to 2 must have been made on this very sheet)" in text
    assert "G0 Z15" in text and "S18000 M3" in text and "(CUT 2 " not in text
    assert run("check", out / "job-1-from-3.nc", "--job", job).exit_code == 1
    assert run("cut", job).exit_code == 0
    left = {p.name for p in out.iterdir()}
    assert left == {*whole, "job-1.nc.old", "job-1-from-3.nc.old"}, "a new run of the whole sets it aside"


def test_what_is_cut_from_a_number_must_be_what_that_number_meant(plate: pathlib.Path) -> None:
    assert run("cut", plate / "job.toml").exit_code == 0
    unknown = run("cut", plate / "job.toml", "--from", "9")
    assert unknown.exit_code == 2 and "there is no cut 9, the job has 3 of them" in unknown.stderr
    assert (plate / "job-cut" / "job-1.nc").exists()
    drawing = ezdxf.readfile(plate / "plate.dxf")
    for circle in drawing.modelspace().query("CIRCLE"):
        drawing.modelspace().delete_entity(circle)
    drawing.saveas(plate / "plate.dxf")
    changed_job = run("cut", plate / "job.toml", "--from", "2")
    assert changed_job.exit_code == 1
    assert "there cut 2 is OPENING PART 1 1, now PROFILE PART 1 1" in changed_job.stdout
    assert not list((plate / "job-cut").glob("*.nc"))


def test_one_piece_alone_is_judged_alone(plate: pathlib.Path) -> None:
    drawing = ezdxf.readfile(plate / "plate.dxf")
    corners = [(270, 50), (370, 50), (370, 170), (270, 170)]
    drawing.modelspace().add_lwpolyline(corners, close=True)
    drawing.saveas(plate / "plate.dxf")
    rows = "".join(
        f"[[part]]\nname = '{n}'\nat = [{x}, 60]\n" for n, x in (("board, wide", 60), ("strip", 300))
    )
    job = plate / "job.toml"
    job.write_text(job.read_text("utf-8") + rows, encoding="utf-8")
    said = json.loads(run("cut", job, "--only", "strip:1", "--json").stdout)
    assert said["made"] == {"only": "strip:1"}
    assert [(p["program"], p["ok"]) for p in said["programs"]] == [("job-1-only-strip-1.nc", True)]
    assert {c["part"] for c in said["cuts"]} == {"strip"}
    assert run("cut", job, "--only", "board, wide").exit_code == 0
    assert (plate / "job-cut" / "job-1-only-board-wide.nc").exists()
    unknown = run("cut", job, "--only", "strip:2")
    assert unknown.exit_code == 2 and 'Choose among "board, wide:1", "strip:1"' in unknown.stderr
    both = run("cut", job, "--only", "strip", "--from", "2")
    assert both.exit_code == 2 and "--from and --only do not go together" in both.stderr


def test_a_run_in_the_air_is_the_same_run_higher_and_named_so(plate: pathlib.Path) -> None:
    """12 thick and 0.3 into the table: 13.3 keeps a millimetre above the sheet."""
    job = plate / "job.toml"
    assert run("cut", job).exit_code == 0
    low = run("cut", job, "--air", "13")
    assert low.exit_code == 2 and "--air 13 is too low: the deepest cut is 12.3 mm deep" in low.stderr
    assert "Write --air 14 or more" in low.stderr
    assert run("cut", job, "--air", "14").exit_code == 0
    real, air = (
        replay((plate / "job-cut" / name).read_text("utf-8"), {1: 6.0})
        for name in ("job-1.nc", "job-1-air.nc")
    )
    assert len(real) == len(air)
    for a, b in zip(real, air, strict=True):
        assert b.points == pytest.approx(a.points + np.array([0, 0, 14.0]), abs=1e-4)
    assert min(m.points[:, 2].min() for m in air) == pytest.approx(1.7)
    text = (plate / "job-cut" / "job-1-air.nc").read_text("utf-8")
    assert text.splitlines()[1] == "(IN THE AIR: everything 14 mm higher, nothing is cut)"
    taken_for_real = run("check", plate / "job-cut" / "job-1-air.nc", "--job", job)
    assert taken_for_real.exit_code == 1 and "nobody cuts the part" in taken_for_real.stdout
    assert run("cut", job, "--air", "14", "--from", "2").exit_code == 0
    assert (plate / "job-cut" / "job-1-from-2-air.nc").exists()


def test_estimate_of_a_program_and_of_its_job_agree(plate: pathlib.Path) -> None:
    run("cut", plate / "job.toml")
    program = plate / "job-cut" / "job-1.nc"
    alone = json.loads(run("estimate", program, "--job", plate / "job.toml", "--json").stdout)
    whole = json.loads(run("estimate", plate / "job.toml", "--json").stdout)
    assert alone["time_s"] == pytest.approx(whole["time_s"]) and alone["time_s"] > 10
    assert {o["kind"] for o in whole["programs"][0]["operations"]} == {"hole", "opening", "profile"}


def test_preview_of_a_program_and_of_a_job(plate: pathlib.Path) -> None:
    run("cut", plate / "job.toml")
    program = plate / "job-cut" / "job-1.nc"
    for words in ((program, "--job", plate / "job.toml"), (plate / "job.toml",)):
        result = run("preview", *words, "--out", plate / "page")
        assert result.exit_code == 0
        assert pathlib.Path(result.stdout.strip()).read_text("utf-8").startswith("<!doctype html>")


def test_start_writes_a_job_that_asks_for_the_thickness_and_then_cuts(plate: pathlib.Path) -> None:
    folder = plate / "new"
    assert run("start", folder, plate / "plate.dxf").exit_code == 0
    refused = run("cut", folder / "job.toml")
    assert refused.exit_code == 2 and "measured_thickness" in refused.stderr
    text = (folder / "job.toml").read_text("utf-8")
    commented = next(line for line in text.splitlines() if line.lstrip("# ").startswith("measured_thickness"))
    (folder / "job.toml").write_text(text.replace(commented, "measured_thickness = 12"), encoding="utf-8")
    assert run("cut", folder / "job.toml").exit_code == 0


def test_start_keeps_a_job_that_is_there(plate: pathlib.Path) -> None:
    result = run("start", plate, plate / "plate.dxf")
    assert result.exit_code == 2 and "is there already" in result.stderr
    assert (plate / "job.toml").read_text("utf-8") == PLATE_JOB


def test_a_mistyped_command_is_answered_with_the_nearest_one() -> None:
    result = run("inpsect", "x.dxf")
    assert result.exit_code == 2 and "did you mean 'inspect'?" in result.stderr


def test_two_runs_under_different_hash_seeds_give_the_same_bytes(tmp_path: pathlib.Path) -> None:
    """The whole demo, in two processes."""
    contents: list[dict[str, Any]] = []
    for seed in ("1", "4242"):
        out = tmp_path / "out"
        subprocess.run(
            [sys.executable, "-m", "camkit", "cut", str(DEMO), "--out", str(out)],
            check=True,
            capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        contents.append({p.name: p.read_bytes() for p in sorted(out.iterdir())})
        shutil.rmtree(out)
    assert contents[0].keys() == contents[1].keys()
    assert [name for name in contents[0] if contents[0][name] != contents[1][name]] == []


def test_inspect_writes_the_same_bytes_under_different_hash_seeds(tmp_path: pathlib.Path) -> None:
    drawing, made = DEMO.with_name("bench.dxf"), []
    for seed in ("1", "4242"):
        files = [tmp_path / f"{seed}.svg", tmp_path / f"{seed}.dxf"]
        words = ["inspect", drawing, "--job", DEMO, "--picture", files[0], "--write", files[1]]
        subprocess.run(
            [sys.executable, "-m", "camkit", *map(str, words)],
            check=True,
            capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        made.append([file.read_bytes() for file in files])
    assert made[0] == made[1]
