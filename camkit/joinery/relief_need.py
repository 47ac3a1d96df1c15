"""Whether an inside corner wants a relief at all.

Lengths in mm, angles (interior, of the cut-out) in radians.
"""

from __future__ import annotations

import math

__all__ = ["RIGHT", "least_chamfer", "least_shortness", "no_relief_because"]

RIGHT = math.pi / 2
_EXACT = 1e-9


def least_chamfer(radius: float, angle: float = RIGHT) -> float:
    """Leg of the chamfer that lets a mate's edge into a corner left round: r cot(a/2), in a square one r.

    That is how much of each wall the cutter leaves uncut; a leg of r (2 - sqrt 2) would clear the middle
    of the arc but not its ends.
    """
    return radius / math.tan(angle / 2)


def least_shortness(radius: float, clearance: float) -> float:
    """How much short of a square end a tenon must stop to enter a mortise whose end was left round.

    Its edges stand c/2 from the broad walls and meet the arc of radius r at r - sqrt(r2 - (r - c/2)2) from
    the end: 2.33 for r 3 and c 0.15. Nothing where the clearance alone is 2 r or more.
    """
    aside = radius - clearance / 2
    if aside <= 0:
        return 0.0
    return radius - math.sqrt(max(0.0, radius**2 - aside**2))


def no_relief_because(
    radius: float,
    angle: float = RIGHT,
    *,
    mate: bool = True,
    drawn_radius: float = 0.0,
    mate_radius: float = 0.0,
    mate_chamfer: float = 0.0,
    short: float | None = None,
    clearance: float = 0.0,
) -> str | None:
    """Why the corner may stay as a cutter of `radius` leaves it, in words; None where a mate needs it square.

    `drawn_radius` is the corner's own. The mate's edge may be rounded (`mate_radius`) or chamfered
    (`mate_chamfer`, its leg), or it ends `short` of a square end (see `least_shortness`; None where it goes
    right into the corner). `clearance` counts for the last only.
    """
    if not mate:
        return "nothing seats in it"
    if drawn_radius >= radius - _EXACT:
        return f"it is drawn round, by {drawn_radius:.2f} mm"
    if mate_radius >= radius - _EXACT:
        return f"the mate is rounded by {mate_radius:.2f} mm"
    if mate_chamfer >= least_chamfer(radius, angle) - _EXACT:
        return f"the mate is chamfered by {mate_chamfer:.2f} mm"
    if short is None or abs(angle - RIGHT) > _EXACT:
        return None
    if short >= least_shortness(radius, clearance) - _EXACT:
        return f"the mate ends {short:.2f} mm short of it"
    return None
