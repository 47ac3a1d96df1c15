"""Rules `rapid-in-stock` and `rapid-plunge`: G0 through wood that is still there. Lengths in mm."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from camkit.errors import Finding
from camkit.geometry.tolerance import GOUGE
from camkit.program.motion import Reading
from camkit.simulation.hit import Hit, fold
from camkit.simulation.swept import grown, piece_lines, swept
from camkit.simulation.track import Floats, Track

__all__ = ["find_rapids_in_wood"]

# A sloping rapid is looked at in steps of this depth.
STEP = 0.5
MOST_STEPS = 64
# After so many rapids through wood the rest is not looked at: the program is wrong as a whole.
ENOUGH = 200


def find_rapids_in_wood(
    track: Track, sheet: tuple[float, float], reading: Reading, first: int = 0
) -> list[Finding]:
    """Rapids with the tip below the sheet's top where wood has not been cut away that deep before.

    Those before the motion `first` were judged with the program they belong to. Straight up
    is always free: the cutter stands where it goes. The amount is how deep below the top.
    """
    board = shapely.box(0.0, 0.0, *sheet)
    deep = track.take(track.rapid & (track.motion >= first)).below(GOUGE)
    deep = deep.take(~deep.straight_up)
    if not len(deep):
        return []
    index = STRtree(piece_lines(track))
    through: list[Hit] = []
    plunges: list[Hit] = []
    for n in range(len(deep)):
        if len(through) + len(plunges) >= ENOUGH:
            break
        hit = _in_wood(deep.take(np.array([n])), track, index, board)
        if hit is not None:
            down = deep.end[n, 2] < deep.start[n, 2]
            (plunges if down else through).append(hit)
    return [
        *fold(
            "rapid-in-stock",
            through,
            reading,
            lambda hit: f"a rapid runs through wood, {hit.amount:.2f} mm below the sheet's top",
            "Raise the cutter above the sheet before a rapid",
        ),
        *fold(
            "rapid-plunge",
            plunges,
            reading,
            lambda hit: f"a rapid goes down into wood, {hit.amount:.2f} mm below the sheet's top",
            "Go down into wood at a feed (G1)",
        ),
    ]


def _in_wood(rapid: Track, track: Track, index: STRtree, board: Polygon) -> Hit | None:
    start, end = rapid.start[0], rapid.end[0]
    motion, radius = int(rapid.motion[0]), float(rapid.radius[0])
    area = _stadium(start, end, radius - GOUGE).intersection(board)
    if area.is_empty:
        return None
    place = piece_lines(rapid)[0]
    near = np.sort(index.query(place, "dwithin", distance=radius + float(track.radius.max())))
    earlier = track.take(near[track.motion[near] < motion])
    fall = abs(end[2] - start[2])
    # A cone is looked at just above its tip, where the room that its own tip has made is as narrow.
    width = min(radius - GOUGE, GOUGE * float(rapid.spread[0]))
    count = 1 if isinstance(place, Point) else min(MOST_STEPS, max(1, math.ceil(fall / STEP)))
    for k in range(count):
        a, b = start + (end - start) * k / count, start + (end - start) * (k + 1) / count
        depth = -min(a[2], b[2])
        open_room = shapely.union_all(swept(earlier, depth - GOUGE).areas)
        wood = grown(_stadium(a, b, width).intersection(board).difference(open_room), -GOUGE / 2)
        if not wood.is_empty:
            spot = wood.representative_point()
            return Hit(motion, spot.x, spot.y, -depth, depth)
    return None


def _stadium(start: Floats, end: Floats, radius: float) -> BaseGeometry:
    line = shapely.points(start[:2]) if (start[:2] == end[:2]).all() else LineString([start[:2], end[:2]])
    return grown(line, max(radius, GOUGE))
