"""`Net`: pieces between numbered points while they are being joined, split and trimmed."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.curves import arc_through, snapped
from camkit.drawing.faces import Edge, at_nodes
from camkit.drawing.sketch import Crowded
from camkit.geometry.crossing import Carrier, Ring, Straight
from camkit.geometry.many import SegmentTable, extents, tabled
from camkit.geometry.measure import length, segment_length
from camkit.geometry.path import Arc, Line, Path, Point, Segment, arc_sweep, reversed_path
from camkit.geometry.tolerance import SAME_POINT

__all__ = ["Net", "Places", "carrier", "edges_between", "nearest", "share_of"]

# No drawing of parts comes near; comparing more takes longer than anybody waits.
_MOST_PAIRS = 400_000
_ROWS = 200


@dataclass(slots=True)
class Net:
    """Edges (None where one is gone), the piece that each comes from, and the place of each point."""

    edges: list[Edge | None]
    sources: list[int]
    places: dict[int, Point]
    _fresh: int = field(default=0)

    def copy(self) -> Net:
        """A net that can be changed without changing this one."""
        return Net(list(self.edges), list(self.sources), dict(self.places), self._fresh)

    def edge(self, number: int) -> Edge:
        """An edge that is there."""
        edge = self.edges[number]
        assert edge is not None
        return edge

    def far(self, half: int) -> int:
        """The point where a half edge (2 i forward, 2 i + 1 backward) arrives."""
        edge = self.edge(half // 2)
        return edge.first if half % 2 else edge.last

    def outward(self, half: int) -> Path:
        """The path of a half edge, backwards: it ends where the half edge leaves."""
        edge = self.edge(half // 2)
        return edge.path if half % 2 else reversed_path(edge.path)

    def leaving(self) -> dict[int, list[int]]:
        """Half edges that leave each point."""
        return at_nodes(self.edges, range(len(self.edges)))

    def hanging(self) -> set[int]:
        """Edges that hang on to closed lines by one end at most."""
        leaving = self.leaving()
        count = {node: len(halves) for node, halves in leaving.items()}
        gone: set[int] = set()
        lone = [node for node, halves in leaving.items() if len(halves) == 1]
        while lone:
            node = lone.pop()
            for half in leaving[node]:
                if half // 2 in gone:
                    continue
                gone.add(half // 2)
                far = self.far(half)
                count[far] -= 1
                if count[far] == 1:
                    lone.append(far)
        return gone

    def close_along(self, node: int, leaving: dict[int, list[int]], reach: float) -> set[int]:
        """Edges that begin nearer to a point than `reach`, as one walks along the edges."""
        done: set[int] = set()
        near: set[int] = set()
        waiting = [(0.0, node)]
        while waiting:
            walked, here = heapq.heappop(waiting)
            if here in done:
                continue
            done.add(here)
            for half in leaving.get(here, ()):
                near.add(half // 2)
                far = walked + length(self.edge(half // 2).path)
                if far < reach:
                    heapq.heappush(waiting, (far, self.far(half)))
        return near

    def add_point(self, place: Point) -> int:
        """The number of a new point; such numbers are negative."""
        self._fresh -= 1
        self.places[self._fresh] = place
        return self._fresh

    def end_at(self, half: int, node: int, bridge: bool = False) -> bool:
        """Let the end where a half edge leaves be `node`, moved there, or joined to it by a straight piece.

        False, and nothing changed, when nothing would be left of the edge.
        """
        place = self.places[node]
        path = self.outward(half)
        if bridge:
            segments: tuple[Segment, ...] = (*path.segments, Line(path.end, place))
        else:
            segments = snapped(path, path.start, place)
        if not segments:
            return False
        edge = self.edge(half // 2)
        if half % 2:
            self.edges[half // 2] = Edge(edge.first, node, Path(segments))
        else:
            self.edges[half // 2] = Edge(node, edge.last, reversed_path(Path(segments)))
        return True

    def split(self, number: int, nodes: Iterable[int]) -> None:
        """Split an edge at points that lie on it (nearly); the parts pass through them."""
        edge = self.edge(number)
        segments, first = edge.path.segments, edge.first
        parts = []
        for _, _, node in sorted((*_position(segments, self.places[node]), node) for node in nodes):
            before, segments = _cut(segments, self.places[node])
            if before:
                parts.append(Edge(first, node, Path(before)))
            first = node
        if segments:
            parts.append(Edge(first, edge.last, Path(segments)))
        self.edges[number] = None
        self.edges += parts
        self.sources += [self.sources[number]] * len(parts)


def edges_between(
    paths: Sequence[Path], numbers: Sequence[int], places: dict[int, Point]
) -> list[Edge | None]:
    """The paths as edges between numbered points (two for each path), their ends moved to the points' places.

    None where nothing is left of a path.
    """
    edges: list[Edge | None] = []
    for index, path in enumerate(paths):
        first, last = numbers[2 * index], numbers[2 * index + 1]
        segments = path.segments
        if segments[0].start != places[first] or segments[-1].end != places[last]:
            segments = snapped(path, places[first], places[last])
            path = Path(segments) if segments else path
        edges.append(Edge(first, last, path) if segments else None)
    return edges


def _position(segments: Sequence[Segment], place: Point) -> tuple[int, float]:
    index = min(range(len(segments)), key=lambda i: math.dist(place, nearest(segments[i], place)))
    return index, share_of(segments[index], place)


def _cut(segments: tuple[Segment, ...], place: Point) -> tuple[tuple[Segment, ...], tuple[Segment, ...]]:
    """What lies before and after a place; both end there."""
    if not segments:
        return (), ()
    index, share = _position(segments, place)
    corner = index + (share == 1.0)
    if share in (0.0, 1.0) and 0 < corner < len(segments):
        before, after = segments[:corner], segments[corner:]
        return snapped(Path(before), before[0].start, place), snapped(Path(after), place, after[-1].end)
    before, after = segments[:index], segments[index:]
    cut = after[0]
    if isinstance(cut, Arc):
        head = arc_through(cut.start, place, cut.centre, cut.clockwise)
        tail = arc_through(place, cut.end, cut.centre, cut.clockwise)
    else:
        head = (Line(cut.start, place),) if math.dist(cut.start, place) > SAME_POINT else ()
        tail = (Line(place, cut.end),) if math.dist(place, cut.end) > SAME_POINT else ()
    return (*before, *head), (*tail, *after[1:])


def share_of(segment: Segment, place: Point) -> float:
    """How far along the segment (0 to 1) its point nearest to `place` lies."""
    if isinstance(segment, Arc):
        (cx, cy), sweep = segment.centre, arc_sweep(segment)
        begin = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
        turn = math.atan2(place[1] - cy, place[0] - cx)
        passed = (begin - turn if segment.clockwise else turn - begin) % math.tau
        if passed <= sweep:
            return passed / sweep
        return 1.0 if passed - sweep < math.tau - passed else 0.0
    (ax, ay), (bx, by) = segment.start, segment.end
    dx, dy = bx - ax, by - ay
    square = dx * dx + dy * dy
    if square == 0:
        return 0.0
    return min(1.0, max(0.0, ((place[0] - ax) * dx + (place[1] - ay) * dy) / square))


def nearest(segment: Segment, place: Point) -> Point:
    """The segment's point nearest to `place`."""
    share = share_of(segment, place)
    if share in (0.0, 1.0):
        return segment.end if share else segment.start
    if isinstance(segment, Arc):
        away = math.dist(segment.centre, place) or 1.0
        (cx, cy), scale = segment.centre, segment.radius / away
        return (cx + (place[0] - cx) * scale, cy + (place[1] - cy) * scale)
    (ax, ay), (bx, by) = segment.start, segment.end
    return (ax + (bx - ax) * share, ay + (by - ay) * share)


