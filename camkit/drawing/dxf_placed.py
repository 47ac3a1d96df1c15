"""Entities of a block as an insert places them, under any affine map."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ezdxf.entities.ellipse import Ellipse
from ezdxf.math import Matrix44

__all__ = ["placed_copies"]

# Squares of two half axes this equal (relative), and axes this square, keep a circle round: 0.15 um in 3 m.
_ROUND = 1e-10


def placed_copies(entity: Any, matrix: Matrix44) -> Iterator[Any]:
    """Copies of a drawn entity moved by the matrix; where that makes circles oval, arcs become ellipses.

    The loader's own way of moving entities calls a circle round that was turned by 45 degrees and then
    stretched, as its two axes come out equally long but not square; so roundness is decided here. Raises
    what the loader raises for numbers that make no sense.
    """
    copy = entity.copy()
    kind = copy.dxftype()
    if kind == "SPLINE" and not copy.control_points and copy.fit_points:
        # The curve through stretched points is not the stretched curve through the points.
        copy.apply_construction_tool(copy.construction_tool())
    if kind in ("ARC", "CIRCLE"):
        copy.dxf.radius = abs(copy.dxf.radius)
    if not _has_arcs(copy) or _keeps_round(copy, matrix):
        yield copy.transform(matrix)
    elif kind in ("ARC", "CIRCLE"):
        yield Ellipse.from_arc(copy).transform(matrix)
    else:
        for part in copy.virtual_entities():
            yield from placed_copies(part, matrix)


def _has_arcs(entity: Any) -> bool:
    match entity.dxftype():
        case "ARC" | "CIRCLE":
            return bool(entity.dxf.radius)
        case "LWPOLYLINE":
            return bool(entity.has_arc)
        case "POLYLINE":
            return bool(entity.is_2d_polyline and entity.has_arc)
    return False


def _keeps_round(entity: Any, matrix: Matrix44) -> bool:
    """Whether a circle in the entity's plane stays a circle."""
    ocs = entity.ocs()
    x, y = matrix.transform_directions((ocs.ux, ocs.uy))
    size = x.magnitude_square
    return bool(abs(size - y.magnitude_square) <= _ROUND * size and abs(x.dot(y)) <= _ROUND * size)
