"""A lower bound for round tours that owes nothing to the planner."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["held_karp_bound", "round_length"]

Floats = NDArray[np.float64]

# Steps of the ascent; each of them gives a valid bound, more only make it tighter.
_STEPS = 250
_SHRINK = 0.982


def round_length(points: Floats, order: list[int]) -> float:
    """Length of the closed tour through points (n, 2) in this order."""
    walked = points[order]
    return float(np.hypot(*(walked - np.roll(walked, -1, axis=0)).T).sum())


def held_karp_bound(points: Floats) -> float:
    """No closed tour through points (n, 2), n at least 3, is shorter than this.

    Held & Karp, "The traveling-salesman problem and minimum spanning trees", Operations Research 18 (1970)
    and Math. Programming 1 (1971): a tour is a 1-tree in which every place has two ways; whatever each way at
    place i costs more by a price p_i, the tour costs more by 2 p_i, so the shortest 1-tree less 2 sum(p) is a
    bound. Prices rise where the tree has too many ways and fall where it has too few.
    """
    away = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
    prices = np.zeros(len(points))
    best, step = 0.0, 0.0
    before = np.zeros(len(points))
    for _ in range(_STEPS):
        cost = away + prices[:, None] + prices[None, :]
        np.fill_diagonal(cost, np.inf)
        total, ways = _one_tree(cost)
        best = max(best, total - 2 * float(prices.sum()))
        too_many = (ways - 2).astype(float)
        if not too_many.any():
            break
        step = step * _SHRINK if step else 0.1 * total / len(points)
        prices = prices + step * (0.7 * too_many + 0.3 * before)
        before = too_many
    return best


def _one_tree(cost: Floats) -> tuple[float, NDArray[np.int64]]:
    """The shortest tree without the first place, plus that one's two shortest ways; ways a place."""
    n = len(cost)
    ways = np.zeros(n, dtype=np.int64)
    nearest, joined_by = cost[1].copy(), np.ones(n, dtype=np.int64)
    nearest[:2] = np.inf
    waiting = np.ones(n, dtype=bool)
    waiting[:2] = False
    total = 0.0
    for _ in range(n - 2):
        k = int(np.argmin(nearest))
        total += float(nearest[k])
        ways[k] += 1
        ways[joined_by[k]] += 1
        nearest[k], waiting[k] = np.inf, False
        shorter = (cost[k] < nearest) & waiting
        nearest[shorter], joined_by[shorter] = cost[k][shorter], k
    two = np.argsort(cost[0], kind="stable")[:2]
    ways[two] += 1
    ways[0] = 2
    return total + float(cost[0][two].sum()), ways
