"""Rule `gouge`: the cutter bites into a part, or into the floor of a recess. Lengths in mm.

Judged by distances between the cutter's path and the edges of what must stay, for each band of depths in
which that is one shape; no areas are joined, so nothing is lost in joining.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from camkit.errors import Finding
from camkit.geometry.tolerance import GOUGE
from camkit.program.motion import Reading
from camkit.simulation.hit import Hit, fold
from camkit.simulation.swept import piece_lines
from camkit.simulation.track import Floats, Ints, Track
from camkit.simulation.wanted import Wanted

__all__ = ["find_gouges"]

# A bite of exactly GOUGE must be found in spite of chords: both flattenings together err by this at most.
NOISE = 0.001
LIMIT = GOUGE - NOISE

# A piece (by index) reaches into a shape (by index): how far, and where.
_Reach = tuple[int, int, float, float, float]


def find_gouges(track: Track, wanted: Sequence[Wanted], reading: Reading) -> list[Finding]:
    """Every bite of GOUGE or more into a part, folded by part and cut.

    The amount is how far the cutter's disc reaches in, or how much too deep it is, whichever is less. From
    the sheet's top, and again below each recess's floor, another shape must stay.
    """
    track = track.take(~track.straight_up)
    levels = sorted({0.0, *(floor.depth for part in wanted for floor in part.floors)})
    worst: dict[tuple[int, str | None], Hit] = {}
    for level in levels:
        shapes = [
            (part.name, part.kept_below(level))
            for part in wanted
            if level == 0.0 or any(floor.depth == level for floor in part.floors)
        ]
        for hit in _bites(track.below(level + LIMIT), shapes, level):
            known = worst.get((hit.motion, hit.part))
            if known is None or (hit.amount or 0.0) > (known.amount or 0.0):
                worst[hit.motion, hit.part] = hit
    return fold(
        "gouge",
        worst.values(),
        reading,
        lambda hit: f"the cutter bites {hit.amount:.3f} mm into the part",
        "Keep the path the cutter's radius away from the part and above the floors of its recesses",
    )


def _bites(track: Track, shapes: Sequence[tuple[str, BaseGeometry]], level: float) -> list[Hit]:
    if not len(track) or not shapes:
        return []
    pieces, stands_for = track.distinct()
    areas = [area for _, area in shapes]
    found: dict[tuple[int, int], tuple[float, float, float]] = {}
    for piece, shape, reach, x, y in (*_over_edges(pieces, areas), *_begun_inside(pieces, areas)):
        if (piece, shape) not in found or reach > found[piece, shape][0]:
            found[piece, shape] = (reach, x, y)
    hits = []
    for (piece, shape), (reach, x, y) in sorted(found.items()):
        passes = track.take(stands_for == piece)
        amount = min(reach, float(passes.depth.max()) - level)
        # Of all passes over this line the first that already bites as much.
        first = int(np.flatnonzero(passes.depth - level >= amount - 1e-9)[0])
        if amount >= LIMIT:
            hits.append(
                Hit(int(passes.motion[first]), x, y, -float(passes.depth[first]), amount, shapes[shape][0])
            )
    return hits


def _over_edges(pieces: Track, areas: Sequence[BaseGeometry]) -> Iterator[_Reach]:
    """Pieces whose disc reaches over an edge of a shape."""
    corners, owner = _edges(areas)
    edges = shapely.linestrings(corners)
    lines = piece_lines(pieces)
    near, edge = STRtree(edges).query(lines, "dwithin", distance=np.maximum(pieces.radius - LIMIT, 0.0))
    if not len(near):
        return
    reach = pieces.radius[near] - shapely.distance(lines[near], edges[edge])
    nearest = shapely.get_coordinates(shapely.shortest_line(lines[near], edges[edge])).reshape(-1, 2, 2)
    for n in range(len(near)):
        x, y = nearest[n, 1]
        yield int(near[n]), int(owner[edge[n]]), float(reach[n]), float(x), float(y)
    crossing = reach >= pieces.radius[near]
    for piece, shape in sorted(
        set(zip(near[crossing].tolist(), owner[edge[crossing]].tolist(), strict=True))
    ):
        for run in shapely.get_parts(lines[piece].intersection(areas[shape])):
            middle = run.centroid
            depth = float(middle.distance(areas[shape].boundary))
            yield piece, shape, float(pieces.radius[piece]) + depth, middle.x, middle.y


def _begun_inside(pieces: Track, areas: Sequence[BaseGeometry]) -> Iterator[_Reach]:
    """Pieces whose start lies inside a shape, however far from its edges."""
    starts, where = np.unique(pieces.start[:, :2], axis=0, return_inverse=True)
    tree = STRtree(shapely.points(starts))
    shape, spot = tree.query(np.array(areas, dtype=object), "contains")
    for area, place in zip(shape, spot, strict=True):
        x, y = starts[place]
        depth = shapely.distance(shapely.points(x, y), areas[area].boundary)
        for piece in np.flatnonzero(where == place):
            yield int(piece), int(area), float(pieces.radius[piece] + depth), float(x), float(y)


def _edges(areas: Sequence[BaseGeometry]) -> tuple[Floats, Ints]:
    """All edges of the areas as (n, 2, 2) corners, and the index of the area that each belongs to."""
    polygons, owner = shapely.get_parts(np.array(areas, dtype=object), return_index=True)
    all_rings, ring_owner = shapely.get_rings(polygons, return_index=True)
    points, of_ring = shapely.get_coordinates(all_rings, return_index=True)
    same = of_ring[1:] == of_ring[:-1]
    corners = np.stack((points[:-1][same], points[1:][same]), axis=1)
    return corners, owner[ring_owner[of_ring[:-1][same]]]
