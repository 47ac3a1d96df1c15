"""The pieces of a test coupon, drawn: two plates of slots, the tongue, the block, and how they lie.

Slots of plate X have their width along X, those of plate Y along Y: backlash and belts differ from axis to
axis. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, Line, Path, Point, Segment, rectangle
from camkit.geometry.tolerance import RELIEF
from camkit.geometry.transform import Placement, moved, moved_point
from camkit.job.measured import BLOCK, LARGEST_MARK, MARK_STEP, SMALLEST_MARK
from camkit.joinery.coupon_marks import WEB, Marks, Pen, dash, height_of, letter, step_marks
from camkit.part import Hole, Part

__all__ = ["STEPS", "TONGUE", "Axis", "Bore", "Plate", "Slot", "arranged", "plate"]

Axis = Literal["X", "Y"]

# What is added to the sheet's thickness, slot by slot.
STEPS = tuple(
    round(SMALLEST_MARK + MARK_STEP * k, 2)
    for k in range(round((LARGEST_MARK - SMALLEST_MARK) / MARK_STEP) + 1)
)
# Width of the tongue, which enters, and its length, to hold it by.
TONGUE = (30.0, 110.0)
# A slot's straight walls are this much longer than the tongue is wide: it must bind on its faces only.
_LOOSE = 1.0
# Wood between two slots; it takes blows of a mallet (common practice, no source).
_WALL = 10.0
# Wood along the rim of a plate.
_RIM = 6.0
_PER_ROW = 6
# Between a row's marks and the next row, so that nobody takes them for that row's.
_ROWS_APART = 4.0
# Wood left between the cuts around two pieces: tabs hang on it.
_STRIP = 5.0


@dataclass(frozen=True, slots=True)
class Slot:
    """A slot `step` wider than the sheet; `width` lies along `axis`, its middle at (x, y) on the sheet."""

    axis: Axis
    step: float
    width: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Bore:
    """A hole for trying a dowel, `step` wider than it; drilled ones come in one size only."""

    dowel: float
    step: float
    x: float
    y: float
    drilled: bool = False

    @property
    def diameter(self) -> float:
        """Of the hole."""
        return self.dowel + self.step


@dataclass(frozen=True, slots=True)
class Plate:
    """A plate with its slots and holes."""

    part: Part
    slots: tuple[Slot, ...]
    bores: tuple[Bore, ...] = ()

    def put(self, placement: Placement) -> Plate:
        """The plate somewhere else, perhaps turned."""

        def at(point: Point) -> tuple[float, float]:
            return moved_point(point, placement)

        part = self.part
        there = replace(
            part,
            outline=moved(part.outline, placement),
            openings=tuple(moved(path, placement) for path in part.openings),
            holes=tuple(replace(hole, centre=at(hole.centre)) for hole in part.holes),
            pockets=tuple(replace(p, outline=moved(p.outline, placement)) for p in part.pockets),
        )
        slots = tuple(replace(s, x=at((s.x, s.y))[0], y=at((s.x, s.y))[1]) for s in self.slots)
        bores = tuple(replace(b, x=at((b.x, b.y))[0], y=at((b.x, b.y))[1]) for b in self.bores)
        return Plate(there, slots, bores)


def plate(axis: Axis, thickness: float, diameter: float, pen: Pen, bores: Sequence[Bore]) -> Plate:
    """Rows of slots, the narrowest first at the lower left, each with its mark, and the axis's letter.

    Above them a row of `bores` for each size of dowel. Widths lie along the plate's own first axis; plate
    Y is turned afterwards. `diameter` is the cutter's.
    """
    pitch = max(thickness + STEPS[-1] + _WALL, 2 * pen.room + 2 * WEB)
    slots, marks, v = _slot_rows(axis, thickness, diameter, pen, pitch)
    length = _slot_length(diameter)
    corner = diameter / 2 + RELIEF
    openings = (
        _rounded(s.x - s.width / 2, s.y - length / 2, s.x + s.width / 2, s.y + length / 2, corner)
        for s in slots
    )
    placed, more, across, v = _bore_rows(bores, pen, pitch, v)
    marks += more
    part = Part(
        f"slots {axis}",
        rectangle(0.0, 0.0, max(_PER_ROW * pitch, across) + 2 * _RIM, v - _ROWS_APART + _RIM),
        tuple(openings),
        (*(Hole((b.x, b.y), b.diameter) for b in placed), *(dot for one in marks for dot in one.dots)),
        tuple(stroke for one in marks for stroke in one.strokes),
    )
    return Plate(part, tuple(slots), tuple(placed))


def _slot_length(diameter: float) -> float:
    return TONGUE[0] + _LOOSE + diameter + 2 * RELIEF


def _slot_rows(
    axis: Axis, thickness: float, diameter: float, pen: Pen, pitch: float
) -> tuple[list[Slot], list[Marks], float]:
    """Slots, their marks and the letter of the axis, and the height that they take."""
    columns, length = pen.columns(pitch), _slot_length(diameter)
    slots: list[Slot] = []
    marks: list[Marks] = []
    v = _RIM
    for first in range(0, len(STEPS), _PER_ROW):
        row = STEPS[first : first + _PER_ROW]
        v += height_of((step for step in row if step < 0), pen, columns)
        for k, step in enumerate(row):
            u = _RIM + pitch * (k + 0.5)
            slots.append(Slot(axis, step, thickness + step, u, v + length / 2))
            marks.append(step_marks(step, (u, v if step < 0 else v + length), pen, columns))
        if len(row) < _PER_ROW:
            middle, wide = (_RIM + pitch * (_PER_ROW - 0.5), v + length / 2), pitch - 2 * WEB
            marks.append(Marks((), (letter(axis, middle, (wide, min(length, 1.5 * wide)), pen),)))
        v += length + height_of((step for step in row if step > 0), pen, columns) + _ROWS_APART
    return slots, marks, v


def _bore_rows(
    bores: Sequence[Bore], pen: Pen, pitch: float, v: float
) -> tuple[list[Bore], list[Marks], float, float]:
    """The holes from height `v` upwards and their marks; width of the widest row, height of the last."""
    columns = pen.columns(pitch)
    placed: list[Bore] = []
    marks: list[Marks] = []
    across = 0.0
    for dowel in dict.fromkeys(bore.dowel for bore in bores):
        same = [bore for bore in bores if bore.dowel == dowel]
        apart = max(pitch, dowel + _WALL)
        v += height_of((b.step for b in same if b.step < 0), pen, columns) + dowel / 2
        for k, bore in enumerate(same):
            here = replace(bore, x=_RIM + apart * (k + 0.5), y=v)
            rim = v + (-here.diameter if bore.step < 0 else here.diameter) / 2
            placed.append(here)
            marks.append(Marks() if bore.drilled else step_marks(bore.step, (here.x, rim), pen, columns))
        above = (b.step for b in same if b.step > 0 and not b.drilled)
        v += dowel / 2 + height_of(above, pen, columns) + _ROWS_APART
        across = max(across, apart * len(same))
    return placed, marks, across, v


def _rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Path:
    """An upright rectangle with round corners, counter-clockwise."""
    corners = ((x1 - r, y0 + r), (x1 - r, y1 - r), (x0 + r, y1 - r), (x0 + r, y0 + r))
    leaving = ((1, 0), (0, 1), (-1, 0), (0, -1))  # from a corner's centre to where its arc ends
    segments: list[Segment] = []
    for k, (x, y) in enumerate(corners):
        (du, dv), (eu, ev) = leaving[k - 1], leaving[k]
        begin, end = (x + r * du, y + r * dv), (x + r * eu, y + r * ev)
        if segments:
            segments.append(Line(segments[-1].end, begin))
        segments.append(Arc(begin, end, (x, y), clockwise=False))
    segments.append(Line(segments[-1].end, segments[0].start))
    return Path(tuple(segments))


def arranged(
    x_plate: Plate, y_plate: Plate, pen: Pen, margin: float, diameter: float
) -> tuple[Plate, Plate, Part, Part, tuple[float, float]]:
    """All pieces where they lie on the sheet, and the wood that they take."""
    apart = 2 * diameter + _STRIP
    _, _, wide, high = bounds(x_plate.part.outline)
    _, _, y_wide, y_high = bounds(y_plate.part.outline)
    first = x_plate.put(Placement(margin, margin))
    # A quarter turn lays the second plate's widths along Y; its height becomes its extent along X.
    right = margin + wide + apart
    second = y_plate.put(Placement(right + y_high, margin, turn_deg=90.0))
    beside = BLOCK + apart + TONGUE[1] <= wide
    above = margin + (high if beside else max(high, y_wide)) + apart
    block_at, tongue_at = (margin, above), (margin + BLOCK + apart, above)
    block = Part(
        "block",
        rectangle(*block_at, block_at[0] + BLOCK, block_at[1] + BLOCK),
        pockets=(dash((block_at[0] + BLOCK / 2, block_at[1] + BLOCK / 4), pen),),
    )
    tongue = Part("tongue", rectangle(*tongue_at, tongue_at[0] + TONGUE[1], tongue_at[1] + TONGUE[0]))
    x1 = max(right + y_high, tongue_at[0] + TONGUE[1])
    y1 = max(margin + y_wide, above + BLOCK)
    return first, second, tongue, block, (round(x1 + margin, 3), round(y1 + margin, 3))
