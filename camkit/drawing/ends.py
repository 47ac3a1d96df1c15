"""Which ends of loose pieces are one point: a grid of cells finds neighbours without comparing all."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from camkit.drawing.sketch import Crowded
from camkit.geometry.path import Point

__all__ = ["ROUNDING", "Grid", "Groups", "close_pairs", "crowded", "same_points"]

# Ends closer than this are the same point written with rounding; far below any gap that was drawn.
ROUNDING = 1e-4
# An odd number that spreads columns over 64 bits (2^64 over the golden ratio): equal cells stay equal.
# More ends than this near each other are a hatch or a filled area, not outlines to be joined.
_MOST_PAIRS = 300_000
_SPREAD = np.uint64(0x9E3779B97F4A7C15)


class Groups:
    """Disjoint sets of numbers 0 to n - 1; the smallest member stands for its set."""

    def __init__(self, count: int) -> None:
        """Every number in a set of its own."""
        self._parent = list(range(count))

    def of(self, member: int) -> int:
        """The member that stands for its set."""
        root = member
        while self._parent[root] != root:
            root = self._parent[root]
        while self._parent[member] != root:
            self._parent[member], member = root, self._parent[member]
        return root

    def join(self, a: int, b: int) -> None:
        """Make one set of two."""
        a, b = self.of(a), self.of(b)
        self._parent[max(a, b)] = min(a, b)


class Grid:
    """Numbered points in square cells of side `reach`, so that neighbours lie in the cells around."""

    def __init__(self, points: Iterable[tuple[int, Point]], reach: float) -> None:
        """Put in some points to begin with."""
        self.reach = reach
        self._cells: dict[tuple[int, int], list[tuple[int, Point]]] = {}
        for number, point in points:
            self.add(number, point)

    def _cell(self, point: Point) -> tuple[int, int]:
        return (math.floor(point[0] / self.reach), math.floor(point[1] / self.reach))

    def add(self, number: int, point: Point) -> None:
        """Put one more point in."""
        self._cells.setdefault(self._cell(point), []).append((number, point))

    def near(self, point: Point) -> Iterator[tuple[int, float]]:
        """Number and distance of every point within `reach`."""
        column, row = self._cell(point)
        for x in (column - 1, column, column + 1):
            for y in (row - 1, row, row + 1):
                for number, other in self._cells.get((x, y), ()):
                    distance = math.dist(point, other)
                    if distance <= self.reach:
                        yield number, distance


def crowded(points: NDArray[np.float64], reach: float) -> NDArray[np.bool_]:
    """Which of the points, shape (n, 2), may have another within `reach`; those left out surely have none.

    Two points that near share a cell in one of four grids of twice that width, moved by half a cell.
    """
    marked = np.zeros(len(points), dtype=np.bool_)
    for shift in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        cells = np.floor(points / (2 * reach) + shift).astype(np.int64).view(np.uint64)
        keys = cells[:, 0] * _SPREAD + cells[:, 1]
        _, where, counts = np.unique(keys, return_inverse=True, return_counts=True)
        marked |= (counts > 1)[where]
    return marked


def same_points(points: Sequence[Point]) -> Groups:
    """Sets of points that are equal to within ROUNDING."""
    groups = Groups(len(points))
    if not points:
        return groups
    seen: dict[Point, int] = {}
    apart: list[int] = []
    for number, point in enumerate(points):
        first = seen.setdefault(point, number)
        if first == number:
            apart.append(number)
        else:
            groups.join(first, number)
    close = crowded(np.array([points[number] for number in apart]), ROUNDING).tolist()
    pairs = close_pairs(
        [(number, points[number]) for number, is_close in zip(apart, close, strict=True) if is_close],
        ROUNDING,
    )
    for _, a, b in pairs:
        groups.join(a, b)
    return groups


def close_pairs(points: Sequence[tuple[int, Point]], reach: float) -> list[tuple[float, int, int]]:
    """All pairs of numbered points within `reach`: distance and both numbers, nearest first.

    Pairs equally near (to a nanometre) come in the order of their places, not of their numbers. Raises
    Crowded when they are more than 300 000.
    """
    grid = Grid((), reach)
    place = dict(points)
    pairs: list[tuple[float, int, int]] = []
    for number, point in points:
        pairs.extend((distance, other, number) for other, distance in grid.near(point))
        grid.add(number, point)
        if len(pairs) > _MOST_PAIRS:
            raise Crowded(
                f"more than {_MOST_PAIRS} pairs of loose ends lie within {reach:g} mm of each other, around"
                f" ({point[0]:.2f}, {point[1]:.2f})"
            )
    return sorted(
        pairs, key=lambda p: (round(p[0], 6), *sorted((place[p[1]], place[p[2]])), min(p[1:]), max(p[1:]))
    )
