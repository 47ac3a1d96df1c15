"""Findings are counted worst first, and point to their place on the sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.bench_by_hand import PLACED

from camkit.errors import Finding
from camkit.pipeline import Result
from camkit.report.numbered import numbered, piece_name


def test_errors_are_counted_first_then_warnings_then_notes(refused: Result) -> None:
    rows = numbered(refused)
    assert [row.number for row in rows] == [1, 2, 3, 4, 5]
    assert [row.finding.level for row in rows] == ["error", "error", "warning", "note", "note"]


def test_a_judged_finding_points_to_its_coordinates_or_to_the_end_of_its_line(refused: Result) -> None:
    places = {row.finding.rule: row.place for row in numbered(refused)}
    assert places["gouge"] == (1200.0, 200.0)
    at_line = next(m for m in refused.programs[0].reading.motions if m.line == 210)
    assert places["chip-load"] == at_line.end[:2]


def test_what_a_drawing_says_travels_with_its_part(sound: Result) -> None:
    """The first frame lies at (20, 20): the gap drawn at (560, 400) is at (580, 420) on the sheet."""
    gap = next(row for row in numbered(sound) if row.finding.rule == "closed-gap")
    assert gap.sheet == 1
    assert gap.place == pytest.approx((580.0, 420.0))


def test_what_was_drawn_on_a_mirrored_part_lies_mirrored(sound: Result) -> None:
    """The second frame is mirrored and lies at (1170, 20): drawn (100, 0), on the sheet (1070, 20)."""
    mirrored = replace(sound, placed=(PLACED[1],))
    found = Finding("note", "r", "m", x_mm=100.0, y_mm=0.0, part="end frame, outer", entity="LINE 1")
    rows = numbered(replace(mirrored, findings=(found,)))
    assert next(row.place for row in rows if row.finding.rule == "r") == pytest.approx((1070.0, 20.0))


def test_a_finding_about_no_part_points_nowhere(sound: Result) -> None:
    found = Finding("note", "r", "m", x_mm=5000.0, y_mm=0.0, file="elsewhere.dxf")
    rows = numbered(replace(sound, findings=(found,)))
    row = next(row for row in rows if row.finding.rule == "r")
    assert row.place is None and row.sheet is None


def test_pages_name_a_file_without_the_folder(sound: Result) -> None:
    found = Finding("note", "r", "m", file="/home/somebody/bench/end-frame.dxf")
    rows = numbered(replace(sound, findings=(found,)))
    assert next(row.finding.file for row in rows if row.finding.rule == "r") == "end-frame.dxf"


def test_only_a_part_cut_more_than_once_carries_its_copy() -> None:
    assert [piece_name(p, PLACED) for p in PLACED[:3]] == [
        "end frame, outer 1",
        "end frame, outer 2",
        "shelf",
    ]
