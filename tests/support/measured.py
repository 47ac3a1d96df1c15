"""Sizes read off the wood that a program leaves, along lines laid through it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from shapely import LineString, Point, box
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from support.replayed import depth_in

__all__ = ["gap", "gaps_across", "gaps_along", "level", "pushed", "runs", "seats", "straightened", "top"]

FAR = 2000.0
Span = tuple[float, float]


def straightened(wood: BaseGeometry, turn_deg: float, x: float = 0.0, y: float = 0.0) -> BaseGeometry:
    """The wood as seen in a joint's own frame: origin at (x, y), turned by `turn_deg`."""
    return rotate(translate(wood, -x, -y), -turn_deg, origin=(0, 0))


def gap(wood: BaseGeometry, line: LineString) -> Span:
    """Where the free run around a line's middle begins and ends, from the middle; (0, 0) in wood."""
    free = line.difference(wood)
    middle = line.interpolate(0.5, normalized=True)
    run = next((r for r in getattr(free, "geoms", [free]) if r.distance(middle) < 1e-6), None)
    if run is None or run.is_empty:
        return (0.0, 0.0)
    ends = sorted(line.project(Point(p)) for p in (run.coords[0], run.coords[-1]))
    return ends[0] - line.length / 2, ends[1] - line.length / 2


def gaps_across(wood: BaseGeometry, places: Iterable[float], reach: float, about: float = 0.0) -> list[Span]:
    """The free run along y at each x, around y = `about`."""
    lines = [LineString([(x, about - reach), (x, about + reach)]) for x in places]
    return [(a + about, b + about) for a, b in (gap(wood, line) for line in lines)]


def gaps_along(wood: BaseGeometry, heights: Iterable[float], reach: float, about: float = 0.0) -> list[Span]:
    """The free run along x at each y, around x = `about`."""
    lines = [LineString([(about - reach, y), (about + reach, y)]) for y in heights]
    return [(a + about, b + about) for a, b in (gap(wood, line) for line in lines)]


def runs(wood: BaseGeometry, y: float) -> list[Span]:
    """Where a level line runs in wood, from left to right."""
    cut = wood.intersection(LineString([(-FAR, y), (FAR, y)]))
    pieces = [piece.bounds for piece in getattr(cut, "geoms", [cut]) if piece.length > 1e-6]
    return sorted((b[0], b[2]) for b in pieces)


def top(wood: BaseGeometry, x: float) -> float:
    """The highest wood at x; -inf where there is none."""
    cut = wood.intersection(LineString([(x, -FAR), (x, FAR)]))
    return -math.inf if cut.is_empty else float(cut.bounds[3])


def level(wood: BaseGeometry, x0: float, x1: float, count: int = 41) -> float:
    """The highest wood between x0 and x1, where something flat would come to rest."""
    return max(top(wood, x0 + (x1 - x0) * i / (count - 1)) for i in range(count))


def pushed(room: float) -> tuple[float, ...]:
    """From one wall to the other in three steps; only the middle where it is tight."""
    return (-room / 2, 0.0, room / 2) if room > 0 else (0.0,)


def seats(wood: BaseGeometry, size: Sequence[float], middle: Sequence[float], room: Sequence[float]) -> float:
    """How deep a rectangle overlaps the wood at worst, pushed about within `room` around `middle`."""
    w, h = size[0] / 2, size[1] / 2
    shifts = itertools.product(pushed(room[0]), pushed(room[1]))
    at = [(middle[0] + u, middle[1] + v) for u, v in shifts]
    return max(depth_in(wood, box(x - w, y - h, x + w, y + h)) for x, y in at)
