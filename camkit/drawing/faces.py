"""Closed walks through pieces that meet at their ends: plain rings, and the areas between branching lines."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from camkit.drawing.half_edges import area_walks, next_around
from camkit.geometry.measure import length, point_along, segment_length
from camkit.geometry.path import Path, Point, reversed_path, signed_area
from camkit.geometry.tolerance import CHAIN

__all__ = ["Edge", "Step", "Walks", "at_nodes", "blocks", "closed_walks", "walked"]


@dataclass(frozen=True, slots=True)
class Edge:
    """A piece between two numbered points; `path` runs from `first` to `last`."""

    first: int
    last: int
    path: Path


# The position of an edge, and whether it is walked from first to last.
Step = tuple[int, bool]


@dataclass(frozen=True, slots=True)
class Walks:
    """Closed walks, and the edges that lie between two of them and so belong to both.

    `touching` are points in which loops touch without sharing an edge; `covered` are edges left out because
    they run along others.
    """

    loops: tuple[tuple[Step, ...], ...]
    shared: tuple[int, ...]
    touching: tuple[int, ...]
    covered: tuple[int, ...]


def walked(edges: Sequence[Edge | None], steps: Iterable[Step]) -> Path:
    """The path of a walk."""
    return Path(
        tuple(
            segment
            for number, forward in steps
            for segment in (_path(edges, number) if forward else reversed_path(_path(edges, number))).segments
        )
    )


def _path(edges: Sequence[Edge | None], number: int) -> Path:
    edge = edges[number]
    assert edge is not None
    return edge.path


def _length(edges: Sequence[Edge | None], number: int) -> float:
    return length(_path(edges, number))


def closed_walks(edges: Sequence[Edge | None]) -> Walks:
    """The loops that the edges enclose, each beginning with its first edge; dangling edges are in none.

    Lines that hang together in one point only are looked at apart: outlines that touch at a corner stay two.
    Of the rest, where every point has an even number of ends, each edge belongs to one loop: areas are taken
    in and left out by turns from the outside. Where lines branch off (an odd number), every enclosed area is
    a loop.
    """
    loops: list[tuple[Step, ...]] = [((i, True),) for i, e in enumerate(edges) if e and e.first == e.last]
    rings, rest = _rings(edges)
    loops += rings
    shared: set[int] = set()
    covered: set[int] = set()
    meeting: Counter[int] = Counter()
    for block in blocks(edges, rest):
        areas = _areas(edges, set(block))
        loops += areas.loops
        shared |= areas.shared
        covered |= areas.covered
        visits = Counter(_nodes(edges, i)[not forward] for loop in areas.loops for i, forward in loop)
        meeting.update(visits if not areas.shared else visits.keys())
    touching = sorted(node for node, count in meeting.items() if count > 1)
    loops = [_from_first(loop) for loop in loops]
    return Walks(tuple(sorted(loops)), tuple(sorted(shared)), tuple(touching), tuple(sorted(covered)))


def at_nodes(edges: Sequence[Edge | None], live: Iterable[int]) -> dict[int, list[int]]:
    """Half edges that leave each point: 2 i forward, 2 i + 1 backward."""
    leaving: dict[int, list[int]] = {}
    for i in live:
        edge = edges[i]
        if edge is not None and edge.first != edge.last:
            leaving.setdefault(edge.first, []).append(2 * i)
            leaving.setdefault(edge.last, []).append(2 * i + 1)
    return leaving


def _nodes(edges: Sequence[Edge | None], number: int) -> tuple[int, int]:
    edge = edges[number]
    assert edge is not None
    return edge.first, edge.last


def _rings(edges: Sequence[Edge | None]) -> tuple[list[tuple[Step, ...]], list[int]]:
    """The plain rings, in which two edges meet at every point, and the numbers of all other edges."""
    leaving = at_nodes(edges, range(len(edges)))
    seen = [False] * len(edges)
    rings: list[tuple[Step, ...]] = []
    rest: list[int] = []
    for start, edge in enumerate(edges):
        if seen[start] or edge is None or edge.first == edge.last:
            continue
        steps: list[Step] = []
        half = 2 * start
        while not seen[half // 2]:
            seen[half // 2] = True
            steps.append((half // 2, half % 2 == 0))
            halves = leaving[_nodes(edges, half // 2)[half % 2 ^ 1]]
            if len(halves) != 2:
                break
            half = halves[0] if halves[1] == half ^ 1 else halves[1]
        if half == 2 * start and _closes(edges, steps, leaving):
            rings.append(tuple(steps))
        else:
            rest += [i for i, _ in steps]
    return rings, sorted(rest)


def _closes(edges: Sequence[Edge | None], steps: list[Step], leaving: dict[int, list[int]]) -> bool:
    begin = _nodes(edges, steps[0][0])[0]
    number, forward = steps[-1]
    return len(steps) > 1 and _nodes(edges, number)[forward] == begin and len(leaving[begin]) == 2


def _from_first(loop: tuple[Step, ...]) -> tuple[Step, ...]:
    begin = loop.index(min(loop))
    return (*loop[begin:], *loop[:begin])


def blocks(edges: Sequence[Edge | None], live: Iterable[int]) -> list[list[int]]:
    """Groups of edges that hang together even if any one point is taken away; bridges are in none.

    The biconnected components of the graph (Hopcroft and Tarjan, Communications of the ACM 16, 1973, 372).
    """
    leaving = at_nodes(edges, sorted(live))
    order: dict[int, int] = {}
    low: dict[int, int] = {}
    found: list[list[int]] = []
    for root in leaving:
        if root in order:
            continue
        order[root] = low[root] = len(order)
        trail: list[int] = []
        way = [(root, -1, iter(leaving[root]))]
        while way:
            node, via, halves = way[-1]
            for half in halves:
                far = _nodes(edges, half // 2)[half % 2 ^ 1]
                if half // 2 == via:
                    continue
                if far not in order:
                    trail.append(half // 2)
                    order[far] = low[far] = len(order)
                    way.append((far, half // 2, iter(leaving[far])))
                    break
                if order[far] < order[node]:
                    trail.append(half // 2)
                    low[node] = min(low[node], order[far])
            else:
                way.pop()
                if not way:
                    break
                before = way[-1][0]
                low[before] = min(low[before], low[node])
                if low[node] >= order[before]:
                    block = [trail.pop()]
                    while block[-1] != via:
                        block.append(trail.pop())
                    if len(block) > 1:
                        found.append(sorted(block))
    return sorted(found)


@dataclass(frozen=True, slots=True)
class _Areas:
    """What a block of edges encloses; fields as those of `Walks`."""

    loops: list[tuple[Step, ...]]
    shared: set[int]
    covered: set[int]


def _areas(edges: Sequence[Edge | None], live: set[int]) -> _Areas:
    walks = _face_walks(edges, live)
    paths = [walked(edges, ((h // 2, h % 2 == 0) for h in walk)) for walk in walks]
    sizes = [signed_area(path) for path in paths]
    # Two lines on top of each other enclose next to nothing: the longer one goes.
    thin = {
        max((h // 2 for h in walk), key=lambda i: (_length(edges, i), i))
        for walk, path, size in zip(walks, paths, sizes, strict=True)
        if abs(size) <= CHAIN * length(path) / 4
    }
    if not thin:
        return _loops_of_areas(edges, live, walks, sizes)
    found = _Areas([], set(), thin)
    for block in blocks(edges, live - thin):
        areas = _areas(edges, set(block))
        found = _Areas(found.loops + areas.loops, found.shared | areas.shared, found.covered | areas.covered)
    return found


def _loops_of_areas(
    edges: Sequence[Edge | None], live: set[int], walks: list[tuple[int, ...]], sizes: list[float]
) -> _Areas:
    side = {half: number for number, walk in enumerate(walks) for half in walk}
    degree = Counter(node for i in live for node in _nodes(edges, i))
    taken = {number for number, size in enumerate(sizes) if size > 0}
    shared: set[int] = set()
    if any(count % 2 for count in degree.values()):
        shared = {i for i in live if side[2 * i] in taken and side[2 * i + 1] in taken}
    else:
        taken = _every_other(live, side, [number for number, size in enumerate(sizes) if size <= 0])
    loops = []
    for number in sorted(taken):
        loops += _split_where_it_touches(edges, walks[number])
    return _Areas(loops, shared, set())


def _every_other(live: set[int], side: dict[int, int], outside: list[int]) -> set[int]:
    """Areas reached from outside over an odd number of edges."""
    across: dict[int, list[int]] = {}
    for i in live:
        a, b = side[2 * i], side[2 * i + 1]
        across.setdefault(a, []).append(b)
        across.setdefault(b, []).append(a)
    odd = dict.fromkeys(outside, False)
    waiting = list(outside)
    while waiting:
        here = waiting.pop()
        for other in across.get(here, ()):
            if other not in odd:
                odd[other] = not odd[here]
                waiting.append(other)
    return {number for number, is_odd in odd.items() if is_odd}


def _split_where_it_touches(edges: Sequence[Edge | None], walk: Sequence[int]) -> list[tuple[Step, ...]]:
    """A walk that comes by a point twice falls into several loops there."""
    loops: list[tuple[Step, ...]] = []
    stack: list[int] = []
    passed: dict[int, int] = {}
    for half in walk:
        first, last = _nodes(edges, half // 2)
        start, end = (last, first) if half % 2 else (first, last)
        passed[start] = len(stack)
        stack.append(half)
        if end in passed:
            begin = passed[end]
            cut = stack[begin:]
            del stack[begin:]
            for h in cut:
                passed.pop(_nodes(edges, h // 2)[h % 2], None)
            loops.append(tuple((h // 2, h % 2 == 0) for h in cut))
    return loops


def _face_walks(edges: Sequence[Edge | None], live: set[int]) -> list[tuple[int, ...]]:
    """Every side of every edge exactly once: walks that keep their area on the left."""
    leaving = at_nodes(edges, sorted(live)).values()
    turning = [sorted(halves, key=lambda h: (_direction(edges, h, halves), h)) for halves in leaving]
    return area_walks(next_around(turning))


def _direction(edges: Sequence[Edge | None], half: int, halves: list[int]) -> float:
    """Angle at which a half edge leaves, seen at a small distance, where tangent arcs have parted."""
    reach = min(1.0, min(_length(edges, h // 2) for h in halves) / 2)
    path = _path(edges, half // 2)
    start = path.end if half % 2 else path.start
    at = _along(path, reach, backward=half % 2 == 1)
    return math.atan2(at[1] - start[1], at[0] - start[0])


def _along(path: Path, reach: float, *, backward: bool) -> Point:
    segments = reversed_path(path).segments if backward else path.segments
    for segment in segments:
        size = segment_length(segment)
        if size >= reach:
            return point_along(segment, reach / size)
        reach -= size
    return segments[-1].end
