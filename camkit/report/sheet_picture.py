"""The picture of one sheet: parts, what the programs cut from it, tabs, findings, legend."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from camkit.cut import Tab
from camkit.geometry.path import Segment
from camkit.part import Placed
from camkit.pipeline import JudgedProgram, Result, SheetUse
from camkit.report.fixtures import fixture_lines
from camkit.report.legend import footer, heading
from camkit.report.markers import markers
from camkit.report.numbered import numbered, piece_name
from camkit.report.palette import operation
from camkit.report.paper import INK, Paper, paper_for, rulers, svg_document
from camkit.report.part_svg import depth_tone, inside_lines, label, outlines, size_text, wood
from camkit.report.svg import joined_path, number
from camkit.report.travel import depth_at, from_above, marks_of_motions, top_of_sheet

__all__ = ["sheet_svg"]

_SHEET = "#f6ecd8"
_THROUGH = "#fdfcf8"
_MOST_MARKS = 40
# A cut reaches the table when it ends this close to it.
_HAIR = 0.05


def sheet_svg(result: Result, sheet: int) -> str:
    """The sheet with this number, to scale, as an SVG text; raises ValueError when there is none such."""
    use = next((s for s in result.sheets if s.number == sheet), None)
    if use is None:
        raise ValueError(f"there is no sheet {sheet}; sheets are {[s.number for s in result.sheets]}")
    paper = paper_for((0.0, 0.0, *use.size))
    pieces = tuple(p for p in result.placed if p.sheet == sheet)
    programs = [p for p in result.programs if p.sheet == sheet]
    found = [row for row in numbered(result) if row.sheet == sheet or row.sheet is None]
    tabs = [tab for cut in result.cuts if cut.sheet == sheet for tab in cut.tabs]
    fixtures = fixture_lines(result, sheet)
    edge = f'width="{number(use.size[0])}" height="{number(use.size[1])}"'
    body = [
        *heading(result, use, programs, paper),
        f'<g transform="{paper.turned_over}">',
        f'<rect {edge} fill="{_SHEET}"/>',
        *(wood(p.shape) for p in pieces),
        *_swept(result, use, programs),
        *(inside_lines(p.shape, paper) for p in pieces),
        *_centre_lines(programs, paper),
        *(outlines(p.shape, paper) for p in pieces),
        *(_tab(tab, paper) for tab in tabs),
        *([_standing(fixtures, paper)] if fixtures else []),
        f'<rect {edge} fill="none" stroke="{INK}" stroke-width="{number(0.4 * paper.mm)}"/>',
        "</g>",
        *rulers(paper),
        *(_name(p, result.placed, paper) for p in pieces),
        *markers(paper, [row for row in found if row.sheet == sheet][:_MOST_MARKS]),
    ]
    kinds = [mark.kind.lower() for program in programs for mark in program.reading.marks]
    foot, height = footer(
        paper, found, kinds=kinds, tabs=bool(tabs), thickness=use.thickness, fixtures=bool(fixtures)
    )
    title = f"sheet {sheet} of {result.job.title or 'the job'}, lengths in mm"
    return svg_document(paper, height, [*body, *foot], title)


def _name(piece: Placed, among: tuple[Placed, ...], paper: Paper) -> str:
    below = size_text(piece.part) + (", face down" if piece.mirrored else "")
    return label(piece.shape, piece_name(piece, among), below, paper)


def _swept(result: Result, use: SheetUse, programs: Sequence[JudgedProgram]) -> list[str]:
    """What the cutters sweep, as wide strokes, shallow first, so that the deepest shows."""
    top = top_of_sheet(result.job, use.thickness)
    bands: dict[tuple[float, float], dict[Segment, None]] = {}
    dots: dict[tuple[float, float, float, float], None] = {}
    for program in programs:
        widths = {c.number: c.diameter_mm for c in program.verdict.cutters}
        for motion in program.reading.motions:
            depth = depth_at(motion, top)
            width = widths.get(motion.cutter) if motion.cutter is not None else None
            if depth <= 0 or not width:
                continue
            deep = use.thickness if depth > use.thickness - _HAIR else round(depth * 2) / 2
            flat = from_above(motion)
            bands.setdefault((deep, width), {}).update(dict.fromkeys(flat))
            if not flat:
                dots[(deep, width, motion.end[0], motion.end[1])] = None
    rows = [(band, joined_path(segments), "") for band, segments in bands.items()]
    rows += [((deep, width), "", _disc(x, y, width)) for deep, width, x, y in dots]
    return [
        _band(deep, width, data, dot, use.thickness)
        for (deep, width), data, dot in sorted(rows, key=lambda row: row[0])
    ]


def _disc(x: float, y: float, width: float) -> str:
    return f'cx="{number(x)}" cy="{number(y)}" r="{number(width / 2)}"'


def _band(deep: float, width: float, data: str, dot: str, thickness: float) -> str:
    tone = _THROUGH if deep >= thickness else depth_tone(deep / thickness)
    if dot:
        return f'<circle {dot} fill="{tone}"/>'
    return (
        f'<path d="{data}" fill="none" stroke="{tone}" stroke-width="{number(width)}" stroke-linecap="round" '
        'stroke-linejoin="round"/>'
    )


def _centre_lines(programs: Iterable[JudgedProgram], paper: Paper) -> list[str]:
    """The middle of the cutter, thin, one path an operation; passes over the same line are drawn once."""
    lines: dict[str, dict[Segment, None]] = {}
    for program in programs:
        for motion, mark in zip(program.reading.motions, marks_of_motions(program), strict=True):
            if motion.kind != "rapid":
                kind = mark.kind.lower() if mark else "cut"
                lines.setdefault(kind, {}).update(dict.fromkeys(from_above(motion)))
    thin = 0.22 * paper.mm
    drawn = []
    for kind, segments in sorted(lines.items()):
        look = operation(kind)
        dash = f' stroke-dasharray="{" ".join(number(d * thin) for d in look.dash)}"' if look.dash else ""
        drawn.append(
            f'<path class="{look.kind}" d="{joined_path(segments)}" fill="none" stroke="{look.light}" '
            f'stroke-width="{number(thin)}"{dash}/>'
        )
    return drawn


def _standing(lines: str, paper: Paper) -> str:
    """Clamps, pods and screws, crossed out."""
    thin = number(0.25 * paper.mm)
    return f'<path class="fixtures" d="{lines}" fill="none" stroke="{INK}" stroke-width="{thin}"/>'


def _tab(tab: Tab, paper: Paper) -> str:
    r = 0.9 * paper.mm
    return (
        f'<path d="M{number(tab.x - r)} {number(tab.y)}L{number(tab.x)} {number(tab.y - r)}'
        f'L{number(tab.x + r)} {number(tab.y)}L{number(tab.x)} {number(tab.y + r)}Z" fill="{INK}" '
        f'stroke="#fdfcf8" stroke-width="{number(0.2 * paper.mm)}"/>'
    )
