"""Closed walks through pieces that meet at their ends: plain rings, and the areas between branching lines."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from camkit.drawing.ends import Groups
from camkit.geometry.measure import length, point_along, segment_length
from camkit.geometry.path import Path, Point, reversed_path, signed_area
from camkit.geometry.tolerance import CHAIN

__all__ = ["Edge", "Walks", "closed_walks", "walked"]


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
    """Closed walks, and the edges that lie between two of them and so belong to both."""

    loops: tuple[tuple[Step, ...], ...]
    shared: tuple[int, ...]


def walked(edges: Sequence[Edge], steps: Iterable[Step]) -> Path:
    """The path of a walk."""
    return Path(
        tuple(
            segment
            for index, forward in steps
            for segment in (edges[index].path if forward else reversed_path(edges[index].path)).segments
        )
    )


def closed_walks(edges: Sequence[Edge]) -> Walks:
    """The loops that the edges enclose, each beginning with its first edge; dangling edges are in none.

    Where every point has an even number of ends, each edge belongs to one loop: areas are taken in and left
    out by turns from the outside. Where lines branch off (an odd number), every enclosed area is a loop.
    """
    loops: list[tuple[Step, ...]] = [((i, True),) for i, e in enumerate(edges) if e.first == e.last]
    shared: set[int] = set()
    live = _without_dangling(edges, {i for i, e in enumerate(edges) if e.first != e.last})
    for group in _components(edges, live):
        degree = Counter(node for i in group for node in (edges[i].first, edges[i].last))
        if all(count == 2 for count in degree.values()):
            loops.append(_ring(edges, group))
        else:
            found, both = _areas(edges, set(group))
            loops += found
            shared |= both
    loops = [_from_first(loop) for loop in loops]
    return Walks(tuple(sorted(loops)), tuple(sorted(shared)))


def _from_first(loop: tuple[Step, ...]) -> tuple[Step, ...]:
    begin = loop.index(min(loop))
    return (*loop[begin:], *loop[:begin])


def _at_nodes(edges: Sequence[Edge], live: Iterable[int]) -> dict[int, list[int]]:
    """Half edges that leave each point: 2 i forward, 2 i + 1 backward."""
    leaving: dict[int, list[int]] = {}
    for i in sorted(live):
        leaving.setdefault(edges[i].first, []).append(2 * i)
        leaving.setdefault(edges[i].last, []).append(2 * i + 1)
    return leaving


def _without_dangling(edges: Sequence[Edge], live: set[int]) -> set[int]:
    leaving = {node: set(halves) for node, halves in _at_nodes(edges, live).items()}
    live = set(live)
    lone = [node for node, halves in leaving.items() if len(halves) == 1]
    while lone:
        halves = leaving[lone.pop()]
        if len(halves) != 1:
            continue
        half = halves.pop()
        edge = edges[half // 2]
        live.discard(half // 2)
        far = edge.first if half % 2 else edge.last
        leaving[far].discard(half ^ 1)
        if len(leaving[far]) == 1:
            lone.append(far)
    return live


def _components(edges: Sequence[Edge], live: set[int]) -> list[list[int]]:
    numbers: dict[int, int] = {}
    for i in sorted(live):
        for node in (edges[i].first, edges[i].last):
            numbers.setdefault(node, len(numbers))
    groups = Groups(len(numbers))
    for i in live:
        groups.join(numbers[edges[i].first], numbers[edges[i].last])
    members: dict[int, list[int]] = {}
    for i in sorted(live):
        members.setdefault(groups.of(numbers[edges[i].first]), []).append(i)
    return list(members.values())


def _ring(edges: Sequence[Edge], group: list[int]) -> tuple[Step, ...]:
    leaving = _at_nodes(edges, group)
    half = 2 * group[0]
    steps: list[Step] = []
    while not steps or half != 2 * group[0]:
        steps.append((half // 2, half % 2 == 0))
        edge = edges[half // 2]
        here = edge.first if half % 2 else edge.last
        half = next(h for h in leaving[here] if h != half ^ 1)
    return tuple(steps)


def _areas(edges: Sequence[Edge], live: set[int]) -> tuple[list[tuple[Step, ...]], set[int]]:
    """Loops of a branching group of edges, and the edges that two of them share."""
    while True:
        walks = _face_walks(edges, live)
        side = {half: number for number, walk in enumerate(walks) for half in walk}
        bridges = {i for i in live if side[2 * i] == side[2 * i + 1]}
        if not bridges:
            paths = [walked(edges, ((h // 2, h % 2 == 0) for h in walk)) for walk in walks]
            sizes = [signed_area(path) for path in paths]
            # Two lines on top of each other enclose next to nothing: the longer one goes.
            bridges = {
                max((h // 2 for h in walk), key=lambda i: (length(edges[i].path), i))
                for walk, path, size in zip(walks, paths, sizes, strict=True)
                if abs(size) <= CHAIN * length(path) / 4
            }
        if not bridges:
            return _loops_of_areas(edges, live, walks, sizes, side)
        live = _without_dangling(edges, live - bridges)


def _loops_of_areas(
    edges: Sequence[Edge], live: set[int], walks: list[list[int]], sizes: list[float], side: dict[int, int]
) -> tuple[list[tuple[Step, ...]], set[int]]:
    degree = Counter(node for i in live for node in (edges[i].first, edges[i].last))
    taken = {number for number, size in enumerate(sizes) if size > 0}
    shared: set[int] = set()
    if any(count % 2 for count in degree.values()):
        shared = {i for i in live if side[2 * i] in taken and side[2 * i + 1] in taken}
    else:
        taken = _every_other(live, side, [number for number, size in enumerate(sizes) if size <= 0])
    loops = []
    for number in sorted(taken):
        loops += _split_where_it_touches(edges, walks[number])
    return loops, shared


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


def _split_where_it_touches(edges: Sequence[Edge], walk: list[int]) -> list[tuple[Step, ...]]:
    """A walk that comes by a point twice falls into several loops there."""
    loops: list[tuple[Step, ...]] = []
    stack: list[int] = []
    passed: dict[int, int] = {}
    for half in walk:
        edge = edges[half // 2]
        start, end = (edge.last, edge.first) if half % 2 else (edge.first, edge.last)
        passed[start] = len(stack)
        stack.append(half)
        if end in passed:
            begin = passed[end]
            cut = stack[begin:]
            del stack[begin:]
            for h in cut:
                passed.pop(edges[h // 2].last if h % 2 else edges[h // 2].first, None)
            loops.append(tuple((h // 2, h % 2 == 0) for h in cut))
    return loops


def _face_walks(edges: Sequence[Edge], live: set[int]) -> list[list[int]]:
    """Every side of every edge exactly once: walks that keep their area on the left."""
    after: dict[int, int] = {}
    for halves in _at_nodes(edges, live).values():
        turning = sorted(halves, key=lambda h: (_direction(edges, h, halves), h))
        for before, half in zip([turning[-1], *turning], turning, strict=False):
            after[half ^ 1] = before
    walks, seen = [], set()
    for start in sorted(after):
        walk: list[int] = []
        half = start
        while half not in seen:
            seen.add(half)
            walk.append(half)
            half = after[half]
        if walk:
            walks.append(walk)
    return walks


def _direction(edges: Sequence[Edge], half: int, halves: list[int]) -> float:
    """Angle at which a half edge leaves, seen at a small distance, where tangent arcs have parted."""
    reach = min(1.0, min(length(edges[h // 2].path) for h in halves) / 2)
    path = edges[half // 2].path
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
