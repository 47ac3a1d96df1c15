"""Gaps between loose ends closed, and ends that run past their corner trimmed, up to CHAIN_LOUD."""

from __future__ import annotations

import math
from collections.abc import Container
from dataclasses import dataclass

from camkit.drawing.ends import close_pairs
from camkit.drawing.net import Net, Places, carrier, nearest, share_of
from camkit.geometry.crossing import Ring, Straight, crossings
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Point, Segment
from camkit.geometry.tolerance import CHAIN, CHAIN_LOUD

__all__ = ["Gap", "close_gaps"]

# Lines flatter to each other than this (about 6 degrees) have no crossing that could be trusted.
_STEEP = 0.1
# Along the line itself an end meets nothing nearer than this: a small hook is no outline.
_OWN_LINE = 10 * CHAIN_LOUD


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap that was closed (or ends that were trimmed) in the point `node`, between those ends.

    `size` is the distance between the ends, or how far one ran past its corner; `source` the piece that has
    the first of the ends; `onto` says that it was joined to the middle of a line.
    """

    size: float
    at: Point
    ends: tuple[int, ...]
    node: int
    source: int
    trimmed: bool
    onto: bool


@dataclass(frozen=True, slots=True)
class _Join:
    """Loose ends that may be joined to each other, or one to the line `onto`, at `meet` if that is known."""

    size: float
    at: Point
    ends: tuple[int, ...]
    meet: Point | None
    trimmed: bool = False
    onto: int = -1
    corner: int | None = None


def close_gaps(net: Net, refused: Container[tuple[int, ...]]) -> list[Gap]:
    """Join loose ends to each other, or to a line that they stop short of or run past, nearest first.

    Where the lines themselves meet within the size of the gap they are lengthened or trimmed to that corner,
    arcs along their circle. Else the gap is closed by a straight piece. A loose end is an end that meets no
    other; nothing that meets exactly is moved. `refused` are ends not to be joined.
    """
    gaps: list[Gap] = []
    # Each round joins a loose end at least; a round that leaves as many would come again for ever.
    loose = len(net.edges) * 2 + 1
    while True:
        closed = _round(net, refused)
        left = sum(len(halves) == 1 for halves in net.leaving().values())
        gaps += closed
        if not closed or left >= loose:
            return gaps
        loose = left


def _round(net: Net, refused: Container[tuple[int, ...]]) -> list[Gap]:
    leaving = net.leaving()
    loose = {n: halves[0] for n, halves in leaving.items() if len(halves) == 1}
    if not loose:
        return []
    joins = [
        join
        for join in _between_ends(net, loose) + _onto_lines(net, loose, leaving)
        if join.ends not in refused
    ]
    joins.sort(key=lambda j: (round(j.size, 6), j.at, j.ends))
    gaps: list[Gap] = []
    taken: set[int] = set()
    cuts: dict[int, set[int]] = {}
    for join in joins:
        gap = None if any(end in taken for end in join.ends) else _joined(net, join, loose)
        if gap is None:
            continue
        taken.update(join.ends)
        if join.onto >= 0 and join.corner is None:
            cuts.setdefault(join.onto, set()).add(gap.node)
        gaps.append(gap)
    for number, nodes in sorted(cuts.items()):
        net.split(number, nodes)
    return gaps


def _joined(net: Net, join: _Join, loose: dict[int, int]) -> Gap | None:
    halves = [loose[end] for end in join.ends]
    bridge = False
    if join.corner is not None:
        node = join.corner
    elif join.meet is not None:
        node = net.add_point(join.meet)
    else:
        node, bridge = join.ends[1], True
        halves = halves[:1]
    saved = [(half // 2, net.edges[half // 2]) for half in halves]
    if not all(net.end_at(half, node, bridge) for half in halves):
        for number, edge in saved:
            net.edges[number] = edge
        return None
    source = net.sources[halves[0] // 2]
    return Gap(join.size, join.at, join.ends, node, source, join.trimmed, join.onto >= 0)


def _between_ends(net: Net, loose: dict[int, int]) -> list[_Join]:
    joins = []
    for size, a, b in close_pairs([(node, net.places[node]) for node in sorted(loose)], CHAIN_LOUD):
        p, q = net.places[a], net.places[b]
        meet = _corner(_last(net, loose[a]), _last(net, loose[b]), size)
        at = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        joins.append(_Join(size, at, (a, b), meet))
    return joins


def _last(net: Net, half: int) -> Segment:
    """The segment that ends loose where a half edge leaves, turned to run that way."""
    return net.outward(half).segments[-1]


def _corner(a: Segment, b: Segment, size: float) -> Point | None:
    """Where two segments meet if lengthened or trimmed by no more than the gap between their ends."""
    p, q = a.end, b.end
    found = []
    for place in crossings(carrier(a), carrier(b)):
        if all(
            math.dist(place, s.end) <= min(size, segment_length(s) / 2) or _beyond(s, place, size)
            for s in (a, b)
        ):
            found.append((math.dist(place, p) + math.dist(place, q), place))
    if found:
        return min(found)[1]
    # One goes straight on to the other's end.
    for one, end in ((a, q), (b, p)):
        if _beyond(one, end, size + CHAIN) and _aside(one, end) <= CHAIN:
            return end
    return None


def _beyond(segment: Segment, place: Point, reach: float) -> bool:
    """Whether a place near the segment's end lies beyond it."""
    return math.dist(segment.end, place) <= reach and share_of(segment, place) == 1.0


