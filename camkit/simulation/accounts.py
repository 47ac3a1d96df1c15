"""Sums over a timed program: lengths, and times by cutter and by cut. Lengths in mm, times in seconds."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from camkit.job.model import Cutter
from camkit.program.motion import Reading
from camkit.simulation.track import arc_angles
from camkit.simulation.verdict import CutterTime, CutTime, TimedMotion

__all__ = ["cut_times", "cutter_times", "feed_and_rapid_lengths"]


def feed_and_rapid_lengths(reading: Reading) -> tuple[float, float]:
    """Length in space of all feeds, and of all rapids."""
    motions = reading.motions
    start = np.array([m.start for m in motions], dtype=np.float64).reshape(-1, 3)
    end = np.array([m.end for m in motions], dtype=np.float64).reshape(-1, 3)
    lengths = np.linalg.norm(end - start, axis=1)
    arcs = [n for n, m in enumerate(motions) if m.kind == "arc"]
    _, r0, r1, _, swept = arc_angles([motions[n] for n in arcs])
    lengths[arcs] = np.hypot((r0 + r1) / 2 * swept, end[arcs, 2] - start[arcs, 2])
    rapid = np.array([m.kind == "rapid" for m in motions], dtype=bool)
    return float(lengths[~rapid].sum()), float(lengths[rapid].sum())


def cutter_times(
    reading: Reading, timing: Sequence[TimedMotion], cutters: Sequence[Cutter]
) -> tuple[CutterTime, ...]:
    """Seconds with each cutter, by number; a dwell counts with the motion behind it.

    Motions before the first M6 are in no cutter's time.
    """
    seconds: dict[int, float] = {}
    before = 0.0
    for motion, timed in zip(reading.motions, timing, strict=True):
        if motion.cutter is not None:
            seconds[motion.cutter] = seconds.get(motion.cutter, 0.0) + timed.ends_s - before
        before = timed.ends_s
    diameters = {cutter.number: cutter.diameter for cutter in cutters}
    return tuple(CutterTime(n, diameters.get(n), seconds[n]) for n in sorted(seconds))


def cut_times(reading: Reading, timing: Sequence[TimedMotion]) -> tuple[CutTime, ...]:
    """Lines and seconds of each cut that the text marks, in its order; the last runs to the program's end."""
    marks, motions = reading.marks, reading.motions
    done = []
    for n, mark in enumerate(marks):
        behind = marks[n + 1].before if n + 1 < len(marks) else len(motions)
        begins = timing[mark.before - 1].ends_s if mark.before else 0.0
        ends = timing[behind - 1].ends_s if behind else 0.0
        last = motions[behind - 1].line if behind > mark.before else mark.line
        done.append(CutTime(mark.number, mark.kind, mark.name, mark.line, last, ends - begins))
    return tuple(done)
