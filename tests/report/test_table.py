"""What the terminal says, line by line."""

from __future__ import annotations

import pathlib

import pytest

from camkit.errors import Finding
from camkit.pipeline import Result
from camkit.report.table import (
    closing_lines,
    estimate_dict,
    estimate_lines,
    finding_lines,
    verdict_lines,
)
from camkit.report.words import clock, counted, length_text, verdict_words


def test_the_closing_table_tells_sheet_parts_cuts_time_and_findings(sound: Result) -> None:
    lines = closing_lines(sound, pathlib.Path("bench-cut"))
    row = next(line for line in lines if line.startswith("potting-bench-1.nc"))
    assert row.split("  ")[0] == "potting-bench-1.nc"
    for word in ("2440 x 1220", "17.6", " 7 ", " 35 ", "40:52", "1 warning, 1 note"):
        assert word in row
    assert lines[-1] == "Sound, with 1 warning, 2 notes. Written to bench-cut"


def test_a_refusal_is_said_in_the_closing_lines(refused: Result) -> None:
    lines = closing_lines(refused, pathlib.Path("out"))
    assert lines[0].startswith("error: line 350, part shelf: the cutter takes 0.31 mm")
    assert lines[-1].startswith("Refused: 2 errors")


def test_errors_come_first_and_many_of_a_kind_are_counted() -> None:
    findings = [Finding("note", "n", "a note"), *(Finding("error", "gouge", f"bite {k}") for k in range(9))]
    lines = finding_lines(findings)
    assert lines == [
        *("error: bite 0.", "error: bite 1.", "error: bite 2."),
        *("error: gouge: 6 more of this kind", "note: a note."),
    ]


def test_a_verdict_is_one_line_after_its_findings(sound: Result, refused: Result) -> None:
    assert verdict_lines(sound.programs[0])[-1] == "potting-bench-1: sound, 40:52 (1 warning, 1 note)"
    assert verdict_lines(refused.programs[0])[-1].startswith("potting-bench-1: refused (2 errors")


def test_an_estimate_adds_up(sound: Result) -> None:
    lines = estimate_lines(sound.programs)
    assert any(line.startswith("cutter 1 6 mm") for line in lines)
    assert any(line.startswith("whole program") and line.endswith("40:52") for line in lines)
    told = estimate_dict(sound.programs)
    assert told["time_s"] == pytest.approx(sound.programs[0].verdict.time_s, abs=0.001)


@pytest.mark.parametrize(
    ("time_s", "text"), [(0, "0:00"), (59.6, "1:00"), (245, "4:05"), (3723, "1:02:03"), (86400, "24:00:00")]
)
def test_times_read_as_on_a_clock(time_s: float, text: str) -> None:
    assert clock(time_s) == text


def test_counts_and_lengths_are_said_shortly(sound: Result) -> None:
    assert counted([]) == "nothing to report"
    assert counted([Finding("note", "n", "m")] * 2 + [Finding("error", "e", "m")]) == "1 error, 2 notes"
    assert length_text(17.600000001) == "17.6" and length_text(2440.0) == "2440"
    assert verdict_words(sound) == "Sound, with 1 warning, 2 notes"
