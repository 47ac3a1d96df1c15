"""Which closed loop lies inside which, which cross each other, and which cross themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.heal import fault_of
from camkit.drawing.rounds import two_halves
from camkit.drawing.sketch import Crowded
from camkit.geometry.many import polygons, tabled
from camkit.geometry.path import Path, Point
from camkit.geometry.tolerance import CHAIN

__all__ = ["Nest", "nest", "thick"]

# Chords this fine decide what lies inside what; shapes that come nearer than CHAIN count as touching.
_CHORDS = 0.005
# No drawing of parts comes near; comparing more takes longer than anybody waits.
_MOST_PAIRS = 250_000
_MOST_MEETINGS = 20_000
_MOST_OWN_MEETINGS = 5_000
_ROWS = 200


@dataclass(frozen=True, slots=True)
class Nest:
    """Loops by number: `parent` is the smallest loop around each, or around the larger share of it.

    `faults` says for each loop where it crosses or touches itself (None: it is sound). Crossings and copies
    are pairs (a, b): a crossing names the larger loop first, a copy says that b repeats a; `touches` are
    pairs as of crossings whose lines come within CHAIN of each other.
    """

    shapes: tuple[Any, ...]
    areas: NDArray[np.float64]
    parent: tuple[int | None, ...]
    crossings: tuple[tuple[int, int], ...]
    touches: tuple[tuple[int, int], ...]
    copies: tuple[tuple[int, int], ...]
    faults: tuple[Point | None, ...]

    def children(self) -> list[list[int]]:
        """The loops directly inside each loop."""
        inside: list[list[int]] = [[] for _ in self.parent]
        for number, parent in enumerate(self.parent):
            if parent is not None:
                inside[parent].append(number)
        return inside


def thick(shape: Any) -> bool:
    """Whether an area is wider anywhere than CHAIN: slivers of rounding are not."""
    return not shape.is_empty and not shape.buffer(-CHAIN / 2).is_empty


def nest(paths: Sequence[Path]) -> Nest:
    """Nest closed loops; loops that share an edge, or overlap by less than CHAIN, touch and do not cross."""
    shapes = polygons(tabled(paths), _CHORDS)
    faults: list[Point | None] = [None] * len(paths)
    doubtful = np.flatnonzero([two_halves(path) is None for path in paths])
    for number in doubtful[~shapely.is_valid(shapes[doubtful])].tolist():
        faults[number] = fault_of(shapes[number])
        # A loop that crosses itself still keeps what lies inside it together.
        shapes[number] = _areas_of(shapes[number])
    areas = np.asarray(shapely.area(shapes), dtype=np.float64)
    count = len(paths)
    if not count:
        return Nest((), areas, (), (), (), (), ())
    shapely.prepare(shapes)
    tree = shapely.STRtree(shapes)
    crossings, touches, copies = _meetings(tree, shapes, areas)
    # A point well inside decides, not the outline: parts may touch the border of the sheet.
    with np.errstate(over="ignore", invalid="ignore"):  # specks far out: their point is then a corner
        within = shapely.point_on_surface(shapes)
    inner, outer = tree.query(within, predicate="within")
    apart = set(crossings) | {(b, a) for a, b in copies}
    if apart:
        kept = [(j, i) not in apart for i, j in zip(inner.tolist(), outer.tolist(), strict=True)]
        inner, outer = inner[kept], outer[kept]
    share = [(i, j) for j, i in crossings if _mostly_inside(shapes[i], shapes[j])]
    inner = np.append(inner, [i for i, _ in share]).astype(np.int64)
    outer = np.append(outer, [j for _, j in share]).astype(np.int64)
    parent = _smallest_around(inner, outer, areas)
    return Nest(tuple(shapes), areas, parent, tuple(crossings), tuple(touches), tuple(copies), tuple(faults))


def _smallest_around(
    inner: NDArray[np.int64], outer: NDArray[np.int64], areas: NDArray[np.float64]
) -> tuple[int | None, ...]:
    """For each loop the smallest of the larger ones around it; of equal ones the earlier counts as larger."""
    larger = (areas[outer] > areas[inner]) | ((areas[outer] == areas[inner]) & (outer < inner))
    inner, outer = inner[larger], outer[larger]
    order = np.lexsort((-outer, areas[outer], inner))
    found, first = np.unique(inner[order], return_index=True)
    parent: list[int | None] = [None] * len(areas)
    for i, j in zip(found.tolist(), outer[order][first].tolist(), strict=True):
        parent[i] = j
    return tuple(parent)


def _mostly_inside(small: Any, large: Any) -> bool:
    return bool(small.intersection(large).area >= small.area / 2)


def _areas_of(polygon: Any) -> Any:
    _check_crossings(shapely.get_coordinates(polygon.exterior))
    # The other method takes seconds where a line crosses itself a thousand times.
    parts = shapely.get_parts(shapely.make_valid(polygon, method="structure", keep_collapsed=False))
    return shapely.union_all([part for part in parts if part.area > 0])


def _check_crossings(points: NDArray[np.float64]) -> None:
    """Raise Crowded when a closed line runs across itself so often that its areas cannot be told."""
    edges = shapely.linestrings(np.stack((points[:-1], points[1:]), axis=1))
    tree = shapely.STRtree(edges)
    count = 0
    for begin in range(0, len(edges), _ROWS):
        count += tree.query(edges[begin : begin + _ROWS]).shape[1]
        if count > _MOST_OWN_MEETINGS + 4 * len(edges):
            x, y = points[begin]
            raise Crowded(
                f"a closed line runs across itself in thousands of places, around ({x:.2f}, {y:.2f})"
            )


def _pairs(tree: Any, shapes: NDArray[Any]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of shapes whose boxes meet, the lower number first; raises Crowded beyond a number."""
    found = []
    count = 0
    for begin in range(0, len(shapes), _ROWS):
        a, b = tree.query(shapes[begin : begin + _ROWS])
        once = a + begin < b
        found.append(np.array((a[once] + begin, b[once])))
        count += len(found[-1][0])
        if count > _MOST_PAIRS:
            raise Crowded(f"more than {_MOST_PAIRS} pairs of closed lines lie over or inside each other")
    a, b = np.concatenate(found, axis=1)
    return a, b


