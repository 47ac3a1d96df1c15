"""Rough passes that leave a little wood on the wall, and the finish pass that takes it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from camkit.cut import Feed, Move, Turn
from camkit.geometry.flatten import arc_points, as_polygon, flattened
from camkit.geometry.measure import length
from camkit.geometry.offset import offset
from camkit.geometry.path import Arc, Path, Point, Region, oriented, signed_area
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Machine
from camkit.toolpath.heights import Rise, over_tabs
from camkit.toolpath.lead import Room, lead_in, lead_out, run_of_lead
from camkit.toolpath.track import follow, starting_at

__all__ = [
    "OVERLAP",
    "Begin",
    "Rough",
    "arc_radius",
    "cleared_beside",
    "finish_begin",
    "finish_moves",
    "is_thick",
    "rough_beside",
]

# The finish pass runs on past its own beginning by this much, so that no ridge stands there.
OVERLAP = 1.0
# Paths are followed this closely when the wood between them is looked for.
_CHORD = 0.02
# Where the finish pass would take more than this many times what the rough passes leave (in a relief, say,
# which they do not enter) it sinks by passes too. At a square inside corner it is 1.41 times.
_THICK = 2.2


# The first arc starts where the rough passes have been, but for this share of what they leave.
_IN_LANE = 0.9
# Arcs may seem this much nearer to the wall than the path: less than what paths keep off it.
_CLOSE = 0.003


@dataclass(frozen=True, slots=True)
class Rough:
    """The closed path of the rough passes; `thick` tells that they leave places where more wood stands."""

    path: Path
    thick: bool


@dataclass(frozen=True, slots=True)
class Begin:
    """The path begun where the finish pass meets it, and the radius of its arcs there."""

    path: Path
    radius: float


def arc_radius(cutter: Cutter) -> float:
    """Radius of the arcs by which the finish pass comes and goes where they fit, mm.

    Common practice, no source.
    """
    return 2 * cutter.diameter


def finish_begin(
    path: Path, beside: float, since: Point | None, cutter: Cutter, machine: Machine
) -> Begin | None:
    """Where the finish pass begins whose first arc starts beside the place `beside` mm along the path.

    The arcs are as wide as keeps them, and the way there from `since`, on the side of the waste; None where
    even the narrowest do not.
    """
    left, aside = machine.direction == "climb", cutter.finish_pass
    walked = as_polygon(path, _CLOSE / 3)
    waste_inside = left == (signed_area(path) > 0)
    free = walked.buffer(_CLOSE if waste_inside else -_CLOSE)
    widest = arc_radius(cutter)
    for radius in (widest, widest / 2, widest / 4, aside):
        if radius < aside:
            continue
        begun = starting_at(path, beside + run_of_lead(aside, radius))
        come = lead_in(begun, 0.0, aside, radius, left=left)
        go = lead_out(begun, OVERLAP, aside, radius, left=left)
        ways = [arc_points(come, _CLOSE / 3), arc_points(go, _CLOSE / 3)]
        if since is not None and since != come.start:
            ways.append(np.array([since, come.start]))
        lines = shapely.MultiLineString([way.tolist() for way in ways])
        if walked.exterior.distance(shapely.Point(come.start)) < _IN_LANE * aside:
            continue
        if free.covers(lines) if waste_inside else not free.intersects(lines):
            return Begin(begun, radius)
    return None


def rough_beside(
    wall: Region, finish: Path, cutter: Cutter, machine: Machine, room: Room, *, outside: bool
) -> Rough | None:
    """Where the rough passes run that leave `cutter.finish_pass` at the wall of a part or an opening.

    None when the cutter leaves no such wood, or where that path would break up or touch other parts.
    """
    leave, radius = cutter.finish_pass, cutter.diameter / 2
    if leave <= 0:
        return None
    away = radius + PATH_ALLOWANCE + leave
    pieces = offset(wall, away if outside else -away)
    if len(pieces) != 1:
        return None
    line = shapely.LinearRing(flattened(pieces[0].exterior, _CHORD))
    if room.wood.others_within(line, radius - _CHORD, room.part):
        return None
    direction = machine.rough_direction or machine.direction
    path = oriented(pieces[0].exterior, clockwise=outside == (direction == "climb"))
    return Rough(path, is_thick((finish,), (path,), leave))


def is_thick(finish: Sequence[Path], rough: Sequence[Path], leave: float) -> bool:
    """Whether a finish pass along closed paths meets far more wood somewhere than rough passes `leave`."""
    lanes = shapely.union_all([shapely.LinearRing(flattened(path, _CHORD)) for path in rough])
    walls = [shapely.LinearRing(flattened(path, _CHORD)).segmentize(0.5) for path in finish]
    away = shapely.distance(lanes, shapely.points(shapely.get_coordinates(walls)))
    return bool(away.max() > _THICK * leave)


def cleared_beside(begin: Begin, come: Arc, cutter: Cutter) -> Point:
    """Where beside the start of the first arc the rough passes have been, at a round wall too."""
    (x, y), start, centre = come.start, begin.path.start, come.centre
    ring = shapely.LinearRing(flattened(begin.path, _CLOSE / 3))
    short = max(0.0, cutter.finish_pass - ring.distance(shapely.Point(come.start)))
    further = short + 2 * _CLOSE if short > _CLOSE / 3 else 0.0
    long = math.dist(centre, start)
    return (x + further * (centre[0] - start[0]) / long, y + further * (centre[1] - start[1]) / long)


def finish_moves(
    begin: Begin, depth: float, cutter: Cutter, machine: Machine, rises: Sequence[Rise], from_z: float
) -> list[Move]:
    """Once round at full depth (positive, mm), from the rough passes' lane and back, by tangent arcs.

    The cutter stands in that lane at `from_z`, beside where the first arc begins.
    """
    path, radius = begin.path, begin.radius
    around, aside = length(path), cutter.finish_pass
    left = machine.direction == "climb"
    heights = [(0.0, -depth), (around + OVERLAP, -depth)]
    heights = over_tabs(heights, around, rises) if rises else heights
    first, last = heights[0][1], heights[-1][1]
    come = lead_in(path, 0.0, aside, radius, left=left)
    go = lead_out(path, around + OVERLAP, aside, radius, left=left)
    feed = cutter.feed
    return [
        Feed(*come.start, max(from_z, first), feed),
        Turn(*come.end, first, come.centre, come.clockwise, feed),
        *follow(path, heights, cutter),
        Turn(*go.end, last, go.centre, go.clockwise, feed),
    ]
