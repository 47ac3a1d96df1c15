"""Travel between cuts: low where nothing stands on the sheet, at safe height elsewhere. Lengths in mm."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import shapely

from camkit.cut import Cut, Move, Rapid
from camkit.geometry.path import Point
from camkit.job.model import Machine

__all__ = ["low_travel"]


def low_travel(
    cuts: Sequence[Cut], machine: Machine, standing: Sequence[shapely.Geometry] = ()
) -> tuple[Cut, ...]:
    """The cuts with rapids at safe height brought down to the machine's travel height.

    Those stay at safe height that lead to the first cut after a change of cutter, or away from the last one
    before it, and those that pass over what is `standing` on the sheet (areas, grown by the cutter already).
    """
    if machine.travel_height >= machine.safe_height:
        return tuple(cuts)
    obstacles = shapely.STRtree(list(standing))
    lowered: list[Cut] = []
    for _, group in itertools.groupby(cuts, key=lambda cut: cut.cutter):
        same = list(group)
        moves = _lowered([move for cut in same for move in cut.moves], machine, obstacles)
        ends = list(itertools.accumulate((len(cut.moves) for cut in same), initial=0))
        lowered += [replace(cut, moves=moves[a:b]) for cut, a, b in zip(same, ends, ends[1:], strict=False)]
    return tuple(lowered)


def _lowered(moves: Sequence[Move], machine: Machine, obstacles: shapely.STRtree) -> tuple[Move, ...]:
    """The moves of one cutter, their inner ways at safe height brought down where they may be."""
    found = list(moves)
    k = 0
    while k < len(found):
        if not _high(found[k], machine):
            k += 1
            continue
        begin = k
        while k < len(found) and _high(found[k], machine):
            k += 1
        places = [(move.x, move.y) for move in found[max(0, begin - 1) : k]]
        if begin == 0 or k == len(found) or _crosses(places, obstacles):
            continue
        # The way down that follows may end higher than the travel.
        for n in range(begin, k + 1):
            move = found[n]
            if isinstance(move, Rapid):
                found[n] = replace(move, z=min(move.z, machine.travel_height))
    return tuple(found)


def _high(move: Move, machine: Machine) -> bool:
    return isinstance(move, Rapid) and move.z >= machine.safe_height


def _crosses(places: Sequence[Point], obstacles: shapely.STRtree) -> bool:
    line = shapely.LineString(places) if len(places) > 1 else shapely.Point(places[0])
    return len(obstacles.query(line, "intersects")) > 0