def _aside(segment: Segment, place: Point) -> float:
    on = carrier(segment)
    if isinstance(on, Ring):
        return abs(math.dist(on.centre, place) - on.radius)
    (px, py), (dx, dy) = on.point, on.direction
    return abs((place[0] - px) * dy - (place[1] - py) * dx)


def _onto_lines(net: Net, loose: dict[int, int], leaving: dict[int, list[int]]) -> list[_Join]:
    """Loose ends that stop short of the middle of a line, or run past it."""
    spots = Places(net, [i for i, edge in enumerate(net.edges) if edge is not None])
    nodes = sorted(loose)
    joins = []
    own: dict[int, set[int]] = {}
    for position, row in spots.near([net.places[node] for node in nodes], CHAIN_LOUD):
        node = nodes[position]
        number = spots.owners[row]
        if node not in own:
            own[node] = net.close_along(node, leaving, _OWN_LINE)
        if number not in own[node]:
            segment = _last(net, loose[node])
            place = _hit(segment, spots.segments[row])
            join = None if place is None else _onto(net, node, loose, number, place)
            if join is not None:
                joins.append(join)
    return joins


def _hit(segment: Segment, line: Segment) -> Point | None:
    """Where a segment's loose end meets a line, lengthened or trimmed by CHAIN_LOUD at most."""
    half = segment_length(segment) / 2
    found = []
    for place in crossings(carrier(segment), carrier(line)):
        size = math.dist(place, segment.end)
        if size > CHAIN_LOUD or math.dist(nearest(line, place), place) > CHAIN:
            continue
        if (size <= half or share_of(segment, place) == 1.0) and _is_steep(segment, line, place):
            found.append((size, place))
    return min(found)[1] if found else None


def _is_steep(a: Segment, b: Segment, place: Point) -> bool:
    (ax, ay), (bx, by) = _direction(a, place), _direction(b, place)
    return abs(ax * by - ay * bx) >= _STEEP


def _direction(segment: Segment, place: Point) -> Point:
    on = carrier(segment)
    if isinstance(on, Straight):
        return on.direction
    away = math.dist(on.centre, place) or 1.0
    return ((on.centre[1] - place[1]) / away, (place[0] - on.centre[0]) / away)


def _onto(net: Net, node: int, loose: dict[int, int], number: int, place: Point) -> _Join | None:
    size = math.dist(net.places[node], place)
    trimmed = share_of(_last(net, loose[node]), place) < 1.0
    edge = net.edge(number)
    for other in (edge.first, edge.last):
        away = math.dist(net.places[other], place)
        if other == node:
            if away <= CHAIN_LOUD:
                return None  # the end of this very line
            continue
        if other in loose and away <= CHAIN_LOUD:
            past = share_of(_last(net, loose[other]), place) < 1.0
            if not (trimmed or past):
                return None  # both stop short: a gap between two ends
            size = max(size if trimmed else 0.0, away if past else 0.0)
            return _Join(size, place, (min(node, other), max(node, other)), place, True)
        if away <= CHAIN:
            return _Join(size, place, (node,), net.places[other], trimmed, number, other)
    return _Join(size, place, (node,), place, trimmed, number)
