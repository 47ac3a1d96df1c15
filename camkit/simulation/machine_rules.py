"""Rules about machine, cutter and table: what needs no look at the wood that is left. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from camkit.errors import Finding, Level
from camkit.geometry.tolerance import GOUGE
from camkit.job.model import Job
from camkit.program.motion import Motion, Reading
from camkit.simulation.hit import Hit, fold
from camkit.simulation.track import Floats, Ints, arc_angles

__all__ = [
    "Tips",
    "find_bad_end",
    "find_missing_feeds",
    "find_out_of_travel",
    "find_stopped_spindle",
    "find_stops_in_motion",
    "find_table_cuts",
    "find_too_deep_for_cutter",
    "find_touches",
    "find_wrong_cutters",
]

# Rounding in the program must not count as too deep or out of reach.
ROUNDING = 1e-3
# A sheet is never quite flat: so far above it nothing touches (common practice, no source).
CLEAR = 1.0


@dataclass(frozen=True, slots=True)
class Tips:
    """The tip of the cutter through a program whose Z at the sheet's top is `top`."""

    reading: Reading
    top: float

    def depth(self, motion: Motion) -> float:
        """Deepest depth of the tip below the sheet's top."""
        return self.top - min(motion.start[2], motion.end[2])

    def where(self, keep: Callable[[Motion], bool]) -> Iterator[tuple[int, Motion]]:
        """The motions that `keep` picks, with their indices."""
        return ((n, motion) for n, motion in enumerate(self.reading.motions) if keep(motion))

    def cuts(self, motion: Motion) -> bool:
        """Whether it is a feed with the tip below the sheet's top."""
        return motion.kind != "rapid" and self.depth(motion) > ROUNDING

    def hit(self, n: int, amount: float | None = None) -> Hit:
        """The deeper end of a motion in sheet coordinates."""
        motion = self.reading.motions[n]
        x, y, z = min(motion.end, motion.start, key=lambda point: point[2])
        return Hit(n, x, y, z - self.top, amount)


def find_table_cuts(tips: Tips, thickness: float, allowed: float) -> list[Finding]:
    """Tips deeper in the table than `allowed`; the amount is the depth in the table."""
    hits = [
        tips.hit(n, tips.depth(m) - thickness)
        for n, m in tips.where(lambda m: tips.depth(m) > thickness + allowed + GOUGE)
    ]
    return fold(
        "table-cut",
        hits,
        tips.reading,
        lambda hit: f"the cutter goes {hit.amount:.2f} mm into the table, more than {allowed:g} mm",
        "Cut less deep, or check where Z is zero and how thick the sheet is",
    )


def find_stopped_spindle(tips: Tips) -> list[Finding]:
    """Feeds into wood while the spindle stands or turns backwards (M4)."""
    standing = [tips.hit(n) for n, m in tips.where(lambda m: m.spindle_rev_min == 0 and tips.cuts(m))]
    backwards = [tips.hit(n) for n, m in tips.where(lambda m: m.spindle_rev_min < 0 and tips.cuts(m))]
    return [
        *fold(
            "spindle-stopped",
            standing,
            tips.reading,
            lambda _: "the cutter is fed into wood while the spindle stands",
            "Start the spindle with S and M3 before; M6 stops it",
        ),
        *fold(
            "spindle-stopped",
            backwards,
            tips.reading,
            lambda _: "the cutter is fed into wood while the spindle turns backwards",
            "Start the spindle with M3",
        ),
    ]


def find_stops_in_motion(tips: Tips) -> list[Finding]:
    """Stops (M0) with the spindle turning or the cutter in the wood; errors where a cutter is changed."""
    reading = tips.reading
    changes = {line for line, _, _ in (*reading.changes, *reading.named)}
    findings: list[Finding] = []
    last = 0
    for line, before, turning in reading.stops:
        by_hand = any(last < change <= line for change in changes)
        last = line
        deep = before > 0 and tips.top - reading.motions[before - 1].end[2] > ROUNDING
        if turning or deep:
            state = "the spindle turns" if turning else "the cutter is in the wood"
            words = f"the program waits for hands (M0) while {state}"
            level: Level = "error" if by_hand else "warning"
            remedy = "Raise the cutter and write M5 before M0"
            findings.append(Finding(level, "unsafe-stop", words, remedy, line=line))
    return findings


def find_missing_feeds(tips: Tips) -> list[Finding]:
    """G1, G2 and G3 before any feed was set."""
    hits = [tips.hit(n) for n, _ in tips.where(lambda m: m.kind != "rapid" and m.feed_mm_min is None)]
    return fold(
        "no-feed",
        hits,
        tips.reading,
        lambda _: "a cutting move has no feed",
        "Write an F word on it or before it",
    )


