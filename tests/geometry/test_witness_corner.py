"""The dogbone in an inside corner, against its geometry by hand.

The cutter of radius r stands on the bisector at r from the corner, so that its rim passes through the corner.
In an interior angle theta it opens 2 r cos(theta / 2) of each wall and cuts r (1 - sin(theta / 2)) past it.
"""

from __future__ import annotations

import math
from itertools import product

import pytest

from camkit.geometry.corner import dogbone
from camkit.geometry.path import Arc, Line

Point = tuple[float, float]

ANGLES = (30.0, 45.0, 60.0, 90.0, 108.0, 120.0, 150.0)
RADII = (0.5, 1.5, 3.0, 3.175, 6.0)


def walls(
    theta: float, heading: float, corner: Point = (40.0, -25.0), length: float = 60.0
) -> tuple[Line, Line]:
    """Two walls of a cut-out, wood on the left: the path turns right at the corner by 180 - theta degrees."""
    h = math.radians(heading)
    out = math.radians(heading - (180 - theta))
    start = (corner[0] - length * math.cos(h), corner[1] - length * math.sin(h))
    end = (corner[0] + length * math.cos(out), corner[1] + length * math.sin(out))
    return Line(start, corner), Line(corner, end)


def bisector(before: Line, after: Line) -> Point:
    """Unit vector from the corner into the cut-out."""
    c = before.end
    u = ((before.start[0] - c[0]), (before.start[1] - c[1]))
    w = ((after.end[0] - c[0]), (after.end[1] - c[1]))
    a, b = math.hypot(*u), math.hypot(*w)
    s = (u[0] / a + w[0] / b, u[1] / a + w[1] / b)
    return (s[0] / math.hypot(*s), s[1] / math.hypot(*s))


def beyond(line: Line, point: Point) -> float:
    """How far the point lies in the wood (left of the wall)."""
    dx, dy = line.end[0] - line.start[0], line.end[1] - line.start[1]
    return (dx * (point[1] - line.start[1]) - dy * (point[0] - line.start[0])) / math.hypot(dx, dy)


@pytest.mark.parametrize(("theta", "r"), list(product(ANGLES, RADII)))
@pytest.mark.parametrize("heading", [0.0, 90.0, 200.0])
def test_the_dogbone_is_the_smallest_that_frees_the_corner(theta: float, r: float, heading: float) -> None:
    before, after = walls(theta, heading)
    corner = before.end
    lead, arc, tail = dogbone(before, after, r)
    half = math.radians(theta) / 2

    assert isinstance(lead, Line) and isinstance(arc, Arc) and isinstance(tail, Line)
    assert lead.start == before.start and tail.end == after.end
    assert lead.end == pytest.approx(arc.start, abs=1e-9)
    assert arc.end == pytest.approx(tail.start, abs=1e-9)

    # centre on the bisector at r from the corner: the rim passes through the corner
    b = bisector(before, after)
    assert arc.centre == pytest.approx((corner[0] + r * b[0], corner[1] + r * b[1]), abs=1e-9)
    assert math.dist(arc.centre, arc.start) == pytest.approx(r, abs=1e-9)
    assert math.dist(arc.centre, arc.end) == pytest.approx(r, abs=1e-9)

    # opening along each wall, on the wall
    opening = 2 * r * math.cos(half)
    assert math.dist(arc.start, corner) == pytest.approx(opening, abs=1e-9)
    assert math.dist(arc.end, corner) == pytest.approx(opening, abs=1e-9)
    assert beyond(before, arc.start) == pytest.approx(0, abs=1e-9)
    assert beyond(after, arc.end) == pytest.approx(0, abs=1e-9)

    # clockwise (the cut-out lies on the right), the long way through the corner: 2 (pi - theta)
    assert arc.clockwise
    first = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    last = math.atan2(arc.end[1] - arc.centre[1], arc.end[0] - arc.centre[0])
    sweep = (first - last) % (2 * math.pi)
    assert sweep == pytest.approx(2 * (math.pi - 2 * half), abs=1e-9)
    through = math.atan2(corner[1] - arc.centre[1], corner[0] - arc.centre[0])
    assert (first - through) % (2 * math.pi) == pytest.approx(sweep / 2, abs=1e-9)

    # the farthest point of the rim past each wall
    for wall in (before, after):
        dx, dy = wall.end[0] - wall.start[0], wall.end[1] - wall.start[1]
        d = math.hypot(dx, dy)
        deepest = (arc.centre[0] - dy / d * r, arc.centre[1] + dx / d * r)
        assert beyond(wall, deepest) == pytest.approx(r * (1 - math.sin(half)), abs=1e-9)
        angle = math.atan2(deepest[1] - arc.centre[1], deepest[0] - arc.centre[0])
        assert (first - angle) % (2 * math.pi) <= sweep


@pytest.mark.parametrize(
    ("theta", "r", "over", "opening", "area"),
    [
        (60.0, 3.0, 1.500000, 5.196152, 11.055327),
        (90.0, 3.0, 0.878680, 4.242641, 5.137167),
        (120.0, 3.0, 0.401924, 3.000000, 1.630549),
        (90.0, 3.175, 0.929936, 4.490128, 5.753984),
    ],
)
def test_the_worked_figures(theta: float, r: float, over: float, opening: float, area: float) -> None:
    before, after = walls(theta, 37.0)
    corner = before.end
    _, arc, _ = dogbone(before, after, r)
    assert math.dist(arc.start, corner) == pytest.approx(opening, abs=1e-6)
    inside = -beyond(before, arc.centre)
    assert r - inside == pytest.approx(over, abs=1e-6)
    # area beyond both walls: between the walls' ends, the corner and the arc; two segments of 180 - theta
    first = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    last = math.atan2(arc.end[1] - arc.centre[1], arc.end[0] - arc.centre[0])
    sweep = (first - last) % (2 * math.pi)
    wedge = r * r * sweep / 2
    (ax, ay), (bx, by), (mx, my), (cx, cy) = arc.start, arc.end, arc.centre, corner
    kite = abs((ax - mx) * (cy - my) - (cx - mx) * (ay - my)) / 2
    kite += abs((cx - mx) * (by - my) - (bx - mx) * (cy - my)) / 2
    assert wedge - kite == pytest.approx(area, abs=1e-5)
