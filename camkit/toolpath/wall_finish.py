"""The finish pass along the walls of a pocket: a little wood that its passes leave, taken at full depth."""

from __future__ import annotations

from camkit.cut import Move
from camkit.geometry.offset import offset
from camkit.geometry.path import Path, Region
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Machine
from camkit.toolpath.finish import is_thick
from camkit.toolpath.loop import climbing, finish_alone

__all__ = ["with_walls_last"]


def with_walls_last(
    area: Region, depth: float, cutter: Cutter, machine: Machine
) -> tuple[Region, tuple[Move, ...]] | None:
    """What is to be cleared of a pocket first, and the finish pass along each of its walls after that.

    None when the cutter leaves no wood for it, or where its walls have no room for such a pass: rough paths
    would break up, leave far more in places, or meet no wall that the arcs of the pass fit.
    """
    leave, away = cutter.finish_pass, cutter.diameter / 2 + PATH_ALLOWANCE
    if leave <= 0:
        return None
    smaller, final, rough = (offset(area, -by) for by in (leave, away, away + leave))
    if not len(smaller) == len(final) == len(rough) == 1:
        return None
    walls, lanes = (_loops(pieces[0]) for pieces in (final, rough))
    if len(walls) != len(lanes):
        return None
    if is_thick(walls, lanes, leave):
        return None
    turned = [climbing(wall, machine, wood_inside=k > 0) for k, wall in enumerate(walls)]
    finishes = [finish_alone(path, cutter, machine, depth) for path in turned]
    if any(finish is None for finish in finishes):
        return None
    return smaller[0], tuple(move for finish in finishes for move in finish or ())


def _loops(area: Region) -> tuple[Path, ...]:
    return (area.exterior, *area.interiors)
