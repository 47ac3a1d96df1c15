"""Round holes: drilled when a drill of the size is at hand, else bored by a helix."""

from __future__ import annotations

import math

from camkit.cut import Drill, Feed, Move, Rapid, Turn
from camkit.geometry.path import Point
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Machine
from camkit.toolpath.loop import ENTRY_HEIGHT, approach, withdraw

__all__ = ["bore_moves", "can_bore", "drill_moves"]

# Slope of the helix (common practice: 2 to 5 degrees).
_HELIX_DEG = 5.0
# A drill is lifted clear of its chips this often, in diameters (common practice: 3 to 4).
_PECK_DIAMETERS = 4.0
# Drilling begins and chips are cleared this far above the sheet, which is never quite flat.
_CLEAR = 2.0
# After a lift the drill comes back to this far above where it stopped, fed so many times faster than it
# drills: no rapid goes below the sheet's top, and chips may have fallen in (common practice, no source).
_BACK_OFF = 0.5
_BACK_FEED = 3.0


def drill_moves(centre: Point, depth: float, cutter: Cutter, machine: Machine) -> tuple[Move, ...]:
    """Straight down to `depth` (positive, mm) at the plunge feed, lifted out after every peck.

    One drilling cycle where the machine has them, else spelled out with the same pecks.
    """
    (x, y), top = centre, min(machine.safe_height, _CLEAR)
    longest = _PECK_DIAMETERS * cutter.diameter
    if cutter.pass_depth is not None or cutter.mills:
        longest = cutter.depth_of_pass
    pecks = max(1, math.ceil((depth + top) / longest - 1e-9))
    peck = (depth + top) / pecks
    moves: list[Move] = [Rapid(x, y, machine.safe_height), Rapid(x, y, top)]
    if machine.drilling_cycles:
        return (*moves, Drill(x, y, -depth, top, peck, cutter.plunge), withdraw(x, y, machine))
    back = (
        cutter.plunge
        if cutter.mills
        else max(cutter.plunge, min(_BACK_FEED * cutter.plunge, machine.rapid[2]))
    )
    for k in range(1, pecks + 1):
        if k > 1:
            moves += [Rapid(x, y, top), Feed(x, y, min(top, top - peck * (k - 1) + _BACK_OFF), back)]
        moves.append(Feed(x, y, -depth if k == pecks else top - peck * k, cutter.plunge))
    return (*moves, withdraw(x, y, machine))


def can_bore(diameter: float, cutter: Cutter) -> bool:
    """Whether one helix clears the hole: no core may stand in the middle."""
    return cutter.diameter < diameter <= 2 * cutter.diameter - 4 * PATH_ALLOWANCE


def bore_moves(
    centre: Point, diameter: float, depth: float, cutter: Cutter, machine: Machine
) -> tuple[Move, ...]:
    """A helix down to `depth` (positive, mm) and once round at the bottom, then off the wall and out."""
    (x, y), radius = centre, (diameter - cutter.diameter) / 2 - PATH_ALLOWANCE
    steep = math.tan(math.radians(max(_HELIX_DEG, cutter.ramp_angle)))
    pitch = min(2 * math.pi * radius * steep, cutter.depth_of_pass)
    rounds = max(1, math.ceil((depth + ENTRY_HEIGHT) / pitch))
    drop = (depth + ENTRY_HEIGHT) / rounds
    slope = drop / math.hypot(drop, 2 * math.pi * radius)
    feed = min(cutter.feed, cutter.plunge / slope)
    clockwise = machine.direction == "conventional"
    right, left = x + radius, x - radius
    moves = approach(right, y, machine, cutter)
    for k in range(rounds):
        z = ENTRY_HEIGHT - drop * k
        moves.append(Turn(left, y, z - drop / 2, centre, clockwise, feed))
        moves.append(Turn(right, y, z - drop, centre, clockwise, feed))
    moves.append(Turn(left, y, -depth, centre, clockwise, cutter.feed))
    moves.append(Turn(right, y, -depth, centre, clockwise, cutter.feed))
    return (*moves, Feed(x, y, -depth, cutter.feed), withdraw(x, y, machine))
