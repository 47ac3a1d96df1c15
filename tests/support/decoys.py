"""Loops with curves at or near their corners that are no reliefs; each comes with whether it is hollow."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import shapely
import shapely.affinity

from camkit.geometry.path import Arc, Line, Path, Point, polygon
from support.drawn_corners import Way, convex_corners, with_corners

__all__ = ["DECOYS", "decoy"]

Decoy = tuple[Path, bool]


def _fillets(chance: random.Random) -> Decoy:
    """Decorative fillets in openings and outlines, of the size of cutters."""
    radius = chance.uniform(0.6, 8)
    corners = convex_corners(chance, 5 * radius)
    ways: list[Way] = [chance.choice(("fillet", "fillet", "sharp")) for _ in corners]
    path = with_corners(corners, ways, radius)
    return path, chance.random() < 0.7


def _concave_fillets(chance: random.Random) -> Decoy:
    """An outline with a step whose inside corner is rounded."""
    radius, turn = chance.uniform(0.6, 8), math.radians(chance.uniform(-55, 55))
    x, y = chance.uniform(30, 90), chance.uniform(30, 90)
    corners = [(0, 0), (120, 0), (120, y), (x + math.tan(turn) * 40, y), (x, y + 40), (0, y + 40)]
    ways: list[Way] = ["sharp", "sharp", "sharp", "fillet", "sharp", "sharp"]
    return with_corners(corners, ways, radius), False


def _turned(shape: shapely.Geometry, chance: random.Random) -> shapely.Polygon:
    shape = shapely.affinity.rotate(shape, chance.choice((0, 90, chance.uniform(0, 360))), origin=(0, 0))
    assert isinstance(shape, shapely.Polygon)
    return shape


def _path(shape: shapely.Polygon) -> Path:
    return polygon(shape.exterior.coords[:-1])


def _disc(at: Point, radius: float, chance: random.Random) -> shapely.Polygon:
    return shapely.Point(at).buffer(radius, quad_segs=chance.choice((4, 6, 8, 16, 32)))


def _u_slot(chance: random.Random) -> Decoy:
    """A slot with round ends, or a notch with a round bottom; some widen towards the mouth."""
    radius, long = chance.uniform(0.6, 8), chance.uniform(20, 120)
    if chance.random() < 0.5:
        return _path(
            _turned(shapely.LineString([(0, 0), (long, 0)]).buffer(radius, quad_segs=12), chance)
        ), True
    wide = chance.choice((0, chance.uniform(0, 8)))
    body = shapely.box(-60, -30, 60, 120)
    slot = shapely.Polygon(
        [(-radius - wide, 121), (-radius, 120 - long), (radius, 120 - long), (radius + wide, 121)]
    )
    return _path(_turned(body - slot - _disc((0, 120 - long), radius, chance), chance)), False


def _keyhole(chance: random.Random) -> Decoy:
    """A round hole with a narrower slot, inside a part or from its edge."""
    radius = chance.uniform(1.5, 8)
    half, long = radius * chance.uniform(0.3, 0.9), chance.uniform(2, 12) * radius
    shape = shapely.box(-half, 0, half, long) | _disc((0, 0), radius, chance)
    if chance.random() < 0.5:
        return _path(_turned(shape, chance)), True
    return _path(_turned(shapely.box(-60, -30, 60, long - 0.5) - shape, chance)), False


def _notch(chance: random.Random) -> Decoy:
    """Square, long and pointed notches in the corners of an opening, or in an outline's edge."""
    a, b = chance.uniform(0.8, 8), chance.uniform(0.8, 8)
    wide, high = chance.uniform(20, 90), chance.uniform(20, 90)
    if chance.random() < 0.5:
        shape = shapely.box(0, 0, wide, high)
        for x, y in ((0, 0), (wide, 0), (wide, high), (0, high)):
            shape |= shapely.box(x - a, y - b, x + a, y + b)
        return _path(_turned(shape, chance)), True
    dent = chance.choice((shapely.box(-a, 30 - b, a, 31), shapely.Polygon([(-a, 31), (0, 30 - b), (a, 31)])))
    return _path(_turned(shapely.box(-50, -30, 50, 30) - dent, chance)), False


def _scoop(chance: random.Random) -> Decoy:
    """Round bites out of an edge, or out of an outline's convex corners."""
    radius = chance.uniform(0.8, 8)
    body = shapely.box(0, 0, 90, 60)
    if chance.random() < 0.5:
        at = (chance.uniform(15, 75), 60 + chance.uniform(-0.9, 0.9) * radius)
        return _path(_turned(body - _disc(at, radius, chance), chance)), False
    for x, y in ((0, 0), (90, 0), (90, 60), (0, 60)):
        body -= _disc((x, y), radius, chance)
    return _path(_turned(body, chance)), False


