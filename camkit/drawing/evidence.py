"""Sizes that tell which unit a drawing was made in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.chain import Loop
from camkit.drawing.nest import Nest
from camkit.drawing.rounds import as_circle
from camkit.drawing.sketch import Piece
from camkit.drawing.slots import opening_width
from camkit.geometry.path import Line, Point

__all__ = ["Evidence", "gather"]

# Shorter lines, as a share of the drawing's length, are crumbs of curves and corners.
_CRUMB = 0.002
_MOST_SIZES = 40


@dataclass(frozen=True, slots=True)
class Evidence:
    """Sizes found in a drawing, in drawing units; `farthest` is how far out its coordinates lie.

    `largest` is the box of the largest loop (of everything where there is none), longer side first; `slots`
    are the widths of loops inside others that hold nothing themselves, `holes` the diameters of those that
    are round. `sizes` are the different lengths of upright lines, widths of slots and diameters of holes,
    the 40 most frequent.
    """

    extent: Point
    farthest: float
    page: Point | None
    largest: Point
    slots: tuple[float, ...]
    holes: tuple[float, ...]
    sizes: tuple[float, ...]
    loops: int


def gather(
    pieces: Sequence[Piece], loops: Sequence[Loop], nested: Nest, page: Point | None, scale: float
) -> Evidence | None:
    """Evidence from a drawing that was scaled by `scale`, its loops nested; None when it draws nothing."""
    if not pieces:
        return None
    ends = np.array([(*s.start, *s.end) for piece in pieces for s in piece.path.segments]) / scale
    straight = np.array([isinstance(s, Line) for piece in pieces for s in piece.path.segments])
    boxes = shapely.bounds(np.array(nested.shapes, dtype=object)).reshape(-1, 4) / scale
    corners = np.concatenate((ends.reshape(-1, 2), boxes.reshape(-1, 2)))
    extent = np.ptp(corners, axis=0)
    slots, holes = [], []
    for number, children in enumerate(nested.children()):
        if children or nested.parent[number] is None:
            continue
        found = as_circle(loops[number].path)
        if found is not None:
            holes.append(found[1] / scale)
        else:
            slots.append((opening_width(loops[number].path) or _width(nested.shapes[number])) / scale)
    sides = boxes[:, 2:] - boxes[:, :2] if len(boxes) else extent[None, :]
    largest = sides[np.argmax(sides.max(axis=1))]
    lengths = np.concatenate((_upright(ends[straight], float(extent.max())), slots, holes))
    return Evidence(
        (float(extent[0]), float(extent[1])),
        float(np.abs(corners).max()),
        page,
        (float(largest.max()), float(largest.min())),
        tuple(slots),
        tuple(holes),
        _different(lengths),
        len(loops),
    )


def _width(shape: shapely.Geometry) -> float:
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))
    if len(corners) < 4:
        return 0.0
    return float(min(np.linalg.norm(corners[1] - corners[0]), np.linalg.norm(corners[2] - corners[1])))


def _upright(lines: NDArray[np.float64], length: float) -> NDArray[np.float64]:
    """Lengths of the lines along X or Y."""
    steps = np.abs(lines[:, 2:] - lines[:, :2])
    long = steps.max(axis=1)
    kept: NDArray[np.float64] = long[(steps.min(axis=1) <= 1e-6 * long) & (long >= _CRUMB * length)]
    return kept


def _different(lengths: NDArray[np.float64]) -> tuple[float, ...]:
    _, first, counts = np.unique(np.round(lengths, 4), return_index=True, return_counts=True)
    order = np.argsort(-counts, kind="stable")[:_MOST_SIZES]
    return tuple(lengths[first[order]].tolist())
