"""Tracks of a clearing joined into one way, walked from the inside out without leaving its area."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.measure import length
from camkit.geometry.path import Line, Path, Point, Region, Segment, reversed_path
from camkit.geometry.tolerance import SAME_POINT
from camkit.toolpath.nest import Track
from camkit.toolpath.track import at_a_joint, beginning, nearest_distance, place_at, starting_at

__all__ = ["Clearing", "clearing", "in_the_round", "in_turn", "joined", "way"]

# Links may leave the area of the cutter's centre by the error of its chords: less than paths keep off walls.
_CHORD = 0.002
_OFF = 0.003
# Tracks are seen this coarsely when the nearest is looked for.
_SEEN = 0.05
# Where the nearest place of a ring cannot be seen, so many places of it are looked at.
_LOOKED_AT = 24
# So many of the innermost tracks are tried as the first.
_FIRSTS_TRIED = 4


@dataclass(frozen=True, slots=True, eq=False)
class Clearing:
    """Tracks that clear what the centre reaches within `centres`, and the room for straight ways in there.

    `entered` are the places where each track may be entered: rings anywhere, runs at their ends.
    """

    centres: Region
    tracks: tuple[Track, ...]
    room: shapely.Geometry
    entered: NDArray[np.object_]


def clearing(centres: Region, tracks: Sequence[Track]) -> Clearing:
    """The tracks with their room, ready to be walked."""
    room = as_polygon(centres, _CHORD).buffer(_OFF)
    shapely.prepare(room)
    entered = [
        shapely.linearrings(flattened(path, _SEEN))
        if path.closed
        else shapely.multipoints([path.start, path.end])
        for path in (track.path for track in tracks)
    ]
    return Clearing(centres, tuple(tracks), room, np.array(entered, dtype=object))


def in_turn(clear: Clearing, at: Point | None = None) -> tuple[Path, ...]:
    """The tracks in the order and direction of walking, each begun where its neighbour before it leaves it.

    A track comes after all that lie within it. The first is the innermost from which the links are shortest,
    that from `at` with them, and begun as near to `at` as can be.
    """
    ways = [_from(clear, first, at) for first in _firsts(clear)]
    return min(ways, key=lambda paths: _links(paths, at))


def in_the_round(clear: Clearing) -> tuple[Path, ...]:
    """As `in_turn` where the way leads back to its beginning."""
    ways = [_from(clear, first, None) for first in _firsts(clear)]
    return min(ways, key=lambda paths: _links(paths, paths[-1].end))


def _firsts(clear: Clearing) -> list[int]:
    tracks = clear.tracks
    innermost = set(range(len(tracks))) - {track.within for track in tracks}
    return sorted(innermost, key=lambda i: (-tracks[i].level, -length(tracks[i].path), i))[:_FIRSTS_TRIED]


def _links(paths: Sequence[Path], before: Point | None) -> float:
    """Straight distances between the paths, and from `before` to the first."""
    total = 0.0
    for path in paths:
        total += 0.0 if before is None else math.dist(before, path.start)
        before = path.end
    return round(total, 6)


def _from(clear: Clearing, first: int, at: Point | None) -> tuple[Path, ...]:
    tracks = clear.tracks
    inside = [0] * len(tracks)
    for track in tracks:
        if track.within is not None:
            inside[track.within] += 1
    free = [i for i, count in enumerate(inside) if count == 0]
    now = first
    found: list[Path] = []
    while True:
        path = tracks[now].path if at is None else _begun_near(tracks[now].path, at, clear.room)
        found.append(path)
        at = path.end
        free.remove(now)
        about = tracks[now].within
        if about is not None:
            inside[about] -= 1
            if inside[about] == 0:
                free.append(about)
        if not free:
            return tuple(found)
        if about is not None and inside[about] == 0:
            now = about
        else:
            free.sort()
            away = shapely.distance(clear.entered[free], shapely.Point(at))
            now = free[int(np.argmin(np.round(away, 3)))]


def joined(clear: Clearing, paths: Sequence[Path], start: Point | None = None) -> Path:
    """The paths one after another with the ways between them; first that from `start`, where it is given."""
    segments: list[Segment] = [] if start is None else way(clear, start, paths[0].start)
    for path in paths:
        if segments:
            segments += way(clear, segments[-1].end, path.start)
        segments += path.segments
    return Path(tuple(segments))


def _away(path: Path, point: Point) -> float:
    return math.dist(place_at(path, nearest_distance(path, point)), point)


def _begun_near(path: Path, point: Point, room: shapely.Geometry) -> Path:
    """The track begun at its place nearest to the point that a straight way leads to, if any does."""
    if not path.closed:
        ends = (path, reversed_path(path))
        return min(ends, key=lambda p: (not _straight(point, p.start, room), math.dist(p.start, point)))
    nearest = at_a_joint(path, nearest_distance(path, point))
    if not _straight(point, place_at(path, nearest), room):
        around = length(path)
        places = [around * k / _LOOKED_AT for k in range(_LOOKED_AT)]
        seen = [s for s in places if _straight(point, place_at(path, s), room)]
        nearest = min(seen, key=lambda s: math.dist(place_at(path, s), point), default=nearest)
    return starting_at(path, nearest)


def _straight(a: Point, b: Point, room: shapely.Geometry) -> bool:
    return math.dist(a, b) <= SAME_POINT or bool(room.covers(shapely.LineString((a, b))))


def way(clear: Clearing, a: Point, b: Point) -> list[Segment]:
    """The way from a to b within the room: straight, and along the room's edge where that leaves it."""
    if math.dist(a, b) <= SAME_POINT:
        return []
    room, centres = clear.room, clear.centres
    if _straight(a, b, room):
        return [Line(a, b)]
    outside = shapely.LineString((a, b)).difference(room)
    bridges = sorted(
        (
            sorted(((x, y) for x, y in piece.coords), key=lambda p: math.dist(p, a))
            for piece in _lines(outside)
        ),
        key=lambda ends: math.dist(ends[0], a),
    )
    found: list[Segment] = []
    at = a
    for ends in bridges:
        loops = (centres.exterior, *centres.interiors)
        loop = min(loops, key=lambda p: round(_away(p, ends[0]) + _away(p, ends[-1]), 6))
        along = _along(loop, ends[0], ends[-1])
        if math.dist(at, along[0].start) > SAME_POINT:
            found.append(Line(at, along[0].start))
        found += along
        at = found[-1].end
    return [*found, Line(at, b)] if math.dist(at, b) > SAME_POINT else found


def _lines(pieces: shapely.Geometry) -> list[shapely.LineString]:
    return [
        p for p in shapely.get_parts(pieces) if isinstance(p, shapely.LineString) and p.length > SAME_POINT
    ]


def _along(loop: Path, a: Point, b: Point) -> tuple[Segment, ...]:
    """The shorter way along a closed path from its place nearest to a to that nearest to b."""
    ways = []
    for path in (loop, reversed_path(loop)):
        begun = starting_at(path, nearest_distance(path, a))
        ways.append(beginning(begun, nearest_distance(begun, b)))
    return min(ways, key=length).segments