def _finger_pull(chance: random.Random) -> Decoy:
    """An opening with round bays in the middle of its sides."""
    radius, wide, high = chance.uniform(0.8, 8), chance.uniform(40, 90), chance.uniform(40, 90)
    shape = shapely.box(0, 0, wide, high)
    shape |= _disc((wide / 2, -chance.uniform(-0.9, 0.9) * radius), radius, chance)
    shape |= _disc((0, high * chance.uniform(0.3, 0.7)), radius, chance)
    return _path(_turned(shape, chance)), True


def _cable_hole(chance: random.Random) -> Decoy:
    """One hole about an inside corner: of an outline, or of an opening whose other corners are sharp."""
    radius = chance.uniform(2, 8)
    off = (chance.uniform(-0.2, 0.2) * radius, chance.uniform(-0.2, 0.2) * radius)
    if chance.random() < 0.5:
        body = shapely.box(0, 0, 90, 90) - shapely.box(30, 30, 91, 91)
        return _path(_turned(body - _disc((30 + off[0], 30 + off[1]), radius, chance), chance)), False
    return _path(_turned(shapely.box(0, 0, 80, 50) | _disc(off, radius, chance), chance)), True


def _polygon(chance: random.Random) -> Decoy:
    """Regular polygons, and circles in coarse facets."""
    count, radius, turn = chance.randint(3, 60), chance.uniform(0.6, 60), chance.uniform(0, 7)
    around = [turn + 2 * math.pi * k / count for k in range(count)]
    return polygon([(radius * math.cos(a), radius * math.sin(a)) for a in around]), chance.random() < 0.5


def _waves(chance: random.Random) -> Decoy:
    """A free curve of many chords."""
    count = chance.randint(40, 250)
    harmonics = [(chance.uniform(0, 9), chance.uniform(0, 7), k) for k in range(2, 9)]
    points = []
    for step in range(count):
        angle = 2 * math.pi * step / count
        radius = 45 + sum(size / k * math.sin(k * angle + phase) for size, phase, k in harmonics)
        points.append((radius * math.cos(angle), radius * math.sin(angle)))
    return polygon(points), chance.random() < 0.5


def _chamfers(chance: random.Random) -> Decoy:
    """Corners broken by one, two or three straight cuts."""
    size, cuts = chance.uniform(0.5, 9), chance.randint(1, 3)
    shape = shapely.box(0, 0, chance.uniform(30, 90), chance.uniform(30, 90))
    inner = shape.buffer(-size).buffer(size, quad_segs=cuts)
    return _path(_turned(inner, chance)), chance.random() < 0.6


def _ellipses(chance: random.Random) -> Decoy:
    """Elliptic corners and whole ellipses."""
    long, short = chance.uniform(3, 20), chance.uniform(1, 6)
    round_ = shapely.affinity.scale(shapely.Point(0, 0).buffer(1, quad_segs=12), long, short)
    if chance.random() < 0.3:
        return _path(_turned(round_, chance)), True
    places = [(0, 0), (60, 0), (60, 40), (0, 40)]
    shape = shapely.union_all([shapely.affinity.translate(round_, *place) for place in places]).convex_hull
    return _path(_turned(shape, chance)), chance.random() < 0.6


def _stars(chance: random.Random) -> Decoy:
    """A star with an arc of any kind in every side, some near its corners."""
    count = chance.randint(4, 16)
    angles = [2 * math.pi * (k + chance.uniform(0.1, 0.9)) / count for k in range(count)]
    radii = [chance.uniform(15, 60) for _ in angles]
    corners = [(r * math.cos(a), r * math.sin(a)) for a, r in zip(angles, radii, strict=True)]
    segments: list[Line | Arc] = []
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        first = chance.uniform(0.03, 0.5)
        last = chance.uniform(first + 0.05, 0.97)
        p, q = (tuple(s + (t - s) * cut for s, t in zip(a, b, strict=True)) for cut in (first, last))
        size = math.dist(p, q)
        away = chance.uniform(-1.0, 1.0) * size
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        centre = (middle[0] - away * (q[1] - p[1]) / size, middle[1] + away * (q[0] - p[0]) / size)
        segments += [Line(a, p), Arc(p, q, centre, chance.random() < 0.5), Line(q, b)]
    return Path(tuple(segments)), chance.random() < 0.5


DECOYS: dict[str, Callable[[random.Random], Decoy]] = {
    "fillets": _fillets,
    "inside fillets of outlines": _concave_fillets,
    "U-slots": _u_slot,
    "keyholes": _keyhole,
    "notches": _notch,
    "scoops": _scoop,
    "finger pulls": _finger_pull,
    "cable holes": _cable_hole,
    "polygons": _polygon,
    "free curves": _waves,
    "chamfers": _chamfers,
    "ellipses": _ellipses,
    "stars": _stars,
}


def decoy(kind: str, seed: int) -> Decoy:
    """A loop of that kind, the same for the same seed."""
    return DECOYS[kind](random.Random(f"{kind} {seed}"))
