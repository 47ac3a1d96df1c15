"""What a larger cutter leaves in corners and narrow places, taken by a smaller one."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from camkit.cut import Feed, Move
from camkit.geometry.arc_fit import with_arcs
from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.measure import length
from camkit.geometry.offset import as_region, offset
from camkit.geometry.path import Path, Region, region
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Machine
from camkit.toolpath.clear import clear_moves
from camkit.toolpath.loop import approach, climbing, withdraw
from camkit.toolpath.track import beginning, follow, nearest_distance, starting_at

__all__ = ["rest_moves", "swept_by"]

# Curves are seen this coarsely, and what is thinner than twice the second is what paths keep off walls.
_CHORD = 0.005
_THIN = 0.02
# A run into a corner begins and ends so far outside what is left, in mm.
_OVERLAP = 0.5


def swept_by(areas: Sequence[Region], diameter: float) -> shapely.Geometry:
    """What a cutter of `diameter` clears of areas in which it may sweep."""
    centres = [piece for area in areas for piece in offset(area, -(diameter / 2 + PATH_ALLOWANCE))]
    return shapely.union_all(
        [as_polygon(piece, _CHORD).buffer(diameter / 2, quad_segs=32) for piece in centres]
    )


def rest_moves(
    areas: Sequence[Region],
    cleared: shapely.Geometry,
    wanted: shapely.Geometry,
    depths: Sequence[float],
    cutter: Cutter,
    machine: Machine,
) -> tuple[Move, ...]:
    """Moves to the last of `depths` that take what of `wanted` the cutter reaches and nothing has `cleared`.

    The cutter may sweep in `areas`. Into a corner it runs once along both walls, from cleared ground and back
    to it; elsewhere it clears. No moves when nothing is left.
    """
    radius = cutter.diameter / 2
    runs: list[Path] = []
    zones: list[Region] = []
    for area in areas:
        elsewhere = []
        for centres in offset(area, -(radius + PATH_ALLOWANCE)):
            reach = as_polygon(centres, _CHORD).buffer(radius - _THIN, quad_segs=32)
            for piece in shapely.get_parts(reach.difference(cleared).intersection(wanted)):
                if piece.buffer(-_THIN).is_empty:
                    continue
                run = _into_corner(centres, piece, cleared, radius, machine)
                if run is None:
                    elsewhere.append(piece.buffer(2 * radius + _THIN))
                else:
                    runs.append(run)
        about = shapely.union_all(elsewhere).intersection(as_polygon(area))
        zones += [_as_area(piece) for piece in shapely.get_parts(about) if piece.geom_type == "Polygon"]
    moves: list[Move] = []
    for zone in zones:
        moves += clear_moves(zone, depths, cutter, machine)
    while runs:
        at = (moves[-1].x, moves[-1].y) if moves else runs[0].start
        run = min(runs, key=lambda path: math.dist(path.start, at))
        runs.remove(run)
        moves += _along(run, depths, cutter, machine)
    return tuple(moves)


def _along(run: Path, depths: Sequence[float], cutter: Cutter, machine: Machine) -> list[Move]:
    """The run at each depth; its ends, and the straight way between them, are cleared already."""
    moves = approach(*run.start, machine, cutter)
    for depth in depths:
        if depth != depths[0]:
            moves.append(Feed(*run.start, moves[-1].z, cutter.feed))
        moves.append(Feed(*run.start, -depth, cutter.plunge))
        moves += follow(run, [(0.0, -depth), (length(run), -depth)], cutter)
    return [*moves, withdraw(*run.end, machine)]


def _into_corner(
    centres: Region, piece: shapely.Polygon, cleared: shapely.Geometry, radius: float, machine: Machine
) -> Path | None:
    """The run along walls that takes the piece, from cleared ground and back to it; None if none does."""
    near = piece.buffer(radius)
    met = []
    for loop, island in ((centres.exterior, False), *((loop, True) for loop in centres.interiors)):
        path = climbing(loop, machine, wood_inside=island)
        points = flattened(path, _CHORD)
        line = shapely.linestrings(np.vstack((points, points[:1]))).intersection(near)
        merged = shapely.line_merge(line) if line.geom_type == "MultiLineString" else line
        met += [(path, part) for part in shapely.get_parts(merged) if part.length > _THIN]
    if len(met) != 1:
        return None
    path, part = met[0]
    around = length(path)
    begin, end = (nearest_distance(path, place) for place in (part.coords[0], part.coords[-1]))
    middle = nearest_distance(path, tuple(part.interpolate(0.5, normalized=True).coords[0]))
    if (middle - begin) % around > (end - begin) % around:
        begin, end = end, begin
    long = (end - begin) % around + 2 * _OVERLAP
    if long >= around:
        return None
    run = beginning(starting_at(path, begin - _OVERLAP), long)
    back = shapely.LineString((run.end, run.start)).buffer(radius - _THIN)
    swept = shapely.linestrings(flattened(run, _CHORD)).buffer(radius - _CHORD, quad_segs=32)
    if not cleared.buffer(_CHORD).contains(back) or not piece.difference(swept).buffer(-_CHORD).is_empty:
        return None
    return run


def _as_area(piece: shapely.Polygon) -> Region:
    """The polygon with arcs where its chords were cut from arcs."""
    area = as_region(
        np.array(piece.exterior.coords)[:-1],
        tuple(np.array(ring.coords)[:-1] for ring in piece.interiors),
    )
    exterior, *interiors = with_arcs((area.exterior, *area.interiors))
    return region(exterior, interiors)
