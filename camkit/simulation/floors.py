"""Rules `uncut` and `missing-hole` for recesses: pockets and blind holes. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable

import shapely
from shapely.geometry.base import BaseGeometry

from camkit.errors import Finding
from camkit.geometry.tolerance import UNCUT
from camkit.simulation.reach import reach_inside
from camkit.simulation.swept import Swept, grown
from camkit.simulation.uncut import missing_hole
from camkit.simulation.wanted import Floor, Wanted

__all__ = ["find_uncut_floors"]

# A cutter keeping this far off the walls must still clear the floor; paths run 0.005 to 0.011 off them.
OFF_WALLS = 0.02


def find_uncut_floors(part: Wanted, swept_below: Callable[[float], Swept], anything: Swept) -> list[Finding]:
    """Recesses of the part that are not cleared to within 0.05 mm of their depth where a cutter can reach.

    `swept_below` gives what was swept below a depth, `anything` what was swept below the sheet's top.
    """
    findings = []
    for floor in part.floors:
        found = _floor(part, floor, swept_below(floor.depth - UNCUT), anything)
        if found is not None:
            findings.append(found)
    return findings


def _floor(part: Wanted, floor: Floor, done: Swept, anything: Swept) -> Finding | None:
    area = floor.area.intersection(part.solid)
    if area.is_empty:
        return None
    if floor.hole is not None and not len(anything.pieces_within(floor.area, 0.0)):
        return missing_hole(part, floor.said, *floor.hole.centre, floor.hole.diameter)
    inside = done.pieces_within(area, 0.0)
    if not len(inside):
        return _too_shallow(part, floor, anything, area)
    radius = float(done.pieces.radius[inside].min())
    target = _target(part, floor, area, radius)
    left = target.difference(done.near(target))
    thick = grown(left, -UNCUT / 2)
    if thick.is_empty:
        return None
    worst = max(shapely.get_parts(thick), key=lambda piece: piece.area)
    return _finding(
        part,
        floor,
        f"wood is left on the floor of {floor.said}, {floor.depth:g} mm deep",
        grown(worst, UNCUT / 2),
    )


def _too_shallow(part: Wanted, floor: Floor, anything: Swept, area: BaseGeometry) -> Finding:
    """The amount is what is missing in depth where the cutter went deepest."""
    cut = anything.pieces.depth[anything.pieces_within(area, 0.0)]
    short = floor.depth - float(cut.max(initial=0.0))
    place = area.representative_point()
    return Finding(
        "error",
        "uncut",
        f"{floor.said} is nowhere cut to its depth of {floor.depth:g} mm, {short:.2f} mm of it is missing",
        "Cut the recess to its depth",
        x_mm=round(place.x, 4),
        y_mm=round(place.y, 4),
        z_mm=-floor.depth,
        amount_mm=round(short, 4),
        part=part.name,
    )


def _target(part: Wanted, floor: Floor, area: BaseGeometry, radius: float) -> BaseGeometry:
    """What of the floor the cutter can reach, coming over open edges and through deeper neighbours too."""
    frame = grown(shapely.box(*area.bounds), 2 * radius + 1)
    free = frame.difference(part.kept_below(floor.depth - UNCUT))
    return reach_inside(free, radius, OFF_WALLS).area.intersection(area)


def _finding(part: Wanted, floor: Floor, words: str, left: BaseGeometry) -> Finding:
    """The amount is the width of the widest circle in what is left."""
    circle = shapely.maximum_inscribed_circle(left)
    x, y = shapely.get_coordinates(circle)[0]
    width = 2 * circle.length
    return Finding(
        "error",
        "uncut",
        f"{words}; the widest spot is {width:.2f} mm",
        "Clear the recess as far as its cutter reaches, or use a smaller cutter",
        x_mm=round(float(x), 4),
        y_mm=round(float(y), 4),
        z_mm=-floor.depth,
        amount_mm=round(width, 4),
        part=part.name,
    )
