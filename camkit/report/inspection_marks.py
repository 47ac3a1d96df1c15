"""Findings marked in the picture of a drawing: those of one place share a mark, "3-9"."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from camkit.geometry.path import Point
from camkit.report.boxes import Box, Taken, around
from camkit.report.inspection_rows import EN_DASH, numbers_text
from camkit.report.labels import text_width
from camkit.report.numbered import Numbered
from camkit.report.palette import LEVELS
from camkit.report.paper import INK, Paper
from camkit.report.svg import lettering, number

__all__ = ["finding_marks"]

# Places nearer than this on paper, mm, share a mark; farther ones too where there would be too many marks.
_TOGETHER = 3.0
_WIDER = 1.5
_MOST_MARKS = 60
_LETTERS, _HIGH = 2.1, 3.6
_LONGEST = 11
_DISTANCES = (2.5, 4.5, 7.0, 10.0, 14.0, 19.0, 25.0, 32.0)
# Rings of one mark nearer than this on paper, mm, are drawn as one.
_RINGS_APART = 0.8


@dataclass(slots=True)
class _Mark:
    """Findings that share a mark; places are on the page."""

    place: Point
    rows: list[Numbered] = field(default_factory=list)
    places: list[Point] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The numbers, stretches joined; of a long list the beginning, and how many more."""
        return numbers_text([row.number for row in self.rows], EN_DASH, _LONGEST)


def finding_marks(found: Sequence[Numbered], paper: Paper, taken: Taken) -> list[str]:
    """A ring at each finding's place and a numbered mark beside it, clear of the boxes taken.

    What lies outside the drawing's extent is marked at its rim, without a ring.
    """
    placed = [(row, paper.at(*row.place)) for row in found if row.place is not None]
    reach = _TOGETHER
    marks, boxes = _spread(placed, reach, paper, taken)
    while len(marks) > 1 and (len(marks) > _MOST_MARKS or None in boxes):
        reach *= _WIDER
        marks, boxes = _spread(placed, reach, paper, taken)
    drawn: list[str] = []
    lettered: list[str] = []
    for mark, box in zip(marks, boxes, strict=True):
        level = mark.rows[0].finding.level  # numbers run from the worst level on
        at = box or Box(*_clamped(mark.place, paper), *_size(mark.text, paper))
        drawn += _leader(mark, at, LEVELS[level], paper)
        lettered += _lettered(mark.text, at, level, paper)
    return [*drawn, *lettered]


def _spread(
    placed: Sequence[tuple[Numbered, Point]], reach: float, paper: Paper, taken: Taken
) -> tuple[list[_Mark], list[Box | None]]:
    """Findings gathered within reach, and a free box for each mark; None where there is no room."""
    marks = _within(placed, reach * paper.mm)
    boxes: list[Box | None] = []
    clear, marked = taken.copy(), Taken(taken.square)
    for mark in marks if len(marks) <= _MOST_MARKS else ():
        # A mark may lie on a part's number where there is no other room, never on another mark.
        box = _spot(mark, paper, clear) or _spot(mark, paper, marked)
        boxes.append(box)
        if box is not None:
            clear.add(box)
            marked.add(box)
    return marks, boxes


def _within(placed: Sequence[tuple[Numbered, Point]], reach: float) -> list[_Mark]:
    """Each finding goes to the first mark within reach of its place."""
    marks: list[_Mark] = []
    squares: dict[tuple[int, int], list[_Mark]] = {}
    for row, at in placed:
        column, line = int(at[0] // reach), int(at[1] // reach)
        near = (
            mark
            for i in (column - 1, column, column + 1)
            for j in (line - 1, line, line + 1)
            for mark in squares.get((i, j), ())
            if math.dist(mark.place, at) <= reach
        )
        mark = next(near, None)
        if mark is None:
            mark = _Mark(at)
            marks.append(mark)
            squares.setdefault((column, line), []).append(mark)
        mark.rows.append(row)
        mark.places.append(at)
    return marks


def _size(text: str, paper: Paper) -> Point:
    mm = paper.mm
    return max(_HIGH * mm, text_width(text, _LETTERS * mm) + 1.2 * mm), _HIGH * mm


def _clamped(place: Point, paper: Paper) -> Point:
    x0, _, x1, _ = paper.extent
    return (
        min(max(place[0], paper.left), paper.left + x1 - x0),
        min(max(place[1], paper.top), paper.bottom),
    )


def _spot(mark: _Mark, paper: Paper, taken: Taken) -> Box | None:
    mm = paper.mm
    wide, high = _size(mark.text, paper)
    place = _clamped(mark.place, paper)
    for box in around(place, wide + 0.6 * mm, high + 0.6 * mm, (away * mm for away in _DISTANCES)):
        inside = wide / 2 < box.x < paper.width - wide / 2 and paper.top - 3 * mm < box.y
        if inside and box.y < paper.bottom + 3 * mm and taken.is_free(box):
            return box
    return None


def _leader(mark: _Mark, box: Box, colour: str, paper: Paper) -> list[str]:
    mm = paper.mm
    line = f'fill="none" stroke="{colour}" stroke-width="{number(0.35 * mm)}"'
    rings = _rings(mark, paper)
    rows = [f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(0.7 * mm)}" {line}/>' for x, y in rings]
    if rings:
        x, y = rings[0]
        rows.insert(0, f'<path d="M{number(x)} {number(y)}L{number(box.x)} {number(box.y)}" {line}/>')
    return rows


def _rings(mark: _Mark, paper: Paper) -> list[Point]:
    rings: list[Point] = []
    for at in mark.places:
        if paper.holds(at) and all(math.dist(at, ring) > _RINGS_APART * paper.mm for ring in rings):
            rings.append(at)
    return rings


def _lettered(text: str, box: Box, level: str, paper: Paper) -> list[str]:
    mm, colour = paper.mm, LEVELS[level]
    fill, ink = (colour, "#ffffff") if level == "error" else ("#ffffff", INK)
    wide, high = _size(text, paper)
    pill = (
        f'<rect x="{number(box.x - wide / 2)}" y="{number(box.y - high / 2)}" width="{number(wide)}" '
        f'height="{number(high)}" rx="{number(high / 2)}" fill="{fill}" stroke="{colour}" '
        f'stroke-width="{number(0.45 * mm)}"/>'
    )
    return [
        pill,
        lettering(box.x, box.y + 0.36 * _LETTERS * mm, _LETTERS * mm, text, anchor="middle", fill=ink),
    ]
