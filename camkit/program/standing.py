"""Where travel at low height would hit what stands on the sheet. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from camkit.cut import Cut
from camkit.geometry.path import Point
from camkit.job.fixtures import AROUND, CLEAR_OVER
from camkit.job.model import Job

__all__ = ["hole_middle", "may_travel_low", "standing_areas"]


def may_travel_low(cuts: Sequence[Cut], job: Job) -> bool:
    """Whether it is known where everything stands: hold-down screws are where their holes are drilled."""
    return job.hold_down is None or any(cut.kind == "hold-down" for cut in cuts)


def standing_areas(cuts: Sequence[Cut], job: Job) -> list[shapely.Geometry]:
    """What stands too high to travel over at the machine's travel height, grown by the widest cutter."""
    radius = max((cutter.diameter for cutter in job.cutter), default=0.0) / 2
    low = job.machine.travel_height - CLEAR_OVER
    found: list[shapely.Geometry] = []
    for row in job.keep_out:
        if row.height is not None and row.height > low:
            round_one = row.at is not None and row.diameter is not None
            area = shapely.Point(row.at).buffer((row.diameter or 0) / 2) if round_one else None
            found.append(area if area is not None else shapely.box(*(row.box or (0, 0, 0, 0))))
    if job.hold_down is not None and job.hold_down.head_height > low:
        heads = [hole_middle(cut) for cut in cuts if cut.kind == "hold-down"]
        found += [shapely.Point(place).buffer(job.hold_down.head / 2) for place in heads]
    return [area.buffer(radius + AROUND) for area in found]


def hole_middle(cut: Cut) -> Point:
    """The middle of a cut that makes a round hole."""
    xs, ys = [move.x for move in cut.moves], [move.y for move in cut.moves]
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
