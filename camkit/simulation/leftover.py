"""Wood left along a loop that should be cut through: tabs across it, or wood on the part. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from camkit.geometry.tolerance import UNCUT
from camkit.simulation.reach import Reach
from camkit.simulation.swept import Swept, grown

__all__ = ["Clinging", "clinging_wood", "wood_across"]

# Shorter bits of a line are the joints of chords.
SHORTEST = 0.02
# Along the part a tab is longer than in the middle of the cut, where its round ends come closest. Its far end
# at the part's edge lies this many radii from its end in the middle: less than the root of 2.
BESIDE_TAB = 1.45
# Thickness is looked at this often along the wood.
SPOTS = 0.5


@dataclass(frozen=True, slots=True)
class Clinging:
    """Wood on the part's edge: where it is thickest, how long, how thick."""

    place: Point
    length: float
    thickness: float


def wood_across(reach: Reach, done: Swept) -> list[LineString]:
    """The pieces of the cutter's way along a loop that lie in wood: what stands across the whole cut."""
    return _pieces(reach.path.difference(done.near(reach.path)))


def clinging_wood(reach: Reach, across: list[LineString], done: Swept, radius: float) -> list[Clinging]:
    """Wood thicker than UNCUT left along the rim of a loop, away from what stands `across` the cut."""
    left = reach.rim.difference(done.near(reach.rim))
    beside = grown(shapely.union_all(across), BESIDE_TAB * radius + UNCUT)
    found = []
    for line in _pieces(left.difference(beside)):
        steps = np.append(np.arange(SPOTS / 2, line.length, SPOTS), line.length / 2)
        spots = shapely.line_interpolate_point(line, steps)
        away = shapely.distance(spots, done.near(grown(line, radius)))
        worst = int(np.argmax(away))
        if np.isfinite(away[worst]) and away[worst] > UNCUT / 10:
            found.append(Clinging(spots[worst], line.length, UNCUT + float(away[worst])))
    return found


def _pieces(lines: BaseGeometry) -> list[LineString]:
    merged = shapely.line_merge(lines) if lines.geom_type == "MultiLineString" else lines
    return [
        piece
        for piece in shapely.get_parts(merged)
        if isinstance(piece, LineString) and piece.length > SHORTEST
    ]