def carrier(segment: Segment) -> Carrier:
    """The endless line or the whole circle that a segment lies on."""
    if isinstance(segment, Arc):
        return Ring(segment.centre, segment.radius)
    size = segment_length(segment) or 1.0
    (ax, ay), (bx, by) = segment.start, segment.end
    return Straight(segment.start, ((bx - ax) / size, (by - ay) / size))


class Places:
    """Finds the segments of edges that come near a point."""

    def __init__(self, net: Net, numbers: Sequence[int]) -> None:
        """Look at these edges only."""
        edges = [net.edge(number) for number in numbers]
        self.segments = [segment for edge in edges for segment in edge.path.segments]
        self.owners = [n for n, edge in zip(numbers, edges, strict=True) for _ in edge.path.segments]
        self.boxes = _boxes(tabled([edge.path for edge in edges]))
        self._tree = shapely.STRtree(shapely.box(*self.boxes.T)) if self.segments else None

    def near(self, points: Sequence[Point], reach: float) -> list[tuple[int, int]]:
        """Pairs (position of a point, position of a segment) whose boxes come within `reach`."""
        if self._tree is None or not points:
            return []
        at = np.array(points)
        return sorted(self._pairs(shapely.box(*(at - reach).T, *(at + reach).T)))

    def meeting(self) -> list[tuple[int, int]]:
        """Pairs of segments whose boxes meet, the smaller position first."""
        if self._tree is None:
            return []
        return sorted((a, b) for a, b in self._pairs(shapely.box(*self.boxes.T)) if a < b)

    def _pairs(self, boxes: NDArray[Any]) -> Iterator[tuple[int, int]]:
        """Pairs (position of a box, position of a segment) that meet; raises Crowded beyond a number."""
        assert self._tree is not None
        count = 0
        for begin in range(0, len(boxes), _ROWS):
            a, b = self._tree.query(boxes[begin : begin + _ROWS])
            count += len(a)
            if count > _MOST_PAIRS:
                raise Crowded(f"loose lines run across each other in more than {_MOST_PAIRS // 2} places")
            yield from zip((a + begin).tolist(), b.tolist(), strict=True)


def _boxes(table: SegmentTable) -> NDArray[np.float64]:
    single = np.arange(len(table.bent) + 1, dtype=np.int64)
    return extents(
        SegmentTable(table.start, table.end, table.centre, table.bent, table.radius, table.turned, single)
    )
