"""Closed lines that cross, split there into pieces, and the areas between them; lines and arcs stay exact."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.curves import arc_through
from camkit.drawing.ends import Grid, Groups
from camkit.drawing.half_edges import area_walks, next_around
from camkit.geometry.crossing import Carrier, Ring, Straight, crossings
from camkit.geometry.flatten import flattened
from camkit.geometry.many import extents, tabled
from camkit.geometry.measure import point_along, segment_length
from camkit.geometry.path import Arc, Line, Path, Point, Segment, arc_sweep, signed_area

__all__ = ["Arrangement", "arranged"]


@dataclass(frozen=True, slots=True)
class _Edge:
    """A piece between two numbered points; `origin` is the number of the segment that it was split from."""

    first: int
    last: int
    segment: Segment
    origin: int


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Pieces of closed lines that meet at their ends only, and walks around the areas between them.

    Half edges are numbered 2 i along piece i and 2 i + 1 against it; a walk keeps its area on the left.
    `windings` says for each walk how often each of the lines goes around that area.
    """

    edges: tuple[_Edge, ...]
    after: dict[int, int]
    walks: tuple[tuple[int, ...], ...]
    windings: tuple[tuple[int, ...], ...]

    def outlines(self, is_in: Callable[[tuple[int, ...]], bool]) -> tuple[Path, ...]:
        """Boundaries of the areas whose windings are in: counter-clockwise outside, clockwise within."""
        return self.around({number for number, winding in enumerate(self.windings) if is_in(winding)})

    def areas(self) -> dict[int, Path]:
        """The boundary of each area that is enclosed, by the number of its walk, the largest first."""
        found = {
            number: path
            for number in range(len(self.walks))
            for path in self.around({number})
            if signed_area(path) > 0
        }
        return dict(sorted(found.items(), key=lambda item: (-signed_area(item[1]), item[0])))

    def reached(self, start: int, areas: Iterable[int]) -> set[int]:
        """The areas that can be reached from one of them over pieces between two of them."""
        side = {half: number for number, walk in enumerate(self.walks) for half in walk}
        allowed, found, waiting = set(areas), {start}, [start]
        while waiting:
            for half in self.walks[waiting.pop()]:
                other = side[half ^ 1]
                if other in allowed and other not in found:
                    found.add(other)
                    waiting.append(other)
        return found

    def around(self, taken: set[int]) -> tuple[Path, ...]:
        """Boundaries of the areas on the left of these walks."""
        side = {half: number for number, walk in enumerate(self.walks) for half in walk}
        border = {h for h, number in side.items() if number in taken and side[h ^ 1] not in taken}
        paths = []
        seen: set[int] = set()
        for start in sorted(border):
            loop: list[int] = []
            half = start
            while half not in seen:
                seen.add(half)
                loop.append(half)
                half = self.after[half]
                while half not in border:
                    half = self.after[half ^ 1]
            paths += [self._path(ring) for ring in self._rings(loop)]
        return tuple(paths)

    def _rings(self, loop: list[int]) -> list[list[int]]:
        """A loop that comes by a point twice, as where an area touches itself, falls into several."""
        rings: list[list[int]] = []
        way: list[int] = []
        passed: dict[int, int] = {}
        for half in loop:
            edge = self.edges[half // 2]
            start, end = (edge.last, edge.first) if half % 2 else (edge.first, edge.last)
            passed[start] = len(way)
            way.append(half)
            if end in passed:
                ring = way[passed[end] :]
                del way[passed[end] :]
                for h in ring:
                    passed.pop(self.edges[h // 2].last if h % 2 else self.edges[h // 2].first, None)
                rings.append(ring)
        return rings

    def _path(self, loop: list[int]) -> Path:
        origin = [self.edges[half // 2].origin for half in loop]
        begin = next((i for i in range(len(loop)) if origin[i] != origin[i - 1]), 0)
        segments: list[Segment] = []
        before = -1
        for i in (*range(begin, len(loop)), *range(begin)):
            edge = self.edges[loop[i] // 2]
            here = edge.segment if loop[i] % 2 == 0 else _turned(edge.segment)
            joined = _joined(segments[-1], here) if origin[i] == before else None
            segments[-1:] = [joined] if joined else [*segments[-1:], here]
            before = origin[i]
        return Path(tuple(segments))


def arranged(paths: Sequence[Path], reach: float) -> Arrangement:
    """The closed paths split at their crossings; points within `reach` mm of each other become one."""
    segments = [segment for path in paths for segment in path.segments]
    owner = [number for number, path in enumerate(paths) for _ in path.segments]
    nodes = _Nodes(reach)
    for segment in segments:  # corners that were drawn stay where they are
        nodes.of(segment.start)
    edges: list[_Edge] = []
    runs: list[dict[int, int]] = []
    between: dict[tuple[int, int], list[tuple[Point, int]]] = {}
    for number, (segment, cuts) in enumerate(zip(segments, _cuts(segments, reach), strict=True)):
        stops = [nodes.of(point) for point in (segment.start, *cuts, segment.end)]
        for a, b in pairwise(stops):
            for piece in _piece(segment, nodes.places[a], nodes.places[b]) if a != b else ():
                first, last = nodes.of(piece.start), nodes.of(piece.end)
                if first == last:
                    continue
                middle = point_along(piece, 0.5)
                same = between.setdefault((min(first, last), max(first, last)), [])
                edge = next((e for other, e in same if math.dist(middle, other) <= reach), None)
                if edge is None:
                    edge = len(edges)
                    same.append((middle, edge))
                    edges.append(_Edge(first, last, piece, number))
                    runs.append({})
                along = 1 if edges[edge].first == first else -1
                runs[edge][owner[number]] = runs[edge].get(owner[number], 0) + along
    after = _after(edges, len(nodes.places))
    walks = tuple(area_walks(after))
    return Arrangement(tuple(edges), after, walks, _windings(edges, runs, walks, paths, nodes))


class _Nodes:
    """Numbered points; one within `reach` of another is the same."""

    def __init__(self, reach: float) -> None:
        self.places: list[Point] = []
        self._grid = Grid((), reach)

    def of(self, point: Point) -> int:
        """The number of a point, new when none is near."""
        near = min(((distance, number) for number, distance in self._grid.near(point)), default=None)
        if near is not None:
            return near[1]
        self.places.append(point)
        self._grid.add(len(self.places) - 1, point)
        return len(self.places) - 1


def _piece(segment: Segment, start: Point, end: Point) -> tuple[Segment, ...]:
    if isinstance(segment, Line):
        return (Line(start, end),)
    return arc_through(start, end, segment.centre, segment.clockwise)


def _turned(segment: Segment) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.end, segment.start)
    return Arc(segment.end, segment.start, segment.centre, not segment.clockwise)


def _joined(a: Segment, b: Segment) -> Segment | None:
    """One segment instead of two that were split from one; None when that would close it."""
    if isinstance(a, Line) and isinstance(b, Line):
        return Line(a.start, b.end)
    if isinstance(a, Arc) and isinstance(b, Arc) and a.clockwise == b.clockwise:
        if arc_sweep(a) + arc_sweep(b) > 1.5 * math.pi:
            return None
        whole = arc_through(a.start, b.end, a.centre, a.clockwise)
        return whole[0] if len(whole) == 1 else None
    return None


@dataclass(frozen=True, slots=True)
class _Track:
    """A segment with what it takes to find places on it."""

    segment: Segment
    carrier: Carrier
    size: float
    first: float
    sweep: float

    def share(self, point: Point, reach: float) -> float | None:
        """How far along the segment a point on it lies, 0 to 1; None when it is farther than `reach` away."""
        segment = self.segment
        if isinstance(segment, Line):
            (ax, ay), (bx, by) = segment.start, segment.end
            share = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / self.size**2
        else:
            angle = math.atan2(point[1] - segment.centre[1], point[0] - segment.centre[0])
            turned = (self.first - angle if segment.clockwise else angle - self.first) % (2 * math.pi)
            # Beyond the end the nearer end counts.
            share = (turned if turned <= self.sweep / 2 + math.pi else turned - 2 * math.pi) / self.sweep
        share = min(1.0, max(0.0, share))
        return share if math.dist(point_along(segment, share), point) <= reach else None


def _track(segment: Segment) -> _Track:
    size = segment_length(segment)
    (ax, ay), (bx, by) = segment.start, segment.end
    if isinstance(segment, Line):
        return _Track(segment, Straight(segment.start, ((bx - ax) / size, (by - ay) / size)), size, 0.0, 0.0)
    (cx, cy), ring = segment.centre, Ring(segment.centre, segment.radius)
    return _Track(segment, ring, size, math.atan2(ay - cy, ax - cx), arc_sweep(segment))


def _cuts(segments: Sequence[Segment], reach: float) -> list[list[Point]]:
    """The places between the ends of each segment where others meet it, in their order along it."""
    boxes = extents(tabled([Path((segment,)) for segment in segments]))
    areas = shapely.box(*(boxes + np.array([-reach, -reach, reach, reach])).T)
    one, other = shapely.STRtree(areas).query(areas)
    cuts: list[list[tuple[float, Point]]] = [[] for _ in segments]
    tracks = [_track(segment) for segment in segments]
    for i, j in zip(one.tolist(), other.tolist(), strict=True):
        if i >= j:
            continue
        a, b = tracks[i], tracks[j]
        ends = (a.segment.start, a.segment.end, b.segment.start, b.segment.end)
        for point in (*ends, *crossings(a.carrier, b.carrier)):
            on_a = a.share(point, reach)
            on_b = None if on_a is None else b.share(point, reach)
            if on_a is None or on_b is None:
                continue
            for number, track, share in ((i, a, on_a), (j, b, on_b)):
                if reach < share * track.size < track.size - reach:
                    cuts[number].append((share, point))
    return [[point for _, point in sorted(found)] for found in cuts]


def _after(edges: Sequence[_Edge], count: int) -> dict[int, int]:
    """For each half edge the next one around the area on its left."""
    leaving: list[list[int]] = [[] for _ in range(count)]
    for i, edge in enumerate(edges):
        leaving[edge.first].append(2 * i)
        leaving[edge.last].append(2 * i + 1)
    turning = []
    for halves in leaving:
        if not halves:
            continue
        # Seen at a small distance, where arcs that leave in one direction have parted.
        look = min(0.5, *(segment_length(edges[h // 2].segment) / 2 for h in halves))
        turning.append(sorted(halves, key=lambda h: (_direction(edges[h // 2].segment, h % 2 == 1, look), h)))
    return next_around(turning)


def _direction(segment: Segment, backward: bool, look: float) -> float:
    segment = _turned(segment) if backward else segment
    x, y = point_along(segment, look / segment_length(segment))
    return math.atan2(y - segment.start[1], x - segment.start[0])


def _windings(
    edges: Sequence[_Edge],
    runs: Sequence[dict[int, int]],
    walks: Sequence[tuple[int, ...]],
    paths: Sequence[Path],
    nodes: _Nodes,
) -> tuple[tuple[int, ...], ...]:
    """How often each path goes around the area of each walk: one more on the left of it than on the right."""
    groups = Groups(len(nodes.places))
    for edge in edges:
        groups.join(edge.first, edge.last)
    own = [groups.of(nodes.of(path.start)) for path in paths]
    side = {half: number for number, walk in enumerate(walks) for half in walk}
    found: dict[int, tuple[int, ...]] = {}
    waiting = []
    for number, walk in enumerate(walks):
        if signed_area(_walked(edges, walk)) <= 0:  # around a group from outside
            edge = edges[walk[0] // 2]
            group, place = groups.of(edge.first), nodes.places[edge.first]
            # Paths of other groups cross none of these: they lie wholly around, or not at all.
            found[number] = tuple(
                0 if own[i] == group else _winding(flattened(path), place) for i, path in enumerate(paths)
            )
            waiting.append(number)
    while waiting:
        here = waiting.pop()
        for half in walks[here]:
            beyond = side[half ^ 1]
            if beyond not in found:
                sign = 1 if half % 2 else -1  # over to the right of this half edge
                step = runs[half // 2]
                found[beyond] = tuple(w + sign * step.get(i, 0) for i, w in enumerate(found[here]))
                waiting.append(beyond)
    return tuple(found.get(number, (0,) * len(paths)) for number in range(len(walks)))


def _walked(edges: Sequence[_Edge], walk: Sequence[int]) -> Path:
    return Path(tuple(edges[h // 2].segment if h % 2 == 0 else _turned(edges[h // 2].segment) for h in walk))


def _winding(ring: NDArray[np.float64], point: Point) -> int:
    """How often a ring of points goes counter-clockwise around a point."""
    x, y = (ring - np.asarray(point)).T
    u, v = np.roll(x, -1), np.roll(y, -1)
    left = x * v - u * y
    up = (y <= 0) & (v > 0) & (left > 0)
    down = (y > 0) & (v <= 0) & (left < 0)
    return int(up.sum()) - int(down.sum())
