"""Clearing an area to a depth: one way over all of it, walked from the inside out and sunk by ramps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from camkit.cut import Move, Turn
from camkit.geometry.measure import length, segment_length
from camkit.geometry.offset import offset
from camkit.geometry.path import Arc, Path, Point, Region, Segment, reversed_path
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Machine
from camkit.toolpath.circuit import Clearing, clearing, in_the_round, in_turn, joined, way
from camkit.toolpath.heights import ramped
from camkit.toolpath.loop import ENTRY_HEIGHT, approach, climbing, withdraw
from camkit.toolpath.nest import Track, nested_tracks
from camkit.toolpath.track import beginning, follow, place_at, starting_at

__all__ = ["clear_moves", "clearings"]

# Shares of the cutter's diameter between rings that are tried; the shorter way of clearing is kept. Rings
# leave nothing in a corner of angle t while the step is at most r (1 + sin(t / 2)), 0.854 D at 90 degrees;
# beyond it every corner costs a spur.
_SHARES = (0.95, 0.85)
# A spur stops the cutter twice: what that costs, as a length in mm (at 60 mm/s and 500 mm/s2 a stop in full
# run costs 7 mm, at a corner, where the cutter is slow already, less).
_SPUR = 4.0
# In waste that is cleared away again a ramp may be as steep as this (common practice: 2 to 5 degrees).
_STEEP_DEG = 5.0
# Round a smaller ring than this the cutter does not sink: it would turn on the spot.
_SMALL = 20.0


def clearings(area: Region, radius: float, machine: Machine) -> tuple[Clearing, ...]:
    """What a cutter of `radius` walks to clear the area, for each piece of it that it can enter; may be none.

    Paths keep PATH_ALLOWANCE off the walls. Raises CannotBeMadeError when wood would stay, which would be a
    fault of ours.
    """
    return tuple(_shortest(centres, radius, machine) for centres in offset(area, -(radius + PATH_ALLOWANCE)))


def _shortest(centres: Region, radius: float, machine: Machine) -> Clearing:
    best: tuple[float, Clearing] | None = None
    for share in _SHARES:
        tracks, spurs = nested_tracks(centres, radius, share * 2 * radius)
        clear = clearing(centres, [_turned(track, machine) for track in tracks])
        cost = length(joined(clear, in_turn(clear))) + _SPUR * spurs
        if best is None or cost < best[0] - 1e-6:
            best = (cost, clear)
        if spurs == 0:  # closer rings would only be longer
            break
    assert best is not None  # there is more than one share
    return best[1]


def _turned(track: Track, machine: Machine) -> Track:
    if not track.path.closed:
        return track
    return replace(track, path=climbing(track.path, machine, wood_inside=track.island))


def clear_moves(area: Region, depths: Sequence[float], cutter: Cutter, machine: Machine) -> tuple[Move, ...]:
    """Moves that clear the area to the last of `depths` (positive, mm), each pass from the inside out.

    The cutter sinks by ramps and leaves each piece of the area only when it is done. Of two ways the shorter
    is taken: either each pass goes over its ramp again at once, or all ramp at the same place, so that no
    bite is deeper than a pass, and the last goes over its ramp again.
    """
    moves: list[Move] = []
    for clear in clearings(area, cutter.diameter / 2, machine):
        ways = (_ramp_by_ramp(clear, depths, cutter), _round_and_round(clear, depths, cutter))
        way_down, start = min((w for w in ways if w is not None), key=lambda w: _length(*w))
        last = way_down[-1]
        moves += [*approach(*start, machine, cutter), *way_down, withdraw(last.x, last.y, machine)]
    return tuple(moves)


def _length(moves: Sequence[Move], start: Point) -> float:
    at, total = start, 0.0
    for move in moves:
        end = (move.x, move.y)
        if isinstance(move, Turn):
            total += segment_length(Arc(at, end, move.centre, move.clockwise))
        else:
            total += math.dist(at, end)
        at = end
    return total


def _slope(cutter: Cutter) -> float:
    return max(_STEEP_DEG, cutter.ramp_angle)


def _round_and_round(clear: Clearing, depths: Sequence[float], cutter: Cutter) -> tuple[list[Move], Point]:
    """Along one closed way, sinking where the pass before it sank."""
    path = joined(clear, in_the_round(clear))
    path = Path((*path.segments, *way(clear, path.end, path.start)))
    # The first ramp comes down to the top where the others begin, or they would bite deeper than a pass.
    above = -ENTRY_HEIGHT / math.tan(math.radians(_slope(cutter)))
    heights = [(above, ENTRY_HEIGHT), *ramped(length(path), depths, 0.0, _slope(cutter))]
    return follow(path, heights, cutter), place_at(path, above)


def _ramp_by_ramp(
    clear: Clearing, depths: Sequence[float], cutter: Cutter
) -> tuple[list[Move], Point] | None:
    """Each pass sinks on its first track and goes over it once more; None when that is too small."""
    moves: list[Move] = []
    begun: Point | None = None
    at: Point | None = None
    z, slope = ENTRY_HEIGHT, _slope(cutter)
    for depth in depths:
        first, *others = in_turn(clear, at)
        around = length(first)
        if around < _SMALL:
            return None
        if first.closed:
            heights = ramped(around, (depth,), z, slope)
            first = starting_at(first, around - heights[-1][0])
            sinking = follow(first, heights, cutter)
        else:
            sinking = _to_and_fro(first, z, depth, cutter)
        if at is None:
            begun = first.start
        else:
            moves += _level(way(clear, at, first.start), z, cutter)
        moves += sinking
        if others:
            moves += _level(joined(clear, others, (sinking[-1].x, sinking[-1].y)).segments, -depth, cutter)
        z, at = -depth, (moves[-1].x, moves[-1].y)
    assert begun is not None  # there is a pass
    return moves, begun


def _to_and_fro(path: Path, z: float, depth: float, cutter: Cutter) -> list[Move]:
    """Down to `depth` (positive) on the beginning of an open path, to and fro, then along it."""
    run = (z + depth) / math.tan(math.radians(_slope(cutter)))
    times = max(1, math.ceil(run / (2 * length(path))))
    leg = beginning(path, run / (2 * times))
    there_and_back = Path((*leg.segments, *reversed_path(leg).segments))
    down = follow(there_and_back, [(0.0, z), (run, -depth)], cutter)
    return [*down, *_level(path.segments, -depth, cutter)]


def _level(segments: Sequence[Segment], z: float, cutter: Cutter) -> list[Move]:
    """Along the segments at one height."""
    if not segments:
        return []
    path = Path(tuple(segments))
    return follow(path, [(0.0, z), (length(path), z)], cutter)
