"""Loose pieces joined end to end into closed loops; what was repaired and what stays open is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from camkit.drawing.borrowed import SMALLEST_AREA, Loop, with_borrowed
from camkit.drawing.ends import Groups, close_pairs, same_points
from camkit.drawing.faces import Walks, closed_walks, walked
from camkit.drawing.gaps import Gap, close_gaps
from camkit.drawing.net import Net, edges_between
from camkit.drawing.overlaps import without_overlaps
from camkit.drawing.repairs import told_covered, told_gaps, told_meetings, told_shared
from camkit.drawing.repeats import without_repeats
from camkit.drawing.sketch import Piece
from camkit.drawing.touching import split_where_crossed, split_where_touched
from camkit.errors import Finding
from camkit.geometry.flatten import flattened
from camkit.geometry.many import areas, lengths, tabled
from camkit.geometry.measure import bounds, length
from camkit.geometry.path import Point, signed_area
from camkit.geometry.tolerance import CHAIN, CHAIN_LOUD

__all__ = ["Chained", "Loop", "chain"]

# Gaps make up no more than this of an outline; a stroke of a letter is not one.
_LARGEST_SHARE = 0.05
# An outline is this much wider than its gaps; else they may be the open ends of a slot or a double line.
_WIDER_THAN_GAPS = 2.0


@dataclass(frozen=True, slots=True)
class Chained:
    """Closed loops, and the pieces that belong to none."""

    loops: tuple[Loop, ...]
    loose: tuple[Piece, ...]
    findings: tuple[Finding, ...]


@dataclass(slots=True)
class _Found:
    """What joining has come to so far."""

    loops: list[Loop] = field(default_factory=list)
    gaps: list[tuple[Gap, Piece]] = field(default_factory=list)
    shared: list[Piece] = field(default_factory=list)
    covered: list[Piece] = field(default_factory=list)
    crossed: list[tuple[Point, Piece]] = field(default_factory=list)
    touching: list[tuple[Point, Piece]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Solved:
    """A net with its closed walks, and the points in which lines were closed, touched or crossed.

    `covered` are pieces that lie on others, or in part.
    """

    net: Net
    walks: Walks
    gaps: list[Gap]
    touched: list[int]
    crossed: list[int]
    covered: set[int]


def chain(pieces: Sequence[Piece], file: str) -> Chained:
    """Join pieces whose ends lie within CHAIN of each other, or within CHAIN_LOUD with a warning.

    Pieces of one layer are joined first, then what remains across layers. A piece that is drawn twice counts
    once. Where more than two ends meet, the smallest areas that the pieces enclose are the loops; a line that
    another ends on is shared out to the areas on its sides. A piece that is closed by itself stays whole.
    """
    kept, findings = without_repeats(pieces, file)
    found = _Found([Loop(p.path, p.layer, p.entity) for p in kept if p.path.closed])
    by_layer: dict[str, list[Piece]] = {}
    for piece in kept:
        if not piece.path.closed:
            by_layer.setdefault(piece.layer, []).append(piece)
    loose: list[Piece] = []
    for group in by_layer.values():
        loose += _join(group, found)
    if len(by_layer) > 1 and len({piece.layer for piece in loose}) > 1:
        loose = _join(loose, found)
    if loose and found.loops:
        found.loops, loose, shared = with_borrowed(found.loops, loose)
        found.shared += shared
    loops, flat = _without_flat(found.loops)
    if flat:
        said = f"closed lines that run there and back and enclose nothing, not cut: {len(flat)}"
        first = flat[0]
        findings.append(
            Finding("warning", "open-lines", said, file=file, layer=first.layer or None, entity=first.entity)
        )
    findings += told_gaps(found.gaps, file)
    findings += told_shared(found.shared, file)
    findings += told_meetings(found.crossed, found.touching, file)
    findings += told_covered(found.covered, file)
    return Chained(tuple(loops), tuple(loose), tuple(findings))


def _without_flat(loops: Sequence[Loop]) -> tuple[list[Loop], list[Loop]]:
    """The loops that enclose an area, and those that run there and back."""
    table = tabled([loop.path for loop in loops])
    thin = CHAIN * lengths(table) / 4
    flat = {
        number
        for number in np.flatnonzero(np.abs(areas(table)) <= thin).tolist()
        # The lobes of a crossed line may weigh each other out; what they span does not.
        if shapely.MultiPoint(flattened(loops[number].path)).convex_hull.area <= thin[number]
    }
    return [loop for n, loop in enumerate(loops) if n not in flat], [loops[n] for n in sorted(flat)]


def _join(pieces: list[Piece], found: _Found) -> list[Piece]:
    """Add the loops that the pieces close to; returns the pieces, or parts of them, left over."""
    ends = [point for piece in pieces for point in (piece.path.start, piece.path.end)]
    nodes = same_points(ends)
    quiet = _match(ends, nodes)
    start, is_plain = _net(pieces, ends, nodes, quiet)
    if is_plain:
        solved = _Solved(start, closed_walks(start.edges), [], [], [], set())
    else:
        refused_ends: set[tuple[int, ...]] = set()
        refused_points: set[int] = set()
        while True:
            solved = _solved(start.copy(), refused_ends, refused_points)
            ends_now, points_now = _refused(solved)
            if ends_now <= refused_ends and points_now <= refused_points:
                break
            refused_ends |= ends_now
            refused_points |= points_now
    return _taken(pieces, solved, quiet, found)


def _net(pieces: list[Piece], ends: Sequence[Point], nodes: Groups, quiet: list[Gap]) -> tuple[Net, bool]:
    """The pieces as edges between points, and whether they are plain rings that need no more."""
    numbers = [nodes.of(i) for i in range(len(ends))]
    places = {number: ends[number] for number in numbers}
    places |= {nodes.of(gap.node): gap.at for gap in quiet}
    edges = edges_between([piece.path for piece in pieces], numbers, places)
    degree = Counter(n for edge in edges if edge for n in (edge.first, edge.last))
    return Net(edges, list(range(len(pieces))), places), all(count == 2 for count in degree.values())


def _match(ends: Sequence[Point], nodes: Groups) -> list[Gap]:
    """Join the points where an odd number of ends meet to others of that kind, nearest pairs first.

    An end that already meets another exactly is never pulled away from it.
    """
    degree = Counter(nodes.of(i) for i in range(len(ends)))
    odd = [(node, ends[node]) for node in sorted(degree) if degree[node] % 2]
    free = {node for node, _ in odd}
    matched = []
    for size, a, b in close_pairs(odd, CHAIN):
        if a in free and b in free:
            free -= {a, b}
            nodes.join(a, b)
            at = ((ends[a][0] + ends[b][0]) / 2, (ends[a][1] + ends[b][1]) / 2)
            matched.append(Gap(size, at, (a, b), nodes.of(a), a // 2, False, False))
    return matched


def _solved(net: Net, refused_ends: set[tuple[int, ...]], refused_points: set[int]) -> _Solved:
    covered = _uncovered(net)
    touched = split_where_touched(net, refused_points)
    if touched:
        covered |= _uncovered(net)
    gaps = close_gaps(net, refused_ends)
    crossed = split_where_crossed(net)
    walks = closed_walks(net.edges)
    covered |= {net.sources[i] for i in walks.covered}
    return _Solved(net, walks, gaps, touched, crossed, covered)


def _uncovered(net: Net) -> set[int]:
    """Take out what lies on other lines; returns the pieces that this shortens or takes away."""
    edges = without_overlaps(net.edges)
    covered = {net.sources[i] for i, edge in enumerate(edges) if edge is not net.edges[i]}
    net.edges = edges
    return covered


def _refused(solved: _Solved) -> tuple[set[tuple[int, ...]], set[int]]:
    """Gaps and points of touching that closed what is no outline: too thin or too small for them."""
    ends: set[tuple[int, ...]] = set()
    points: set[int] = set()
    touched = set(solved.touched)
    by_node: dict[int, list[Gap]] = {}
    for gap in solved.gaps:
        by_node.setdefault(gap.node, []).append(gap)
    if not touched and not by_node:
        return ends, points
    net = solved.net
    for loop in solved.walks.loops:
        nodes = {node for i, _ in loop for node in (net.edge(i).first, net.edge(i).last)}
        gaps = [gap for node in nodes for gap in by_node.get(node, ()) if _uses(net, loop, gap)]
        met = nodes & touched
        if not gaps and not met:
            continue
        path = walked(net.edges, loop)
        around = length(path)
        if gaps:
            widest = max(gap.size for gap in gaps)
            wide = 2 * abs(signed_area(path)) / around
            if wide < _WIDER_THAN_GAPS * widest or sum(g.size for g in gaps) > _LARGEST_SHARE * around:
                ends |= {gap.ends for gap in gaps}
                continue
        x0, y0, x1, y1 = bounds(path)
        if max(x1 - x0, y1 - y0) < SMALLEST_AREA:
            ends |= {gap.ends for gap in gaps if gap.onto}
            points |= met
    return ends, points


def _uses(net: Net, loop: Iterable[tuple[int, bool]], gap: Gap) -> bool:
    return any(
        net.sources[i] == gap.source and gap.node in (net.edge(i).first, net.edge(i).last) for i, _ in loop
    )


def _taken(pieces: list[Piece], solved: _Solved, quiet: list[Gap], found: _Found) -> list[Piece]:
    """Keep the loops and what was done for them; returns the pieces, or parts of them, in none."""
    net, walks = solved.net, solved.walks
    used = {i for loop in walks.loops for i, _ in loop}
    covered = set(walks.covered)
    for loop in walks.loops:
        begin = pieces[net.sources[loop[0][0]]]
        found.loops.append(Loop(walked(net.edges, loop), begin.layer, begin.entity))
    closed = {net.sources[i] for i in used}
    left: dict[int, list[int]] = {}
    for i, edge in enumerate(net.edges):
        if edge is not None and i not in used and i not in covered:
            left.setdefault(net.sources[i], []).append(i)
    nodes = {node for i in used for node in (net.edge(i).first, net.edge(i).last)}
    found.covered += [pieces[source] for source in sorted(solved.covered)]
    found.shared += [pieces[s] for s in dict.fromkeys(net.sources[i] for i in walks.shared)]
    found.gaps += [(gap, pieces[gap.source]) for gap in quiet if gap.source in closed]
    steps = [(i, True) for i in sorted(used)]
    at = {node: i for i in sorted(used, reverse=True) for node in (net.edge(i).first, net.edge(i).last)}
    if solved.gaps:
        found.gaps += [(gap, pieces[gap.source]) for gap in solved.gaps if _uses(net, steps, gap)]
    for group, points in ((found.crossed, solved.crossed), (found.touching, list(walks.touching))):
        group += [(net.places[n], pieces[net.sources[at[n]]]) for n in points if n in nodes]
    loose = []
    for source, piece in enumerate(pieces):
        if source not in closed:
            if source in left or source not in solved.covered:
                loose.append(piece)
            continue
        for i in left.get(source, ()):
            rest = replace(piece, path=net.edge(i).path)
            stub = _stub(net, i, nodes)
            if stub is None:
                loose.append(rest)
            else:
                found.gaps.append((stub, rest))
    return loose


def _stub(net: Net, number: int, nodes: set[int]) -> Gap | None:
    """What a line has beyond a corner that lies exactly on it, if that is short enough to be trimmed."""
    edge = net.edge(number)
    size = length(edge.path)
    if size > CHAIN_LOUD or (edge.first in nodes) == (edge.last in nodes):
        return None
    node = edge.first if edge.first in nodes else edge.last
    return Gap(size, net.places[node], (), node, net.sources[number], True, False)
