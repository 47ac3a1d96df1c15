"""In which order features are cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.geometry.measure import bounds
from camkit.geometry.path import Point
from camkit.toolpath.feature import Feature
from camkit.toolpath.reach import Choice

__all__ = ["Task", "in_order"]


@dataclass(frozen=True, slots=True)
class Task:
    """A feature with the cutter that makes it."""

    feature: Feature
    choice: Choice

    @property
    def middle(self) -> Point:
        """Middle of the feature's extent: where it is, for choosing the next one."""
        x0, y0, x1, y1 = bounds(self.feature.outline)
        return ((x0 + x1) / 2, (y0 + y1) / 2)


def _tier(feature: Feature) -> tuple[int, int, int]:
    """Pockets, holes, then openings and profiles; what lies inside an opening before the opening is freed."""
    if feature.kind in ("pocket", "hole"):
        return (0, 0, ("pocket", "hole").index(feature.kind))
    return (1, -feature.nested, ("opening", "profile").index(feature.kind))


def in_order(tasks: Sequence[Task]) -> tuple[Task, ...]:
    """The tasks by tier, in a tier by cutter (the one in the spindle first), then always the nearest next."""
    waiting = list(tasks)
    ordered: list[Task] = []
    at: Point = (0.0, 0.0)
    cutter = 0
    while waiting:
        tier = min(_tier(task.feature) for task in waiting)
        here = [task for task in waiting if _tier(task.feature) == tier]
        numbers = sorted({task.choice.cutter.number for task in here})
        # The cutter for the next tier comes last, so that it can stay in the spindle.
        later = {task.choice.cutter.number for task in waiting if _tier(task.feature) != tier}
        if cutter not in numbers:
            cutter = min(numbers, key=lambda n: (n in later, n))
        same = [task for task in here if task.choice.cutter.number == cutter]
        following = min(same, key=lambda task: (math.dist(task.middle, at), task.middle))
        waiting.remove(following)
        ordered.append(following)
        at = following.middle
    return tuple(ordered)