def find_wrong_cutters(tips: Tips, job: Job) -> list[Finding]:
    """Feeds into wood with a cutter that the job does not have, or with none."""
    known = {cutter.number for cutter in job.cutter}
    have = ", ".join(str(number) for number in sorted(known))
    hits = [tips.hit(n) for n, _ in tips.where(lambda m: m.cutter not in known and tips.cuts(m))]
    motions = tips.reading.motions

    def said(hit: Hit) -> str:
        number = motions[hit.motion].cutter
        met = "no cutter was taken into the spindle (T, M6)" if number is None else f"cutter {number} cuts"
        return f"{met}; the job has {have}"

    return fold("wrong-cutter", hits, tips.reading, said, "Take one of the job's cutters with T and M6")


def find_too_deep_for_cutter(tips: Tips, job: Job) -> list[Finding]:
    """Cuts deeper than the cutter's edges are long, where the job says how long they are."""
    longest = {c.number: c.cutting_length for c in job.cutter if c.cutting_length is not None}
    hits = [
        tips.hit(n, tips.depth(m) - longest[m.cutter])
        for n, m in tips.where(lambda m: m.cutter in longest)
        if m.cutter is not None and tips.depth(m) > longest[m.cutter] + ROUNDING
    ]
    return fold(
        "too-deep-for-cutter",
        hits,
        tips.reading,
        lambda hit: f"the cut is {hit.amount:.2f} mm deeper than the cutter's edges are long",
        "Use a longer cutter, or correct its cutting_length in the job",
    )


def find_out_of_travel(tips: Tips, job: Job) -> list[Finding]:
    """Ends of motions and bows of arcs that the machine does not reach; none when its reach is not stated.

    Where a program stands before its first X or Y word nobody knows: so far its height alone is judged.
    """
    ranges = job.machine.ranges()
    motions = tips.reading.motions
    if ranges is None or not motions:
        return []
    low, high = np.array(ranges, dtype=np.float64).T
    points = np.array([m.end for m in motions], dtype=np.float64) - (0, 0, tips.top)
    which = np.arange(len(motions))
    unknown = np.logical_and.accumulate([m.end[:2] == motions[0].start[:2] for m in motions])
    points[unknown, :2] = np.clip(points[unknown, :2], low[:2], high[:2])
    bows, of_motion = _bows(tips)
    points, which = np.concatenate((points, bows)), np.concatenate((which, of_motion))
    excess = np.maximum(low - points, points - high)
    hits = []
    for n in np.flatnonzero(excess.max(axis=1) > ROUNDING):
        x, y, z = points[n].tolist()
        hits.append(Hit(int(which[n]), x, y, z, float(excess[n].max())))
    return fold(
        "out-of-travel",
        hits,
        tips.reading,
        lambda hit: (
            f"({hit.x:.2f}, {hit.y:.2f}, {hit.z:.2f}) lies {hit.amount:.2f} mm beyond the machine's reach"
        ),
        "Move the parts or the zero, or correct travel in the job",
    )


def _bows(tips: Tips) -> tuple[Floats, Ints]:
    """The outermost points in X and Y that arcs pass, (n, 3), and the motion of each."""
    which = np.array([n for n, m in enumerate(tips.reading.motions) if m.kind == "arc"], dtype=np.int64)
    arcs = [tips.reading.motions[n] for n in which]
    centre, r0, _, first, swept = arc_angles(arcs)
    z = np.array([m.end[2] for m in arcs], dtype=np.float64) - tips.top
    points, owners = [np.empty((0, 3))], [np.empty(0, dtype=np.int64)]
    for quarter in range(4):
        angle = quarter * np.pi / 2
        turned = np.where(swept > 0, angle - first, first - angle) % (2 * np.pi)
        passed = turned < np.abs(swept)
        out = centre + r0[:, None] * (np.cos(angle), np.sin(angle))
        points.append(np.column_stack((out, z))[passed])
        owners.append(which[passed])
    return np.concatenate(points), np.concatenate(owners)


def find_touches(tips: Tips) -> list[Finding]:
    """Motions of a program for the air that come upon the sheet, or nearer to it than a millimetre."""
    near = tips.where(lambda m: tips.depth(m) > ROUNDING - CLEAR)
    hits = [tips.hit(n, CLEAR + tips.depth(m)) for n, m in near]
    if not hits:
        return []
    lowest = max(hits, key=lambda hit: hit.amount or 0.0)
    worst = lowest.amount or 0.0
    return fold(
        "touches-in-air",
        [lowest],
        tips.reading,
        lambda hit: (
            f"{-hit.z:.2f} mm into the sheet, though nothing should be touched"
            if hit.z < 0
            else f"only {hit.z:.2f} mm above the sheet"
        ),
        f"Run it at least {math.ceil(worst * 10 - 1e-6) / 10:g} mm higher",
    )


def find_bad_end(tips: Tips) -> list[Finding]:
    """A program whose last motion leaves the cutter below the sheet's top."""
    motions = tips.reading.motions
    if not motions or tips.top - motions[-1].end[2] <= ROUNDING:
        return []
    return fold(
        "bad-block",
        [tips.hit(len(motions) - 1, tips.top - motions[-1].end[2])],
        tips.reading,
        lambda hit: f"the program ends with the cutter {hit.amount:.2f} mm below the sheet's top",
        "Raise the cutter above the sheet before the end",
    )
