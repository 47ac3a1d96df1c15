"""What the terminal says: closing table, verdicts and estimates; plain lines of text."""

from __future__ import annotations

import pathlib
from collections import Counter
from collections.abc import Sequence

from camkit.errors import Finding
from camkit.pipeline import JudgedProgram, Result, SheetUse
from camkit.report.json_report import program
from camkit.report.names import program_file
from camkit.report.words import clock, counted, length_text, verdict_words

__all__ = [
    "closing_lines",
    "estimate_dict",
    "estimate_lines",
    "finding_lines",
    "verdict_lines",
]

_LEVELS = ("error", "warning", "note")
# As many findings that differ only in their place are listed before the rest is counted.
_LISTED = 3


def _columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines with aligned columns; the first row is the heading."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]
    return [line.rstrip() for line in lines]


def finding_lines(findings: Sequence[Finding]) -> list[str]:
    """The findings, errors first; of many with one rule and remedy the first few, then how many more."""
    lines = []
    for level in _LEVELS:
        seen: Counter[tuple[str, str]] = Counter()
        for found in findings:
            if found.level != level:
                continue
            key = (found.rule, found.remedy)
            seen[key] += 1
            if seen[key] <= _LISTED:
                lines.append(f"{level}: {found}{_place(found)}")
        lines += [
            f"{level}: {rule}: {count - _LISTED} more of this kind"
            for (rule, _), count in seen.items()
            if count > _LISTED
        ]
    return lines


def _place(found: Finding) -> str:
    if found.x_mm is None or found.y_mm is None:
        return ""
    return f" [at {length_text(found.x_mm)}, {length_text(found.y_mm)}]"


def closing_lines(result: Result, folder: pathlib.Path) -> list[str]:
    """After `cut`: findings, a table of sheets and programs, the verdict and where everything lies."""
    findings = [*result.findings, *(f for p in result.programs for f in p.verdict.findings)]
    rows = [["Program", "Sheet", "Thickness", "Parts", "Cuts", "Time", "Findings"]]
    for judged in result.programs:
        sheet = next(s for s in result.sheets if s.number == judged.sheet)
        rows.append(
            [
                program_file(judged, result),
                f"{length_text(sheet.size[0])} x {length_text(sheet.size[1])}{_called(sheet)}",
                length_text(sheet.thickness),
                str(sum(1 for piece in result.placed if piece.sheet == sheet.number)),
                str(len(judged.verdict.cuts)),
                clock(judged.verdict.time_s),
                counted(judged.verdict.findings),
            ]
        )
    return [
        *finding_lines(findings),
        "",
        *_columns(rows),
        "",
        f"{verdict_words(result)}. Written to {folder}",
    ]


def _called(sheet: SheetUse) -> str:
    return f", {sheet.stock.name}" if sheet.stock.name else ""


def verdict_lines(judged: JudgedProgram) -> list[str]:
    """After `check`: the findings of one program and its verdict."""
    verdict = judged.verdict
    said = f"sound, {clock(verdict.time_s)}" if verdict.ok else "refused"
    return [*finding_lines(verdict.findings), f"{judged.name}: {said} ({counted(verdict.findings)})"]


def estimate_dict(programs: Sequence[JudgedProgram]) -> dict[str, object]:
    """Times of programs as JSON values, without their findings."""
    rows = []
    for judged in programs:
        row = {key: value for key, value in program(judged).items() if key not in ("ok", "findings")}
        kinds = _by_kind(judged)
        rows.append(row | {"operations": [{"kind": k, "time_s": round(t, 3)} for k, t in kinds.items()]})
    return {"time_s": round(sum(p.verdict.time_s for p in programs), 3), "programs": rows}


def estimate_lines(programs: Sequence[JudgedProgram]) -> list[str]:
    """Times by cutter and by operation."""
    lines = []
    for judged in programs:
        verdict = judged.verdict
        rows = [["", "Time"]]
        for cutter in verdict.cutters:
            wide = f" {length_text(cutter.diameter_mm)} mm" if cutter.diameter_mm is not None else ""
            rows.append([f"cutter {cutter.number}{wide}", clock(cutter.time_s)])
        rows += [[kind, clock(time)] for kind, time in _by_kind(judged).items()]
        rows.append(["whole program", clock(verdict.time_s)])
        lines += [judged.name, *_columns(rows)]
        lines.append(
            f"{verdict.feed_mm / 1000:.1f} m fed, {verdict.rapid_mm / 1000:.1f} m of travel; "
            "changes of cutter and loading come on top"
        )
    return lines


def _by_kind(judged: JudgedProgram) -> dict[str, float]:
    times: dict[str, float] = {}
    for cut in judged.verdict.cuts:
        kind = cut.kind.lower()
        times[kind] = times.get(kind, 0.0) + cut.time_s
    return times
