"""Countersinks: cones about the upper rims of holes, cut by a v-groove cutter of the same angle."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camkit.cut import Feed, Move, Turn
from camkit.job.model import Cutter, Machine
from camkit.part import Hole
from camkit.toolpath.loop import approach, withdraw

__all__ = ["cutter_of_sink", "sink_moves", "tip_depth"]

# Angles this near to each other are the same.
_SAME_DEG = 0.5


def tip_depth(hole: Hole, cutter: Cutter, deepest: float) -> float | None:
    """How deep (positive, mm) the cutter's tip goes for a hole's countersink, or None when it cannot make it.

    A cutter of the rim's diameter D or more plunges to D / 2 / tan(angle / 2). A narrower one goes round, as
    deep as its cone is long; it needs a diameter of D less the hole's, or wood stays beside the hole. The tip
    stays above `deepest`, and in a blind hole above its floor.
    """
    sink = hole.countersink
    if sink is None or cutter.kind != "v-groove" or abs(cutter.point_angle - sink.angle_deg) > _SAME_DEG:
        return None
    slope = math.tan(math.radians(cutter.point_angle / 2))
    needed = (sink.diameter - hole.diameter) / 2 / slope
    deepest = deepest if hole.depth is None else min(deepest, hole.depth)
    tip = min(sink.diameter / 2 / slope, cutter.point_length, deepest)
    if cutter.cutting_length is not None:
        tip = min(tip, cutter.cutting_length)
    return tip if tip >= needed - 1e-9 else None


def cutter_of_sink(hole: Hole, cutters: Sequence[Cutter], deepest: float) -> Cutter | None:
    """The smallest v-groove cutter that plunges to the countersink, else the largest that goes round."""
    able = [c for c in cutters if tip_depth(hole, c, deepest) is not None]
    if not able or hole.countersink is None:
        return None
    wide = [c for c in able if c.diameter >= hole.countersink.diameter]
    return min(wide, key=lambda c: c.diameter) if wide else max(able, key=lambda c: c.diameter)


def sink_moves(hole: Hole, cutter: Cutter, deepest: float, machine: Machine) -> tuple[Move, ...]:
    """Straight down at the plunge feed and out again, without a stay; a narrow cutter once round at depth.

    Raises ValueError for a cutter that cannot make it.
    """
    tip, sink = tip_depth(hole, cutter, deepest), hole.countersink
    if tip is None or sink is None:
        raise ValueError(f"cutter {cutter.number} makes no countersink there")
    (x, y) = hole.centre
    moves = [*approach(x, y, machine, cutter), Feed(x, y, -tip, cutter.plunge)]
    off = sink.diameter / 2 - tip * math.tan(math.radians(cutter.point_angle / 2))
    if off > 1e-6:
        clockwise = machine.direction == "conventional"
        moves += [
            Feed(x + off, y, -tip, cutter.feed),
            Turn(x - off, y, -tip, hole.centre, clockwise, cutter.feed),
            Turn(x + off, y, -tip, hole.centre, clockwise, cutter.feed),
            Feed(x, y, -tip, cutter.feed),
        ]
    return (*moves, withdraw(x, y, machine))
