"""Whether a feature is made sooner by two cutters: a larger one, and a smaller one for what that leaves."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camkit.cut import Move, Rapid, Turn
from camkit.errors import CannotBeMadeError
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc
from camkit.toolpath.make import Setting, make
from camkit.toolpath.order import Task
from camkit.toolpath.reach import Choice, reaches, serves

__all__ = ["shared"]

# A cut by a second cutter must save this much of the feeding, in seconds (common practice, no source: what
# coming back to a feature, and its part of a change of cutters, takes).
_WORTH_S = 10.0


def shared(task: Task, setting: Setting) -> tuple[Task, ...]:
    """The task alone, or one for a larger cutter and one for the rest where that is sooner done.

    What the task's own cutter would reach is reached by both together.
    """
    feature, small = task.feature, task.choice.cutter
    if feature.kind not in ("pocket", "opening"):
        return (task,)
    depth = setting.depth(feature)
    larger = [
        cutter
        for cutter in setting.job.cutter
        if cutter.mills
        and cutter.diameter > small.diameter
        and reaches(cutter, depth)
        and depth >= min(cutter.first_pass, small.first_pass)
    ]
    if not larger:
        return (task,)
    best: tuple[Task, ...] = (task,)
    least = _seconds(make(task, setting).moves) - _WORTH_S
    for cutter in larger:
        if feature.kind == "opening" and not serves(feature, cutter):
            continue
        pair = (Task(feature, Choice(cutter, 0.0)), Task(feature, task.choice, cutter))
        try:
            first, rest = (make(one, setting).moves for one in pair)
        except CannotBeMadeError:
            continue
        if first and rest and _seconds(first) + _seconds(rest) < least:
            best, least = pair, _seconds(first) + _seconds(rest)
    return best


def _seconds(moves: Sequence[Move]) -> float:
    """How long the feeds take, without speeding up and slowing down."""
    total = 0.0
    at = moves[0] if moves else None
    for move in moves:
        if at is not None and not isinstance(move, Rapid):
            begin, end = (at.x, at.y), (move.x, move.y)
            level = math.dist(begin, end)
            if isinstance(move, Turn) and level > 0:
                level = segment_length(Arc(begin, end, move.centre, move.clockwise))
            total += math.hypot(level, move.z - at.z) / move.feed_mm_min * 60
        at = move
    return total
