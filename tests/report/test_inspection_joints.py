"""Joints in the words, the JSON and the picture of `inspect`."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree as ET

from click.testing import CliRunner
from support.places import DEMO

from camkit.cli import main
from camkit.drawing.drawn import Drawn
from camkit.geometry.path import polygon, rectangle
from camkit.job.load import parse
from camkit.part import Part
from camkit.report.inspection_joints import joint_lines, joints_of, told
from camkit.report.inspection_picture import inspection_svg
from camkit.report.json_report import inspection
from camkit.report.palette import JOINT

SVG = "{http://www.w3.org/2000/svg}"
JOB = """
[sheet]
size = [2440, 1220]
drawn_thickness = 18
measured_thickness = [17.6]
[[cutter]]
number = 1
kind = "straight"
diameter = 6
cutting_length = 25
flutes = 2
speed = 18000
feed = 3000
plunge = 900
pass_depth = 6
"""
END = Part("end", rectangle(0, 0, 300, 400), (rectangle(50, 50, 68, 130.3), rectangle(50, 250, 68, 330.3)))
SHELF = Part(
    "shelf",
    polygon(
        (
            *((1000, 0), (1400, 0), (1400, 40), (1418, 40), (1418, 120), (1400, 120), (1400, 240)),
            *((1418, 240), (1418, 320), (1400, 320), (1400, 400), (1000, 400)),
        )
    ),
)


def test_each_meeting_of_two_parts_has_a_letter_and_words() -> None:
    joints = joints_of((END, SHELF), [18, 18], parse(JOB, "job.toml"))
    assert joint_lines(joints) == [
        "joints, drawn for 18 as the job says: 2 mortises",
        "  A  2 tenons of shelf into end, mortises 18 x 80.3",
    ]


def test_without_a_job_the_thickness_is_offered_as_a_guess_and_nothing_is_found_fault_with() -> None:
    lone = replace(END, openings=(*END.openings, rectangle(150, 50, 168, 200)))
    drawn = Drawn("bench.dxf", "mm", "header", (lone, SHELF))
    joints = joints_of(drawn.parts, None)
    assert joints is not None
    assert joints.guess is not None
    assert (joints.guess.width, joints.guess.votes) == (18.0, 2)
    heading, *rows = joint_lines(joints)
    assert "if drawn for 18" in heading and "A guess" in heading and "drawn_thickness" in heading
    assert rows[-1] == "  ?  1 mortise without a mate"
    assert told(drawn, joints) == drawn
    with_job = told(drawn, joints_of(drawn.parts, [18, 18], parse(JOB, "job.toml")))
    assert [(f.level, f.rule) for f in with_job.findings] == [("warning", "no-mate")]


def test_nothing_is_guessed_where_nothing_has_a_mate() -> None:
    assert joints_of((END,), None) is None
    assert joint_lines(None) == []


def test_points_of_the_job_give_the_names() -> None:
    rows = """
    [[part]]
    name = "left end"
    at = [200, 200]
    [[part]]
    name = "shelf"
    at = [1200, 200]
    [[joint]]
    tenon = "shelf"
    mortise = "left end"
    """
    joints = joints_of((END, SHELF), [18, 18], parse(JOB + rows, "job.toml"))
    assert joints is not None
    assert joints.rows[0].text == "2 tenons of shelf into left end, mortises 18 x 80.3"
    assert joints.found.findings == ()


def test_a_plate_that_leans_is_sought_in_the_opening_that_its_angle_needs() -> None:
    # 18 / cos 15 + 18 tan 15 = 23.46.
    wide = replace(END, openings=tuple(rectangle(50, y, 73.5, y + 80.3) for y in (50, 250)))
    rows = """
    [[part]]
    name = "end"
    at = [200, 200]
    [[part]]
    name = "shelf"
    at = [1200, 200]
    [[joint]]
    tenon = "shelf"
    mortise = "end"
    lean = 15
    """
    leaning, upright = (parse(text, "job.toml") for text in (JOB + rows, JOB + rows.replace("lean = 15", "")))
    joints = joints_of((wide, SHELF), [18, 18], leaning)
    assert joints is not None
    assert [row.text for row in joints.rows] == ["2 tenons of shelf into end, mortises 23.5 x 80.3"]
    straight = joints_of((wide, SHELF), [18, 18], upright)
    assert straight is not None
    assert straight.rows == ()
    assert "joint-fits-nothing" in [f.rule for f in straight.found.findings]


def test_the_picture_has_the_letter_at_both_mates() -> None:
    drawn = Drawn("bench.dxf", "mm", "header", (END, SHELF))
    root = ET.fromstring(inspection_svg(drawn, joints_of(drawn.parts, [18, 18], parse(JOB, "job.toml"))))
    letters = [t for t in root.iter(f"{SVG}text") if t.text == "A"]
    # Two mortises, two tenons, and the legend's two samples; what takes is white on the filled tag.
    assert sorted(t.attrib["fill"] for t in letters) == sorted(["#ffffff"] * 3 + [JOINT] * 3)
    words = ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]
    assert "takes its mate" in words and "enters its mate" in words
    assert "A: 2 tenons of shelf into end, mortises 18 \N{MULTIPLICATION SIGN} 80.3" in words


def test_a_picture_without_joints_says_nothing_of_them() -> None:
    drawn = Drawn("bench.dxf", "mm", "header", (SHELF,))
    assert inspection_svg(drawn, joints_of(drawn.parts, None)) == inspection_svg(drawn)
    assert JOINT not in inspection_svg(drawn)


def test_the_pairs_are_in_the_json() -> None:
    drawn = Drawn("bench.dxf", "mm", "header", (END, SHELF))
    (said,) = inspection([drawn], [joints_of(drawn.parts, None)])["drawings"]
    joints = said["joints"]
    assert (joints["thicknesses_mm"], joints["guessed"]) == ([18.0], True)
    (pair,) = joints["pairs"]
    assert (pair["kind"], pair["parts"]) == ("mortise and tenon", ["shelf", "end"])
    assert [shape["y_mm"] for shape in pair["takes"]] == [90.15, 290.15]


def test_inspecting_the_demo_lists_the_shelf_in_every_layer() -> None:
    ran = CliRunner().invoke(main, ["inspect", str(DEMO.with_name("bench.dxf")), "--job", str(DEMO)])
    assert ran.exit_code == 0
    for layer in ("left end, outer", "left end, inner", "right end, inner", "right end, outer"):
        assert f"2 tenons of shelf into {layer}, mortises 18 x 80.3" in ran.output
    assert "joints, drawn for 18 as the job says: 4 cross-laps, 12 mortises, 5 housings" in ran.output
