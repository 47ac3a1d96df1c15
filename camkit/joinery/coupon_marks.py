"""Marks that a router can cut and a person can read: dots, dashes, and the letters X and Y. Lengths in mm.

A slot's mark is its step. Above the slot each dot counts 0.10 and a dash 0.05; below it they count as minus.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from camkit.geometry.path import Arc, Line, Path, Point, Segment
from camkit.part import Hole, Pocket

__all__ = ["WEB", "Marks", "Pen", "dash", "height_of", "letter", "step_marks", "step_text"]

# Wood between two marks, and between a mark and a slot.
WEB = 3.0
# A mark is this many cutters wide: a plain plunge would burn, and a helix clears its chips.
_WIDE = 1.25
_OFF_DRILLS = 0.2
# A dash must not be taken for a dot.
_LONG = 2.2
_TENTH = 0.10


@dataclass(frozen=True, slots=True)
class Pen:
    """What marks are cut with: `width` of dots and strokes, `depth` below the face."""

    width: float
    depth: float

    @classmethod
    def of_cutter(cls, diameter: float, thickness: float, drills: Sequence[float] = ()) -> Pen:
        """Marks wide enough for the cutter, a third of the sheet deep and at most 1.5.

        No drill at hand has their width: it would take the dots for holes of its own.
        """
        width = _WIDE * diameter
        while any(abs(width - drill) < _OFF_DRILLS for drill in drills):
            width += _OFF_DRILLS / 2
        return cls(width, min(1.5, thickness / 3))

    @property
    def room(self) -> float:
        """Height of one row of marks with the wood beside it."""
        return self.width + WEB

    def columns(self, along: float) -> int:
        """How many dots stand side by side in `along`, well apart from those of the neighbours."""
        return max(1, math.floor((along - 2 * WEB) / self.room + 1e-9))


@dataclass(frozen=True, slots=True)
class Marks:
    """Dots and strokes to be cut."""

    dots: tuple[Hole, ...] = ()
    strokes: tuple[Pocket, ...] = ()


def step_text(step: float) -> str:
    """A step as it is spoken of: "+0.15", "0.00", "-0.05"; with the true minus sign."""
    rounded = round(step, 3) + 0.0
    sign = "+" if rounded > 0 else "\N{MINUS SIGN}" if rounded < 0 else ""
    return f"{sign}{abs(rounded):.2f}"


def step_rows(step: float, columns: int) -> list[int | Literal["dash"]]:
    """Rows of a mark from the slot outwards: numbers of dots, then perhaps the dash."""
    units = round(abs(step) / _TENTH * 2)
    tenths, half = divmod(units, 2)
    rows: list[int | Literal["dash"]] = [columns] * (tenths // columns)
    rows += [tenths % columns] if tenths % columns else []
    return [*rows, "dash"] if half else rows


def step_marks(step: float, edge: Point, pen: Pen, columns: int) -> Marks:
    """The marks of a step, centred on `edge` = (u, v), the end of what is marked.

    They stand above it, v growing; a negative step hangs its marks below.
    """
    (u, v), sign = edge, -1 if step < 0 else 1
    dots: list[Hole] = []
    strokes: list[Pocket] = []
    for k, row in enumerate(step_rows(step, columns)):
        middle = v + sign * (WEB + pen.width / 2 + k * pen.room)
        if row == "dash":
            strokes.append(dash((u, middle), pen))
            continue
        for n in range(row):
            dots.append(Hole((u + (n - (row - 1) / 2) * pen.room, middle), pen.width, pen.depth))
    return Marks(tuple(dots), tuple(strokes))


def height_of(steps: Iterable[float], pen: Pen, columns: int) -> float:
    """Height that the marks of these steps take, with the wood beyond them."""
    most = max((len(step_rows(step, columns)) for step in steps), default=0)
    return WEB + most * pen.room


def dash(middle: Point, pen: Pen) -> Pocket:
    """A short groove along u."""
    reach = (_LONG - 1) * pen.width / 2
    return Pocket(_star(middle, ((reach, 0.0), (-reach, 0.0)), pen.width), pen.depth)


def letter(which: Literal["X", "Y"], middle: Point, size: tuple[float, float], pen: Pen) -> Pocket:
    """The letter X or Y in strokes, as wide and high as `size`, strokes included."""
    u, v = (size[0] - pen.width) / 2, (size[1] - pen.width) / 2
    arms = ((u, v), (-u, v), (-u, -v), (u, -v)) if which == "X" else ((u, v), (-u, v), (0.0, -v))
    return Pocket(_star(middle, arms, pen.width), pen.depth)


def _star(middle: Point, arms: Sequence[Point], width: float) -> Path:
    """Strokes of `width` with round ends from the middle to each of `arms`, as one outline."""
    (x, y), r = middle, width / 2
    turned = sorted(arms, key=lambda arm: math.atan2(arm[1], arm[0]) % (2 * math.pi))
    angles = [math.atan2(v, u) % (2 * math.pi) for u, v in turned]
    corners: list[Point | None] = []
    for a, b in pairwise([*angles, angles[0] + 2 * math.pi]):
        half = (b - a) / 2
        straight = abs(half - math.pi / 2) < 1e-9
        away = r / math.sin(half)
        corners.append(None if straight else (x + away * math.cos(a + half), y + away * math.sin(a + half)))
    segments: list[Segment] = []
    for k, ((u, v), angle) in enumerate(zip(turned, angles, strict=True)):
        end, side = (x + u, y + v), (-r * math.sin(angle), r * math.cos(angle))
        right, left = (end[0] - side[0], end[1] - side[1]), (end[0] + side[0], end[1] + side[1])
        before = corners[k - 1]
        if before is not None:
            segments.append(Line(before, right))
        elif segments:
            segments.append(Line(segments[-1].end, right))
        segments.append(Arc(right, left, end, clockwise=False))
        after = corners[k]
        if after is not None:
            segments.append(Line(left, after))
    if corners[-1] is None:
        segments.append(Line(segments[-1].end, segments[0].start))
    return Path(tuple(segments))
