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
from camkit.geometry.crossing import Carrier, Ring, Straight, crossings
from camkit.geometry.flatten import flattened
from camkit.geometry.measure import bounds_of_all, point_along, segment_length
from camkit.geometry.path import Arc, Line, Path, Point, Segment, arc_sweep, signed_area

__all__ = ["Arrangement", "arranged"]

# A wound area is looked at in its middle, so that chords need not be fine.
_CHORDS = 0.002


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
    cuts = _cuts(segments, reach)
    places: list[Point] = []
    grid = Grid((), reach)

    def node(point: Point) -> int:
        near = min(((distance, number) for number, distance in grid.near(point)), default=None)
        if near is not None:
            return near[1]
        places.append(point)
        grid.add(len(places) - 1, point)
        return len(places) - 1

    for segment in segments:  # corners that were drawn stay where they are
        node(segment.start)
    edges: list[_Edge] = []
    between: dict[tuple[int, int], list[Point]] = {}
    for number, segment in enumerate(segments):
        inner = [point for _, point in sorted(cuts[number])]
        stops = [node(point) for point in (segment.start, *inner, segment.end)]
        for a, b in pairwise(stops):
            for piece in _piece(segment, places[a], places[b]) if a != b else ():
                first, last = node(piece.start), node(piece.end)
                middle = point_along(piece, 0.5)
                same = between.setdefault((min(first, last), max(first, last)), [])
                if first == last or any(math.dist(middle, other) <= reach for other in same):
                    continue
                same.append(middle)
                edges.append(_Edge(first, last, piece, number))
    after = _after(edges, len(places))
    walks = _walks(after)
    starts = [node(path.start) for path in paths]
    return Arrangement(tuple(edges), after, walks, _windings(edges, walks, paths, starts, places))


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


def _carrier(segment: Segment) -> Carrier:
    if isinstance(segment, Arc):
        return Ring(segment.centre, segment.radius)
    (ax, ay), (bx, by) = segment.start, segment.end
    size = math.dist(segment.start, segment.end)
    return Straight(segment.start, ((bx - ax) / size, (by - ay) / size))


def _share(segment: Segment, point: Point, reach: float) -> float | None:
    """How far along the segment a point on it lies, 0 to 1; None when it is farther than `reach` away."""
    if isinstance(segment, Line):
        (ax, ay), (bx, by) = segment.start, segment.end
        dx, dy = bx - ax, by - ay
        share = ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)
    else:
        (cx, cy), sweep = segment.centre, arc_sweep(segment)
        first = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
        angle = math.atan2(point[1] - cy, point[0] - cx)
        turned = (first - angle if segment.clockwise else angle - first) % (2 * math.pi)
        # Beyond the end the nearer end counts.
        share = (turned if turned <= sweep / 2 + math.pi else turned - 2 * math.pi) / sweep
    share = min(1.0, max(0.0, share))
    return share if math.dist(point_along(segment, share), point) <= reach else None


def _cuts(segments: Sequence[Segment], reach: float) -> list[list[tuple[float, Point]]]:
    """Where each segment is met by others between its ends: its share, and the place."""
    boxes = np.array([bounds_of_all([Path((s,))]) for s in segments])
    areas = shapely.box(*(boxes + np.array([-reach, -reach, reach, reach])).T)
    one, other = shapely.STRtree(areas).query(areas)
    cuts: list[list[tuple[float, Point]]] = [[] for _ in segments]
    carriers = [_carrier(segment) for segment in segments]
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        if a >= b:
            continue
        ends = (segments[a].start, segments[a].end, segments[b].start, segments[b].end)
        for point in (*ends, *crossings(carriers[a], carriers[b])):
            shares = [_share(segments[number], point, reach) for number in (a, b)]
            if None not in shares:
                for number, share in zip((a, b), shares, strict=True):
                    _add_cut(cuts[number], segments[number], share, point, reach)
    return cuts


def _add_cut(
    cuts: list[tuple[float, Point]], segment: Segment, share: float | None, point: Point, reach: float
) -> None:
    if share is not None and reach < share * segment_length(segment) < segment_length(segment) - reach:
        cuts.append((share, point))


def _after(edges: Sequence[_Edge], count: int) -> dict[int, int]:
    """For each half edge the next one around the area on its left."""
    leaving: list[list[int]] = [[] for _ in range(count)]
    for i, edge in enumerate(edges):
        leaving[edge.first].append(2 * i)
        leaving[edge.last].append(2 * i + 1)
    after: dict[int, int] = {}
    for halves in leaving:
        if not halves:
            continue
        # Seen at a small distance, where arcs that leave in one direction have parted.
        look = min(0.5, *(segment_length(edges[h // 2].segment) / 2 for h in halves))
        turning = sorted(halves, key=lambda h: (_direction(edges[h // 2].segment, h % 2 == 1, look), h))
        for before, half in zip([turning[-1], *turning], turning, strict=False):
            after[half ^ 1] = before
    return after


def _direction(segment: Segment, backward: bool, look: float) -> float:
    segment = _turned(segment) if backward else segment
    x, y = point_along(segment, look / segment_length(segment))
    return math.atan2(y - segment.start[1], x - segment.start[0])


def _walks(after: dict[int, int]) -> tuple[tuple[int, ...], ...]:
    walks, seen = [], set()
    for start in sorted(after):
        walk: list[int] = []
        half = start
        while half not in seen:
            seen.add(half)
            walk.append(half)
            half = after[half]
        if walk:
            walks.append(tuple(walk))
    return tuple(walks)


def _windings(
    edges: Sequence[_Edge],
    walks: Sequence[tuple[int, ...]],
    paths: Sequence[Path],
    starts: Sequence[int],
    places: Sequence[Point],
) -> tuple[tuple[int, ...], ...]:
    groups = Groups(len(places))
    for edge in edges:
        groups.join(edge.first, edge.last)
    own = [groups.of(start) for start in starts]
    rings = [flattened(path, _CHORDS) for path in paths]
    result = []
    for walk in walks:
        group = groups.of(edges[walk[0] // 2].first)
        inside = _inside(edges, walk)
        at_edge = places[edges[walk[0] // 2].first]
        # Lines of the same group bound the area; those of others lie wholly around it, or not at all.
        seen_from = [inside if member == group else at_edge for member in own]
        result.append(
            tuple(
                0 if point is None else _winding(ring, point)
                for ring, point in zip(rings, seen_from, strict=True)
            )
        )
    return tuple(result)


def _inside(edges: Sequence[_Edge], walk: tuple[int, ...]) -> Point | None:
    """A point in the area that a walk encloses; None for the walk around all pieces from outside."""
    path = Path(tuple(edges[h // 2].segment if h % 2 == 0 else _turned(edges[h // 2].segment) for h in walk))
    if signed_area(path) <= 0:
        return None
    points = flattened(path, _CHORDS)
    if len(points) < 3:
        return None
    parts = shapely.get_parts(shapely.make_valid(shapely.Polygon(points)))
    largest = max(parts, key=lambda part: part.area)
    if largest.area == 0:
        return None
    inner = largest.representative_point()
    return (float(inner.x), float(inner.y))


def _winding(ring: NDArray[np.float64], point: Point) -> int:
    """How often a ring of points goes counter-clockwise around a point."""
    x, y = (ring - np.asarray(point)).T
    u, v = np.roll(x, -1), np.roll(y, -1)
    left = x * v - u * y
    up = (y <= 0) & (v > 0) & (left > 0)
    down = (y > 0) & (v <= 0) & (left < 0)
    return int(up.sum()) - int(down.sum())
