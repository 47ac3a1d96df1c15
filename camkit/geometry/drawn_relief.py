"""Whether what is drawn between two straight walls is a relief of their corner, a fillet, or neither.

One circle is fitted to the vertices of whatever lies between the walls, so that a relief counts alike as an
arc, as two arcs or as chords. Material lies on the left of the path. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from camkit.geometry.arc import circle_through
from camkit.geometry.corner import arriving, leaving
from camkit.geometry.measure import point_along, segment_length
from camkit.geometry.path import Arc, Line, Point, Segment

__all__ = ["LARGEST_RELIEF", "LONGEST_CHORD", "Rounding", "Verdict", "corner_of", "rounding", "void_circle"]

# Cutters of 1 to 16 mm make joints (common practice, no source).
_SMALLEST_RELIEF, LARGEST_RELIEF = 0.5, 8.0
# Vertices of published reliefs stray by up to 0.06 where the corner itself pokes through its faceted circle:
# that vertex is left out; the others stray by rounding to two decimals at most.
_STRAY, _POKE = 0.03, 0.12
# Three vertices that stray so much and the circle through them: no other vertex strays farther than this.
_FAR = 0.3
# A relief turns at least so far round its circle: a dogbone at 150 degrees, a third of a T-bone.
_SWEEP = math.radians(60)
# A path that turns less leaves no corner to seat in; one that turns more is a point, not a corner.
_LEAST_TURN, _MOST_TURN = math.radians(20), math.radians(165)
# Walls end within this many radii of their corner: a T-bone takes 2, a dogbone at 60 degrees 1.73.
_REACH = 3.0
# The rim of a relief reaches the corner, a fillet's stays r (1/sin(a/2) - 1) away: half way parts them.
_SHARE = 0.5
# A rim that passes the corner by more is no relief but a hole about the corner. Oversize is a few hundredths;
# a published brace has two dogbones that pass their corners by a quarter of the radius.
_PAST, _PAST_SHARE = 0.06, 0.3
# A dogbone's centre stands on the bisector, a T-bone's square off the wall that stays whole: it may stand
# between them, or beyond by so much (the two dogbones of that brace do, by 19 degrees: their wall was moved).
_ASKEW = math.radians(20)
# Fewer chords, or coarser ones, are a polygon: the four corners of any rectangular notch lie on a circle.
_FEWEST, _WIDEST = 3, math.radians(50)
LONGEST_CHORD = 2 * LARGEST_RELIEF * math.sin(_WIDEST / 2)
# Rounding of the ends of a short wall is magnified at the corner; below a third of its distance it is not
# known.
_KNOWN = 0.3
# Fillets in published desks step off their walls by 0.02 and are drawn with chords.
_TANGENT = 0.06
_LARGEST_FILLET = 50.0
_FILLET_TURNS = (math.radians(5), math.radians(140))
# A chord of a flattened curve is no wall: walls are longer than the chords between them by this factor.
_WALL = 2.0

Verdict = Literal["relief", "fillet", "centred", "short wall"]


@dataclass(frozen=True, slots=True)
class Rounding:
    """What lies between two walls: its kind, its circle, and the corner in which the walls meet.

    "centred" is a circle round the corner, which may be a hole for a cable as well as a relief; "short wall"
    is a relief beside a wall too short to tell where the corner is.
    """

    kind: Verdict
    radius: float
    corner: Point


def corner_of(before: Line, after: Line) -> Point | None:
    """Where two walls meet when both are made longer; None when they are parallel or do not go there."""
    (ux, uy), (vx, vy) = arriving(before), leaving(after)
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-6:
        return None
    dx, dy = after.start[0] - before.end[0], after.start[1] - before.end[1]
    along = (dx * vy - dy * vx) / cross
    return (before.end[0] + along * ux, before.end[1] + along * uy)


def rounding(
    before: Segment, pieces: Sequence[Segment], after: Segment, walls: tuple[Line, Line]
) -> Rounding | None:
    """What `pieces` between the ends of `before` and `after` are; None when they round or relieve no corner.

    `walls` carry the directions of the two: their longest pieces, where they were drawn in several.
    """
    (ux, uy), (vx, vy) = arriving(walls[0]), leaving(walls[1])
    turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    least = min(_LEAST_TURN, _FILLET_TURNS[0])
    if not least <= abs(turn) <= _MOST_TURN:
        return None
    corner = corner_of(*walls)
    if corner is None:
        return None
    ahead = (corner[0] - before.end[0]) * ux + (corner[1] - before.end[1]) * uy
    behind = (after.start[0] - corner[0]) * vx + (after.start[1] - corner[1]) * vy
    if min(ahead, behind) < -_TANGENT or max(ahead, behind) > _farthest(turn):
        return None
    ring = void_circle(pieces, corner, clockwise=turn < 0)
    if ring is None:
        return None
    centre, radius, sweep = ring
    if turn < 0:
        found = _relief(centre, radius, sweep, turn, corner, (ahead, behind), walls)
        if found is not None:
            return found
    return _fillet(centre, radius, turn, corner, (ahead, behind), walls, pieces)


def _farthest(turn: float) -> float:
    largest = _LARGEST_FILLET * math.tan(min(abs(turn), _FILLET_TURNS[1]) / 2) + 10
    return max(largest, _REACH * LARGEST_RELIEF)


def void_circle(
    pieces: Sequence[Segment], corner: Point | None, *, clockwise: bool
) -> tuple[Point, float, float] | None:
    """Centre and radius of the circle along which the pieces go, and the angle turned through about it.

    None when they stray from every circle, go back, or are too few chords or too coarse ones. A vertex that
    pokes out at the `corner` does not count.
    """
    arcs = [piece for piece in pieces if isinstance(piece, Arc)]
    if len(pieces) < (1 if arcs else _FEWEST) or any(arc.clockwise != clockwise for arc in arcs):
        return None
    points: list[Point] = [pieces[0].start]
    for piece in pieces:
        if isinstance(piece, Arc):
            points += [point_along(piece, share) for share in (0.25, 0.5, 0.75)]
        points.append(piece.end)
    counted = [p for p in points if corner is None or math.dist(p, corner) > _POKE]
    counted = counted if len(counted) > 2 else points
    if _far_from_circle(counted):
        return None
    found = circle_through(np.array([complex(*p) for p in counted]))
    if found is None:
        return None
    middle, radius = found
    if radius > _LARGEST_FILLET:
        return None
    away = [complex(*p) - middle for p in points]
    if max(abs(abs(complex(*p) - middle) - radius) for p in counted) > _STRAY:
        return None
    if max(abs(abs(one) - radius) for one in away) > _POKE:
        return None
    # Vertices may step back by what they stray.
    back = 2 * _STRAY / radius
    sweep = 0.0
    for one, other in pairwise(away):
        quotient = other * one.conjugate()
        step = math.atan2(quotient.imag, quotient.real) * (-1 if clockwise else 1)
        if step < -back or (step > _WIDEST and not arcs):
            return None
        sweep += step
    if arcs and any(_coarse(piece, radius) for piece in pieces):
        return None
    return (middle.real, middle.imag), radius, sweep


def _far_from_circle(points: Sequence[Point]) -> bool:
    """Whether points stray widely from the circle through their first, middle and last: a quick no."""
    first, middle, last = (complex(*points[k]) for k in (0, len(points) // 2, -1))
    a, b = middle - first, last - first
    cross = 2 * (a.real * b.imag - a.imag * b.real)
    if cross == 0:
        return False
    away = (
        complex(b.imag * abs(a) ** 2 - a.imag * abs(b) ** 2, a.real * abs(b) ** 2 - b.real * abs(a) ** 2)
        / cross
    )
    radius, centre = abs(away), first + away
    return any(abs(abs(complex(*point) - centre) - radius) > _FAR for point in points)


def _coarse(piece: Segment, radius: float) -> bool:
    return isinstance(piece, Line) and segment_length(piece) > 2 * radius * math.sin(_WIDEST / 2)


def _relief(
    centre: Point,
    radius: float,
    sweep: float,
    turn: float,
    corner: Point,
    taken: tuple[float, float],
    walls: tuple[Line, Line],
) -> Rounding | None:
    if (
        not _SMALLEST_RELIEF <= radius <= LARGEST_RELIEF
        or sweep < _SWEEP
        or not _LEAST_TURN <= -turn <= _MOST_TURN
    ):
        return None
    if max(taken) > _REACH * radius:
        return None
    rim = math.dist(centre, corner) - radius
    if rim > _SHARE * radius * (1 / math.sin((math.pi + turn) / 2) - 1):
        return None
    if rim < -max(_PAST, _PAST_SHARE * radius):
        return Rounding("centred", radius, corner)
    (ux, uy), (x, y) = arriving(walls[0]), (centre[0] - corner[0], centre[1] - corner[1])
    aside = math.atan2(uy * x - ux * y, -ux * x - uy * y)
    if not math.pi / 2 + turn - _ASKEW <= aside <= math.pi / 2 + _ASKEW:
        return None
    for wall, distance in zip(walls, taken, strict=True):
        if segment_length(wall) < max(_KNOWN * distance, _KNOWN * radius):
            return Rounding("short wall", radius, corner)
    return Rounding("relief", radius, corner)


def _fillet(
    centre: Point,
    radius: float,
    turn: float,
    corner: Point,
    taken: tuple[float, float],
    walls: tuple[Line, Line],
    pieces: Sequence[Segment],
) -> Rounding | None:
    if not _FILLET_TURNS[0] <= abs(turn) <= _FILLET_TURNS[1]:
        return None
    chord = max((segment_length(piece) for piece in pieces if isinstance(piece, Line)), default=0.0)
    tangent = radius * math.tan(abs(turn) / 2)
    side = 1 if turn > 0 else -1
    for wall, distance in zip(walls, taken, strict=True):
        ux, uy = arriving(wall)
        across = (ux * (centre[1] - wall.start[1]) - uy * (centre[0] - wall.start[0])) * side
        if abs(across - radius) > _TANGENT or segment_length(wall) < _WALL * chord:
            return None
        if abs(distance - tangent) > max(_TANGENT, 0.1 * tangent) + chord / 2:
            return None
    return Rounding("fillet", radius, corner)
