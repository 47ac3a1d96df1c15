"""Plates as solids, square to one another, and how deep two of them would overlap; lengths in mm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from shapely import LineString, box, get_coordinates
from shapely.geometry.base import BaseGeometry

__all__ = ["Solid", "gaps", "overlap"]

_FAR = 1e5


@dataclass(frozen=True)
class Solid:
    """A plate: `area` in the two other axes, in their order, from `low` to `low + thickness` along `axis`."""

    name: str
    axis: int
    area: BaseGeometry
    low: float
    thickness: float

    @property
    def slab(self) -> tuple[float, float]:
        """From face to face."""
        return self.low, self.low + self.thickness

    def axes(self) -> list[int]:
        """The axes of its area."""
        return [axis for axis in range(3) if axis != self.axis]


def overlap(one: Solid, other: Solid) -> float:
    """How deep two plates overlap: the least of the three sizes of what they would share; 0 where they touch.

    Plates at right angles share an axis. Along it, runs are sought where both have wood in the slab of
    the other.
    """
    if one.axis == other.axis:
        shared = one.area.intersection(other.area)
        thick = min(one.slab[1], other.slab[1]) - max(one.slab[0], other.slab[0])
        if shared.area <= 0 or thick <= 0:
            return 0.0
        x0, y0, x1, y1 = shared.bounds
        return float(min(thick, x1 - x0, y1 - y0))
    (along,) = set(range(3)) - {one.axis, other.axis}
    first, second = _wood(one, other, along), _wood(other, one, along)
    places = sorted({*first[0], *second[0]})
    deepest, run, widest = 0.0, 0.0, [0.0, 0.0]
    for low, high in pairwise(places):
        widths = [wood((low + high) / 2) for wood in (first[1], second[1])]
        if high - low > 1e-9 and min(widths) > 1e-9:
            run += high - low
            widest = [max(two) for two in zip(widest, widths, strict=True)]
            deepest = max(deepest, min(run, *widest))
        elif high - low > 1e-9:
            run, widest = 0.0, [0.0, 0.0]
    return deepest


def _wood(solid: Solid, other: Solid, along: int) -> tuple[list[float], Callable[[float], float]]:
    """Where along the shared axis the solid changes within the other's slab, and how wide it is there."""
    low, high = other.slab
    first = solid.axes()[0] == along
    area = box(-_FAR, low, _FAR, high) if first else box(low, -_FAR, high, _FAR)
    inside = solid.area.intersection(area)

    def wide(place: float) -> float:
        line = [(place, -_FAR), (place, _FAR)] if first else [(-_FAR, place), (_FAR, place)]
        return float(inside.intersection(LineString(line)).length)

    return [float(v) for v in get_coordinates(inside)[:, 0 if first else 1]], wide


def gaps(area: BaseGeometry, place: float, across: float, *, upright: bool = False) -> tuple[float, float]:
    """The walls of the opening around `place` on the line at `across`: along x, or along y if `upright`."""
    ends = [(across, -_FAR), (across, _FAR)] if upright else [(-_FAR, across), (_FAR, across)]
    wood = area.intersection(LineString(ends))
    runs = sorted(
        (float(min(c[k] for c in piece.coords)), float(max(c[k] for c in piece.coords)))
        for piece in getattr(wood, "geoms", [wood])
        for k in (1 if upright else 0,)
    )
    return max(end for _, end in runs if end < place), min(start for start, _ in runs if start > place)
