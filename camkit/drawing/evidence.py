"""Sizes that tell which unit a drawing was made in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from camkit.drawing.chain import Loop
from camkit.drawing.nest import Nest
from camkit.drawing.rounds import as_circle
from camkit.drawing.sketch import Piece
from camkit.geometry.measure import bounds_of_all
from camkit.geometry.path import Line, Point

__all__ = ["Evidence", "gather"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Sizes found in a drawing, in drawing units.

    `largest` is the larger side of the largest loop; `slots` are the widths of loops inside others that hold
    nothing themselves, `holes` the diameters of those that are round.
    """

    extent: Point
    page: Point | None
    largest: float
    slots: tuple[float, ...]
    holes: tuple[float, ...]
    steps: Literal["sixteenths", "tenths", ""]


def gather(
    pieces: Sequence[Piece], loops: Sequence[Loop], nested: Nest, page: Point | None, scale: float
) -> Evidence | None:
    """Evidence from a drawing that was scaled by `scale`, its loops nested; None when it draws nothing."""
    if not pieces:
        return None
    x0, y0, x1, y1 = bounds_of_all(piece.path for piece in pieces)
    sizes = [max(b[2] - b[0], b[3] - b[1]) for b in shapely.bounds(list(nested.shapes)).tolist()]
    slots, holes = [], []
    for number, children in enumerate(nested.children()):
        if children or nested.parent[number] is None:
            continue
        found = as_circle(loops[number].path)
        if found is not None:
            holes.append(found[1] / scale)
        else:
            slots.append(_width(nested.shapes[number]) / scale)
    return Evidence(
        ((x1 - x0) / scale, (y1 - y0) / scale),
        page,
        max(sizes, default=max(x1 - x0, y1 - y0)) / scale,
        tuple(slots),
        tuple(holes),
        _steps(pieces, scale),
    )


def _width(shape: shapely.Geometry) -> float:
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))
    if len(corners) < 4:
        return 0.0
    return float(min(np.linalg.norm(corners[1] - corners[0]), np.linalg.norm(corners[2] - corners[1])))


def _steps(pieces: Sequence[Piece], scale: float) -> Literal["sixteenths", "tenths", ""]:
    """The steps that upright lines are drawn in, where more than a few cannot be chance.

    Odd numbers of eighths, sixteenths or thirty-seconds come from inches; hundredths that are no 64ths come
    from a metric rule.
    """
    sixteenths = tenths = total = 0
    for piece in pieces:
        for segment in piece.path.segments:
            if not isinstance(segment, Line):
                continue
            dx, dy = abs(segment.end[0] - segment.start[0]), abs(segment.end[1] - segment.start[1])
            size = (dx + dy) / scale
            if min(dx, dy) > 1e-6 * max(dx, dy) or size < 0.5:
                continue
            total += 1
            sixteenths += _is_whole(size * 32) and round(size * 32) % 8 != 0
            tenths += _is_whole(size * 100) and not _is_whole(size * 64)
    few = max(4.0, 0.1 * total)
    if sixteenths >= few and sixteenths >= tenths:
        return "sixteenths"
    return "tenths" if tenths >= few else ""


def _is_whole(number: float) -> bool:
    return abs(number - round(number)) < 1e-3
