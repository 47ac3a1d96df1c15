"""The height of the wood at chosen points while a program runs: what each step takes, and what is left.

A flat cutter's disc lowers every point that it passes over, exactly; a pointed one is a cone. Points are a
sample: nothing is said to be taken that was not, and what is smaller than their spacing may be missed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from support.steps import Step

__all__ = ["Bite", "Board", "Tool"]


@dataclass(frozen=True, slots=True)
class Tool:
    """A cutter of `diameter`; `cone_deg` is the angle that its point encloses, 180 for a flat one."""

    diameter: float
    cone_deg: float = 180.0


@dataclass(frozen=True, slots=True)
class Bite:
    """What one step took: `depths` mm at `points` (indices) of the board, and the deepest of them."""

    step: Step
    points: np.ndarray
    depths: np.ndarray
    wide: float = 0.0  # how far the part of it that is deeper than asked reaches from what was free before

    @property
    def deepest(self) -> float:
        """The most that it took at once."""
        return float(self.depths.max())


class Board:
    """Wood of height 0 at each of `points` (n, 2)."""

    def __init__(self, points: np.ndarray) -> None:
        """All wood is there."""
        self.points = points
        self.height = np.zeros(len(points))
        order = np.argsort(points[:, 0], kind="stable")
        self._order, self._sorted = order, points[order, 0]

    @classmethod
    def grid(cls, box: tuple[float, float, float, float], pitch: float) -> Board:
        """Points `pitch` apart over a box (x0, y0, x1, y1), half a pitch off its rim."""
        x0, y0, x1, y1 = box
        xs, ys = np.arange(x0 + pitch / 2, x1, pitch), np.arange(y0 + pitch / 2, y1, pitch)
        return cls(np.stack(np.meshgrid(xs, ys, indexing="ij"), -1).reshape(-1, 2))

    def _near(self, step: Step, radius: float) -> np.ndarray:
        """Indices of points that the step may touch."""
        low, high = step.points[:, :2].min(0) - radius, step.points[:, :2].max(0) + radius
        first, last = np.searchsorted(self._sorted, (low[0], high[0]))
        near = self._order[first:last]
        y = self.points[near, 1]
        near = near[(y >= low[1]) & (y <= high[1])]
        return near[self.height[near] > step.points[:, 2].min() + 1e-6]

    def take(self, step: Step, tool: Tool, most: float = math.inf) -> Bite | None:
        """Lower the wood by one step; what it took, or nothing. `most` is how deep it should take at once."""
        if step.points[:, 2].min() >= 0:
            return None
        radius = tool.diameter / 2
        near = self._near(step, radius)
        if not len(near):
            return None
        lowest = np.full(len(near), np.inf)
        at = self.points[near]
        # Every third chord of an arc lies within 4.5 um of it: fine enough for heights.
        way = step.points if len(step.points) < 8 else np.vstack((step.points[:-1:3], step.points[-1:]))
        for a, b in pairwise(way):
            lowest = np.minimum(lowest, _lowest(at, a, b, radius, tool.cone_deg))
        taken = self.height[near] - lowest
        hit = taken > 1e-6
        if not hit.any():
            return None
        which = near[hit]
        deep = which[taken[hit] > most]
        wide = self._reach(deep, step, radius, most) if len(deep) > 1 else 0.0  # one lies on the rim
        self.height[which] = lowest[hit]
        return Bite(step, which, taken[hit], wide)

    def _reach(self, deep: np.ndarray, step: Step, radius: float, most: float) -> float:
        """How far the points `deep` lie from those that stood no higher than the step may take."""
        at = self.points[deep]
        low, high = at.min(0) - 2 * radius, at.max(0) + 2 * radius
        first, last = np.searchsorted(self._sorted, (low[0], high[0]))
        near = self._order[first:last]
        y = self.points[near, 1]
        near = near[(y >= low[1]) & (y <= high[1])]
        free = self.points[near[self.height[near] <= step.points[:, 2].min() + most]]
        if not len(free):
            return 2 * radius
        return max(float(np.hypot(*(free - one).T).min()) for one in at)

    def carve(
        self, run: Iterable[Step], tools: dict[int, Tool], most: Callable[[Step], float] | None = None
    ) -> list[Bite]:
        """Every bite of a run of steps, in order; `most` is how deep a step should take at once."""
        asked = most or (lambda step: math.inf)
        bites = (self.take(step, tools[step.tool], asked(step)) for step in run)
        return [bite for bite in bites if bite is not None]


def _lowest(at: np.ndarray, a: np.ndarray, b: np.ndarray, radius: float, cone_deg: float) -> np.ndarray:
    """The lowest that a cutter running straight from a to b comes over each point; inf where never."""
    way = b[:2] - a[:2]
    length = math.hypot(*way)
    if cone_deg < 180:
        return _cone(at, a, b, radius, cone_deg)
    if length < 1e-9:
        over = np.hypot(*(at - a[:2]).T) <= radius
        return np.where(over, min(a[2], b[2]), np.inf)
    along = (at - a[:2]) @ (way / length)
    across = np.abs((at - a[:2]) @ np.array([-way[1], way[0]]) / length)
    half = np.sqrt(np.maximum(radius**2 - across**2, 0))
    first, last = np.maximum(along - half, 0), np.minimum(along + half, length)
    over = (across <= radius) & (first <= last)
    lean = (b[2] - a[2]) / length
    z = a[2] + lean * (last if lean < 0 else first)
    return np.where(over, z, np.inf)


def _cone(at: np.ndarray, a: np.ndarray, b: np.ndarray, radius: float, cone_deg: float) -> np.ndarray:
    """As _lowest for a pointed cutter, which runs level or straight down."""
    way, slope = b[:2] - a[:2], 1 / math.tan(math.radians(cone_deg / 2))
    length = math.hypot(*way)
    if length > 1e-6 and abs(b[2] - a[2]) > 1e-6:
        raise ValueError("a pointed cutter is only followed level or straight down")
    share = np.clip((at - a[:2]) @ way / max(length, 1e-12) ** 2, 0, 1) if length else np.zeros(len(at))
    away = np.hypot(*(at - (a[:2] + share[:, None] * way)).T)
    return np.where(away <= radius, min(a[2], b[2]) + away * slope, np.inf)
