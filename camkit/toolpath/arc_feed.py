"""Feed along inside arcs, so that chips at the wall stay as thick as along a straight one."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from camkit.cut import Move, Turn
from camkit.job.model import Cutter, Machine

__all__ = ["eased", "share_of_feed"]

# A wall whose chips grow by less than this is not worth a word in the program.
_WORTH = 0.05
# On the smallest arcs the cutter would hardly move on, and burn: no slower than this share of its feed
# (common practice, no source). It holds where the wall's radius is below 4/3 of the cutter's.
_SLOWEST = 0.25


def share_of_feed(path_radius: float, cutter_radius: float) -> float:
    """What an inside arc of the cutter's centre leaves of its feed, from 0.25 to 1.

    The wall's radius is R = path_radius + r, and the edge passes it R / (R - r) times faster than the centre
    runs: the feed is (R - r) / R of the straight one. 1 where that is less than 5 % away.
    """
    share = path_radius / (path_radius + cutter_radius)
    return 1.0 if share > 1 - _WORTH else max(_SLOWEST, share)


def eased(moves: Iterable[Move], cutter: Cutter, machine: Machine) -> tuple[Move, ...]:
    """The moves of one cut with inside arcs fed more slowly, to whole tens of mm/min.

    Inside is where the wood that stays lies away from the arc's centre: a turn against the clock when
    climbing, with it when cutting conventionally. Outside arcs keep the feed: the chips at the part are
    thinner there, but those on the far side of the slot are thicker already. Where rough passes run one way
    and the finish pass the other, turns both ways are fed so.
    """
    ways = {machine.direction}
    if cutter.finish_pass > 0 and machine.rough_direction is not None:
        ways.add(machine.rough_direction)
    inside = {way == "conventional" for way in ways}
    found: list[Move] = []
    for move in moves:
        if isinstance(move, Turn) and move.clockwise in inside:
            radius = math.dist(move.centre, (move.x, move.y))
            share = share_of_feed(radius, cutter.diameter / 2)
            slower = max(1.0, round(cutter.feed * share, -1)) if share < 1 else move.feed_mm_min
            move = replace(move, feed_mm_min=min(move.feed_mm_min, slower))
        found.append(move)
    return tuple(found)