def _meetings(
    tree: Any, shapes: NDArray[Any], areas: NDArray[np.float64]
) -> tuple[list[tuple[int, int]], list[tuple[int, int]], list[tuple[int, int]]]:
    """Crossings, touches and copies."""
    a, b = _pairs(tree, shapes)
    boxes = shapely.bounds(shapes)
    alike = (np.abs(boxes[a] - boxes[b]) <= 2 * CHAIN).all(axis=1)
    copies = [
        (i, j)
        for i, j in zip(a[alike].tolist(), b[alike].tolist(), strict=True)
        if not thick(shapes[i].symmetric_difference(shapes[j]))
    ]
    known = set(copies)
    edges = shapely.boundary(shapes)
    shapely.prepare(edges)
    swap = areas[a] < areas[b]
    large, small = np.where(swap, b, a), np.where(swap, a, b)
    near = shapely.dwithin(edges[large], edges[small], CHAIN)
    if np.count_nonzero(near) > _MOST_MEETINGS:
        raise Crowded(f"closed lines cross or touch each other in {np.count_nonzero(near)} pairs")
    crossings: list[tuple[int, int]] = []
    touches: list[tuple[int, int]] = []
    for i, j in zip(large[near].tolist(), small[near].tolist(), strict=True):
        if (min(i, j), max(i, j)) in known:
            continue
        crossed = thick(shapes[j].intersection(shapes[i])) and thick(shapes[j].difference(shapes[i]))
        (crossings if crossed else touches).append((i, j))
    return sorted(crossings), sorted(touches), sorted(copies)
