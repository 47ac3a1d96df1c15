"""Rules `uncut` and `missing-hole` right through the sheet: outlines, openings, holes. Lengths in mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from camkit.errors import Finding
from camkit.geometry.tolerance import UNCUT
from camkit.job.model import Tabs
from camkit.simulation.leftover import clinging_wood, wood_across
from camkit.simulation.reach import Reach, reach_inside, reach_outside
from camkit.simulation.swept import Swept, grown
from camkit.simulation.wanted import Through, Wanted

__all__ = ["LARGEST_HOLE", "find_uncut", "find_whole_part_uncut", "missing_hole"]

# A circle up to this diameter is a hole.
LARGEST_HOLE = 50.0
# The smallest cutter that ran along this share of a loop is the one that its corners are judged by.
SHARE_ALONG = 0.25
# A cut passing this close to a part or a loop was meant for it; what it leaves is told by its thickness.
MEANT = 1.0
REMEDY = "Cut it through, or give the job a cutter that reaches"


def find_whole_part_uncut(part: Wanted, anything: Swept) -> Finding | None:
    """One finding for a part at which no cutter went below the sheet's top; None when some did."""
    if len(anything.pieces_meeting(part.fill, MEANT)):
        return None
    x, y = part.fill.representative_point().coords[0]
    return Finding(
        "error",
        "uncut",
        "nobody cuts the part",
        "Cut it, or take it off the sheet",
        x_mm=round(x, 4),
        y_mm=round(y, 4),
        part=part.name,
    )


def find_uncut(
    part: Wanted,
    bottom: Swept,
    anything: Swept,
    tabs: Tabs,
    board: BaseGeometry,
    skin: Swept | None = None,
) -> list[Finding]:
    """Where the outline, an opening or a hole of the part is not cut through.

    `bottom` is what was swept at full depth, `anything` what was swept below the top. An edge that the
    part has from the `board`, the sheet's area, needs no cut. `skin` is what was swept down to the skin that
    holds the part, if that is how it is held: outline and openings need no more.
    """
    but = "" if skin is None else f", but for its skin of {tabs.skin:g} mm,"
    through = bottom if skin is None else skin
    findings = []
    for feature in part.through:
        if feature.hole is not None and feature.hole.diameter <= LARGEST_HOLE:
            findings += _hole(part, feature, bottom, anything)
        else:
            findings += _opening(part, feature, feature.said + but, through, tabs)
    return findings + _outline(part, "the outline" + but, through, tabs, board)


def _radius_along(done: Swept, loop: BaseGeometry) -> float | None:
    """Radius of the smallest cutter that ran along a fair share of the loop; None when none did."""
    near = done.pieces_meeting(loop, MEANT)
    if not len(near):
        return None
    radii, lengths = done.pieces.radius[near], shapely.length(done.lines[near])
    along = {float(r): float(lengths[radii == r].sum()) for r in np.unique(radii)}
    fair = [r for r, length in along.items() if length >= SHARE_ALONG * loop.length]
    return min(fair or along)


def _outline(part: Wanted, said: str, bottom: Swept, tabs: Tabs, board: BaseGeometry) -> list[Finding]:
    loop = part.fill.exterior
    within = loop if board.contains(grown(part.fill, UNCUT)) else _beyond_edges(part, board)
    if within.length == 0:
        return []
    radius = _radius_along(bottom, loop)
    if radius is None:
        return [_whole(part, said, within)]
    reach = reach_outside(part.fill, radius, UNCUT)
    if within is not loop:
        reach = Reach(reach.area, reach.rim.intersection(board), reach.path.intersection(board))
    return _along(part, said, loop, reach, radius, bottom, tabs)


def _beyond_edges(part: Wanted, board: BaseGeometry) -> BaseGeometry:
    """The line just outside the outline, as far as there is sheet: the part may keep the sheet's edge."""
    return grown(part.fill, UNCUT).exterior.intersection(board)


def _opening(part: Wanted, feature: Through, said: str, bottom: Swept, tabs: Tabs) -> list[Finding]:
    loop = feature.area.exterior
    radius = _radius_along(bottom, loop)
    if radius is None:
        return [_whole(part, said, loop)]
    reach = reach_inside(feature.area, radius, UNCUT)
    if reach.area.is_empty:
        return [_whole(part, f"{feature.said}, too narrow for the cutter of {2 * radius:g} mm,", loop)]
    return _along(part, said, loop, reach, radius, bottom, tabs)


def _along(
    part: Wanted, said: str, loop: BaseGeometry, reach: Reach, radius: float, bottom: Swept, tabs: Tabs
) -> list[Finding]:
    """What is left along a loop and is no tab."""
    findings = []
    across = wood_across(reach, bottom)
    clinging = clinging_wood(reach, across, bottom, radius)
    if clinging:
        worst = max(clinging, key=lambda piece: piece.thickness)
        words = f"wood up to {worst.thickness:.2f} mm thick is left on {said}, {worst.length:.1f} mm long"
        findings.append(_finding(part, words, worst.place, worst.thickness))
    if across:
        longest = max(across, key=lambda piece: piece.length)
        total = sum(piece.length for piece in across)
        share = total / loop.length
        if longest.length > tabs.longest or share > tabs.share:
            words = (
                f"{said} is not cut through along {total:.1f} mm, {share:.0%} of its length; "
                f"the longest piece is {longest.length:.1f} mm"
            )
            place = longest.interpolate(0.5, normalized=True)
            findings.append(_finding(part, words, place, longest.length))
    return findings


def _hole(part: Wanted, feature: Through, bottom: Swept, anything: Swept) -> list[Finding]:
    assert feature.hole is not None
    x, y = feature.hole.centre
    size = feature.hole.diameter / 2
    if not len(anything.pieces_within(Point(x, y), size)):
        return [missing_hole(part, feature.said, x, y, feature.hole.diameter)]
    rim = Point(x, y).buffer(max(size - UNCUT, size / 2), quad_segs=32).exterior
    left = rim.difference(bottom.near(rim))
    if left.length <= 0.02:
        return []
    place = left.interpolate(0.5, normalized=True)
    return [_finding(part, f"{feature.said} is not cut to its full size right through", place, left.length)]


def missing_hole(part: Wanted, said: str, x: float, y: float, diameter: float) -> Finding:
    """The finding for a hole that no cutter went into."""
    return Finding(
        "error",
        "missing-hole",
        f"{said} was never cut",
        "Cut it, or take it out of the part",
        x_mm=round(x, 4),
        y_mm=round(y, 4),
        amount_mm=round(diameter, 4),
        part=part.name,
    )


def _whole(part: Wanted, said: str, loop: BaseGeometry) -> Finding:
    place = Point(shapely.get_coordinates(loop)[0])
    return _finding(part, f"{said} is not cut through anywhere", place, loop.length)


def _finding(part: Wanted, words: str, place: Point, amount: float) -> Finding:
    return Finding(
        "error",
        "uncut",
        words,
        REMEDY,
        x_mm=round(place.x, 4),
        y_mm=round(place.y, 4),
        amount_mm=round(amount, 4),
        part=part.name,
    )
