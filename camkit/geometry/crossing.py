"""Where two curves that carry a path's pieces cross: straight lines and circles, touching ones included."""

from __future__ import annotations

import math
from dataclasses import dataclass

from camkit.geometry.path import Point

__all__ = ["Carrier", "Ring", "Straight", "crossing", "crossings"]


@dataclass(frozen=True, slots=True)
class Straight:
    """The endless line through `point` along the unit vector `direction`."""

    point: Point
    direction: Point


@dataclass(frozen=True, slots=True)
class Ring:
    """The whole circle about `centre`."""

    centre: Point
    radius: float


Carrier = Straight | Ring


def _foot(line: Straight, point: Point) -> Point:
    (px, py), (dx, dy) = line.point, line.direction
    along = (point[0] - px) * dx + (point[1] - py) * dy
    return (px + along * dx, py + along * dy)


def _onto(carrier: Carrier, point: Point) -> Point:
    """The nearest point of the curve."""
    if isinstance(carrier, Straight):
        return _foot(carrier, point)
    (cx, cy), reach = carrier.centre, math.dist(carrier.centre, point)
    if reach == 0:
        return (cx + carrier.radius, cy)
    share = carrier.radius / reach
    return (cx + (point[0] - cx) * share, cy + (point[1] - cy) * share)


def _line_line(a: Straight, b: Straight) -> list[Point]:
    cross = a.direction[0] * b.direction[1] - a.direction[1] * b.direction[0]
    if abs(cross) < 1e-9:
        return []
    dx, dy = b.point[0] - a.point[0], b.point[1] - a.point[1]
    along = (dx * b.direction[1] - dy * b.direction[0]) / cross
    return [(a.point[0] + along * a.direction[0], a.point[1] + along * a.direction[1])]


# Curves that only touch miss or cut each other by rounding; up to this they count as touching.
_TOUCH = 1e-5


def _line_ring(line: Straight, ring: Ring) -> list[Point]:
    foot = _foot(line, ring.centre)
    away = math.dist(foot, ring.centre)
    if abs(away - ring.radius) <= _TOUCH:
        return [foot]
    if away > ring.radius:
        return []
    half = math.sqrt(ring.radius**2 - away**2)
    dx, dy = line.direction
    return [(foot[0] + half * dx, foot[1] + half * dy), (foot[0] - half * dx, foot[1] - half * dy)]


def _ring_ring(a: Ring, b: Ring) -> list[Point]:
    apart = math.dist(a.centre, b.centre)
    if apart < 1e-9:
        return []
    ux, uy = (b.centre[0] - a.centre[0]) / apart, (b.centre[1] - a.centre[1]) / apart
    along = (apart**2 + a.radius**2 - b.radius**2) / (2 * apart)
    foot = (a.centre[0] + along * ux, a.centre[1] + along * uy)
    if abs(abs(along) - a.radius) <= _TOUCH:
        return [_onto(a, foot)]
    if abs(along) > a.radius:
        return []
    half = math.sqrt(a.radius**2 - along**2)
    return [(foot[0] - half * uy, foot[1] + half * ux), (foot[0] + half * uy, foot[1] - half * ux)]


def crossings(a: Carrier, b: Carrier) -> list[Point]:
    """All points that two curves share (one when they touch); none when parallel, apart or the same."""
    if isinstance(a, Straight):
        return _line_line(a, b) if isinstance(b, Straight) else _line_ring(a, b)
    return _line_ring(b, a) if isinstance(b, Straight) else _ring_ring(a, b)


def _normal(carrier: Carrier, point: Point) -> Point:
    if isinstance(carrier, Straight):
        return (-carrier.direction[1], carrier.direction[0])
    reach = math.dist(carrier.centre, point) or 1.0
    return ((point[0] - carrier.centre[0]) / reach, (point[1] - carrier.centre[1]) / reach)


def crossing(a: Carrier, b: Carrier, near: Point, within: float, at_most: float) -> tuple[Point, Point]:
    """Where one curve is left and the next one entered, as near as possible to `near`.

    Both points are the crossing when one lies close enough: `within` mm across the curves, which is further
    along them the flatter they meet, though never above `at_most`. Otherwise (collinear lines, or a true
    junction that was clipped away) they are the places on either curve nearest to `near`.
    """
    found = min(crossings(a, b), key=lambda point: math.dist(point, near), default=None)
    if found is not None:
        (ax, ay), (bx, by) = _normal(a, found), _normal(b, found)
        steepness = max(abs(ax * by - ay * bx), 0.01)
        if math.dist(found, near) <= min(within / steepness, max(within, at_most)):
            return found, found
    return _onto(a, near), _onto(b, near)
