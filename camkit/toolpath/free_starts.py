"""Where closed cuts begin, so that the travel between them is shortest: chosen in turn with their order."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from camkit.toolpath.tour import open_way

__all__ = ["Stops", "Way", "chosen_along", "free_way"]

Floats = NDArray[np.float64]

# Rounds in which starts and order are chosen in turn; most gains come in the first two.
_ROUNDS = 4
# With at most so many cuts, so many orders more are tried, found for stops taken at random.
_FEW, _OTHERS = 60, 1
# What counts as shorter, mm.
_GAIN = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Stops:
    """One cut's possible places: where the cutter comes down (k, 2), and where it then leaves (k, 2)."""

    enters: Floats
    leaves: Floats

    @property
    def middle(self) -> Floats:
        """The mean of all its places."""
        found: Floats = np.concatenate((self.enters, self.leaves)).mean(axis=0)
        return found


@dataclass(frozen=True, slots=True)
class Way:
    """Cuts in the order of the visit, the stop chosen for each cut (by its number), and the cost in mm."""

    order: tuple[int, ...]
    chosen: tuple[int, ...]
    length: float


def free_way(
    cuts: Sequence[Stops],
    begin: Floats,
    onwards: Sequence[Floats] | None = None,
    known: Sequence[int] | None = None,
) -> Way:
    """A short way from `begin` (2) through all cuts, each at one of its stops.

    `onwards` (k for each cut) is the cost in mm of ending with that stop. The order is found for the middles
    first; then stops are chosen along it by dynamic programming and the order shortened again for these, as
    long as that gains. Where there are few cuts other orders are tried too. An order `known` already is only
    shortened.
    """
    if not cuts:
        return Way((), (), 0.0)
    last = list(onwards) if onwards is not None else [np.zeros(len(cut.enters)) for cut in cuts]
    if all(len(cut.enters) == 1 for cut in cuts):
        order = open_way(*_ends(cuts, [0] * len(cuts)), begin, np.array([cost[0] for cost in last]), known)
        return chosen_along(cuts, order, begin, last)
    if known is not None:
        return _alternated(cuts, known, begin, last)
    middles = np.array([cut.middle for cut in cuts])
    order = open_way(middles, middles, begin, np.array([cost.min() for cost in last]))
    best = _alternated(cuts, order, begin, last)
    chance = random.Random(1)
    for _ in range(_OTHERS if len(cuts) <= _FEW else 0):
        picked = [int(chance.random() * len(cut.enters)) for cut in cuts]
        costs = np.array([cost[k] for cost, k in zip(last, picked, strict=True)])
        # Halfway between coming and leaving: a way between points costs the same both ways, which is much
        # sooner shortened.
        halfway = np.mean(_ends(cuts, picked), axis=0)
        order = open_way(halfway, halfway, begin, costs)
        best = min(best, _alternated(cuts, order, begin, last), key=lambda way: way.length)
    return best


def _alternated(cuts: Sequence[Stops], order: Sequence[int], begin: Floats, onwards: Sequence[Floats]) -> Way:
    """Stops chosen and the order shortened for them in turn, from one order on, as long as that gains."""
    best = chosen_along(cuts, order, begin, onwards)
    for _ in range(_ROUNDS):
        costs = np.array([cost[k] for cost, k in zip(onwards, best.chosen, strict=True)])
        order = open_way(*_ends(cuts, best.chosen), begin, costs, known=best.order)
        found = chosen_along(cuts, order, begin, onwards)
        if found.length > best.length - _GAIN:
            break
        best = found
    return best


def _ends(cuts: Sequence[Stops], chosen: Sequence[int]) -> tuple[Floats, Floats]:
    """Where the cutter comes down for each cut, and where it leaves, with the stops chosen."""
    picked = [(cut.enters[k], cut.leaves[k]) for cut, k in zip(cuts, chosen, strict=True)]
    enters, leaves = zip(*picked, strict=True)
    return np.array(enters), np.array(leaves)


def chosen_along(
    cuts: Sequence[Stops], order: Sequence[int], begin: Floats, onwards: Sequence[Floats]
) -> Way:
    """The best stop of each cut for one order, by dynamic programming from the first to the last."""
    if not order:
        return Way((), (), 0.0)
    first = cuts[order[0]]
    cost = _away(np.asarray(begin, dtype=float)[None, :], first.enters)[0]
    came: list[NDArray[np.int64]] = []
    for one, other in itertools.pairwise(order):
        table = cost[:, None] + _away(cuts[one].leaves, cuts[other].enters)
        came.append(np.argmin(table, axis=0))
        cost = table.min(axis=0)
    cost = cost + onwards[order[-1]]
    k = int(np.argmin(cost))
    chosen = [0] * len(cuts)
    chosen[order[-1]] = k
    for step in range(len(order) - 2, -1, -1):
        k = int(came[step][k])
        chosen[order[step]] = k
    return Way(tuple(order), tuple(chosen), float(cost.min()))


def _away(a: Floats, b: Floats) -> Floats:
    """Distances (n, m) between points; by square roots, which every machine rounds alike."""
    step = a[:, None, :] - b[None, :, :]
    away: Floats = np.sqrt(step[..., 0] ** 2 + step[..., 1] ** 2)
    return away
