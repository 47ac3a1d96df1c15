"""How long a program runs: look-ahead over the whole path within each axis's speed and acceleration.

Lengths in mm, speeds in mm/s, accelerations in mm/s2 inside; feeds arrive in mm/min.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from camkit.job.machine import Machine
from camkit.program.motion import Motion, Reading
from camkit.simulation.track import Floats, Ints, arc_angles
from camkit.simulation.verdict import TimedMotion

__all__ = ["plan_times", "total_time"]

_TINY = 1e-12


def plan_times(reading: Reading, machine: Machine) -> tuple[TimedMotion, ...]:
    """When each motion of the reading begins and ends, in seconds from the start.

    Every motion speeds up and slows down evenly (no limit of jerk). A straight move is as fast as its feed
    and as the axes allow, a rapid and a feed never set as fast as the axes allow; its acceleration is the
    least of a_i / |u_i| over the axes. An arc's speed is also limited by sqrt(a r). A corner is passed at
    sqrt(a rho), where rho is the radius of the arc that rounds it by the machine's corner deviation, or by
    that of G64 P: rho = d s / (1 - s), s the sine of half the angle between the two moves. The machine comes
    to rest at a dwell, a stop, a change of cutter or of spindle speed, and where the path turns back.

    A dwell's seconds lie between two motions. The time of cutter changes, of spindles running up and of
    waiting for the operator is not in it: it is the shop's, not the program's.
    """
    motions = reading.motions
    if not motions:
        return ()
    path = _Path(motions, machine)
    moving = np.flatnonzero(path.length > 0)
    seconds = np.zeros(len(motions))
    if len(moving):
        seconds[moving] = _seconds(path, moving, _corner_speeds(path, moving, reading, machine))
    waits = np.zeros(len(motions) + 1)
    for dwell in reading.dwells:
        waits[dwell.before] += dwell.seconds
    ends = np.cumsum(seconds + waits[:-1])
    return tuple(map(TimedMotion, (ends - seconds).tolist(), ends.tolist()))


def total_time(reading: Reading, timing: Sequence[TimedMotion]) -> float:
    """Seconds of the whole program, a dwell behind the last motion included."""
    last = sum(dwell.seconds for dwell in reading.dwells if dwell.before == len(reading.motions))
    return (timing[-1].ends_s if timing else 0.0) + last


class _Path:
    """The motions in arrays: lengths, directions at both ends, top speeds and accelerations."""

    def __init__(self, motions: Sequence[Motion], machine: Machine) -> None:
        """Work out every array at once."""
        start = np.array([m.start for m in motions], dtype=np.float64)
        end = np.array([m.end for m in motions], dtype=np.float64)
        rapid = np.array([m.kind == "rapid" for m in motions], dtype=bool)
        feed = np.array([m.feed_mm_min or np.inf for m in motions], dtype=np.float64) / 60
        axis_speed = np.array(machine.rapid, dtype=np.float64) / 60
        self.axis_acceleration = np.array(machine.acceleration, dtype=np.float64)
        step = end - start
        self.length = np.linalg.norm(step, axis=1)
        heading = step / np.maximum(self.length, _TINY)[:, None]
        self.first, self.last = heading, heading.copy()
        self.speed = _least(axis_speed, heading)
        self.acceleration = _least(self.axis_acceleration, heading)
        self._bend(motions, step, axis_speed)
        self.speed = np.where(rapid, self.speed, np.minimum(self.speed, feed))

    def _bend(self, motions: Sequence[Motion], step: Floats, axis_speed: Floats) -> None:
        arcs = np.array([n for n, m in enumerate(motions) if m.kind == "arc"], dtype=np.int64)
        if not len(arcs):
            return
        _, r0, r1, angle, swept = arc_angles([motions[n] for n in arcs])
        radius = (r0 + r1) / 2
        flat, rise = radius * np.abs(swept), step[arcs, 2]
        length = np.hypot(flat, rise)
        level, steep = flat / np.maximum(length, _TINY), rise / np.maximum(length, _TINY)
        turn = np.sign(swept)
        for tangent, at in ((self.first, angle), (self.last, angle + swept)):
            tangent[arcs] = np.column_stack((-np.sin(at) * turn * level, np.cos(at) * turn * level, steep))
        # An arc may use any direction in the plane, so the weaker of X and Y counts.
        plane = np.minimum(axis_speed[0], axis_speed[1]), self.axis_acceleration[:2].min()
        speeds = _least(np.array([plane[0], axis_speed[2]]), np.column_stack((level, steep)))
        pull = _least(np.array([plane[1], self.axis_acceleration[2]]), np.column_stack((level, steep)))
        bend = np.sqrt(plane[1] * radius) / np.maximum(level, _TINY)
        self.length[arcs] = length
        self.speed[arcs] = np.minimum(speeds, bend)
        self.acceleration[arcs] = pull


def _least(limits: Floats, heading: Floats) -> Floats:
    """The least of limit / |component| over the axes, infinite for a motion that goes nowhere."""
    parts = np.abs(heading)
    least: Floats = np.where(parts > _TINY, limits / np.maximum(parts, _TINY), np.inf).min(axis=1)
    return least


def _corner_speeds(path: _Path, moving: Ints, reading: Reading, machine: Machine) -> Floats:
    """The highest speed at the start of each moving motion and at the end of the last, (n + 1,)."""
    motions = reading.motions
    before, after = moving[:-1], moving[1:]
    limit = np.zeros(len(moving) + 1)
    if len(before):
        u, v = path.last[before], path.first[after]
        s = np.sqrt(np.clip((1 + (u * v).sum(axis=1)) / 2, 0.0, 1.0))
        given = np.array([m.pass_over for m in motions])
        deviation = np.minimum(
            *(np.where(given[side] > 0, given[side], machine.corner_deviation) for side in (before, after))
        )
        change = np.abs(v - u) > 1e-9
        pull = np.where(change, path.axis_acceleration, np.inf).min(axis=1)
        straight = ~change.any(axis=1) | (1 - s < _TINY)
        radius = deviation * s / np.maximum(1 - s, _TINY)
        corner = np.where(straight, np.inf, np.sqrt(np.where(straight, 0.0, pull) * radius))
        limit[1:-1] = np.minimum(corner, np.minimum(path.speed[before], path.speed[after]))
    halts = [d.before for d in reading.dwells] + [before for _, before, _ in reading.changes]
    for n in range(1, len(motions)):
        if motions[n].spindle_rev_min != motions[n - 1].spindle_rev_min or motions[n - 1].stop:
            halts.append(n)
    limit[np.searchsorted(moving, np.array(halts, dtype=np.int64))] = 0.0
    return limit


def _seconds(path: _Path, moving: Ints, corner: Floats) -> Floats:
    """Seconds of each moving motion, by two running minima: v^2 may change by 2 a d at most.

    With S the running sum of 2 a d, v^2 - S may never rise and v^2 + S never fall along the path.
    """
    length, top, pull = path.length[moving], path.speed[moving], path.acceleration[moving]
    gain = np.concatenate(([0.0], np.cumsum(2 * pull * length)))
    square = corner**2
    square = np.minimum.accumulate((square + gain)[::-1])[::-1] - gain
    square = gain + np.minimum.accumulate(square - gain)
    square = np.minimum(np.maximum(square, 0.0), corner**2)
    entry, leave = square[:-1], square[1:]
    peak2 = np.minimum(top**2, (2 * pull * length + entry + leave) / 2)
    peak = np.sqrt(np.maximum(peak2, np.maximum(entry, leave)))
    ramps = (2 * peak**2 - entry - leave) / (2 * pull)
    seconds: Floats = (2 * peak - np.sqrt(entry) - np.sqrt(leave)) / pull
    seconds += np.maximum(length - ramps, 0.0) / peak
    return seconds
