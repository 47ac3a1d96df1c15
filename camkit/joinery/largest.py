"""The largest milling cutter that serves a whole drawing, and which part sets it. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from camkit.errors import Finding
from camkit.geometry.contour import Contour, loop_of
from camkit.geometry.corner import turn_between
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc, Point
from camkit.job.model import Cutter
from camkit.joinery.fitted import FittedJoint
from camkit.joinery.relief import largest_for
from camkit.joinery.undo import undone
from camkit.part import Part

__all__ = ["Limit", "largest_cutter", "largest_told"]

# An opening should be wider than its cutter by a quarter (common practice, no source).
_SHARE = 0.8
# Chord error for the widest circle in an opening: far below the tenths of a millimetre that are told.
_CHORD = 0.01
# A drill makes a hole of its own diameter, as nearly as this (common practice, no source).
_DRILL = 0.1


@dataclass(frozen=True, slots=True)
class Limit:
    """A place that lets no larger cutter than `diameter` through; `what` names it."""

    diameter: float
    part: str
    what: str
    x: float
    y: float


def largest_cutter(
    drawn: Sequence[Part], joints: Sequence[FittedJoint], cutters: Sequence[Cutter]
) -> Limit | None:
    """The tightest limit of all, the first of equals; None when nothing limits.

    Joints count at their fitted width (their dogbones must stay apart), other openings by 0.8 of the widest
    circle in them, inside curves by their radius as drawn, holes by 0.8 of their diameter unless a drill of
    the job makes them. Drawn reliefs of joints and outlines do not count: they are cut again for this cutter.
    Gaps between walls of an outline that are no joint are not looked at.
    """
    drills = [cutter.diameter for cutter in cutters if cutter.kind == "drill"]
    limits = [_of_joint(joint) for joint in joints]
    for part in drawn:
        fitted = [(joint.x, joint.y) for joint in joints if joint.parts[0] == part.name]
        limits += _of_part(part, fitted, drills)
    return min(limits, key=lambda limit: round(limit.diameter, 6), default=None)


def largest_told(
    drawn: Sequence[Part], joints: Sequence[FittedJoint], cutters: Sequence[Cutter]
) -> list[Finding]:
    """A note (rule `largest-cutter`): the largest cutter for this drawing and the place that sets it."""
    limit = largest_cutter(drawn, joints, cutters)
    if limit is None or limit.diameter < 0.1:
        return []
    return [
        Finding(
            "note",
            "largest-cutter",
            f"the largest milling cutter for everything in this drawing is {limit.diameter:.1f} mm, set by "
            f"{limit.what} at ({limit.x:.1f}, {limit.y:.1f})",
            x_mm=limit.x,
            y_mm=limit.y,
            amount_mm=limit.diameter,
            part=limit.part,
        )
    ]


def _of_joint(joint: FittedJoint) -> Limit:
    fits = largest_for(joint.fitted_mm)
    return Limit(fits, joint.parts[0], f"a {joint.kind} {joint.fitted_mm:.2f} wide", joint.x, joint.y)


def _of_part(part: Part, fitted: Sequence[tuple[float, float]], drills: Sequence[float]) -> Iterator[Limit]:
    sharp = undone(part)
    yield from _of_curves(part, sharp.outline)
    for contour in (*sharp.openings, *sharp.pockets):
        shape = as_polygon(loop_of(contour), _CHORD)
        if any(shape.covers(shapely.Point(spot)) for spot in fitted):
            continue
        yield from _of_curves(part, contour)
        yield from _of_kept_reliefs(part, contour)
        line = shapely.maximum_inscribed_circle(shape, tolerance=_CHORD)
        x, y = line.coords[0]
        wide = 2 * line.length
        yield Limit(_tenths(_SHARE * wide), part.name, f"an opening or pocket {wide:.1f} wide", x, y)
    for hole in part.holes:
        if not any(abs(drill - hole.diameter) <= _DRILL for drill in drills):
            x, y = hole.centre
            yield Limit(_tenths(_SHARE * hole.diameter), part.name, f"a hole of {hole.diameter:.1f} mm", x, y)


def _of_curves(part: Part, contour: Contour) -> Iterator[Limit]:
    """Curves that the cutter runs through on their inside, long enough to matter."""
    walls = contour.walls.segments
    for wall, following, corner in zip(walls, walls[1:] + walls[:1], contour.corners, strict=True):
        if isinstance(wall, Arc) and wall.clockwise and segment_length(wall) > _CHORD:
            yield _of_curve(part, wall.radius, wall.start)
        if corner.kind == "fillet" and turn_between(wall, following) < 0:
            yield _of_curve(part, corner.radius, corner.pieces[0].start)


def _of_kept_reliefs(part: Part, contour: Contour) -> Iterator[Limit]:
    """Reliefs of an opening that is no joint: nothing cuts them again, so the cutter must follow them."""
    for corner in contour.reliefs:
        what = f"a relief of radius {corner.radius:.2f} that stays as drawn"
        yield Limit(_tenths(2 * corner.radius), part.name, what, *corner.pieces[0].start)


def _of_curve(part: Part, radius: float, at: Point) -> Limit:
    return Limit(_tenths(2 * radius), part.name, f"an inside curve of radius {radius:.2f}", *at)


def _tenths(diameter: float) -> float:
    return math.floor(10 * diameter + 1e-6) / 10
