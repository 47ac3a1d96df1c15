"""Rings one inside the other that clear an area, with runs and spurs for what stands between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from camkit.errors import CannotBeMadeError, Finding
from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.measure import length
from camkit.geometry.offset import as_region, offset
from camkit.geometry.path import Line, Path, Region, oriented
from camkit.toolpath.strip import ACROSS, reach_out, straight_run, with_spur
from camkit.toolpath.track import beginning, nearest_distance, starting_at

__all__ = ["Track", "nested_tracks"]

# Curves are seen this coarsely when wood between rings is looked for; the cutter is taken smaller by more
# than that, so that what is called taken is taken.
_CHORD = 0.005
_NARROWER = 0.011
# The middle of a strip is found this closely.
_OFF_MIDDLE = 0.05
# Pieces smaller than this are the noise of arithmetic, mm2.
_SPECK = 1e-7
# Wood that no straight run takes is ringed again; more often than this would be a fault of ours.
_MOST_TIMES = 12


@dataclass(frozen=True, slots=True)
class Track:
    """A path of the cutter's centre: a closed ring, or an open run along a strip.

    `within` is the number of the ring next to it towards the wall, None for a ring along a wall; `level`
    counts rings from there. `island` tells that the wood that stays lies inside the ring.
    """

    path: Path
    within: int | None
    level: int
    island: bool = False


def _loops(area: Region) -> list[tuple[Path, bool]]:
    return [(area.exterior, False), *((loop, True) for loop in area.interiors)]


def _all_loops(areas: Sequence[Region]) -> list[Path]:
    return [loop for area in areas for loop, _ in _loops(area)]


def _middle(area: Region, reach: float) -> tuple[Path, ...]:
    """The middle line of a winding strip or of a ring that one run along it all but clears; else none."""
    polygon = as_polygon(area, _OFF_MIDDLE)
    widest = shapely.maximum_inscribed_circle(polygon, _OFF_MIDDLE).length
    if not _OFF_MIDDLE < widest < (1 + ACROSS) * reach:
        return ()
    lines = []
    for thin in offset(area, -(widest - _OFF_MIDDLE)):
        if thin.interiors:
            lines.append(min(_all_loops([thin]), key=length))
            continue
        loop, points = thin.exterior, _points(thin.exterior)
        away = ((points[:, None, :] - points[None, :, :]) ** 2).sum(axis=2)
        i, j = np.unravel_index(int(np.argmax(away)), away.shape)
        begun = starting_at(loop, nearest_distance(loop, tuple(points[i])))
        lines.append(beginning(begun, nearest_distance(begun, tuple(points[j]))))
    return tuple(lines)


def _line(path: Path) -> shapely.Geometry:
    return shapely.linearrings(_points(path)) if path.closed else shapely.linestrings(_points(path))


def _nearest(rings: Sequence[int], tracks: Sequence[Track], to: Path) -> int:
    """Which of the numbered rings runs nearest to a path."""
    if len(rings) == 1:
        return rings[0]
    line = shapely.linestrings(_points(to))
    lines = [shapely.linearrings(_points(tracks[i].path)) for i in rings]
    return rings[int(np.argmin(shapely.distance(lines, line)))]


def _points(path: Path) -> np.ndarray:
    return flattened(path, _CHORD)


def _halfway(area: Region) -> tuple[Region, ...]:
    widest = shapely.maximum_inscribed_circle(as_polygon(area, _CHORD), 0.05).length
    return offset(area, -widest / 2)


def nested_tracks(centres: Region, radius: float, step: float) -> tuple[tuple[Track, ...], int]:
    """Rings `step` mm apart, runs and spurs that clear all that a cutter of `radius` reaches from `centres`.

    Comes with the number of spurs. The first ring is the exterior of `centres`. Raises CannotBeMadeError when
    wood stays, which would be a fault of ours.
    """
    reach = radius - _NARROWER
    tracks: list[Track] = []
    between: list[shapely.Polygon] = []
    todo: list[tuple[Region, tuple[int, ...], int]] = [(centres, (), 0)]
    while todo:
        area, about, level = todo.pop()
        own = []
        for loop, island in _loops(area):
            own.append(len(tracks))
            within = _nearest(about, tracks, loop) if about else None
            tracks.append(Track(loop, within, level, island))
        bare = as_polygon(area, _CHORD).buffer(-reach, quad_segs=16)
        if bare.is_empty:
            continue
        inner = offset(area, -step)
        pieces = [piece for piece in shapely.get_parts(bare) if piece.area > _SPECK]
        runs = [straight_run(piece, reach) for piece in pieces]
        straight = [run for run in runs if run is not None]
        if len(straight) == len(pieces):
            rings = sum(map(length, _all_loops(inner)))
            if not inner or sum(math.dist(*run) for run in straight) + radius < rings:
                between += pieces
                continue
        middle = _middle(area, reach)
        if middle and (not inner or sum(map(length, middle)) + radius < sum(map(length, _all_loops(inner)))):
            tracks += [Track(path, _nearest(own, tracks, path), level + 1) for path in middle]
            swept = shapely.union_all([_line(path).buffer(reach, quad_segs=16) for path in middle])
            between += [part for part in shapely.get_parts(bare.difference(swept)) if part.area > _SPECK]
            continue
        inner = inner or _halfway(area)
        todo += [(piece, tuple(own), level + 1) for piece in inner]
        taken = [as_polygon(piece, _CHORD).buffer(reach, quad_segs=16) for piece in inner]
        left = bare.difference(shapely.union_all(taken))
        between += [piece for piece in shapely.get_parts(left) if piece.area > _SPECK]
    spurs = _take(between, tracks, radius, reach, as_polygon(centres, _CHORD).buffer(2 * _CHORD))
    return tuple(tracks), spurs


def _take(
    pieces: Sequence[shapely.Polygon],
    tracks: list[Track],
    radius: float,
    reach: float,
    room: shapely.Geometry,
) -> int:
    """Adds to the tracks what takes the pieces; the number of spurs."""
    spurs = 0
    for _ in range(_MOST_TIMES):
        if not pieces:
            return spurs
        rest: list[shapely.Polygon] = []
        rings = [i for i, track in enumerate(tracks) if track.path.closed]
        lines = [shapely.linearrings(_points(tracks[i].path)) for i in rings]
        tree = shapely.STRtree(lines)
        for piece in pieces:
            run = straight_run(piece, reach)
            nearest = rings[int(tree.nearest(piece))]
            about = tracks[nearest]
            if run is None or not room.covers(shapely.LineString(run)):
                for part in _halfway(_as_area(piece)):
                    tracks.append(Track(oriented(part.exterior), nearest, about.level + 1))
                    swept = shapely.linearrings(_points(part.exterior)).buffer(reach, quad_segs=16)
                    piece = piece.difference(swept)
                rest += [part for part in shapely.get_parts(piece) if part.area > _SPECK]
            elif math.dist(*run) > 2 * radius:
                tracks.append(Track(Path((Line(*run),)), nearest, about.level + 1))
            else:
                begin, points = reach_out(about.path, piece, run, reach)
                tracks[nearest] = replace(about, path=with_spur(about.path, begin, points))
                spurs += 1
        pieces = rest
    x, y = shapely.get_coordinates(pieces[0])[0]
    raise CannotBeMadeError(
        Finding(
            "error",
            "pocket-not-clean",
            f"rings of a {2 * radius:g} mm cutter leave wood in an area that it could reach",
            "Report this drawing: it is a fault of camkit",
            x_mm=float(x),
            y_mm=float(y),
        )
    )


def _as_area(piece: shapely.Polygon) -> Region:
    return as_region(
        np.array(piece.exterior.coords)[:-1],
        tuple(np.array(ring.coords)[:-1] for ring in piece.interiors),
    )
