"""Findings in reading order with a number, and the place on a sheet where each one points."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePath

from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.geometry.path import Point
from camkit.geometry.transform import Placement, moved_point
from camkit.part import Placed
from camkit.pipeline import JudgedProgram, Result

__all__ = ["Numbered", "numbered", "piece_name", "without_folder"]

_WORST_FIRST = ("error", "warning", "note")


@dataclass(frozen=True, slots=True)
class Numbered:
    """A finding as all pages count it, from 1; its file is named without the folder.

    `program` is the index in the result's programs, None for what was found before the judge spoke;
    `place` is in sheet coordinates, in mm, None where it points to no single place.
    """

    number: int
    finding: Finding
    program: int | None = None
    sheet: int | None = None
    place: Point | None = None


def piece_name(placed: Placed, among: tuple[Placed, ...]) -> str:
    """The part's name, with the number of its copy where the part is cut more than once."""
    several = sum(1 for other in among if other.part.name == placed.part.name) > 1
    return f"{placed.part.name} {placed.copy}" if several else placed.part.name


def numbered(result: Result) -> tuple[Numbered, ...]:
    """Every finding of the result, worst level first; within a level in the order in which they were made."""
    rows = [_before_the_judge(finding, result) for finding in result.findings]
    for index, program in enumerate(result.programs):
        rows += [_of_program(finding, index, program) for finding in program.verdict.findings]
    rows.sort(key=lambda row: _WORST_FIRST.index(row.finding.level))
    return tuple(
        replace(row, number=number, finding=without_folder(row.finding))
        for number, row in enumerate(rows, start=1)
    )


def without_folder(finding: Finding) -> Finding:
    """The finding with its file named as a page names it: the folder exists on one computer only."""
    return replace(finding, file=PurePath(finding.file).name) if finding.file else finding


def _of_program(finding: Finding, index: int, program: JudgedProgram) -> Numbered:
    place = None
    if finding.x_mm is not None and finding.y_mm is not None:
        place = (finding.x_mm, finding.y_mm)
    elif finding.line is not None:
        at_line = next((m for m in program.reading.motions if m.line == finding.line), None)
        place = at_line.end[:2] if at_line else None
    return Numbered(0, finding, index, program.sheet, place)


def _before_the_judge(finding: Finding, result: Result) -> Numbered:
    pieces = [p for p in result.placed if finding.part in (p.part.name, f"{p.part.name}:{p.copy}")]
    sheet = pieces[0].sheet if pieces else None
    if finding.x_mm is None or finding.y_mm is None:
        return Numbered(0, finding, None, sheet)
    at = (finding.x_mm, finding.y_mm)
    if not (finding.file or finding.layer or finding.entity):
        return Numbered(0, finding, None, sheet, at if sheet else None)
    # What a drawing reader or a fitter found lies in drawing coordinates: it travels with its part.
    for placed in pieces or [p for p in result.placed if _drawn_around(p, at, finding.file)]:
        placement = Placement(placed.x, placed.y, placed.turn_deg, placed.mirrored)
        return Numbered(0, finding, None, placed.sheet, moved_point(at, placement))
    return Numbered(0, finding, None, sheet)


def _drawn_around(placed: Placed, at: Point, file: str | None) -> bool:
    if file is not None and PurePath(placed.part.source.file).name != PurePath(file).name:
        return False
    x0, y0, x1, y1 = bounds(placed.part.outline)
    return x0 <= at[0] <= x1 and y0 <= at[1] <= y1
