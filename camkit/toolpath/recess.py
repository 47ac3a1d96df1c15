"""The area in which a cutter may move to make a pocket, which may run off the part's edge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.ops import substring

from camkit.geometry.arc_fit import with_arcs
from camkit.geometry.flatten import as_polygon
from camkit.geometry.offset import as_region
from camkit.geometry.path import Path, Region, region

__all__ = ["recess_area"]

# A pocket's edge this close to the part's edge is meant to lie on it.
_ON_EDGE = 0.05
# Shared edges shorter than this are a touch, not an open side; and so far beyond an open side the cutter's
# centre may go, which leaves nothing at the edge.
_OPEN = 1.0


def recess_area(
    outline: Path,
    islands: Sequence[Path],
    part: Path,
    others: Sequence[Path],
    diameter: float,
    deeper: Sequence[Region] = (),
) -> tuple[Region, ...]:
    """Where a cutter of `diameter` mm may sweep: the pocket, and off the edge where the pocket is open.

    It is open to what of the part is cut as deep or `deeper`, too. Other parts' outlines stay out of it. True
    arcs stay arcs.
    """
    pocket = as_polygon(region(outline, islands))
    wood = shapely.difference(as_polygon(part), shapely.union_all([as_polygon(area) for area in deeper]))
    edge = wood.boundary.intersection(pocket.buffer(_ON_EDGE))
    if edge.length < _OPEN:
        return (region(outline, islands),)
    beyond = (
        _within(edge, _ON_EDGE)
        .buffer(diameter / 2 + _OPEN, cap_style="flat", join_style="mitre")
        .difference(wood)
    )
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
    return tuple(_with_arcs(piece) for piece in pieces)


def _within(lines: shapely.Geometry, margin: float) -> shapely.Geometry:
    """The lines without `margin` at their ends; closed ones whole."""
    merged = shapely.line_merge(lines) if lines.geom_type == "MultiLineString" else lines
    return shapely.union_all(
        [
            line if line.is_ring else substring(line, margin, line.length - margin)
            for line in shapely.get_parts(merged)
            if line.length > 2 * margin
        ]
    )


def _with_arcs(piece: shapely.Polygon) -> Region:
    """The polygon with arcs where its chords were cut from arcs."""
    area = as_region(
        np.array(piece.exterior.coords)[:-1],
        tuple(np.array(ring.coords)[:-1] for ring in piece.interiors),
    )
    exterior, *interiors = with_arcs((area.exterior, *area.interiors))
    return region(exterior, interiors)
