"""A reading as the job's machine runs it: over the sheet, with cutters and speeds that hands have set."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace

from camkit.job.model import Job
from camkit.program.motion import Motion, Point3, Reading

__all__ = ["as_run"]


def as_run(reading: Reading, job: Job, sheet: tuple[float, float]) -> Reading:
    """The reading with X and Y counted from the sheet's lower left corner; Z stays the program's.

    Where the job's control takes no T or M6, the cutter is the one that a comment "(CUTTER 2 drill)" names:
    from the beginning when it stands before every motion, else from the stop (M0) behind it. A job with one
    cutter needs no such comment. Where the speed is set by hand and the text names none, the spindle turns as
    fast as the job says of the cutter.
    """
    motions = reading.motions
    if not (job.machine.takes("T") and job.machine.takes("M6")):
        motions = _with_cutters(reading, job)
    if job.machine.speed_by_hand:
        speeds = {cutter.number: cutter.speed for cutter in job.cutter}
        motions = tuple(
            replace(m, spindle_rev_min=m.turning * speeds.get(m.cutter or 0, 0.0))
            if m.turning and not m.spindle_rev_min
            else m
            for m in motions
        )
    x, y = _zero(job.machine.xy_zero, sheet)
    if (x, y) != (0.0, 0.0):
        motions = tuple(_shifted(m, x, y) for m in motions)
    return reading if motions is reading.motions else replace(reading, motions=motions)


def _zero(corner: str, sheet: tuple[float, float]) -> tuple[float, float]:
    """Where on the sheet the program's X0 Y0 lies."""
    if corner == "centre":
        return (sheet[0] / 2, sheet[1] / 2)
    return (sheet[0] if "right" in corner else 0.0, sheet[1] if "upper" in corner else 0.0)


def _shifted(motion: Motion, x: float, y: float) -> Motion:
    def on_sheet(point: Point3) -> Point3:
        return (point[0] + x, point[1] + y, point[2])

    centre = motion.centre and (motion.centre[0] + x, motion.centre[1] + y)
    return replace(motion, start=on_sheet(motion.start), end=on_sheet(motion.end), centre=centre)


def _with_cutters(reading: Reading, job: Job) -> tuple[Motion, ...]:
    """The motions with the cutters that comments name, where T and M6 tell of none."""
    begins, numbers = [0], [job.cutter[0].number if len(job.cutter) == 1 else None]
    for k, (line, before, number) in enumerate(reading.named):
        until = reading.named[k + 1][0] if k + 1 < len(reading.named) else reading.last_line + 1
        waits = (stop[1] for stop in reading.stops if line < stop[0] < until)
        begin = 0 if before == 0 else next(waits, None)
        if begin is not None:
            begins.append(begin)
            numbers.append(number)
    return tuple(
        replace(m, cutter=numbers[bisect_right(begins, n) - 1]) if m.cutter is None else m
        for n, m in enumerate(reading.motions)
    )
