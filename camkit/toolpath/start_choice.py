"""Where the cuts of a sheet begin, chosen together with their order so that travel is short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from camkit.geometry.measure import bounds
from camkit.toolpath.free_starts import Stops
from camkit.toolpath.make import Setting, starts
from camkit.toolpath.order import Task, ordered

__all__ = ["begun"]


def begun(tasks: Sequence[Task], setting: Setting) -> list[Task]:
    """The tasks in the order in which they should be cut, each with the place where it begins.

    Outlines and openings with tabs may begin wherever `starts` allows; every other task is taken to be
    entered and left in its middle.
    """
    found = [starts(task, setting) for task in tasks]
    stops = [
        _middle(task) if one is None else Stops(one.enters, one.leaves)
        for task, one in zip(tasks, found, strict=True)
    ]
    way = ordered(tasks, stops)
    chosen: list[Task] = []
    for i in way.order:
        one = found[i]
        start = None if one is None else one.each[way.chosen[i]]
        chosen.append(replace(tasks[i], start=start))
    return chosen


def _middle(task: Task) -> Stops:
    x0, y0, x1, y1 = bounds(task.feature.outline)
    place = np.array([((x0 + x1) / 2, (y0 + y1) / 2)])
    return Stops(place, place)
