"""The area in which a cutter may move to make a pocket, which may run off the part's edge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from camkit.geometry.flatten import as_polygon
from camkit.geometry.offset import as_region
from camkit.geometry.path import Path, Region, region

__all__ = ["recess_area"]

# A pocket's edge this close to the part's edge is meant to lie on it.
_ON_EDGE = 0.05
# Shared edges shorter than this are a touch, not an open side.
_OPEN = 1.0


def recess_area(
    outline: Path, islands: Sequence[Path], part: Path, others: Sequence[Path], diameter: float
) -> tuple[Region, ...]:
    """Where a cutter of `diameter` mm may sweep: the pocket, and off the edge where the pocket is open.

    Other parts' outlines stay out of it. A pocket that keeps inside the part comes back with its true arcs.
    """
    pocket, wood = as_polygon(region(outline, islands)), as_polygon(part)
    edge = wood.boundary.intersection(pocket.buffer(_ON_EDGE))
    if edge.length < _OPEN:
        return (region(outline, islands),)
    beyond = edge.buffer(diameter + _OPEN, cap_style="flat", join_style="mitre").difference(wood)
    # Growing and shrinking closes the hair's breadth between a pocket's edge and the part's edge beside it,
    # and moves no wall.
    apart = shapely.union_all([pocket, beyond])
    sweep = apart.buffer(_ON_EDGE, join_style="mitre").buffer(-_ON_EDGE, join_style="mitre")
    for other in others:
        sweep = sweep.difference(as_polygon(other))
    pieces = [
        piece
        for piece in shapely.get_parts(sweep)
        if piece.geom_type == "Polygon" and piece.intersects(pocket)
    ]
    return tuple(
        as_region(
            np.array(piece.exterior.coords)[:-1],
            tuple(np.array(ring.coords)[:-1] for ring in piece.interiors),
        )
        for piece in pieces
    )
