"""The picture of what was read from a drawing: parts numbered, sizes, holes, findings, lines not cut."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import PurePath

from camkit.drawing.drawn import Drawn
from camkit.geometry.measure import Bounds, bounds, bounds_of_all
from camkit.geometry.path import Path
from camkit.part import Part
from camkit.report.boxes import Taken
from camkit.report.inspection_joints import Joints, joint_lines
from camkit.report.inspection_marks import finding_marks
from camkit.report.inspection_rows import (
    EN_DASH,
    PartRow,
    counted_parts,
    has_own_name,
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
from camkit.report.joint_marks import joint_legend, joint_marks
from camkit.report.legend import letters_across, listed
from camkit.report.paper import FAINT, INK, Paper, paper_for, rulers, scale_bar, svg_document
from camkit.report.part_numbers import part_numbers
from camkit.report.part_svg import inside_lines, outlines, recesses, size_text, wood
from camkit.report.svg import lettering, number, path_data, wrapped
from camkit.report.words import TIMES, counted

__all__ = ["features_text", "inspection_svg"]

_MOST_ROWS = 160
_MOST_FINDINGS = 80
# Lines that are not cut: a tone that no wood, ink or finding has, and dashes for eyes that see no tones.
_LEFT = "#8a3b8f"
_LEFT_DASH, _EDGE_DASH = (1.4, 0.8), (3.0, 1.2)


def inspection_svg(drawn: Drawn, joints: Joints | None = None) -> str:
    """One drawing as it was understood, to scale, as an SVG text.

    Findings carry the numbers of `inspect`'s table, parts too, joints its letters. Lines that are not cut are
    dashed; those far from everything else are left out of the picture and counted.
    """
    shown = _near(drawn)
    every = [*_cut(drawn), *shown]
    paper = paper_for(bounds_of_all(every) if every else (0.0, 0.0, 100.0, 100.0))
    mm, found, name = paper.mm, numbered_findings(drawn), PurePath(drawn.path).name
    right = paper.width - 8 * mm
    taken = Taken(8 * mm)
    lines = [drawn.sheet_edge, *shown] if drawn.sheet_edge else shown
    numbers = part_numbers(drawn.parts, lines, paper, taken)
    joined = joint_marks(joints, paper, taken)
    body = [
        lettering(paper.left, 7.6 * mm, 4.4 * mm, name),
        lettering(paper.left, 12.6 * mm, 2.6 * mm, unit_text(drawn), fill=FAINT),
        lettering(
            right, 7.6 * mm, 3 * mm, f"{counted_parts(drawn.parts)}, {counted(drawn.findings)}", anchor="end"
        ),
        lettering(right, 12.6 * mm, 2.6 * mm, "all lengths in mm", anchor="end", fill=FAINT),
        f'<g transform="{paper.turned_over}">',
        _dashed([drawn.sheet_edge] if drawn.sheet_edge else [], INK, 0.3, _EDGE_DASH, paper),
        *(wood(part) for part in drawn.parts),
        *(tone for part in drawn.parts for tone in recesses(part, None)),
        *(inside_lines(part, paper) for part in drawn.parts),
        *(outlines(part, paper) for part in drawn.parts),
        _dashed(shown, _LEFT, 0.3, _LEFT_DASH, paper),
        "</g>",
        *rulers(paper),
        *numbers,
        *joined,
        *finding_marks(found, paper, taken),
    ]
    y = paper.bottom + 14 * mm
    body += scale_bar(paper, right, y + 0.8 * mm)
    legend, x = joint_legend(joints, paper.left, y, paper)
    body += [*legend, *_legend(drawn, len(shown), paper, x, y)]
    rows, y = _parts_list(part_rows(drawn.parts), y + 6 * mm, paper)
    hint, y = _lines(slots_text(drawn.parts), y, paper)
    meeting, y = _joint_list(joints, y, paper)
    notes, height = listed(
        paper, found, y + 3 * mm, most=_MOST_FINDINGS, elsewhere="all in the words of inspect --json"
    )
    return svg_document(paper, height, [*body, *rows, *hint, *meeting, *notes], f"{name}, lengths in mm")


def features_text(part: Part) -> str:
    """Openings, pockets and holes in words: "2 openings; 4 holes 5; 1 pocket 6 deep"."""
    said = []
    if part.openings:
        said.append(f"{len(part.openings)} opening{'s' if len(part.openings) > 1 else ''}")
    for count, diameter, depth in hole_counts(part):
        deep = f", {depth} deep" if depth else ""
        said.append(f"{count} hole{'s' if count > 1 else ''} \N{DIAMETER SIGN}{diameter}{deep}")
    said += [f"{count} sunk to \N{DIAMETER SIGN}{diameter}" for count, diameter in sink_counts(part)]
    said += [f"{count} pocket{'s' if count > 1 else ''} {depth} deep" for count, depth in pocket_counts(part)]
    return "; ".join(said) or "plain"


def _cut(drawn: Drawn) -> list[Path]:
    return [part.outline for part in drawn.parts] + ([drawn.sheet_edge] if drawn.sheet_edge else [])


def _near(drawn: Drawn) -> list[Path]:
    """Lines not cut, but for those farther from the parts than the parts reach: they would shrink them."""
    cut, left = _cut(drawn), left_lines(drawn)
    if not cut:
        return left
    x0, y0, x1, y1 = bounds_of_all(cut)
    reach = max(x1 - x0, y1 - y0)
    room = (x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    return [path for path in left if _within(bounds(path), room)]


def _within(inner: Bounds, outer: Bounds) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def _dashed(paths: Iterable[Path], ink: str, wide: float, dash: tuple[float, float], paper: Paper) -> str:
    data = "".join(path_data(path) for path in paths)
    if not data:
        return ""
    return f'<path d="{data}" fill="none" {_stroke(ink, wide, dash, paper)}/>'


def _stroke(ink: str, wide: float, dash: tuple[float, float], paper: Paper) -> str:
    on, off = (number(length * paper.mm) for length in dash)
    return f'stroke="{ink}" stroke-width="{number(wide * paper.mm)}" stroke-dasharray="{on} {off}"'


def _joint_list(joints: Joints | None, y: float, paper: Paper) -> tuple[list[str], float]:
    """The joints below each other, each with its letter; nothing where none is found."""
    heading, *said = joint_lines(joints, _MOST_ROWS) or [""]
    if not heading:
        return [], y
    head, y = _lines(heading, y + 2 * paper.mm, paper)
    told = [line.strip().replace("  ", ": ", 1).replace(" x ", f" {TIMES} ") for line in said]
    written, y = _in_columns(told, y, paper)
    return [*head, *written], y


def _legend(drawn: Drawn, shown: int, paper: Paper, x: float, y: float) -> list[str]:
    """What dashes mean, where the picture has any."""
    mm = paper.mm
    away = len(left_lines(drawn)) - shown
    said = []
    if shown or away:
        more = f" (and {away} far outside the picture)" if away else ""
        said.append((f"not cut{more}", _stroke(_LEFT, 0.3, _LEFT_DASH, paper)))
    if drawn.sheet_edge:
        said.append(("border of the sheet", _stroke(INK, 0.3, _EDGE_DASH, paper)))
    rows = []
    for words, stroke in said:
        rows.append(f'<path d="M{number(x)} {number(y)}h{number(9 * mm)}" {stroke}/>')
        rows.append(lettering(x + 10 * mm, y + 0.8 * mm, 2.3 * mm, words))
        x += (10 + len(words) * 1.35 + 5) * mm
    return rows


def _parts_list(rows: Sequence[PartRow], y: float, paper: Paper) -> tuple[list[str], float]:
    """The rows of parts below each other, in two columns where all of them are short."""
    said = [_row_text(row) for row in rows[:_MOST_ROWS]]
    if len(rows) > _MOST_ROWS:
        said.append(f"and {len(rows) - _MOST_ROWS} more, all in the table of inspect")
    return _in_columns(said, y, paper)


def _in_columns(said: Sequence[str], y: float, paper: Paper) -> tuple[list[str], float]:
    letters = letters_across(paper)
    if len(said) > 6 and max(map(len, said)) < letters // 2 - 2:
        half = (len(said) + 1) // 2
        left, y_left = _column(said[:half], paper.left, y, letters, paper)
        right, _ = _column(said[half:], (paper.left + paper.width) / 2, y, letters, paper)
        return [*left, *right], y_left + 2 * paper.mm
    written, y = _column(said, paper.left, y, letters, paper)
    return written, y + 2 * paper.mm


def _row_text(row: PartRow) -> str:
    numbers = numbers_text(row.numbers, EN_DASH)
    name = f"{row.part.name}, " if has_own_name(row.part, row.numbers[0]) else ""
    each = " each" if len(row.numbers) > 1 else ""
    return f"{numbers}: {name}{size_text(row.part)}{each}; {features_text(row.part)}"


def _column(said: Iterable[str], x: float, y: float, letters: int, paper: Paper) -> tuple[list[str], float]:
    mm = paper.mm
    rows = []
    for text in said:
        for k, line in enumerate(wrapped(text, letters)):
            rows.append(lettering(x + (4 * mm if k else 0), y, 2.3 * mm, line))
            y += 3.4 * mm
        y += 0.4 * mm
    return rows, y


def _lines(text: str, y: float, paper: Paper) -> tuple[list[str], float]:
    return _column([text], paper.left, y, letters_across(paper), paper) if text else ([], y)
