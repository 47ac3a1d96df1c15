"""Wood left along a loop that should be cut through: tabs, or wood left uncut. Lengths in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from camkit.geometry.tolerance import UNCUT
from camkit.simulation.swept import Swept, grown

__all__ = ["Leftover", "leftovers"]

# Shorter bits of a rim are the joints of chords.
SHORTEST = 0.02
# Wood reaching this share of the cutter's radius away from the loop spans the cut; less clings to the part.
SPANS = 0.8


@dataclass(frozen=True, slots=True)
class Leftover:
    """One piece of wood along a loop: its middle, its length there, how far it reaches from the loop.

    `spans` tells wood across the whole cut (a tab) from wood that clings to the part's edge; `tab_length` is
    its length in the middle of the cut, where it is shortest.
    """

    place: Point
    length: float
    reach: float
    spans: bool
    tab_length: float


def leftovers(
    rim: BaseGeometry, loop: BaseGeometry, keep: BaseGeometry, done: Swept, radius: float
) -> list[Leftover]:
    """What is left along `rim`, the line just off the `loop` around what must stay (`keep`)."""
    left = rim.difference(done.near(rim))
    lines = [line for line in shapely.get_parts(_joined(left)) if line.length > SHORTEST]
    found = []
    for line in lines:
        reach = _reach(line, loop, keep, done, radius)
        if reach > UNCUT + 0.002:
            found.append(_leftover(line, reach, radius))
    return found


def _joined(lines: BaseGeometry) -> BaseGeometry:
    return shapely.line_merge(lines) if lines.geom_type == "MultiLineString" else lines


def _leftover(line: LineString, reach: float, radius: float) -> Leftover:
    # Two round ends of the cut bow into a tab: along the rim it is longer than in the middle of the cut.
    bow = radius - math.sqrt(max(radius**2 - (radius - UNCUT) ** 2, 0.0))
    spans = reach >= SPANS * radius
    return Leftover(
        line.interpolate(0.5, normalized=True), line.length, reach, spans, max(line.length - 2 * bow, 0.0)
    )


def _reach(line: LineString, loop: BaseGeometry, keep: BaseGeometry, done: Swept, radius: float) -> float:
    """How far from the loop the wood at `line` reaches, looked at up to 1.2 radii away."""
    zone = grown(line, 1.2 * radius)
    wood = zone.difference(shapely.union_all([done.near(zone), keep]))
    corners = [
        shapely.points(shapely.get_coordinates(part))
        for part in shapely.get_parts(wood)
        if part.distance(line) < UNCUT / 10
    ]
    return max((float(shapely.distance(points, loop).max()) for points in corners), default=0.0)
