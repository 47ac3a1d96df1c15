"""What the preview page is given: the result as plain values, moves packed tight."""

from __future__ import annotations

import base64
import gzip
import struct

from camkit.geometry.measure import bounds
from camkit.geometry.path import circle
from camkit.part import Part, Placed
from camkit.pipeline import JudgedProgram, Result
from camkit.report.fixtures import fixture_lines
from camkit.report.json_report import Json, cut_of
from camkit.report.labels import label_place
from camkit.report.names import program_title
from camkit.report.numbered import Numbered, numbered, piece_name
from camkit.report.palette import CIVIDIS, OPERATIONS, operation
from camkit.report.part_svg import size_text
from camkit.report.svg import path_data
from camkit.report.travel import marks_of_motions, signed_sweep, top_of_sheet

__all__ = ["packed_moves", "page_data"]

_KINDS = {"rapid": 0, "feed": 1, "arc": 2}
_FARTHEST = 2_000_000_000


def page_data(result: Result) -> dict[str, Json]:
    """All that the page draws; lengths in mm in sheet coordinates, times in seconds."""
    sheets: list[Json] = [
        {
            "number": sheet.number,
            "size": list(sheet.size),
            "thickness": sheet.thickness,
            "material": sheet.stock.described,
            "fixtures": fixture_lines(result, sheet.number),
        }
        for sheet in result.sheets
    ]
    tabs: list[Json] = [
        {"sheet": cut.sheet, "x": tab.x, "y": tab.y, "width": tab.width}
        for cut in result.cuts
        for tab in cut.tabs
    ]
    return {
        "sheets": sheets,
        "pieces": [_piece(placed, result.placed) for placed in result.placed],
        "tabs": tabs,
        "findings": [_finding(row, result) for row in numbered(result)],
        "programs": [_program(program, result) for program in result.programs],
        "looks": [
            {"kind": o.kind, "light": o.light, "dark": o.dark, "dash": list(o.dash)}
            for o in (*OPERATIONS, operation("cut"))
        ],
        "depths": list(CIVIDIS),
    }


def packed_moves(program: JudgedProgram) -> str:
    """The motions as base64 of gzip of little-endian int32 columns, one column after another.

    Columns: kind (0 rapid, 1 feed, 2 arc); start less the end before, XYZ; end less start, XYZ; centre less
    start, XY; sweep in microradians, positive counter-clockwise; line less the line before; index of the cut
    or -1; feed in mm/min or 0; cutter number or 0; pause before and duration in tenths of milliseconds.
    Lengths are micrometres. The same motions always give the same text.
    """
    cut_index = {id(mark): n for n, mark in enumerate(program.reading.marks)}
    rows: list[tuple[int, ...]] = []
    at, line, clock = (0, 0, 0), 0, 0
    for motion, timed, mark in zip(
        program.reading.motions, program.verdict.timing, marks_of_motions(program), strict=True
    ):
        start, end = _micrometres(motion.start), _micrometres(motion.end)
        centre = _micrometres((*motion.centre, 0.0)) if motion.centre else start
        begins, ends = round(timed.begins_s * 1e4), round(timed.ends_s * 1e4)
        rows.append(
            (
                _KINDS[motion.kind],
                *(a - b for a, b in zip(start, at, strict=True)),
                *(a - b for a, b in zip(end, start, strict=True)),
                centre[0] - start[0],
                centre[1] - start[1],
                round(signed_sweep(motion) * 1e6),
                motion.line - line,
                cut_index[id(mark)] if mark else -1,
                round(motion.feed_mm_min or 0),
                motion.cutter or 0,
                begins - clock,
                ends - begins,
            )
        )
        at, line, clock = end, motion.line, ends
    flat = [_held(value) for column in zip(*rows, strict=True) for value in column]
    return base64.b64encode(gzip.compress(struct.pack(f"<{len(flat)}i", *flat), mtime=0)).decode()


def _micrometres(point: tuple[float, float, float]) -> tuple[int, int, int]:
    x, y, z = (round(value * 1000) for value in point)
    return (x, y, z)


def _held(value: int) -> int:
    """Within 32 bits, so that an absurd word in somebody's program still gives a page."""
    return max(-_FARTHEST, min(_FARTHEST, value))


def _program(program: JudgedProgram, result: Result) -> dict[str, Json]:
    thickness = next(s.thickness for s in result.sheets if s.number == program.sheet)
    return {
        "name": program_title(program, result),
        "sheet": program.sheet,
        "top": top_of_sheet(result.job, thickness),
        "count": len(program.reading.motions),
        "packed": packed_moves(program),
        "cutters": {str(c.number): c.diameter_mm for c in program.verdict.cutters},
        "cuts": _cuts(program, result),
    }


def _cuts(program: JudgedProgram, result: Result) -> list[Json]:
    times = {row.first_line: row for row in program.verdict.cuts}
    pieces = {(p.part.name, p.copy): piece_name(p, result.placed) for p in result.placed}
    spoken = {f"{name} {copy}".lower(): said for (name, copy), said in pieces.items()}
    rows: list[Json] = []
    for mark in program.reading.marks:
        row = times.get(mark.line)
        cut = cut_of(row, program, result) if row else None
        rows.append(
            {
                "number": mark.number,
                "kind": cut.kind if cut else mark.kind.lower(),
                "name": pieces.get((cut.part, cut.copy), cut.part)
                if cut
                else spoken.get(mark.name.lower(), mark.name.lower()),
                "first": mark.before,
                "time_s": row.time_s if row else 0.0,
            }
        )
    return rows


def _piece(placed: Placed, among: tuple[Placed, ...]) -> dict[str, Json]:
    shape = placed.shape
    area, label = shape.region(), label_place(shape)
    return {
        "name": piece_name(placed, among),
        "below": size_text(placed.part) + (", face down" if placed.mirrored else ""),
        "sheet": placed.sheet,
        "area": "".join(path_data(loop) for loop in (area.exterior, *area.interiors)),
        "edge": "".join(path_data(loop) for loop in (shape.outline, *shape.openings)),
        "inner": _inner(shape),
        "label": {
            "x": label.x,
            "y": label.y,
            "along": label.along,
            "across": label.across,
            "turned": label.turned,
        },
    }


def _inner(shape: Part) -> str:
    loops = [loop for pocket in shape.pockets for loop in (pocket.outline, *pocket.islands)]
    loops += [circle(hole.centre, hole.diameter) for hole in shape.holes]
    loops += [circle(h.centre, h.countersink.diameter) for h in shape.holes if h.countersink is not None]
    return "".join(path_data(loop) for loop in loops)


def _finding(row: Numbered, result: Result) -> dict[str, Json]:
    finding = row.finding
    move: int | None = None
    if row.program is not None and finding.line is not None:
        motions = result.programs[row.program].reading.motions
        move = next((n for n, motion in enumerate(motions) if motion.line >= finding.line), None)
    piece = next((p for p in result.placed if finding.part in (p.part.name, f"{p.part.name}:{p.copy}")), None)
    return {
        "number": row.number,
        "level": finding.level,
        "text": f"{finding.rule}: {finding}",
        "program": row.program,
        "sheet": row.sheet,
        "place": list(row.place) if row.place else None,
        "extent": list(bounds(piece.shape.outline)) if piece else None,
        "move": move,
    }
