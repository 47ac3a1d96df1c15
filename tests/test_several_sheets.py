"""Parts of 18 and of 12 mm in one drawing: a sheet and a program for each, every depth its own."""

from __future__ import annotations

import json
import pathlib

import pytest
from click.testing import CliRunner
from click.testing import Result as Run
from support.replayed import replay

from camkit.cli import main
from camkit.job.load import load
from camkit.pipeline import Result, judged, make, prepare
from camkit.report.json_report import report
from camkit.report.preview_data import page_data
from camkit.report.sheet_picture import sheet_svg
from camkit.report.words import TIMES

# An end with a mortise for the back, a shelf, and a back of thinner plywood with a slot, side by side.
DRAWING = """\
<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="400mm" viewBox="0 0 900 400">
<path d="M20 80h300v300h-300z M60 120h12v100h-12z"/>
<path d="M340 80h200v300h-200z"/>
<path d="M560 80h140v300h-140z M600 120h60v60h-60z"/>
</svg>
"""
JOB = """\
title = "Potting bench"
[[sheet]]
name = "frame"
size = [900, 500]
drawn_thickness = 18
measured_thickness = [17.6, 17.7, 17.6, 17.5]
material = "birch plywood"
[[sheet]]
name = "back"
drawn_thickness = 12
measured_thickness = [11.8, 11.7, 11.9]
material = "poplar plywood"
[machine]
zero = "ZERO"
[[cutter]]
number = 1
diameter = 6
[drawings]
files = ["bench.svg"]
[[part]]
name = "end"
at = [200, 200]
[[part]]
name = "back"
at = [570, 200]
sheet = "back"
[[part]]
name = "shelf"
at = [400, 200]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    place = tmp_path_factory.mktemp("bench")
    (place / "bench.svg").write_text(DRAWING, "utf-8")
    for zero in ("sheet top", "table"):
        (place / f"{zero}.toml").write_text(JOB.replace("ZERO", zero), "utf-8")
    return place


@pytest.fixture(scope="module")
def results(folder: pathlib.Path) -> dict[str, Result]:
    return {zero: make(load(folder / f"{zero}.toml"), folder, "bench") for zero in ("sheet top", "table")}


def test_each_thickness_gets_a_sheet_and_a_sound_program(results: dict[str, Result]) -> None:
    result = results["sheet top"]
    assert result.ok
    assert [(p.name, p.sheet) for p in result.programs] == [("bench-1", 1), ("bench-2", 2)]
    assert [(p.part.name, p.sheet) for p in result.placed] == [("end", 1), ("shelf", 1), ("back", 2)]
    assert {(c.part, c.sheet) for c in result.cuts} == {("end", 1), ("shelf", 1), ("back", 2)}
    assert [c.number for c in result.cuts] == list(range(1, len(result.cuts) + 1))


def test_every_program_goes_as_deep_as_its_own_sheet_and_0_3_into_the_table(
    results: dict[str, Result],
) -> None:
    """Means by hand: (17.6 + 17.7 + 17.6 + 17.5) / 4 = 17.6, (11.8 + 11.7 + 11.9) / 3 = 11.8."""
    for zero, deepest, safe in (
        ("sheet top", [-17.9, -12.1], [15, 15]),
        ("table", [-0.3, -0.3], [17.6 + 15, 11.8 + 15]),
    ):
        heights = [
            [float(z) for move in replay(program.text, {1: 6.0}) for z in move.points[:, 2]]
            for program in results[zero].programs
        ]
        assert [min(h) for h in heights] == pytest.approx(deepest)
        assert [max(h) for h in heights] == pytest.approx(safe)


def test_header_report_preview_and_picture_say_size_thickness_and_material_of_each_sheet(
    results: dict[str, Result],
) -> None:
    """The back's sheet has no size: it is as large as the whole drawing and the wider of its margins.

    Parts cover 680 x 300; 10 mm of margin on each side are as wide as the cutter and 4 mm for tabs.
    """
    result = results["sheet top"]
    said = json.loads(json.dumps(report(result)))
    assert [(s["number"], s["size_mm"], s["thickness_mm"]) for s in said["sheets"]] == [
        (1, [900, 500], 17.6),
        (2, [700, 320], 11.8),
    ]
    assert [p["sheet"] for p in said["programs"]] == [1, 2]
    shares = [(300 * 300 - 1200 + 200 * 300) / (900 * 500), (140 * 300 - 3600) / (700 * 320)]
    assert [s["used_share"] for s in said["sheets"]] == pytest.approx(shares, abs=2e-3)
    first, second = (program.text for program in result.programs)
    assert "(Sheet 900 x 500 mm, frame, birch plywood)" in first
    assert "(Sheet 700 x 320 mm, back, poplar plywood)" in second
    assert "(Measured thickness 17.6 mm)" in first
    assert "(Measured thickness 11.8 mm)" in second
    sheets = page_data(result)["sheets"]
    assert [(s["thickness"], s["material"]) for s in sheets] == [
        (pytest.approx(17.6), "frame, birch plywood"),
        (pytest.approx(11.8), "back, poplar plywood"),
    ]
    assert f"sheet 2 of 2, 700 {TIMES} 320 {TIMES} 11.8 mm back, poplar plywood" in sheet_svg(result, 2)


def test_parts_of_one_drawing_keep_its_coordinates_on_a_sheet_that_holds_them(
    results: dict[str, Result],
) -> None:
    """The frame's sheet holds its parts as drawn; the back's begins 10 mm before the corner of all parts."""
    end, shelf, back = results["sheet top"].placed
    assert (end.x, end.y, shelf.x, shelf.y) == (0, 0, 0, 0)
    assert (back.x, back.y) == pytest.approx((-10, -10))
    assert back.shape.bounds() == pytest.approx((550, 10, 690, 310))


def test_a_program_for_another_thickness_is_refused(folder: pathlib.Path, results: dict[str, Result]) -> None:
    """The frame's program on the back's sheet would cut 17.9 - 11.8 = 6.1 deep into the table."""
    prepared = prepare(load(folder / "sheet top.toml"), folder)
    said = judged(prepared, prepared.sheets[1], "bench-1", results["sheet top"].programs[0].text).verdict
    (found,) = [f for f in said.findings if f.rule == "table-cut"][:1]
    assert not said.ok
    assert found.amount_mm == pytest.approx(6.1, abs=1e-6)


def test_findings_name_the_sheet_that_they_are_about(folder: pathlib.Path) -> None:
    text = JOB.replace("ZERO", "table").replace("[11.8, 11.7, 11.9]", "[10.8, 11.6]")
    (folder / "spread.toml").write_text(text, "utf-8")
    told = {f.rule: f.message for f in prepare(load(folder / "spread.toml"), folder).findings}
    assert told["sheet-spread"].startswith('sheet "back": the readings of the sheet differ by 0.80 mm')
    assert told["sheet-readings"].startswith('sheet "back": two readings')
    assert told["sheet-band"].startswith('sheet "back": the sheet measures 11.20 mm')


def test_a_program_is_checked_and_drawn_on_the_sheet_that_it_is_for(folder: pathlib.Path) -> None:
    def run(*words: object) -> Run:
        return CliRunner().invoke(main, [str(word) for word in words])

    job, out = folder / "table.toml", folder / "cut"
    done = run("cut", job, "--out", out)
    assert "table-2.nc  700 x 320, back   11.8" in done.stdout
    second = (out / "table-2.nc", "--job", job)
    for command in ("check", "preview"):
        assert run(command, *second, "--on-sheet", 2).exit_code == 0
        assert run(command, *second).exit_code == 1
        none = run(command, *second, "--on-sheet", 3)
        assert none.exit_code == 2
        assert "the job has no sheet 3. Choose among: 1, 2." in none.stderr


def test_inspect_lists_joints_for_each_part_s_own_thickness(folder: pathlib.Path) -> None:
    ran = CliRunner().invoke(
        main, ["inspect", str(folder / "bench.svg"), "--job", str(folder / "table.toml"), "--json"]
    )
    (drawing,) = json.loads(ran.stdout)["drawings"]
    assert drawing["joints"]["thicknesses_mm"] == [12, 18]
    assert drawing["joints"]["guessed"] is False
    lines = CliRunner().invoke(
        main, ["inspect", str(folder / "bench.svg"), "--job", str(folder / "table.toml")]
    )
    assert "joints, drawn for 12 and 18 as the job says: none" in lines.stdout
    assert "the job's sheet is 900 x 500" in lines.stdout


# The end's mortise takes the back's tenon, 80 long and flush: 12 wide in 18, and 18 long for it.
JOINED = """\
<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="400mm" viewBox="0 0 900 400">
<path d="M20 80h300v300h-300z M160 180h12v80.2h-12z"/>
<path d="M400 80h140v300h-140v-120h-18v-80h18z"/>
</svg>
"""


@pytest.mark.parametrize(("frame", "back", "told"), [
    ("17.4, 17.5, 17.9", "11.8, 11.8, 11.8", None),
    ("17.6, 17.6, 17.6", "11.6, 11.7, 12.1", 'on sheet "back" joints may jam'),
])  # fmt: skip
def test_a_joint_follows_the_sheet_that_enters_it_and_only_its_spread_counts(
    folder: pathlib.Path, frame: str, back: str, told: str | None
) -> None:
    """Means 17.6 and 11.8: opening 11.8 + 0.15; the tenon shrinks by 18 - 17.6, as far as the frame did.

    Half the spread of the back, 0.25, and 0.05 to slide are more than 0.15; the frame's spread is no matter.
    """
    text = JOB.replace("ZERO", "table").replace("bench.svg", "joined.svg")
    text = text.replace("17.6, 17.7, 17.6, 17.5", frame).replace("11.8, 11.7, 11.9", back)
    text = text[: text.index('[[part]]\nname = "shelf"')].replace("[570, 200]", "[480, 200]")
    (folder / "joined.svg").write_text(JOINED, "utf-8")
    (folder / "joined.toml").write_text(text, "utf-8")
    prepared = prepare(load(folder / "joined.toml"), folder)
    (joint,) = prepared.fitted.joints
    assert joint.parts == ("end", "back")
    assert (joint.drawn_mm, joint.fitted_mm) == pytest.approx((12, 11.95), abs=1e-6)
    left = [p.part.bounds()[0] for p in prepared.placed if p.part.name == "back"]
    assert left == pytest.approx([382 + 0.4], abs=1e-6)
    jams = [f.message for f in prepared.findings if f.rule == "joints-may-jam"]
    assert len(jams) == (told is not None)
    assert told is None or jams[0].startswith(told)
