"""Short ways through many places: nearest neighbour, 2-opt and Or-opt with neighbour lists, local kicks.

Every number of tries is fixed and nothing looks at a clock, so that the same places give the same way.
Methods: Johnson & McGeoch, "The travelling salesman problem: a case study in local optimization" (1997).
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["closed_tour", "open_way", "way_length"]

Floats = NDArray[np.float64]

# Neighbours looked at; longest piece that Or-opt moves; longest pieces that a kick exchanges.
_NEIGHBOURS = 8
_PIECE = 3
_KICKED = 50
# Kicks for each place, and where there are few places more, up to so many in all.
_KICKS, _KICKS_OF_FEW = 3, 5
_FEWEST_KICKS = 300
# What counts as shorter, mm.
_GAIN = 1e-7
# More places than this are parted into strips of so many: the table of distances grows with the square.
_MOST = 2000


def way_length(order: Sequence[int], enters: Floats, leaves: Floats, begin: Floats) -> float:
    """Length in mm of the travel from `begin` through the places in `order`, what is cut at them not counted.

    `enters` and `leaves` (n, 2) are where each place is reached and left.
    """
    if not len(order):
        return 0.0
    chosen = np.asarray(order)
    stops = np.vstack((begin, leaves[chosen[:-1]]))
    return float(_away(stops, enters[chosen]).sum())


def closed_tour(points: Floats) -> list[int]:
    """A short round tour through points (n, 2), as their numbers from point 0 on; not proved the shortest."""
    points = np.asarray(points, dtype=float)
    if len(points) < 2:
        return list(range(len(points)))
    rest = open_way(points[1:], points[1:], points[0], _away(points[1:], points[0]))
    return [0, *(i + 1 for i in rest)]


def open_way(
    enters: Floats,
    leaves: Floats,
    begin: Floats,
    onwards: Floats | None = None,
    known: Sequence[int] | None = None,
) -> list[int]:
    """A short way from `begin` (2) through all places, as their numbers in the order of the visit.

    `enters` and `leaves` (n, 2) are where each place is reached and left, the same for a point. `onwards` (n)
    is the cost in mm of having a place last, 0 for all when not given. A way that is `known` already is
    shortened without kicks.
    """
    enters, leaves, begin = (np.asarray(a, dtype=float) for a in (enters, leaves, begin))
    n = len(enters)
    last = np.zeros(n) if onwards is None else np.asarray(onwards, dtype=float)
    if n < 2:
        return list(range(n))
    if n > _MOST:
        return list(known) if known is not None else _in_strips(enters, leaves, begin, last)
    # Numbers 1 to n are the places; 0 is the beginning and n + 1 the end, which never move.
    table = np.zeros((n + 2, n + 2))
    for i in range(n):
        table[i + 1, 1 : n + 1] = _away(leaves[i], enters)
    table[0, 1 : n + 1] = _away(begin, enters)
    table[1 : n + 1, n + 1] = last
    way = _Way(table, known)
    way.improve(list(range(1, n + 1)))
    if n > 2 and known is None:
        way.kick(max(_KICKS * n, min(_FEWEST_KICKS, _KICKS_OF_FEW * n)))
    return [i - 1 for i in way.order[1:-1]]


def _away(a: Floats, b: Floats) -> Floats:
    """Distances between points; by square roots, which every machine rounds alike."""
    step = a - b
    away: Floats = np.sqrt(step[..., 0] ** 2 + step[..., 1] ** 2)
    return away


def _in_strips(enters: Floats, leaves: Floats, begin: Floats, last: Floats) -> list[int]:
    """The way strip by strip across the longer side, each begun where the one before was left."""
    across = int(np.argmax(np.ptp(enters, axis=0)))
    sorted_by = np.lexsort((enters[:, 1 - across], enters[:, across]))
    if abs(enters[sorted_by[-1], across] - begin[across]) < abs(enters[sorted_by[0], across] - begin[across]):
        sorted_by = sorted_by[::-1]
    strips = np.array_split(sorted_by, -(-len(enters) // _MOST))
    order: list[int] = []
    for k, strip in enumerate(strips):
        at = begin if not order else leaves[order[-1]]
        if k + 1 < len(strips):
            edge = enters[strips[k + 1][0], across]
            onwards = np.abs(enters[strip, across] - edge)
        else:
            onwards = last[strip]
        order += [int(strip[i]) for i in open_way(enters[strip], leaves[strip], at, onwards)]
    return order


class _Way:
    """A way that is being shortened: its order, where each place stands in it, and what it costs to go on.

    Every change is a sequence of reversals, so that a kick that did not help is taken back by repeating
    them backwards.
    """

    def __init__(self, table: Floats, known: Sequence[int] | None = None) -> None:
        """Begin with the known way (places from 0 on), else with the nearest next place."""
        self.n = len(table) - 2
        inner = table[1:-1, 1:-1]
        self.same_back = bool(np.array_equal(inner, inner.T))
        # Rows of plain floats are read several times as fast as cells of an array.
        self.cost: list[list[float]] = table.tolist()
        both = inner + inner.T
        np.fill_diagonal(both, np.inf)  # never oneself: two places at one spot would loop for ever
        count = min(_NEIGHBOURS, self.n - 1)
        near = np.argsort(both, axis=1, kind="stable")[:, :count] + 1
        self.near: list[list[int]] = [[], *near.tolist(), []]
        self.order = self._nearest_next(table) if known is None else [0, *(i + 1 for i in known), self.n + 1]
        self.place = [0] * (self.n + 2)
        for k, i in enumerate(self.order):
            self.place[i] = k
        self.done: list[tuple[int, int]] = []

    def _nearest_next(self, table: Floats) -> list[int]:
        free = table.copy()
        free[:, 0] = free[:, -1] = np.inf
        order = [0]
        for _ in range(self.n):
            following = int(np.argmin(free[order[-1]]))
            free[:, following] = np.inf
            order.append(following)
        return [*order, self.n + 1]

    def _reverse(self, i: int, j: int) -> None:
        """Walk the places from position i to j the other way round."""
        if i >= j:
            return
        order, place = self.order, self.place
        order[i : j + 1] = order[i : j + 1][::-1]
        for k in range(i, j + 1):
            place[order[k]] = k
        self.done.append((i, j))

    def _backwards(self, i: int, j: int) -> float:
        """What walking positions i to j the other way costs more."""
        if self.same_back:
            return 0.0
        cost, piece = self.cost, self.order[i : j + 1]
        return sum(cost[b][a] - cost[a][b] for a, b in itertools.pairwise(piece))

    def improve(self, waiting: list[int]) -> float:
        """Shorten the way about the places `waiting` until nothing helps; gives the change (<= 0)."""
        gained = 0.0
        queued = [False] * (self.n + 2)
        queued[0] = queued[-1] = True
        for i in waiting:
            queued[i] = True
        waiting = waiting[::-1]
        while waiting:
            c = waiting.pop()
            queued[c] = False
            while found := self._step(c):
                change, touched = found
                gained += change
                for i in touched:
                    if not queued[i]:
                        queued[i] = True
                        waiting.append(i)
        return gained

    def _step(self, c: int) -> tuple[float, tuple[int, ...]] | None:
        """Make the first change at place c that shortens the way: by how much, and where."""
        return self._two_opt(c) or self._or_opt(c)

    def _two_opt(self, c: int) -> tuple[float, tuple[int, ...]] | None:
        """Reverse a piece that begins or ends at place c."""
        order, place, cost, n = self.order, self.place, self.cost, self.n
        at = place[c]
        before, after = order[at - 1], order[at + 1]
        to_before, to_after = cost[before][c], cost[c][after]
        tries: list[tuple[int, int]] = []
        for e in self.near[c]:
            k = place[e]
            if (cost[c][e] if at < k else cost[e][c]) >= max(to_before, to_after):
                break
            # c becomes a neighbour of e: both begin, or both end, a piece between them.
            tries += [(at + 1, k), (at, k - 1)] if at < k else [(k + 1, at), (k, at - 1)]
        tries += [(1, at), (at, n)]
        for i, j in tries:
            if i >= j:
                continue
            a, b, e, f = order[i - 1], order[i], order[j], order[j + 1]
            change = cost[a][e] + cost[b][f] - cost[a][b] - cost[e][f]
            if change < -_GAIN:
                change += self._backwards(i, j)
                if change < -_GAIN:
                    self._reverse(i, j)
                    return change, (a, b, e, f)
        return None

    def _or_opt(self, c: int) -> tuple[float, tuple[int, ...]] | None:
        """Move a piece of up to three places that begins or ends at c to beside a neighbour of c."""
        order, place, cost, n = self.order, self.place, self.cost, self.n
        at = place[c]
        for size in range(_PIECE):
            for i, j in ((at, at + size), (at - size, at))[: 2 if size else 1]:
                if i < 1 or j > n:
                    continue
                a, b, e, f = order[i - 1], order[i], order[j], order[j + 1]
                taken = cost[a][b] + cost[e][f] - cost[a][f]
                if taken <= _GAIN:
                    continue
                turned = self._backwards(i, j)
                for g in self.near[c]:
                    k = place[g]
                    if min(cost[c][g], cost[g][c]) >= taken:
                        break
                    if i <= k <= j:
                        continue
                    for p in (k - 1, k):  # between positions p and p + 1
                        if i - 1 <= p <= j or p < 0 or p > n:
                            continue
                        u, v = order[p], order[p + 1]
                        open_up = cost[u][v] + taken
                        kept = cost[u][b] + cost[e][v] - open_up
                        back = cost[u][e] + cost[b][v] - open_up + turned
                        if min(kept, back) < -_GAIN:
                            self._move(i, j, p, back=back < kept)
                            return min(kept, back), (a, b, e, f, u, v)
        return None

    def _move(self, i: int, j: int, p: int, *, back: bool) -> None:
        """Take positions i to j to between p and p + 1, the other way round if `back`."""
        long = j - i + 1
        if p > j:
            self._reverse(i, p)
            self._reverse(i, p - long)
            if not back:
                self._reverse(p - long + 1, p)
        else:
            self._reverse(p + 1, j)
            self._reverse(p + 1 + long, j)
            if not back:
                self._reverse(p + 1, p + long)

    def kick(self, times: int) -> None:
        """Exchange two pieces that follow each other, shorten around them, keep what is no longer."""
        chance = random.Random(1)
        order, cost, n = self.order, self.cost, self.n
        longest = min(_KICKED, n // 2)
        for _ in range(times):
            first = 1 + int(chance.random() * longest)
            second = 1 + int(chance.random() * longest)
            i = 1 + int(chance.random() * (n - first - second + 1))
            m, j = i + first, i + first + second - 1  # pieces i to m - 1 and m to j
            if j > n:
                continue
            a, b, d, e, f, g = (order[k] for k in (i - 1, i, m - 1, m, j, j + 1))
            self.done.clear()
            worse = cost[a][e] + cost[f][b] + cost[d][g] - cost[a][b] - cost[d][e] - cost[f][g]
            self._reverse(i, j)
            self._reverse(i, i + second - 1)
            self._reverse(i + second, j)
            concerned = dict.fromkeys(k for k in (a, b, d, e, f, g) if 0 < k <= n)
            worse += self.improve(list(concerned))
            if worse > _GAIN / 10:
                for back in self.done[::-1]:
                    self._reverse(*back)
        self.done.clear()
