"""The picture of what was read from a drawing: parts numbered, sizes, holes, findings."""

from __future__ import annotations

from collections import Counter
from pathlib import PurePath

from camkit.drawing.drawn import Drawn
from camkit.geometry.measure import bounds_of_all
from camkit.part import Part
from camkit.report.legend import letters_across, listed
from camkit.report.markers import markers
from camkit.report.numbered import Numbered, without_folder
from camkit.report.paper import FAINT, INK, Paper, paper_for, rulers, scale_bar, svg_document
from camkit.report.part_svg import inside_lines, label, outlines, recesses, size_text, wood
from camkit.report.svg import lettering, number, path_data, wrapped
from camkit.report.words import counted, length_text

__all__ = ["features_text", "inspection_svg"]

_MOST_MARKS = 40
_FROM = {
    "header": "as the file says",
    "given": "as it was given",
    "guessed": "guessed, the file does not say",
}


def inspection_svg(drawn: Drawn) -> str:
    """One drawing as it was understood, to scale, as an SVG text."""
    paths = [part.outline for part in drawn.parts] + ([drawn.sheet_edge] if drawn.sheet_edge else [])
    paper = paper_for(bounds_of_all(paths) if paths else (0.0, 0.0, 100.0, 100.0))
    mm = paper.mm
    found = [
        Numbered(
            number, without_folder(f), place=None if f.x_mm is None or f.y_mm is None else (f.x_mm, f.y_mm)
        )
        for number, f in enumerate(drawn.findings, start=1)
    ]
    name = PurePath(drawn.path).name
    count = f"{len(drawn.parts)} part{'' if len(drawn.parts) == 1 else 's'}"
    right = paper.width - 8 * mm
    edge = (
        f'<path d="{path_data(drawn.sheet_edge)}" fill="none" stroke="{INK}" '
        f'stroke-width="{number(0.3 * mm)}" stroke-dasharray="{number(3 * mm)} {number(1.2 * mm)}"/>'
        if drawn.sheet_edge
        else ""
    )
    body = [
        lettering(paper.left, 7.6 * mm, 4.4 * mm, name),
        lettering(
            paper.left, 12.6 * mm, 2.6 * mm, f"drawn in {drawn.unit}, {_FROM[drawn.unit_from]}", fill=FAINT
        ),
        lettering(right, 7.6 * mm, 3 * mm, f"{count}, {counted(drawn.findings)}", anchor="end"),
        lettering(right, 12.6 * mm, 2.6 * mm, "all lengths in mm", anchor="end", fill=FAINT),
        f'<g transform="{paper.turned_over}">',
        edge,
        *(wood(part) for part in drawn.parts),
        *(tone for part in drawn.parts for tone in recesses(part, None)),
        *(inside_lines(part, paper) for part in drawn.parts),
        *(outlines(part, paper) for part in drawn.parts),
        "</g>",
        *rulers(paper),
        *(label(part, str(n), part.name, paper) for n, part in enumerate(drawn.parts, start=1)),
        *markers(paper, found[:_MOST_MARKS]),
    ]
    y = paper.bottom + 14 * mm
    body += scale_bar(paper, right, y + 0.8 * mm)
    rows, y = _parts_list(drawn.parts, y + 6 * mm, paper)
    notes, height = listed(paper, found, y + 3 * mm)
    return svg_document(paper, height, [*body, *rows, *notes], f"{name}, lengths in mm")


def features_text(part: Part) -> str:
    """Openings, pockets and holes in words: "2 openings, 4 holes 5, 1 pocket 6 deep"."""
    said = []
    if part.openings:
        said.append(f"{len(part.openings)} opening{'s' if len(part.openings) > 1 else ''}")
    # As many decimals as are read: splines taken for circles differ in the sixth.
    holes = Counter((round(hole.diameter, 2), round(hole.depth or 0.0, 2)) for hole in part.holes)
    for (diameter, depth), count in sorted(holes.items()):
        deep = f", {length_text(depth)} deep" if depth else ""
        said.append(f"{count} hole{'s' if count > 1 else ''} ⌀{length_text(diameter)}{deep}")
    for depth, count in sorted(Counter(pocket.depth for pocket in part.pockets).items()):
        said.append(f"{count} pocket{'s' if count > 1 else ''} {length_text(depth)} deep")
    return "; ".join(said) or "plain"


def _parts_list(parts: tuple[Part, ...], y: float, paper: Paper) -> tuple[list[str], float]:
    mm = paper.mm
    rows = []
    for n, part in enumerate(parts, start=1):
        rows.append(lettering(paper.left + 4 * mm, y, 2.3 * mm, f"{n}", anchor="end"))
        for line in wrapped(f"{part.name}: {size_text(part)}; {features_text(part)}", letters_across(paper)):
            rows.append(lettering(paper.left + 6 * mm, y, 2.3 * mm, line))
            y += 3.4 * mm
        y += 0.4 * mm
    return rows, y + 2 * mm
