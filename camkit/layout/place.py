"""Parts placed as they are drawn: each drawing is one sheet of every stock that it needs. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from camkit.errors import Finding
from camkit.geometry.measure import Bounds, bounds, bounds_of_all
from camkit.geometry.path import Path
from camkit.geometry.transform import Placement
from camkit.job.model import Job, Sheet
from camkit.layout.check import check_sheet
from camkit.layout.move import moved_part
from camkit.layout.sheet import SheetUse
from camkit.part import Part, Placed

__all__ = ["DrawnExtent", "Layout", "place"]

# A drawn sheet edge that differs from the job's sheet by more than this is another sheet.
_SAME_SIZE = 1.0
# Where the job states no sheet, this much wood is meant to stand beyond the outermost cut, to hold tabs.
_STRIP = 4.0
# Shifts and overhangs below this are rounding of the drawing.
_ROUNDING = 0.01


class DrawnExtent(Protocol):
    """A drawing as far as layout needs it: the edge of the sheet, when it shows one."""

    @property
    def sheet_edge(self) -> Path | None:
        """Closed outline of the sheet in drawing coordinates."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Every part placed, and the sheets that hold any, both in the order of the drawings and parts."""

    placed: tuple[Placed, ...]
    sheets: tuple[SheetUse, ...]
    findings: tuple[Finding, ...] = ()


def place(
    parts: Sequence[tuple[int, Part]], job: Job, stocks: Sequence[Sheet], drawings: Sequence[DrawnExtent]
) -> Layout:
    """The parts where their drawings show them; each comes with the index of its drawing and its stock.

    Each drawing is one sheet, or one of every stock that its parts are cut from; sheets are numbered from 1
    in the order of the drawings, then of the job's sheets. A sheet is as large as the job says, else as its
    drawn edge, else as all parts of the drawing and the margin around them. Its lower left corner is that of
    the drawn edge, else the drawing's origin where the job's sheet then holds its parts, else they are
    shifted into the margin's corner.
    Findings: see `check_sheet`; `sheet-edge` (warning) and `shifted` (note).
    Raises IndexError when a part names a drawing that is not there.
    """
    copies: Counter[str] = Counter()
    placed: list[Placed] = []
    sheets: list[SheetUse] = []
    findings: list[Finding] = []
    for index, drawing in enumerate(drawings):
        drawn = [part for at, part in parts if at == index]
        for stock in job.sheet:
            own = [
                part for (at, part), its in zip(parts, stocks, strict=True) if at == index and its == stock
            ]
            if not own:
                continue
            number = len(sheets) + 1
            (x, y), size, said = _frame(own, drawn, job, stock, drawing, number)
            findings.extend(said)
            sheets.append(SheetUse(number, size, stock))
            here = []
            for part in own:
                copies[part.name] += 1
                shape = moved_part(part, Placement(x, y))
                here.append(Placed(part, shape, copies[part.name], number, x, y))
            placed.extend(here)
            findings.extend(check_sheet(here, sheets[-1], job))
    return Layout(tuple(placed), tuple(sheets), tuple(findings))


def _frame(
    parts: Sequence[Part],
    drawn: Sequence[Part],
    job: Job,
    stock: Sheet,
    drawing: DrawnExtent,
    number: int,
) -> tuple[tuple[float, float], tuple[float, float], list[Finding]]:
    """By how much parts move from the drawing to the sheet, the sheet's size, and what is to be said.

    `drawn` are all parts of the drawing, also those of other stocks: without sizes they share one frame.
    """
    margin = stock.margin if stock.size else max(stock.margin, _kerf(job) + _STRIP)
    if drawing.sheet_edge is not None:
        ex0, ey0, ex1, ey1 = bounds(drawing.sheet_edge)
        edge = (ex1 - ex0, ey1 - ey0)
        size = stock.size or edge
        return (_offset(ex0), _offset(ey0)), size, _edge_said(number, stock, size, edge)
    x0, y0, x1, y1 = extent = bounds_of_all(part.outline for part in (parts if stock.size else drawn))
    size = stock.size or (x1 - x0 + 2 * margin, y1 - y0 + 2 * margin)
    if stock.size and _inside(extent, size):
        return (0.0, 0.0), size, []
    shift = (margin - x0, margin - y0)
    if max(abs(shift[0]), abs(shift[1])) <= _ROUNDING:
        return (0.0, 0.0), size, []
    said = Finding(
        "note",
        "shifted",
        f"sheet {number}: all parts are shifted by ({shift[0]:.2f}, {shift[1]:.2f}) mm so that they begin "
        f"at the margin of {margin:g} mm",
        "Draw the sheet's edge on a layer of its own to say where the sheet lies",
        file=parts[0].source.file or None,
    )
    return shift, size, [said]


def _kerf(job: Job) -> float:
    """Width of the widest cut around a part."""
    return max((c.diameter for c in job.cutter if c.mills), default=0.0)


def _offset(edge: float) -> float:
    return -edge if edge else 0.0  # no -0.0: it would be written so


def _edge_said(
    number: int, stock: Sheet, size: tuple[float, float], drawn: tuple[float, float]
) -> list[Finding]:
    if max(abs(size[0] - drawn[0]), abs(size[1] - drawn[1])) <= _SAME_SIZE:
        return []
    return [
        Finding(
            "warning",
            "sheet-edge",
            f"sheet {number}: the drawn edge measures {drawn[0]:g} x {drawn[1]:g} mm, the job's sheet "
            f"{size[0]:g} x {size[1]:g} mm; lower left corners are laid together",
            f"Correct the drawn edge or size in {stock.table}",
        )
    ]


def _inside(extent: Bounds, size: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = extent
    return min(x0, y0) >= -_ROUNDING and x1 <= size[0] + _ROUNDING and y1 <= size[1] + _ROUNDING
