"""What `inspect` says on the terminal: parts in a table, likely slots, findings with their numbers."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import zip_longest

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding
from camkit.geometry.measure import bounds, bounds_of_all
from camkit.part import LayerRule
from camkit.report.inspection_joints import Joints, joint_lines
from camkit.report.inspection_reliefs import relief_lines
from camkit.report.inspection_rows import (
    PartRow,
    counted_parts,
    hole_counts,
    left_lines,
    numbered_findings,
    numbers_text,
    part_rows,
    pocket_counts,
    sink_counts,
    slots_text,
    unit_text,
)
from camkit.report.numbered import Numbered
from camkit.report.words import length_text

__all__ = ["inspection_lines", "layer_lines"]

_HEADING = ("No.", "Part", "Size", "Openings", "Holes", "Pockets")
# Together with two blanks between them the columns fit a terminal of 100 letters.
_WIDEST = (12, 24, 17, 8, 16, 13)
_LINE = 100
# As many findings that differ only in their place are said before the rest is counted.
_SAID = 8


def inspection_lines(
    drawn: Sequence[Drawn],
    sizes: Sequence[tuple[float, float]] = (),
    joints: Sequence[Joints | None] = (),
) -> list[str]:
    """What was read: of each drawing a table of parts, then its findings, numbered as in its picture.

    With the `sizes` (length, width) of the job's sheets the extent of the parts is said beside them. `joints`
    are those of each drawing, in like order.
    """
    lines: list[str] = []
    for one, joined in zip_longest(drawn, joints):
        lines += [""] if lines else []
        lines.append(f"{one.path}: {counted_parts(one.parts)}, {unit_text(one)}")
        if one.parts:
            lines += _table([_HEADING, *(_cells(row) for row in part_rows(one.parts))])
            hint = slots_text(one.parts)
            lines += _wrapped(hint, 2) if hint else []
            lines += relief_lines(one.parts)
            lines += [line for text in joint_lines(joined) for line in _wrapped(text, 5)]
            lines += [_extent(one, sizes)] if sizes else []
        left = left_lines(one)
        if left:
            lines.append(f"lines and loops that are not cut, dashed in the picture: {len(left)}")
        lines += _finding_lines(numbered_findings(one))
    return lines


def _extent(drawn: Drawn, sizes: Sequence[tuple[float, float]]) -> str:
    x0, y0, x1, y1 = bounds_of_all(part.outline for part in drawn.parts)
    cover = f"{length_text(x1 - x0)} x {length_text(y1 - y0)}"
    boards = " and ".join(f"{length_text(x)} x {length_text(y)}" for x, y in dict.fromkeys(sizes))
    sheets = "sheet is" if len(sizes) == 1 else "sheets are"
    return f"the parts cover {cover}, the job's {sheets} {boards}"


def layer_lines(rules: Sequence[LayerRule]) -> list[str]:
    """The `[layers]` table of a job for a drawing that was written here."""
    return ["[layers]", *(rule.line for rule in rules)]


def _cells(row: PartRow) -> tuple[str, ...]:
    x0, y0, x1, y1 = bounds(row.part.outline)
    holes = [f"{n} of {wide}{f' ({deep} deep)' if deep else ''}" for n, wide, deep in hole_counts(row.part)]
    holes += [f"{n} sunk to {wide}" for n, wide in sink_counts(row.part)]
    pockets = [f"{n} of {deep} deep" for n, deep in pocket_counts(row.part)]
    return (
        numbers_text(row.numbers),
        row.title,
        f"{length_text(x1 - x0)} x {length_text(y1 - y0)}",
        str(len(row.part.openings) or "-"),
        "\n".join(holes) or "-",
        "\n".join(pockets) or "-",
    )


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows with aligned columns; a cell that is too wide for its column goes on below."""
    wrapped = [[_cell(text, widest) for text, widest in zip(row, _WIDEST, strict=True)] for row in rows]
    widths = [max(len(line) for row in wrapped for line in row[k]) for k in range(len(_WIDEST))]
    lines = []
    for row in wrapped:
        for line in zip_longest(*row, fillvalue=""):
            lines.append(
                "  ".join(text.ljust(width) for text, width in zip(line, widths, strict=True)).rstrip()
            )
    return lines


def _cell(text: str, widest: int) -> list[str]:
    """The lines of a cell; short entries share one as long as they fit."""
    lines: list[str] = []
    for entry in text.split("\n"):
        if lines and len(lines[-1]) + 2 + len(entry) <= widest:
            lines[-1] += f", {entry}"
        else:
            lines += textwrap.wrap(entry, widest) or [""]
    return lines


def _wrapped(text: str, indent: int) -> list[str]:
    return textwrap.wrap(
        text, _LINE, subsequent_indent=" " * indent, break_long_words=False, break_on_hyphens=False
    )


def _finding_lines(found: Sequence[Numbered]) -> list[str]:
    kinds: dict[tuple[str, str, str], list[int]] = {}
    width = len(str(len(found)))
    lines = []
    for row in found:
        level = row.finding.level
        of_kind = kinds.setdefault((level, row.finding.rule, row.finding.remedy), [])
        of_kind.append(row.number)
        if len(of_kind) <= _SAID:
            lines += _wrapped(f"{row.number:>{width}}  {level}: {_said(row.finding)}", width + 4)
    for (kind, rule, _), numbers in kinds.items():
        more = numbers[_SAID:]
        if more:
            said = f"{kind}: {rule}: {len(more)} more of this kind: {numbers_text(more)}"
            lines += _wrapped(f"{'':>{width}}  {said}", width + 4)
    return lines


def _said(finding: Finding) -> str:
    """The finding without its file, which stands above, and with its place where its words do not say it."""
    text = str(finding)
    if finding.file:
        text = text.removeprefix(finding.file).removeprefix(":").removeprefix(",").strip()
    if finding.x_mm is None or finding.y_mm is None:
        return text
    if f"({finding.x_mm:.2f}, {finding.y_mm:.2f})" in text:
        return text
    return f"{text} [at {length_text(finding.x_mm)}, {length_text(finding.y_mm)}]"
