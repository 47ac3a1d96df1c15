"""Motions of a program as pictures need them: seen from above, and how deep they cut."""

from __future__ import annotations

import math

from camkit.geometry.path import Arc, Line, Segment
from camkit.geometry.tolerance import SAME_POINT
from camkit.job.model import Job
from camkit.pipeline import JudgedProgram
from camkit.program.motion import CutMark, Motion

__all__ = ["depth_at", "from_above", "marks_of_motions", "signed_sweep", "top_of_sheet"]


def signed_sweep(motion: Motion) -> float:
    """Angle that an arc turns through, in radians, positive counter-clockwise, whole turns included.

    An arc that ends where it starts is a full circle (NISTIR 6556, section 3.5.3).
    """
    if motion.centre is None:
        return 0.0
    (x0, y0, _), (x1, y1, _), (cx, cy) = motion.start, motion.end, motion.centre
    first, last = math.atan2(y0 - cy, x0 - cx), math.atan2(y1 - cy, x1 - cx)
    turn = (first - last if motion.clockwise else last - first) % (2 * math.pi)
    if math.dist((x0, y0), (x1, y1)) <= SAME_POINT:
        turn = 2 * math.pi
    turn += 2 * math.pi * motion.turns
    return -turn if motion.clockwise else turn


def from_above(motion: Motion) -> tuple[Segment, ...]:
    """The motion's line or arc in the plane, a full turn as two halves; nothing for a plunge."""
    start, end = motion.start[:2], motion.end[:2]
    if motion.centre is None:
        return (Line(start, end),) if start != end else ()
    centre, clockwise = motion.centre, motion.clockwise
    if math.dist(start, centre) <= SAME_POINT:
        return ()
    if abs(signed_sweep(motion)) > 2 * math.pi - 1e-6:
        opposite = (2 * centre[0] - start[0], 2 * centre[1] - start[1])
        halves = (Arc(start, opposite, centre, clockwise), Arc(opposite, start, centre, clockwise))
        rest = (Arc(start, end, centre, clockwise),) if math.dist(start, end) > SAME_POINT else ()
        return (*halves, *rest)
    return (Arc(start, end, centre, clockwise),)


def top_of_sheet(job: Job, thickness: float) -> float:
    """Height of the sheet's top in the program's own Z."""
    return thickness if job.machine.zero == "table" else 0.0


def depth_at(motion: Motion, top: float) -> float:
    """How deep below the sheet's top the motion runs at its deepest; negative above the sheet."""
    return top - min(motion.start[2], motion.end[2])


def marks_of_motions(program: JudgedProgram) -> list[CutMark | None]:
    """For each motion, the numbered cut that it belongs to; None before the first."""
    marks: list[CutMark | None] = []
    current: CutMark | None = None
    waiting = list(program.reading.marks)
    for index in range(len(program.reading.motions)):
        while waiting and waiting[0].before <= index:
            current = waiting.pop(0)
        marks.append(current)
    return marks
