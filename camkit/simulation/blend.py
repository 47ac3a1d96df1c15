"""Corners that G64 P lets the machine cut short: where the cutter may then be. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from camkit.program.motion import Motion
from camkit.simulation.track import Edges, Track

__all__ = ["rounded_corners"]


def rounded_corners(motions: Sequence[Motion], edges: Mapping[int | None, Edges], top: float) -> Track:
    """The spot farthest inside each blended corner below the sheet's top, one piece without length a corner.

    It lies the allowed deviation from the corner, towards the middle between the two moves.
    """
    spots: list[tuple[float, float, float]] = []
    owners: list[int] = []
    for n in range(1, len(motions)):
        before, after = motions[n - 1], motions[n]
        x, y, z = after.start
        if after.pass_over <= 0 or z >= top:
            continue
        (ux, uy), (vx, vy) = _heading(before, at_end=True), _heading(after, at_end=False)
        inward = math.hypot(vx - ux, vy - uy)
        if inward > 1e-9:
            share = after.pass_over / inward
            spots.append((x + (vx - ux) * share, y + (vy - uy) * share, z - top))
            owners.append(n)
    place = np.array(spots, dtype=np.float64).reshape(-1, 3)
    shape = np.array(
        [(edges[motions[n].cutter].radius, edges[motions[n].cutter].spread) for n in owners], dtype=np.float64
    ).reshape(-1, 2)
    of = np.array(owners, dtype=np.int64)
    return Track(place, place, of, shape[:, 0], shape[:, 1], np.zeros(len(owners), dtype=bool))


def _heading(motion: Motion, *, at_end: bool) -> tuple[float, float]:
    """Direction in XY at one end of a motion, of length 1; (0, 0) where it goes straight up or down."""
    if motion.kind == "arc" and motion.centre is not None:
        x, y, _ = motion.end if at_end else motion.start
        dx, dy = x - motion.centre[0], y - motion.centre[1]
        dx, dy = (dy, -dx) if motion.clockwise else (-dy, dx)
    else:
        dx, dy = motion.end[0] - motion.start[0], motion.end[1] - motion.start[1]
    size = math.hypot(dx, dy)
    return (dx / size, dy / size) if size > 0 else (0.0, 0.0)
