"""Loose pieces joined end to end into closed loops; what was repaired and what stays open is told."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from camkit.drawing.curves import snapped
from camkit.drawing.ends import ROUNDING, Grid, Groups, close_pairs, same_points
from camkit.drawing.faces import Edge, closed_walks, walked
from camkit.drawing.overlaps import without_overlaps
from camkit.drawing.sketch import Piece
from camkit.errors import Finding
from camkit.geometry.flatten import flattened
from camkit.geometry.measure import length, point_along
from camkit.geometry.path import Path, Point, signed_area
from camkit.geometry.tolerance import CHAIN, CHAIN_LOUD

__all__ = ["Chained", "Loop", "chain"]

# Shorter than a tenth of a micrometre a piece is no line: projected solids leave hundreds of them.
_NO_LENGTH = 1e-4
_TOLD_ONE_BY_ONE = 12


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed line and the piece it begins with."""

    path: Path
    layer: str
    entity: str


@dataclass(frozen=True, slots=True)
class Chained:
    """Closed loops, and the pieces that belong to none."""

    loops: tuple[Loop, ...]
    loose: tuple[Piece, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Gap:
    size: float
    at: Point
    piece: Piece


def chain(pieces: Sequence[Piece], file: str) -> Chained:
    """Join pieces whose ends lie within CHAIN (or, with a finding, CHAIN_LOUD) of each other.

    Pieces of one layer are joined first, then what remains across layers. A piece that is drawn twice counts
    once. Where more than two ends meet, the smallest areas that the pieces enclose are the loops.
    """
    findings: list[Finding] = []
    kept = _without_repeats(pieces, file, findings)
    loops = [Loop(p.path, p.layer, p.entity) for p in kept if p.path.closed]
    by_layer: dict[str, list[Piece]] = {}
    for piece in kept:
        if not piece.path.closed:
            by_layer.setdefault(piece.layer, []).append(piece)
    loose: list[Piece] = []
    gaps: list[_Gap] = []
    shared: list[Piece] = []
    covered: list[Piece] = []
    for group in by_layer.values():
        loose += _join(group, loops, gaps, shared, covered)
    if len(by_layer) > 1 and len({piece.layer for piece in loose}) > 1:
        loose = _join(loose, loops, gaps, shared, covered)
    flat = [loop for loop in loops if _is_flat(loop.path)]
    if flat:
        loops = [loop for loop in loops if not _is_flat(loop.path)]
        said = f"closed lines that run there and back and enclose nothing, not cut: {len(flat)}"
        first = flat[0]
        findings.append(
            Finding("warning", "open-lines", said, file=file, layer=first.layer or None, entity=first.entity)
        )
    findings += _told_gaps(gaps, file)
    findings += _told_shared(shared, file)
    if covered:
        said = f"lines on top of others, counted once: {len(covered)}"
        findings.append(Finding("note", "duplicate", said, file=file, entity=covered[0].entity))
    return Chained(tuple(loops), tuple(loose), tuple(findings))


def _is_flat(path: Path) -> bool:
    thin = CHAIN * length(path) / 4
    if abs(signed_area(path)) > thin:
        return False
    # The lobes of a crossed line may weigh each other out; what they span does not.
    return bool(shapely.MultiPoint(flattened(path)).convex_hull.area <= thin)


def _without_repeats(pieces: Sequence[Piece], file: str, findings: list[Finding]) -> list[Piece]:
    kept: list[Piece] = []
    grid = Grid((), CHAIN)
    short: Counter[str] = Counter()
    double: Counter[str] = Counter()
    for piece in pieces:
        size = length(piece.path)
        if size <= _NO_LENGTH:
            short[piece.layer] += 1
            continue
        middle = _middle(piece.path)
        reach = min(CHAIN, size / 10)  # two neighbours in a fine row of chords are not one piece drawn twice
        if any(
            distance <= reach and _same_piece(kept[number], piece, size, reach)
            for number, distance in grid.near(middle)
        ):
            double[piece.layer] += 1
            continue
        grid.add(len(kept), middle)
        kept.append(piece)
    for counts, rule, said in (
        (double, "duplicate", "drawn twice or more, counted once"),
        (short, "no-length", "without length in plan, left out"),
    ):
        if counts:
            where = ", ".join(
                f"{count} on layer {layer or '(none)'}" for layer, count in sorted(counts.items())
            )
            findings.append(Finding("note", rule, f"pieces {said}: {where}", file=file))
    return kept


def _middle(path: Path) -> Point:
    segments = path.segments
    if len(segments) == 1:
        return point_along(segments[0], 0.5)
    if path.closed:  # it may begin anywhere, so take what does not depend on it
        xs, ys = zip(*(point_along(s, 0.5) for s in segments), strict=True)
        return (sum(xs) / len(xs), sum(ys) / len(ys))
    return (
        segments[len(segments) // 2].start
        if len(segments) % 2 == 0
        else point_along(segments[len(segments) // 2], 0.5)
    )


def _same_piece(a: Piece, b: Piece, size: float, reach: float) -> bool:
    if a.layer != b.layer or a.path.closed != b.path.closed or abs(length(a.path) - size) > reach:
        return False
    if a.path.closed:
        return len(a.path.segments) == len(b.path.segments)
    straight = math.dist(a.path.start, b.path.start) <= reach and math.dist(a.path.end, b.path.end) <= reach
    return straight or (
        math.dist(a.path.start, b.path.end) <= reach and math.dist(a.path.end, b.path.start) <= reach
    )


def _join(
    pieces: list[Piece], loops: list[Loop], gaps: list[_Gap], shared: list[Piece], covered: list[Piece]
) -> list[Piece]:
    """Add the loops that the pieces close to; returns the pieces left over."""
    ends = [point for piece in pieces for point in (piece.path.start, piece.path.end)]
    nodes = same_points(ends)
    matched = _match(ends, nodes)
    place = {nodes.of(i): ends[nodes.of(i)] for i in range(len(ends))}
    for _, a, b in matched:
        place[nodes.of(a)] = ((ends[a][0] + ends[b][0]) / 2, (ends[a][1] + ends[b][1]) / 2)
    drawn: list[Edge] = []
    numbers: list[int] = []
    for index, piece in enumerate(pieces):
        first, last = nodes.of(2 * index), nodes.of(2 * index + 1)
        segments = snapped(piece.path, place[first], place[last])
        if segments:
            drawn.append(Edge(first, last, Path(segments)))
            numbers.append(index)
    trimmed = without_overlaps(drawn)
    covered += [pieces[numbers[i]] for i, edge in enumerate(trimmed) if edge is not drawn[i]]
    hidden = {numbers[i] for i, edge in enumerate(trimmed) if edge is None}
    edges = [edge for edge in trimmed if edge is not None]
    numbers = [number for number in numbers if number not in hidden]
    walks = closed_walks(edges)
    closed = {numbers[i] for loop in walks.loops for i, _ in loop} | hidden
    for loop in walks.loops:
        begin = pieces[numbers[loop[0][0]]]
        loops.append(Loop(walked(edges, loop), begin.layer, begin.entity))
    shared += [pieces[numbers[i]] for i in walks.shared]
    gaps += [
        _Gap(distance, place[nodes.of(a)], pieces[b // 2])
        for distance, a, b in matched
        if a // 2 in closed and b // 2 in closed
    ]
    return [piece for index, piece in enumerate(pieces) if index not in closed]


def _match(ends: Sequence[Point], nodes: Groups) -> list[tuple[float, int, int]]:
    """Join the points where an odd number of ends meet to others of that kind, nearest pairs first.

    An end that already meets another exactly is never pulled away from it.
    """
    degree = Counter(nodes.of(i) for i in range(len(ends)))
    odd = [(node, ends[node]) for node in sorted(degree) if degree[node] % 2]
    free = {node for node, _ in odd}
    matched = []
    for distance, a, b in close_pairs(odd, CHAIN_LOUD):
        if a in free and b in free:
            free -= {a, b}
            nodes.join(a, b)
            matched.append((distance, a, b))
    return matched


def _told_gaps(gaps: list[_Gap], file: str) -> list[Finding]:
    told = [
        Finding(
            "warning",
            "gap-closed",
            f"a gap of {gap.size:.3f} mm at ({gap.at[0]:.2f}, {gap.at[1]:.2f}) was closed",
            "Join the ends in the drawing if they are not meant to meet there",
            x_mm=gap.at[0],
            y_mm=gap.at[1],
            amount_mm=gap.size,
            file=file,
            layer=gap.piece.layer or None,
            entity=gap.piece.entity,
        )
        for gap in gaps
        if gap.size > CHAIN
    ]
    if len(told) > _TOLD_ONE_BY_ONE:
        worst = max(told, key=lambda f: f.amount_mm or 0.0)
        more = replace(worst, message=f"{len(told)} such gaps in all; the largest: {worst.message}")
        told = [*told[:_TOLD_ONE_BY_ONE], more]
    small = [gap for gap in gaps if ROUNDING < gap.size <= CHAIN]
    if small:
        largest = max(gap.size for gap in small)
        said = f"gaps closed: {len(small)}, the largest of {largest:.4f} mm"
        told.append(Finding("note", "gap-closed", said, amount_mm=largest, file=file))
    return told


def _told_shared(shared: list[Piece], file: str) -> list[Finding]:
    if not shared:
        return []
    first = shared[0]
    at = _middle(first.path)
    return [
        Finding(
            "warning",
            "shared-line",
            f"lines between two areas, read as the edge of both: {len(shared)}; the first at"
            f" ({at[0]:.2f}, {at[1]:.2f})",
            "Look at the picture; draw each part with a line of its own, or delete lines that are not cut",
            x_mm=at[0],
            y_mm=at[1],
            file=file,
            layer=first.layer or None,
            entity=first.entity,
        )
    ]
