"""Random parts as people draw them in mm, cm and inches, and the plain DXF text of them.

Habits are common practice, no source: mm and cm are drawn in whole mm, inches in halves to sixteenths.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

MM = {"mm": 1.0, "cm": 10.0, "inch": 25.4}
INSUNITS = {"mm": 4, "cm": 5, "inch": 1}

_METRIC_SHEETS = (3, 4, 6, 6.5, 9, 12, 15, 18, 21, 24, 30)
_METRIC_PLAY = (0, 0, 0, 0, 0.1, 0.2, 0.3, 0.5, -0.2, -0.4)
_METRIC_HOLES = (3, 3.5, 4, 4.5, 5, 6, 8, 10, 12, 20, 35)
_INCH_SHEETS = (0.125, 0.25, 0.375, 0.46875, 0.5, 0.703, 0.71875, 0.72, 0.75, 0.75, 1.0)
_INCH_HOLES = (0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5, 0.75, 1.0)
# How many slots and holes a part has.
_OPENINGS = ((1, 0), (2, 0), (2, 4), (3, 2), (0, 2), (0, 4), (4, 4))

Box = tuple[float, float, float, float]
Circle = tuple[float, float, float]


@dataclass(frozen=True)
class Shapes:
    """Rectangles and circles (centre and diameter) in drawing units; `length` is that of the first part."""

    boxes: tuple[Box, ...]
    circles: tuple[Circle, ...]
    length: float


def random_shapes(chance: random.Random, unit: str, *, bare: bool = False) -> Shapes:
    """One to three rectangular parts side by side, each with slots or holes unless `bare`."""
    boxes: list[Box] = []
    circles: list[Circle] = []
    x = 0.0
    thickness, hole = _opening_sizes(chance, unit)
    for _ in range(chance.choice((1, 1, 2, 3))):
        long = _size(chance, unit, 120 if not bare else 60, 2200)
        short = _size(chance, unit, 60, min(1200.0, long * MM[unit]))
        boxes.append((x, 0.0, x + long, short))
        slots, holes = (
            (0, 0) if bare else chance.choice(((1, 0), (2, 0), (2, 4), (3, 2), (0, 2), (0, 4), (4, 4)))
        )
        for number in range(slots):
            left = x + _on_grid(long * (number + 1) / (slots + 2), unit, chance)
            length = min(_size(chance, unit, 40, 150), short * 0.7)
            low = _on_grid((short - length) / 2, unit, chance)
            boxes.append((left, low, left + thickness, low + length))
        for number in range(holes):
            along = long * (0.97 if number % 2 else 0.03)
            circles.append((x + along, short * (number // 2 + 1) / (holes // 2 + 1), hole))
        x += long + _size(chance, unit, 10, 30)
    return Shapes(tuple(boxes), tuple(circles), boxes[0][2] - boxes[0][0])


def _opening_sizes(chance: random.Random, unit: str) -> tuple[float, float]:
    if unit == "inch":
        return chance.choice(_INCH_SHEETS), chance.choice(_INCH_HOLES)
    slot = round(chance.choice(_METRIC_SHEETS) + chance.choice(_METRIC_PLAY), 1)
    return slot / MM[unit], chance.choice(_METRIC_HOLES) / MM[unit]


def _size(chance: random.Random, unit: str, least_mm: float, most_mm: float) -> float:
    size = least_mm * (most_mm / least_mm) ** chance.random()
    return _on_grid(size / MM[unit], unit, chance)


def _on_grid(size: float, unit: str, chance: random.Random) -> float:
    step = chance.choice((1, 0.5, 0.25, 0.125, 0.0625)) if unit == "inch" else chance.choice((1, 1, 5, 10))
    step = step if unit == "inch" else step / MM[unit]
    return round(max(1, round(size / step)) * step, 6)


def dxf_text(shapes: Shapes, headers: Sequence[tuple[str, int]] = ()) -> str:
    """A DXF of lines and circles with these header variables (whole numbers) and nothing else."""
    said = [f"9\n{name}\n70\n{value}" for name, value in headers]
    head = ["0\nSECTION\n2\nHEADER", *said, "0\nENDSEC"] if said else []
    lines = []
    for x0, y0, x1, y1 in shapes.boxes:
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        for k in range(4):
            (ax, ay), (bx, by) = corners[k], corners[(k + 1) % 4]
            lines.append(f"0\nLINE\n8\n0\n10\n{ax:.6f}\n20\n{ay:.6f}\n11\n{bx:.6f}\n21\n{by:.6f}")
    for x, y, diameter in shapes.circles:
        lines.append(f"0\nCIRCLE\n8\n0\n10\n{x:.6f}\n20\n{y:.6f}\n40\n{diameter / 2:.6f}")
    return "\n".join((*head, "0\nSECTION\n2\nENTITIES", *lines, "0\nENDSEC\n0\nEOF\n"))
