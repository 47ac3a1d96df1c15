"""Where a closed line comes so near to itself that it touches: necks and slits narrower than CHAIN."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.geometry.flatten import flattened
from camkit.geometry.many import SegmentTable, extents, lengths, tabled
from camkit.geometry.path import Path, Point, Segment
from camkit.geometry.tolerance import CHAIN

__all__ = ["pinched"]

# Nearer than this along the line, two places are one corner or one small step, and no neck.
_SAME_CORNER = 10 * CHAIN


def pinched(paths: Sequence[Path]) -> list[tuple[int, float, Point]]:
    """For each closed path that comes within CHAIN of itself: its number, how near, and where.

    Segments that follow each other are not compared.
    """
    if not paths:
        return []
    table = tabled(paths)
    count = len(table.bent)
    single = SegmentTable(
        table.start, table.end, table.centre, table.bent, table.radius, table.turned, np.arange(count + 1)
    )
    boxes = extents(single) + CHAIN / 2 * np.array((-1, -1, 1, 1))
    shapes = shapely.box(*boxes.T)
    a, b = shapely.STRtree(shapes).query(shapes)
    owner = np.repeat(np.arange(len(paths)), np.diff(table.first))
    last = np.diff(table.first)[owner] - 1
    apart = b - a
    keep = (owner[a] == owner[b]) & (apart > 1) & (apart != last[a])
    a, b = a[keep], b[keep]
    if not len(a):
        return []
    lines = _lines(single, np.unique(np.concatenate((a, b))), [s for path in paths for s in path.segments])
    distances = shapely.distance(lines[a], lines[b])
    near = distances <= CHAIN
    sizes = lengths(single)
    ends = np.cumsum(sizes)
    found: dict[int, tuple[float, Point]] = {}
    for distance, one, other in sorted(
        zip(distances[near].tolist(), a[near].tolist(), b[near].tolist(), strict=True)
    ):
        number = int(owner[one])
        if number in found:
            continue
        p, q = (shapely.Point(at) for at in shapely.shortest_line(lines[one], lines[other]).coords)
        begin, end = table.first[number], table.first[number + 1]
        around = float(ends[end - 1] - ends[begin] + sizes[begin])
        between = float(
            ends[other]
            - sizes[other]
            + lines[other].project(q)
            - (ends[one] - sizes[one] + lines[one].project(p))
        )
        if min(between, around - between) > _SAME_CORNER:
            found[number] = (distance, (float(p.x), float(p.y)))
    return [(number, distance, at) for number, (distance, at) in sorted(found.items())]


def _lines(table: SegmentTable, rows: NDArray[np.int64], segments: Sequence[Segment]) -> NDArray[Any]:
    """The segments of these rows as shapely lines, chords for arcs; None for all others."""
    lines = np.full(len(segments), None, dtype=object)
    straight = rows[~table.bent[rows]]
    lines[straight] = shapely.linestrings(np.stack((table.start[straight], table.end[straight]), axis=1))
    for row in rows[table.bent[rows]].tolist():
        lines[row] = shapely.LineString(flattened(Path((segments[row],))))
    return lines
