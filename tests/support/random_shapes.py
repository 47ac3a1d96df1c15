"""Random closed outlines of lines and arcs for property tests; the same seed gives the same shape."""

from __future__ import annotations

import math
import random

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, Line, Path, Point, Region, Segment, region

__all__ = ["bowed", "random_region"]


def bowed(a: Point, b: Point, sagitta: float) -> Segment:
    """An arc from a to b that bows `sagitta` to the right of the chord; a line when the bow is slight."""
    chord = math.dist(a, b)
    if abs(sagitta) < 0.01 * chord:
        return Line(a, b)
    ux, uy = (b[0] - a[0]) / chord, (b[1] - a[1]) / chord
    radius = (chord**2 / 4 + sagitta**2) / (2 * sagitta)
    centre = (
        (a[0] + b[0]) / 2 - uy * (radius - sagitta),
        (a[1] + b[1]) / 2 + ux * (radius - sagitta),
    )
    return Arc(a, b, centre, sagitta < 0)


def random_region(seed: int) -> Region | None:
    """A star of 3 to 14 corners about the origin, 15 to 90 mm out; None when it crosses itself."""
    chance = random.Random(seed)
    angles = sorted(chance.uniform(0, 2 * math.pi) for _ in range(chance.randint(3, 14)))
    corners = [(math.cos(a) * chance.uniform(15, 90), math.sin(a) * chance.uniform(15, 90)) for a in angles]
    segments: list[Segment] = []
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        if math.dist(a, b) < 1:
            return None
        bow = chance.uniform(-0.4, 0.4) if chance.random() < 0.4 else 0.0
        segments.append(bowed(a, b, bow * math.dist(a, b)))
    outline = Path(tuple(segments))
    shape = as_polygon(outline, 0.0005)
    return region(outline) if shape.is_valid and shape.area >= 100 else None
