"""The spot where Z is set again after a change of cutter by hand, as something that cuts keep off."""

from __future__ import annotations

import shapely

from camkit.job.fixtures import CLEAR_OVER
from camkit.job.model import Job
from camkit.toolpath.fixtures import Standing

__all__ = ["touch_off_spot"]


def touch_off_spot(job: Job) -> tuple[Standing, ...]:
    """The spot, as wide as the widest cutter's tip and level with the sheet; none when the job has none."""
    spot = job.machine.touch_off
    if spot is None:
        return ()
    tip = max(cutter.diameter for cutter in job.cutter) / 2
    said = f"the touch-off spot at ({spot[0]:g}, {spot[1]:g})"
    # Travel over it need not rise: only what goes below the sheet's top comes too near.
    return (Standing(said, shapely.Point(spot).buffer(tip, quad_segs=32), -CLEAR_OVER),)
