"""Rule `gouge`: the cutter bites into a part, or into the floor of a recess. Lengths in mm.

Judged by distances between the cutter's path and the edges of what must stay, for each band of depths in
which that is one shape; no areas are joined, so nothing is lost in joining.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from camkit.errors import Finding
from camkit.geometry.tolerance import GOUGE
from camkit.program.motion import Reading
from camkit.simulation.hit import Hit, fold, told_apart
from camkit.simulation.swept import piece_lines
from camkit.simulation.track import Floats, Ints, Track
from camkit.simulation.wanted import Wanted

__all__ = ["find_gouges"]

# A bite of exactly GOUGE must be found in spite of chords: both flattenings together err by this at most.
NOISE = 0.001
LIMIT = GOUGE - NOISE


@dataclass(frozen=True, slots=True, eq=False)
class _Bites:
    """Pieces (by index) whose disc reaches into shapes (by index): how far, and where (n, 2)."""

    piece: Ints
    shape: Ints
    reach: Floats
    place: Floats


def find_gouges(track: Track, wanted: Sequence[Wanted], reading: Reading) -> list[Finding]:
    """Every bite of GOUGE or more into a part, folded by part, cut and place.

    The amount is how far the cutter's disc reaches in, or how much too deep it is, whichever is less. From
    the sheet's top, and again below each recess's floor, another shape must stay.
    """
    track = track.take(~track.straight_up)
    levels = sorted({0.0, *(level for part in wanted for level in part.levels)})
    worst: dict[tuple[int, str | None], Hit] = {}
    for level in levels:
        shapes = [
            (part.name, part.kept_below(level)) for part in wanted if level == 0.0 or level in part.levels
        ]
        for hit in _hits(track.below(level + LIMIT), shapes, level):
            known = worst.get((hit.motion, hit.part))
            if known is None or (hit.amount or 0.0) > (known.amount or 0.0):
                worst[hit.motion, hit.part] = hit
    return fold(
        "gouge",
        told_apart(worst.values()),
        reading,
        lambda hit: f"the cutter bites {hit.amount:.3f} mm into the part",
        "Keep the path the cutter's radius away from the part and above the floors of its recesses",
    )


def _hits(track: Track, shapes: Sequence[tuple[str, BaseGeometry]], level: float) -> list[Hit]:
    if not len(track) or not shapes:
        return []
    pieces, stands_for = track.distinct()
    areas = np.array([area for _, area in shapes], dtype=object)
    bites = _deepest(_over_edges(pieces, areas), _begun_inside(pieces, areas))
    order = np.argsort(stands_for, kind="stable")
    bounds = np.searchsorted(stands_for[order], np.arange(len(pieces) + 1))
    depth = track.depth
    hits = []
    for n, piece in enumerate(bites.piece):
        passes = order[bounds[piece] : bounds[piece + 1]]
        amount = min(float(bites.reach[n]), float(pieces.depth[piece]) - level)
        if amount < LIMIT:
            continue
        # Of all passes over this line the first that already bites as much.
        first = passes[int(np.argmax(depth[passes] - level >= amount - 1e-9))]
        x, y = bites.place[n].tolist()
        name = shapes[bites.shape[n]][0]
        hits.append(Hit(int(track.motion[first]), x, y, -float(depth[first]), amount, name))
    return hits


def _deepest(*found: _Bites) -> _Bites:
    """The farthest reach of each piece into each shape."""
    piece = np.concatenate([bites.piece for bites in found])
    shape = np.concatenate([bites.shape for bites in found])
    reach = np.concatenate([bites.reach for bites in found])
    place = np.concatenate([bites.place for bites in found])
    order = np.lexsort((-reach, shape, piece))
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = (np.diff(piece[order]) != 0) | (np.diff(shape[order]) != 0)
    chosen = order[fresh]
    return _Bites(piece[chosen], shape[chosen], reach[chosen], place[chosen])


def _over_edges(pieces: Track, areas: NDArray[np.object_]) -> _Bites:
    """Pieces whose disc reaches over an edge of a shape; those that cross one count from their middle too."""
    corners, owner = _edges(areas)
    edges = shapely.linestrings(corners)
    lines = piece_lines(pieces)
    near, edge = STRtree(edges).query(lines, "dwithin", distance=np.maximum(pieces.radius - LIMIT, 0.0))
    reach = pieces.radius[near] - shapely.distance(lines[near], edges[edge])
    ways = shapely.get_coordinates(shapely.shortest_line(lines[near], edges[edge])).reshape(-1, 2, 2)
    touched = _deepest(_Bites(near, owner[edge], reach, ways[:, 1]))
    crossing = touched.reach >= pieces.radius[touched.piece]
    piece, shape = touched.piece[crossing], touched.shape[crossing]
    middle = (pieces.start[piece, :2] + pieces.end[piece, :2]) / 2
    inside = shapely.contains_xy(areas[shape], middle)
    return _deepest(touched, _from_inside(pieces, areas, piece[inside], shape[inside], middle[inside]))


def _begun_inside(pieces: Track, areas: NDArray[np.object_]) -> _Bites:
    """Pieces whose start lies inside a shape, however far from its edges."""
    starts = pieces.start[:, :2]
    shape, piece = STRtree(shapely.points(starts)).query(areas, "contains")
    return _from_inside(pieces, areas, piece, shape, starts[piece])


def _from_inside(
    pieces: Track, areas: NDArray[np.object_], piece: Ints, shape: Ints, spots: Floats
) -> _Bites:
    deep = shapely.distance(shapely.points(spots), shapely.boundary(areas)[shape])
    return _Bites(piece, shape, pieces.radius[piece] + deep, spots)


def _edges(areas: NDArray[np.object_]) -> tuple[Floats, Ints]:
    """All edges of the areas as (n, 2, 2) corners, and the index of the area that each belongs to."""
    polygons, owner = shapely.get_parts(areas, return_index=True)
    rings, ring_owner = shapely.get_rings(polygons, return_index=True)
    points, of_ring = shapely.get_coordinates(rings, return_index=True)
    same = of_ring[1:] == of_ring[:-1]
    corners = np.stack((points[:-1][same], points[1:][same]), axis=1)
    return corners, owner[ring_owner[of_ring[:-1][same]]]
