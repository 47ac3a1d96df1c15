"""Which cutter makes a round hole: a drill of its size, else a milling cutter that goes round in it."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.job.model import Cutter
from camkit.part import Hole

__all__ = ["BORE_ROOM", "cutter_of_hole", "is_of_its_size", "point_room"]

# A bored hole needs this much room beside the cutter, or the cutter only plunges.
BORE_ROOM = 0.2
# A drill may be so much narrower and wider than its hole: what is well within neither uncut nor a gouge.
_SMALLER, _LARGER = 0.08, 0.03
# Wood that stays below a drill's point, or it breaks through (common practice, no source).
_LEFT_BELOW = 0.5


def point_room(hole: Hole, thickness: float, into_table: float) -> float:
    """How far a drill's point may stand out below its full width, in mm: into the table, or in the sheet."""
    return into_table if hole.depth is None else max(0.0, thickness - hole.depth - _LEFT_BELOW)


def is_of_its_size(cutter: Cutter, hole: Hole) -> bool:
    """Whether the cutter makes the hole by going straight down."""
    if cutter.kind == "v-groove" or (cutter.mills and not cutter.plunges):
        return False
    return -_SMALLER - 1e-9 <= cutter.diameter - hole.diameter <= _LARGER + 1e-9


def cutter_of_hole(hole: Hole, cutters: Sequence[Cutter], room: float) -> Cutter | None:
    """The cutter for a hole, of those that are long enough; None when none makes it.

    A drill, or a milling cutter that plunges, of the hole's size and with a point no longer than `room` mm;
    the nearest in size, a drill before a milling cutter. Else the largest milling cutter that bores it.
    """
    own = [c for c in cutters if is_of_its_size(c, hole) and c.point_length <= room + 1e-9]
    if own:
        return min(own, key=lambda c: (round(abs(c.diameter - hole.diameter), 6), c.mills, c.number))
    boring = [c for c in cutters if c.mills and c.diameter <= hole.diameter - BORE_ROOM]
    return max(boring, key=lambda c: c.diameter, default=None)
