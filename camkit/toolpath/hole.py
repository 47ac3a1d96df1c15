"""Round holes: drilled when a drill of the size is at hand, else bored by a helix."""

from __future__ import annotations

import math

from camkit.cut import Feed, Move, Rapid, Turn
from camkit.geometry.path import Point
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Machine
from camkit.toolpath.loop import ENTRY_HEIGHT, approach, withdraw

__all__ = ["bore_moves", "can_bore", "drill_moves"]

# Slope of the helix (common practice: 2 to 5 degrees).
_HELIX_DEG = 5.0
# A drill is lifted clear of its chips this often, in diameters (common practice: 3 to 4).
_PECK_DIAMETERS = 4.0
# After a lift the drill comes back fast to this far above where it stopped.
_BACK_OFF = 0.5


def drill_moves(centre: Point, depth: float, cutter: Cutter, machine: Machine) -> tuple[Move, ...]:
    """Straight down at the plunge feed, lifted out after every peck."""
    x, y = centre
    peck = cutter.pass_depth if cutter.pass_depth is not None else _PECK_DIAMETERS * cutter.diameter
    pecks = max(1, math.ceil(depth / peck - 1e-9))
    moves = approach(x, y, machine, cutter)
    for k in range(1, pecks + 1):
        if k > 1:
            moves += [Rapid(x, y, ENTRY_HEIGHT), Rapid(x, y, _BACK_OFF - depth * (k - 1) / pecks)]
        moves.append(Feed(x, y, -depth * k / pecks, cutter.plunge))
    return (*moves, withdraw(x, y, machine))


def can_bore(diameter: float, cutter: Cutter) -> bool:
    """Whether one helix clears the hole: no core may stand in the middle."""
    return cutter.diameter < diameter <= 2 * cutter.diameter - 4 * PATH_ALLOWANCE


def bore_moves(
    centre: Point, diameter: float, depth: float, cutter: Cutter, machine: Machine
) -> tuple[Move, ...]:
    """A helix down to `depth` (positive, mm) and once round at the bottom, then off the wall and out."""
    (x, y), radius = centre, (diameter - cutter.diameter) / 2 - PATH_ALLOWANCE
    pitch = min(2 * math.pi * radius * math.tan(math.radians(_HELIX_DEG)), cutter.depth_of_pass)
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
