"""Lines that close only against an outline drawn whole: they share its edge, the outline stays as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from camkit.drawing.ends import same_points
from camkit.drawing.faces import Step, closed_walks, walked
from camkit.drawing.net import Net, edges_between
from camkit.drawing.sketch import Piece
from camkit.drawing.touching import split_where_crossed, split_where_touched
from camkit.geometry.many import extents, tabled
from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, oriented, signed_area
from camkit.geometry.tolerance import CHAIN

__all__ = ["SMALLEST_AREA", "Loop", "with_borrowed"]

# Smaller than this, a figure that closes only on the middle of a line is a letter, not an area.
SMALLEST_AREA = 15.0


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed line and the piece it begins with."""

    path: Path
    layer: str
    entity: str


def with_borrowed(
    loops: Sequence[Loop], loose: Sequence[Piece]
) -> tuple[list[Loop], list[Piece], list[Piece]]:
    """All loops, those found by borrowing included; the pieces still loose; and the edges that are shared.

    A row of open lines that ends on an outline of its own layer, from outside, encloses an area together
    with the stretch of outline between. Lines that divide an outline from within do not: an outline drawn
    as one closed line is one part.
    """
    result, left, shared = list(loops), [], []
    for layer in dict.fromkeys(piece.layer for piece in loose):
        group = [piece for piece in loose if piece.layer == layer]
        lenders = _near(group, [loop for loop in loops if loop.layer == layer])
        if lenders:
            found, group, stretches = _borrowed(group, lenders)
            result += found
            shared += stretches
        left += group
    return result, left, shared


def _near(pieces: list[Piece], loops: list[Loop]) -> list[Loop]:
    """Loops in whose extent at least two ends of pieces lie."""
    if not loops:
        return []
    ends = np.array([point for piece in pieces for point in (piece.path.start, piece.path.end)])
    boxes = extents(tabled([loop.path for loop in loops])) + CHAIN * np.array((-1, -1, 1, 1))
    tree = shapely.STRtree(shapely.points(ends))
    numbers, _ = tree.query(shapely.box(*boxes.T), predicate="intersects")
    counts = np.bincount(numbers, minlength=len(loops))
    return [loops[number] for number in np.flatnonzero(counts >= 2).tolist()]


def _borrowed(pieces: list[Piece], lenders: list[Loop]) -> tuple[list[Loop], list[Piece], list[Piece]]:
    paths = [piece.path for piece in pieces] + [oriented(loop.path) for loop in lenders]
    ends = [point for path in paths for point in (path.start, path.end)]
    nodes = same_points(ends)
    numbers = [nodes.of(i) for i in range(len(ends))]
    places = {number: ends[number] for number in numbers}
    net = Net(edges_between(paths, numbers, places), list(range(len(paths))), places)
    if not split_where_touched(net, ()):
        return [], pieces, []
    split_where_crossed(net)
    walks = closed_walks(net.edges)
    loops: list[Loop] = []
    used: set[int] = set()
    stretches: list[Piece] = []
    for steps in walks.loops:
        path = walked(net.edges, steps)
        if not _is_new(net, steps, path, len(pieces)):
            continue
        begin = pieces[min(net.sources[i] for i, _ in steps)]
        loops.append(Loop(path, begin.layer, begin.entity))
        for i, _ in steps:
            source = net.sources[i]
            if source < len(pieces):
                used.add(i)
            else:
                lender = lenders[source - len(pieces)]
                stretches.append(Piece(net.edge(i).path, lender.layer, lender.entity))
    closed = {net.sources[i] for i in used}
    left = [piece for source, piece in enumerate(pieces) if source not in closed]
    left += [
        replace(pieces[source], path=net.edge(i).path)
        for i, source in enumerate(net.sources)
        if source in closed and i not in used and net.edges[i] is not None
    ]
    return loops, left, stretches


def _is_new(net: Net, steps: tuple[Step, ...], path: Path, pieces: int) -> bool:
    """Whether a loop has loose pieces in it and lies outside the outlines that it borrows from."""
    x0, y0, x1, y1 = bounds(path)
    if max(x1 - x0, y1 - y0) < SMALLEST_AREA:
        return False
    borrowed = [forward for i, forward in steps if net.sources[i] >= pieces]
    if len(borrowed) == len(steps):
        return False
    # Outlines run counter-clockwise: walked the same way round, their own area lies inside.
    inward = signed_area(path) > 0
    return all(forward != inward for forward in borrowed)
