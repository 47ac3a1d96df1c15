"""`report.json`, `check --json` and `inspect --json` say what the contract in design.md promises."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace

import pytest
from support.bench_by_hand import PARTS, PLACED

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding
from camkit.geometry.path import circle, rectangle
from camkit.part import Hole, Part, Pocket
from camkit.pipeline import Result
from camkit.report.json_report import finding, inspection, program, report, report_text


def test_the_report_has_the_keys_of_the_contract(sound: Result) -> None:
    said = report(sound)
    assert list(said) == [
        *("machine", "sheets", "programs", "cuts", "parts", "fit", "joints", "sizes", "glue_ups"),
        *("findings", "versions"),
    ]
    assert said["machine"] == {"zero": "sheet top", "into_table_mm": 0.3}
    machine = sound.job.machine.model_copy(update={"xy_zero": "centre"})
    elsewhere = replace(sound, job=sound.job.model_copy(update={"machine": machine}))
    assert report(elsewhere)["machine"] == {"zero": "sheet top", "into_table_mm": 0.3, "xy_zero": "centre"}
    rows = json.loads(report_text(sound))
    assert set(rows["sheets"][0]) == {"number", "size_mm", "thickness_mm", "used_share"}
    assert set(rows["programs"][0]) == {
        *("program", "sheet", "ok", "time_s", "feed_mm", "rapid_mm", "cutters", "findings"),
    }
    assert set(rows["programs"][0]["cutters"][0]) == {"number", "kind", "diameter_mm", "time_s"}
    assert set(rows["cuts"][0]) == {
        *("number", "program", "kind", "part", "copy", "cutter", "first_line", "last_line", "time_s"),
    }
    assert set(rows["parts"][0]) == {
        *("name", "copy", "sheet", "x_mm", "y_mm", "turn_deg", "mirrored", "outline", "pockets"),
    }
    assert set(rows["parts"][0]["outline"]) == {"exterior", "interiors"}
    assert set(rows["parts"][0]["pockets"][0]) == {"depth_mm", "exterior", "interiors"}
    keys = {"kind", "parts", "drawn_mm", "fitted_mm", "clearance_mm", "relief", "why"}
    assert set(rows["joints"][0]) == keys
    assert set(rows["glue_ups"][0]) == {"name", "layers", "play_deg", "worst_shift_mm"}
    assert set(rows["glue_ups"][0]["layers"][0]) == {"part", "copy", "face", "dowels"}
    assert set(rows["glue_ups"][0]["layers"][0]["dowels"][0]) == {
        *("x_mm", "y_mm", "diameter_mm", "depth_mm"),
    }
    assert rows["versions"]["camkit"]


def test_a_program_is_named_as_the_file_beside_the_report(sound: Result, refused: Result) -> None:
    for result, name in ((sound, "potting-bench-1.nc"), (refused, "potting-bench-1.refused.txt")):
        rows = json.loads(report_text(result))
        assert [row["program"] for row in rows["programs"]] == [name]
        assert {row["program"] for row in rows["cuts"]} == {name}


def test_check_says_the_keys_of_the_contract_and_its_verdict(sound: Result, refused: Result) -> None:
    keys = ["program", "ok", "time_s", "feed_mm", "rapid_mm", "cutters", "findings"]
    assert list(program(sound.programs[0])) == keys
    assert program(sound.programs[0])["ok"] is True
    assert program(refused.programs[0])["ok"] is False


def test_a_finding_leaves_out_what_has_no_meaning_for_it() -> None:
    assert finding(Finding("note", "tabs", "kept")) == {"level": "note", "rule": "tabs", "message": "kept"}
    told = finding(Finding("error", "gouge", "bites", "Move it", 12, 1.0, 0.0, -0.00001, 0.31, "shelf"))
    assert told == {
        "level": "error",
        "rule": "gouge",
        "message": "bites",
        "remedy": "Move it",
        "line": 12,
        "x_mm": 1.0,
        "y_mm": 0.0,
        "z_mm": 0.0,
        "amount_mm": 0.31,
        "part": "shelf",
    }
    assert "-0.0" not in json.dumps(told)


def test_the_used_share_is_the_wood_that_stays_over_the_sheet(sound: Result) -> None:
    """By hand: a rectangle with round corners covers length x width - (4 - pi) r^2."""

    def rounded(long: float, wide: float, r: float) -> float:
        return long * wide - (4 - math.pi) * r**2

    frame = rounded(560, 820, 25) - 2 * rounded(380, 260, 20) - 2 * 17.8 * 40
    shelf = rounded(1150, 380, 6) - 4 * math.pi * 2.5**2
    rail = rounded(1150, 110, 20) - rounded(200, 40, 20) - 2 * math.pi * 2.5**2
    peg = 180 * 40 + 40 * 30 + 20 * 30 / 2 - math.pi * 10**2
    share = (2 * frame + shelf + rail + 3 * peg) / (2440 * 1220)
    assert json.loads(report_text(sound))["sheets"][0]["used_share"] == pytest.approx(share, abs=1e-4)


def test_a_pieces_outline_lies_where_its_placement_says(sound: Result) -> None:
    """(u, v) lies at (x, y) + turn(u, v), u becoming -u first when mirrored: each case turned by hand."""
    rows = json.loads(report_text(sound))["parts"]
    frame, turned = rows[1], rows[6]
    assert frame["mirrored"] and frame["x_mm"] == 1170.0
    assert [1170.0 - 25, 20.0] in frame["outline"]["exterior"]
    assert turned["turn_deg"] == 90.0
    # The peg's corner (180, 40), turned a quarter: (-40, 180).
    assert [1680.0 - 40, 560.0 + 180] in turned["outline"]["exterior"]


def test_outlines_are_flattened_to_five_micrometres(sound: Result) -> None:
    """A chord of a circle of radius R over an angle a lies R (1 - cos(a / 2)) inside it."""
    ring = json.loads(report_text(sound))["parts"][4]["outline"]["interiors"][0]
    radii = [math.dist(point, (1235.0, 585.0)) for point in ring]
    assert radii == pytest.approx([10.0] * len(ring), abs=1e-3)
    assert 10 * (1 - math.cos(math.pi / len(ring))) <= 0.005


def test_blind_holes_are_pockets_and_through_holes_are_interiors(sound: Result) -> None:
    rows = json.loads(report_text(sound))["parts"]
    assert [p["depth_mm"] for p in rows[0]["pockets"]] == [12.0] * 4
    assert len(rows[0]["outline"]["interiors"]) == 4
    assert [p["depth_mm"] for p in rows[2]["pockets"]] == [6.0, 6.0]
    assert len(rows[2]["outline"]["interiors"]) == 4


def test_a_part_met_twice_in_a_glue_up_is_its_second_copy(sound: Result) -> None:
    layers = json.loads(report_text(sound))["glue_ups"][0]["layers"]
    assert [layer["copy"] for layer in layers] == [1, 2]


def test_a_cut_tells_part_copy_and_cutter_and_lines_follow_each_other(sound: Result) -> None:
    rows = json.loads(report_text(sound))["cuts"]
    assert [row["number"] for row in rows] == list(range(1, len(sound.cuts) + 1))
    assert rows[-1]["kind"] == "profile" and rows[-1]["part"] == "tool peg" and rows[-1]["copy"] == 3
    assert rows[-1]["cutter"] == 1
    assert all(a["last_line"] + 1 == b["first_line"] for a, b in itertools.pairwise(rows))


def test_a_program_from_elsewhere_is_told_by_its_own_comments(sound: Result) -> None:
    rows = json.loads(report_text(replace(sound, cuts=())))["cuts"]
    assert rows[0]["kind"] == "pocket"
    assert rows[0]["part"] == "SHELF 1"
    assert rows[0]["copy"] is None and rows[0]["cutter"] is None


def test_what_was_found_before_the_judge_spoke_stands_in_the_report(sound: Result) -> None:
    assert [f["rule"] for f in json.loads(report_text(sound))["findings"]] == ["closed-gap"]


def test_the_text_is_the_report(sound: Result) -> None:
    assert json.loads(report_text(sound)) == report(sound)


def test_inspect_says_the_keys_of_the_contract() -> None:
    part = Part(
        "bracket",
        rectangle(0, 0, 100, 50),
        openings=(rectangle(10, 10, 30, 20),),
        holes=(Hole((80, 25), 10.0), Hole((60, 25), 5.0, 8.0)),
        pockets=(Pocket(rectangle(35, 10, 55, 40), 6.0, (circle((45, 25), 4.0),)),),
    )
    said = inspection([Drawn("bracket.dxf", "inch", "header", (part,))])
    assert json.loads(json.dumps(said)) == {
        "drawings": [
            {
                "path": "bracket.dxf",
                "unit": "inch",
                "unit_from": "header",
                "parts": [
                    {
                        "name": "bracket",
                        "area_mm2": round(5000 - 200 - math.pi * 25, 4),
                        "perimeter_mm": 300.0,
                        "bounds_mm": [0.0, 0.0, 100.0, 50.0],
                        "openings": [{"area_mm2": 200.0, "bounds_mm": [10.0, 10.0, 30.0, 20.0]}],
                        "holes": [
                            {"x_mm": 80.0, "y_mm": 25.0, "diameter_mm": 10.0, "depth_mm": None},
                            {"x_mm": 60.0, "y_mm": 25.0, "diameter_mm": 5.0, "depth_mm": 8.0},
                        ],
                        "pockets": [
                            {
                                "area_mm2": round(600 - math.pi * 4, 4),
                                "depth_mm": 6.0,
                                "bounds_mm": [35.0, 10.0, 55.0, 40.0],
                            }
                        ],
                    }
                ],
                "likely_thickness": [],
                "joints": None,
                "findings": [],
            }
        ]
    }


def test_inspect_hints_at_the_sheet_by_its_slots() -> None:
    slots = tuple(rectangle(x, 20, x + 18.2, 80) for x in (50, 150, 250))
    parts = (
        Part("side", rectangle(0, 0, 400, 100), openings=slots),
        Part("shelf", rectangle(0, 200, 400, 300)),
    )
    (said,) = inspection([Drawn("side.dxf", "mm", "header", parts)])["drawings"]
    assert said["likely_thickness"] == [{"width_mm": 18.2, "count": 3, "parts": ["side"]}]


def test_the_mock_places_each_part_once_or_more() -> None:
    assert {p.part.name for p in PLACED} == set(PARTS)
