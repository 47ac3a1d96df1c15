"""Outlines in, a judged program out: the demo, planted faults, and drawings as other people publish them."""

from __future__ import annotations

import functools
import math
import re

import pytest
from support.places import DEMO, published

from camkit.errors import Finding
from camkit.job.load import load
from camkit.job.overrule import from_words
from camkit.pipeline import Prepared, Result, judged, make, prepare
from camkit.program.motion import Motion


@functools.cache
def demo() -> Result:
    return make(load(DEMO), DEMO.parent, "potting-bench")


@functools.cache
def laid() -> Prepared:
    return prepare(load(DEMO), DEMO.parent)


def errors_of(text: str) -> list[Finding]:
    board = laid().sheets[0]
    found = judged(laid(), board, "edited", text).verdict.findings
    return [f for f in found if f.level == "error"]


def test_the_demo_is_judged_sound_and_warns_of_nothing() -> None:
    result = demo()
    assert result.ok
    assert [f.level for f in result.findings if f.level != "note"] == []
    assert [f.level for p in result.programs for f in p.verdict.findings if f.level != "note"] == []


def test_every_part_and_every_feature_of_the_demo_has_its_cut() -> None:
    result = demo()
    wanted = sum(1 + len(p.shape.openings) + len(p.shape.holes) + len(p.shape.pockets) for p in result.placed)
    assert len(result.cuts) == wanted
    assert {c.part for c in result.cuts} == {row.name for row in result.job.part}


def test_the_demos_mortises_follow_the_measured_sheet() -> None:
    """Mean of the readings plus the clearance: 17.6 + 0.2 = 17.8 instead of the 18.0 drawn."""
    joints = demo().fitted.joints
    assert joints
    assert {round(j.fitted_mm, 3) for j in joints} == {17.8}
    assert {round(j.drawn_mm, 3) for j in joints} == {18.0}


def _along_x(motions: tuple[Motion, ...], after_line: int) -> Motion:
    """A straight cut along X at full depth, at least 50 long, beyond a line of the program."""
    for m in motions:
        (x0, y0, z0), (x1, y1, z1) = m.start, m.end
        if m.kind == "feed" and m.line > after_line and z0 == z1 < -17 and y0 == y1 and abs(x1 - x0) > 50:
            return m
    raise AssertionError("no such cut")


@pytest.mark.parametrize("depth", [0.02, 0.1, 1.0])
def test_a_planted_gouge_is_found_on_its_line_with_its_size(depth: float) -> None:
    """The end of a straight cut along the top's outline is moved into the wood; to its right (climb cut)."""
    program = demo().programs[0]
    lines = program.text.splitlines()
    start = next(i for i, line in enumerate(lines, 1) if "PROFILE TOP" in line)
    cut = _along_x(program.reading.motions, start)
    into = -1 if cut.end[0] > cut.start[0] else 1  # the right of the direction of travel
    # The path runs 0.005 outside the outline: the bite must also cross that.
    y = cut.end[1] + into * (depth + 0.006)
    assert " Y" not in lines[cut.line - 1]
    lines[cut.line - 1] += f" Y{y:.4f}"
    found = [f for f in errors_of("\n".join(lines)) if f.rule == "gouge"]
    assert any(cut.line <= (f.line or 0) <= cut.line + 1 for f in found)
    worst = max(f.amount_mm or 0 for f in found)
    assert worst == pytest.approx(depth, abs=0.005)
    assert any(math.dist((f.x_mm or 0, f.y_mm or 0), cut.end[:2]) < 5 for f in found)


def test_a_rapid_through_stock_is_found_on_its_line() -> None:
    """Without the retract after a pocket the next rapid ploughs through the sheet at the pocket's depth."""
    lines = demo().programs[0].text.splitlines()
    retract = next(
        i for i, line in enumerate(lines) if line == "G0 Z5" and lines[i + 2].startswith("G0 X") and i > 60
    )
    assert lines[retract + 1].startswith("(CUT")
    del lines[retract]
    rapid = retract + 2  # counted from one, and one line gone
    lines[rapid - 1] = re.sub(r" Z\S+", "", lines[rapid - 1])
    assert any(f.rule == "rapid-in-stock" and f.line == rapid for f in errors_of("\n".join(lines)))


def test_a_cut_two_millimetres_into_the_table_is_found_on_its_line() -> None:
    lines = demo().programs[0].text.splitlines()
    deep = next(i for i, line in enumerate(lines) if " Z-17.9" in line)
    lines[deep] = lines[deep].replace(" Z-17.9", " Z-19.6")
    found = [f for f in errors_of("\n".join(lines)) if f.rule == "table-cut"]
    assert found and found[0].line == deep + 1
    # 17.6 thick: 19.6 deep is 2.0 into the table.
    assert found[0].amount_mm == pytest.approx(2.0, abs=0.01)


def test_wood_that_is_left_uncut_is_found() -> None:
    """A whole opening is struck from the program."""
    lines = demo().programs[0].text.splitlines()
    first = next(i for i, line in enumerate(lines) if "OPENING SHELF" in line or "OPENING TOP" in line)
    last = next(i for i in range(first + 1, len(lines)) if lines[i].startswith("(CUT"))
    found = errors_of("\n".join(lines[:first] + lines[last:]))
    assert {f.rule for f in found} & {"uncut", "missing-hole"}


WAYS = {
    # drawing: thickness, sheet, cutters, parts, minutes that a maker would expect at 3 m/min
    "desk-fillets-mm.dxf": (21.0, "2520x1270", ["6"], 16, (40, 80)),
    "case-middle-plate.dxf": (18.0, None, ["6"], 1, (1, 3)),
    "rack-inches.dxf": (20.64, None, ["6"], 7, (30, 60)),
    "front-plate.svg": (3.0, None, ["2"], 1, (3, 8)),
}


@pytest.mark.parametrize("name", WAYS)
def test_a_published_drawing_goes_the_whole_way_as_drawn(name: str) -> None:
    thickness, sheet, cutters, parts, (least, most) = WAYS[name]
    path = published(name)
    result = make(from_words([path.name], thickness, sheet, cutters, None), path.parent, path.stem)
    assert result.ok
    assert len(result.placed) == parts
    assert least * 60 < result.programs[0].verdict.time_s < most * 60


def test_what_is_not_cut_of_a_published_drawing_is_named() -> None:
    """Label strokes and a filled logo of the front plate are listed, with how many there are and where."""
    path = published("front-plate.svg")
    result = make(from_words([path.name], 3.0, None, ["2"], None), path.parent, path.stem)
    said = {f.rule: f for f in result.findings}
    assert "not cut: 13" in said["open-lines"].message
    assert sum(f.rule == "open-outline" and "7.41 mm" in f.message for f in result.findings) == 2
    assert "without a line: 46" in said["left-aside"].message
    assert "left out: 4" in said["texts"].message


def test_a_hole_finer_than_the_cutter_is_named_and_the_program_refused() -> None:
    path = published("front-plate.svg")
    result = make(from_words([path.name], 3.0, None, ["4"], None), path.parent, path.stem)
    assert not result.ok
    refused = [f for f in result.findings if f.rule == "no-cutter"]
    assert refused and all("hole of 3.5 mm" in f.message for f in refused)
    assert "cutter of at most 3.3 mm" in refused[0].remedy
