"""What stands around a drawing: heading, legend, scale bar and the list of findings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from camkit.errors import Finding
from camkit.pipeline import JudgedProgram, Result, SheetUse
from camkit.report.markers import disc
from camkit.report.numbered import Numbered
from camkit.report.palette import LEVELS, OPERATIONS, operation
from camkit.report.paper import FAINT, INK, Paper, scale_bar, scale_bar_length
from camkit.report.part_svg import depth_tone
from camkit.report.svg import lettering, number, wrapped
from camkit.report.words import TIMES, clock, length_text, verdict_words

__all__ = ["finding_text", "footer", "heading", "letters_across", "listed"]

_MOST_LISTED = 24


def heading(result: Result, use: SheetUse, programs: Sequence[JudgedProgram], paper: Paper) -> list[str]:
    """Title and sheet on the left, verdict and time on the right."""
    mm, right = paper.mm, paper.width - 8 * paper.mm
    of = f"sheet {use.number} of {len(result.sheets)}"
    size = f" {TIMES} ".join(length_text(v) for v in (*use.size, use.thickness))
    time = sum(p.verdict.time_s for p in programs)
    names = ", ".join(p.name for p in programs) or "no program"
    colour = INK if result.ok else LEVELS["error"]
    return [
        lettering(paper.left, 7.6 * mm, 4.4 * mm, result.job.title or of),
        lettering(paper.left, 12.6 * mm, 2.6 * mm, f"{of}, {size} mm {use.stock.described}", fill=FAINT),
        lettering(right, 7.6 * mm, 3 * mm, verdict_words(result), anchor="end", fill=colour),
        lettering(right, 12.6 * mm, 2.6 * mm, f"{names}, {clock(time)}", anchor="end", fill=FAINT),
    ]


def footer(
    paper: Paper,
    found: Sequence[Numbered],
    *,
    kinds: Iterable[str],
    tabs: bool,
    thickness: float | None,
    fixtures: bool = False,
) -> tuple[list[str], float]:
    """Legend, scale bar and findings below the drawing, and the height of the page that they need."""
    mm = paper.mm
    y = paper.bottom + 14 * mm
    rows: list[str] = []
    x = paper.left
    used = {operation(kind).kind for kind in kinds}
    for look in (o for o in (*OPERATIONS, operation("cut")) if o.kind in used):
        thin = 0.45 * mm
        dash = f' stroke-dasharray="{" ".join(number(d * thin) for d in look.dash)}"' if look.dash else ""
        rows.append(
            f'<path d="M{number(x)} {number(y)}h{number(9 * mm)}" stroke="{look.light}" '
            f'stroke-width="{number(thin)}"{dash}/>'
        )
        x = _word(rows, x + 10 * mm, y, look.kind, paper)
    if thickness:
        for step in range(5):
            rows.append(
                f'<rect x="{number(x + step * 2 * mm)}" y="{number(y - 1.2 * mm)}" width="{number(2 * mm)}" '
                f'height="{number(2.4 * mm)}" fill="{depth_tone(step / 4)}"/>'
            )
        x = _word(rows, x + 11 * mm, y, "shallow to deep, white: through", paper)
    if tabs:
        r = 0.9 * mm
        rows.append(
            f'<path d="M{number(x)} {number(y)}l{number(r)} {number(-r)}l{number(r)} {number(r)}'
            f'l{number(-r)} {number(r)}Z" fill="{INK}"/>'
        )
        x = _word(rows, x + 2.6 * mm, y, "tab", paper)
    if fixtures:
        r, wide = 0.9 * mm, number(1.8 * mm)
        rows.append(
            f'<path d="M{number(x)} {number(y - r)}h{wide}v{wide}h-{wide}Zl{wide} {wide}m-{wide} 0l{wide} '
            f'-{wide}" fill="none" stroke="{INK}" stroke-width="{number(0.25 * mm)}"/>'
        )
        x = _word(rows, x + 2.6 * mm, y, "clamp, pod, screw", paper)
    right = paper.width - 8 * mm
    if x > right - scale_bar_length(paper):  # no room beside the legend: the bar goes below it
        y += 7 * mm
    rows += scale_bar(paper, right, y + 0.8 * mm)
    lines, bottom = listed(paper, found, y + 8 * mm)
    return [*rows, *lines], bottom


def finding_text(finding: Finding) -> str:
    """A finding as one sentence for a list beside the drawing."""
    return f"{finding.level}, {finding.rule}: {finding}"


def _word(rows: list[str], x: float, y: float, text: str, paper: Paper) -> float:
    rows.append(lettering(x, y + 0.8 * paper.mm, 2.3 * paper.mm, text))
    return x + (len(text) * 1.35 + 5) * paper.mm


def letters_across(paper: Paper) -> int:
    """How many letters a line of a list holds."""
    return int((paper.width - paper.left - 15 * paper.mm) / (1.35 * paper.mm))


def listed(
    paper: Paper,
    found: Sequence[Numbered],
    y: float,
    *,
    most: int = _MOST_LISTED,
    elsewhere: str = "all in report.json",
) -> tuple[list[str], float]:
    """Numbered findings in words from `y` downwards, and where they end on the page.

    At most `most` are listed, then how many more there are and where to find them.
    """
    mm = paper.mm
    letters = letters_across(paper)
    rows: list[str] = []
    for row in found[:most]:
        rows.append(disc(paper, paper.left + 2 * mm, y - 0.8 * mm, row))
        for line in wrapped(finding_text(row.finding), letters):
            rows.append(lettering(paper.left + 6 * mm, y, 2.3 * mm, line))
            y += 3.4 * mm
        y += 2 * mm
    if len(found) > most:
        more = f"and {len(found) - most} more, {elsewhere}"
        rows.append(lettering(paper.left + 6 * mm, y, 2.3 * mm, more, fill=FAINT))
        y += 5 * mm
    return rows, y + 2 * mm
