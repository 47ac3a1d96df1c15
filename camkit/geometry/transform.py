"""Moving, turning, mirroring and scaling paths."""

from __future__ import annotations

import math
from dataclasses import dataclass

from camkit.geometry.path import Arc, Line, Path, Point

__all__ = ["Placement", "moved", "moved_point"]


@dataclass(frozen=True, slots=True)
class Placement:
    """Scale about the origin, then mirror (u becomes -u), turn counter-clockwise, shift by (x, y) mm."""

    x: float = 0.0
    y: float = 0.0
    turn_deg: float = 0.0
    mirrored: bool = False
    scale: float = 1.0


# Quarter turns are exact: cos(90 degrees) in floating point is not 0, and a square part must stay square.
_QUARTERS = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}


def moved_point(point: Point, placement: Placement) -> Point:
    """Where the placement puts a point."""
    turn = placement.turn_deg % 360.0
    cos, sin = _QUARTERS.get(turn) or (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    u, v = point[0] * placement.scale, point[1] * placement.scale
    if placement.mirrored:
        u = -u
    return (u * cos - v * sin + placement.x, u * sin + v * cos + placement.y)


def moved(path: Path, placement: Placement) -> Path:
    """The path after the placement; a mirrored arc turns the other way."""
    if placement == Placement():
        return path

    def at(point: Point) -> Point:
        return moved_point(point, placement)

    return Path(
        tuple(
            Arc(at(s.start), at(s.end), at(s.centre), s.clockwise != placement.mirrored)
            if isinstance(s, Arc)
            else Line(at(s.start), at(s.end))
            for s in path.segments
        )
    )
