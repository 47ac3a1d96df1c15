"""Arcs as short straight moves, for controls without arcs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camkit.cut import Cut, Drill, Feed, Move, Turn
from camkit.geometry.path import Point

__all__ = ["chords", "straightened"]

# Between its ends a chain of chords winds about the arc this far, in mm: half a path's allowance, so that
# neither side of it comes upon the part.
_WITHIN = 0.0025


def straightened(cuts: Sequence[Cut]) -> tuple[tuple[Cut, ...], int, int]:
    """The cuts with their arcs as straight feeds; the number of arcs, and of the feeds they became."""
    done, arcs, feeds = [], 0, 0
    for cut in cuts:
        moves: list[Move] = []
        for move in cut.moves:
            if isinstance(move, Turn):
                begun = moves[-1]
                z = begun.retract if isinstance(begun, Drill) else begun.z
                lines = chords((begun.x, begun.y, z), move)
                arcs, feeds = arcs + 1, feeds + len(lines)
                moves += lines
            else:
                moves.append(move)
        done.append(
            Cut(cut.number, cut.kind, cut.part, cut.copy, cut.sheet, cut.cutter, tuple(moves), cut.tabs)
        )
    return tuple(done), arcs, feeds


def chords(start: tuple[float, float, float], turn: Turn) -> list[Feed]:
    """Straight feeds from `start` along the turn to its end, Z in even proportion; one for a hair's breadth.

    Corners lie 0.0025 mm outside the arc and middles as far inside it, the first and the last chord 0.004 at
    most, as they begin and end upon it.
    """
    (cx, cy), end = turn.centre, (turn.x, turn.y)
    radius = math.dist(start[:2], turn.centre)
    first, sweep = _angles(start[:2], end, turn.centre, turn.clockwise)
    if abs(sweep) > math.pi + 0.1:  # cuts have no longer arcs: rounding made the ends of a short one meet
        return [Feed(*end, turn.z, turn.feed_mm_min)]
    wide = radius + _WITHIN
    step = 2 * math.acos(max(-1.0, (radius - _WITHIN) / wide))
    count = max(1, math.ceil(abs(sweep) / step))
    last = math.dist(end, turn.centre)
    moves = []
    for k in range(1, count):
        share = k / count
        angle = first + sweep * share
        away = radius + (last - radius) * share + _WITHIN
        z = start[2] + (turn.z - start[2]) * share
        moves.append(Feed(cx + away * math.cos(angle), cy + away * math.sin(angle), z, turn.feed_mm_min))
    return [*moves, Feed(*end, turn.z, turn.feed_mm_min)]


def _angles(start: Point, end: Point, centre: Point, clockwise: bool) -> tuple[float, float]:
    """The angle at the start, and the angle turned through, counter-clockwise positive."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    turned = (first - last if clockwise else last - first) % (2 * math.pi)
    return first, -turned if clockwise else turned
