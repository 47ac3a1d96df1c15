"""One arc through two points, and one circle through many; in mm."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.path import Arc, Line, Point, Segment, arc_sweep
from camkit.geometry.tolerance import SAME_POINT

__all__ = ["arc_through", "circle_through", "is_flat"]

# An arc flatter than this is a line: its bow could not be seen in any program.
_FLAT = 1e-6
# Exporters write such radii for straight lines; a bow of half a micrometre is then noise.
_STRAIGHT_RADIUS, _STRAIGHT_BOW = 1e5, 5e-4


def is_flat(bow: float, radius: float) -> bool:
    """Whether an arc that leaves its chord by `bow` is a line."""
    return bow < (_STRAIGHT_BOW if radius > _STRAIGHT_RADIUS else _FLAT)


def arc_through(start: Point, end: Point, centre: Point, clockwise: bool) -> tuple[Segment, ...]:
    """The arc from start to end about (nearly) that centre, which is moved so that both radii agree.

    The centre moves onto the perpendicular bisector of the chord. An arc of more than three quarters comes
    as two, so that moving its ends later turns neither of them over. Flat arcs come as a line, arcs without
    length as nothing.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    if chord <= SAME_POINT:
        return ()
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    along = ((centre[0] - middle[0]) * dx + (centre[1] - middle[1]) * dy) / chord**2
    cx, cy = centre[0] - along * dx, centre[1] - along * dy
    arc = Arc(start, end, (cx, cy), clockwise)
    sweep, radius = arc_sweep(arc), arc.radius
    if is_flat(2 * radius * math.sin(min(sweep, math.pi) / 4) ** 2, radius):
        return (Line(start, end),)
    if sweep <= 1.5 * math.pi:
        return (arc,)
    turn = math.atan2(start[1] - cy, start[0] - cx) + (-sweep if clockwise else sweep) / 2
    half = (cx + radius * math.cos(turn), cy + radius * math.sin(turn))
    return (Arc(start, half, (cx, cy), clockwise), Arc(half, end, (cx, cy), clockwise))


def circle_through(points: NDArray[np.complex128]) -> tuple[complex, float] | None:
    """Centre and radius of the circle nearest to points (x + y j); None when they lie on a line.

    Least squares for x^2 + y^2 = 2 a x + 2 b y + c (Kasa's fit), exact for points on a circle.
    """
    if len(points) < 3:
        return None
    middle = complex(points.mean())
    near = points - middle
    u, v = near.real, near.imag
    power = u * u + v * v
    uu, uv, vv = float(u @ u), float(u @ v), float(v @ v)
    pu, pv = float(power @ u) / 2, float(power @ v) / 2
    room = uu * vv - uv * uv
    if room <= 1e-14 * (uu + vv) ** 2:
        return None
    a, b = (pu * vv - pv * uv) / room, (pv * uu - pu * uv) / room
    return middle + complex(a, b), math.sqrt(a * a + b * b + float(power.mean()))
