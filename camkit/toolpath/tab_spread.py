"""Which of the possible places for tabs are taken: evenly round a path, at good ones, about the centre."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.path import Point
from camkit.toolpath.along import Along, gaps
from camkit.toolpath.tab_ground import Weighed

__all__ = ["Spread", "spread", "surrounds"]

Floats = NDArray[np.float64]

# Patterns that are tried, each shifted by a share of the spacing, and rounds in which each is bettered.
_PHASES, _ROUNDS = 8, 5
# What a missing tab costs, and a piece that could tip because its tabs stand at one side, in mm of shift.
_MISSING, _TIPS = 4000.0, 3000.0


@dataclass(frozen=True, slots=True)
class Spread:
    """Places taken, in order along the path, and the cost of the whole pattern."""

    places: tuple[float, ...]
    cost: float


def spread(path: Along, ground: Weighed, count: int, apart: float, fixed: Floats, centre: Point) -> Spread:
    """Up to `count` of the weighed places, none nearer than `apart` to another one.

    Those at `fixed` places are there already and count in the pattern. The pattern is the cheapest found:
    unevenness counts by the square, as half the shift from the middle between neighbours.
    """
    if count < 1 or not len(ground.places):
        return Spread((), _MISSING * max(count, 0))
    best = Spread((), math.inf)
    for phase in range(_PHASES):
        chosen = _first(path, ground, count, apart, fixed, phase / _PHASES)
        for _ in range(_ROUNDS):
            if not _bettered(path, ground, chosen, apart, fixed, count):
                break
        for pattern in (chosen, _steadied(path, ground, chosen, apart, fixed, centre)):
            cost = _cost(path, ground, pattern, count, fixed, centre)
            if cost < best.cost - 1e-6:
                best = Spread(tuple(sorted(float(ground.places[k]) for k in pattern)), cost)
    return best


def _first(path: Along, ground: Weighed, count: int, apart: float, fixed: Floats, shift: float) -> list[int]:
    """For each place of an even pattern the best still free."""
    free = np.ones(len(ground.places), dtype=bool)
    even = path.around / (count + len(fixed))
    wanted = [(k + shift) * even for k in range(count + len(fixed))]
    for place in fixed:  # each of them stands for the nearest place of the pattern
        wanted.pop(int(np.argmin([gaps(np.array([w]), place, path.around)[0] for w in wanted])))
    chosen: list[int] = []
    for place in wanted:
        if not free.any():
            break
        worth = gaps(ground.places, place, path.around) + ground.cost
        chosen.append(int(np.argmin(np.where(free, worth, np.inf))))
        free &= gaps(ground.places, ground.places[chosen[-1]], path.around) >= apart
    return chosen


def _bettered(
    path: Along, ground: Weighed, chosen: list[int], apart: float, fixed: Floats, count: int
) -> bool:
    """Move each tab to where it is worth most between the others; whether any moved."""
    moved = False
    even = path.around / (count + len(fixed))
    for k, old in enumerate(chosen):
        others = np.sort(np.concatenate((ground.places[[*chosen[:k], *chosen[k + 1 :]]], fixed)))
        if not len(others):
            new = int(np.argmin(ground.cost))
        else:
            after = np.searchsorted(others, ground.places) % len(others)
            ahead = np.mod(others[after] - ground.places, path.around)
            behind = np.mod(ground.places - others[after - 1], path.around)
            if len(others) == 1:
                behind = path.around - ahead
            worth = ground.cost - 2 * ahead * behind / even
            near = np.minimum(ahead, behind) < apart
            own = len(chosen) + len(fixed) > 1
            worth = np.where(near & own, np.inf, worth)
            new = int(np.argmin(worth))
            if worth[new] >= worth[old] - 1e-6:
                continue
        moved |= new != old
        chosen[k] = new
    return moved


def _steadied(
    path: Along, ground: Weighed, chosen: list[int], apart: float, fixed: Floats, centre: Point
) -> list[int]:
    """The pattern with one tab moved to where the piece no longer tips, at the least cost, if that can be."""
    stand = path.at(np.concatenate((ground.places[chosen], fixed)))
    if len(stand) < 3 or surrounds(stand, centre):
        return chosen
    there = _angles(path.at(ground.places), centre)
    best: tuple[float, list[int]] = (math.inf, chosen)
    for k, old in enumerate(chosen):
        others = np.sort(np.concatenate((ground.places[[*chosen[:k], *chosen[k + 1 :]]], fixed)))
        angles = np.sort(_angles(path.at(others), centre))
        free = np.diff(np.append(angles, angles[0] + 2 * math.pi))
        wide = int(np.argmax(free))
        into = np.mod(there - angles[wide], 2 * math.pi)
        steady = (into <= math.pi) & (free[wide] - into <= math.pi) & (into <= free[wide])
        for other in others:
            steady &= gaps(ground.places, float(other), path.around) >= apart
        if not steady.any() or np.partition(free, -2)[-2] > math.pi:
            continue
        new = int(np.argmin(np.where(steady, ground.cost, np.inf)))
        cost = float(ground.cost[new] - ground.cost[old])
        if cost < best[0]:
            best = (cost, [*chosen[:k], new, *chosen[k + 1 :]])
    return best[1]


def _cost(path: Along, ground: Weighed, chosen: list[int], count: int, fixed: Floats, centre: Point) -> float:
    stand = np.sort(np.concatenate((ground.places[chosen], fixed)))
    even = path.around / (count + len(fixed))
    spans = np.diff(np.append(stand, stand[0] + path.around))
    cost = float(ground.cost[chosen].sum()) + even * float(((spans / even - 1) ** 2).sum())
    cost += _MISSING * (count - len(chosen))
    tips = count + len(fixed) > 2 and not surrounds(path.at(stand), centre)
    return cost + (_TIPS if tips else 0.0)


def surrounds(points: Floats, centre: Point) -> bool:
    """Whether points lie at every side of a centre: no half turn about it is free of them."""
    angles = np.sort(_angles(points, centre))
    free = np.diff(np.append(angles, angles[0] + 2 * math.pi))
    return bool(len(points) > 2 and free.max() <= math.pi + 1e-9)


def _angles(points: Floats, centre: Point) -> Floats:
    found: Floats = np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0])
    return found
