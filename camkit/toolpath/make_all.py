"""The moves of all tasks of a sheet, so that cuts that meet leave each other's tabs standing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from camkit.cut import Tab
from camkit.errors import CannotBeMadeError
from camkit.geometry.measure import bounds
from camkit.toolpath.make import Made, Setting, make
from camkit.toolpath.order import Task
from camkit.toolpath.shared_tabs import Others, Standing, standing
from camkit.toolpath.tab_ground import WOOD

__all__ = ["make_all"]


def make_all(tasks: Sequence[Task], setting: Setting) -> list[Made | CannotBeMadeError]:
    """The moves of each task, or why it cannot be made, in the order of the tasks.

    A tab of one piece may stand in the cut round another one beside it: both cuts rise over it then.
    """
    near = _neighbours(tasks)
    made: list[Made | CannotBeMadeError] = []
    stand: list[tuple[Standing, ...]] = []
    for k, task in enumerate(tasks):
        beside = tuple(one for j in near[k] if j < k for one in stand[j])
        one = _made(task, setting, Others(beside))
        made.append(one)
        stand.append(_standing(task, one, beside))
    for k, task in enumerate(tasks):
        later = tuple(one for j in near[k] if j > k for one in stand[j])
        first = made[k]
        if later and isinstance(first, Made):
            beside = tuple(one for j in near[k] if j < k for one in stand[j])
            made[k] = _made(task, setting, Others(beside, later, _own(first, beside)))
    return made


def _made(task: Task, setting: Setting, others: Others) -> Made | CannotBeMadeError:
    try:
        return make(task, setting, others)
    except CannotBeMadeError as error:
        return error


def _own(made: Made, beside: Sequence[Standing]) -> tuple[Tab, ...]:
    """The tabs that a task leaves for its own piece."""
    others = {(one.tab.x, one.tab.y) for one in beside}
    return tuple(tab for tab in made.tabs if (tab.x, tab.y) not in others)


def _standing(task: Task, made: Made | CannotBeMadeError, beside: Sequence[Standing]) -> tuple[Standing, ...]:
    if not isinstance(made, Made):
        return ()
    return standing(_own(made, beside), task.feature.outline, task.choice.cutter.diameter / 2)


def _neighbours(tasks: Sequence[Task]) -> list[list[int]]:
    """For each outline or opening those of other pieces whose cut may meet its own, or nearly so."""
    found: list[list[int]] = [[] for _ in tasks]
    through = [k for k, task in enumerate(tasks) if task.feature.kind in ("opening", "profile")]
    if not through:
        return found
    room = [tasks[k].choice.cutter.diameter + WOOD for k in through]
    boxes = shapely.box(
        *np.array([_grown(bounds(tasks[k].feature.outline), r) for k, r in zip(through, room, strict=True)]).T
    )
    for one, other in shapely.STRtree(boxes).query(boxes, "intersects").T.tolist():
        a, b = tasks[through[one]].feature, tasks[through[other]].feature
        if (a.part, a.copy) != (b.part, b.copy):
            found[through[one]].append(through[other])
    return [sorted(those) for those in found]


def _grown(box: tuple[float, float, float, float], room: float) -> tuple[float, float, float, float]:
    return (box[0] - room, box[1] - room, box[2] + room, box[3] + room)
