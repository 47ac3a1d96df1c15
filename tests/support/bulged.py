"""Closed outlines as corners with bulges, measured by closed formulas: a yardstick for whatever reads them.

Nothing here uses camkit's own geometry, so that one mistake cannot sit on both sides. A loop is a tuple of
corners (x, y, bulge); the bulge belongs to the way from this corner to the next and is tan(sweep / 4),
positive when it runs counter-clockwise (DXF reference, LWPOLYLINE, group code 42).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from camkit.geometry.path import Arc, Path
from camkit.part import Part

__all__ = [
    "Corner",
    "Drawing",
    "Loop",
    "Motion",
    "Piece",
    "Round",
    "area_of",
    "assert_same_parts",
    "exact_area",
    "loop_polygon",
    "path_polygon",
    "ways",
]

Corner = tuple[float, float, float]
Loop = tuple[Corner, ...]
Round = tuple[float, float, float]  # x, y, diameter
FINE = 3e-4  # sagitta of the chords used for comparing, mm


@dataclass(frozen=True)
class Piece:
    """A part as it was meant: outline, openings and round holes."""

    outline: Loop
    openings: tuple[Loop, ...] = ()
    holes: tuple[Round, ...] = ()


Drawing = tuple[Piece, ...]


@dataclass(frozen=True)
class Motion:
    """Mirror (x to -x) first, then scale, turn, move."""

    turn_deg: float = 0.0
    mirrored: bool = False
    scale: float = 1.0
    x: float = 0.0
    y: float = 0.0

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Where a point comes to lie."""
        u, v = (-x if self.mirrored else x) * self.scale, y * self.scale
        cos, sin = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        return (self.x + u * cos - v * sin, self.y + u * sin + v * cos)

    def loop(self, loop: Loop) -> Loop:
        """The loop after the motion; a mirror turns every bulge the other way."""
        return tuple((*self.point(x, y), -bulge if self.mirrored else bulge) for x, y, bulge in loop)

    def round(self, hole: Round) -> Round:
        """The hole after the motion."""
        return (*self.point(hole[0], hole[1]), hole[2] * self.scale)

    def piece(self, piece: Piece) -> Piece:
        """The piece after the motion."""
        return Piece(
            self.loop(piece.outline),
            tuple(self.loop(loop) for loop in piece.openings),
            tuple(self.round(hole) for hole in piece.holes),
        )

    def undone(self, piece: Piece) -> Piece:
        """The piece that this motion brings to `piece`."""
        moved_back = Motion(x=-self.x, y=-self.y).piece(piece)
        turned_back = Motion(turn_deg=-self.turn_deg).piece(moved_back)
        return Motion(scale=1 / self.scale, mirrored=self.mirrored).piece(turned_back)


def ways(loop: Loop) -> Iterable[tuple[Corner, Corner]]:
    """Each corner with the one after it."""
    return zip(loop, loop[1:] + loop[:1], strict=True)


def area_of(loop: Loop) -> float:
    """Area inside, always positive: Green's theorem for the corners, a circular segment for every bulge.

    Segment of radius r and sweep t: r^2 (t - sin t) / 2, with t = 4 atan(bulge) and r = chord / (2 sin(t/2)).
    """
    total = 0.0
    for (ax, ay, bulge), (bx, by, _) in ways(loop):
        total += (ax * by - bx * ay) / 2
        if bulge:
            sweep = 4 * math.atan(bulge)
            radius = math.dist((ax, ay), (bx, by)) / 2 / math.sin(sweep / 2)
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return abs(total)


def _arc_points(
    start: tuple[float, float], centre: tuple[float, float], sweep: float, sagitta: float
) -> list[tuple[float, float]]:
    radius = math.dist(start, centre)
    step = 2 * math.acos(max(0.0, 1 - sagitta / radius)) if radius > sagitta else math.pi / 2
    count = max(1, math.ceil(abs(sweep) / step))
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    angles = first + sweep * np.arange(count) / count
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def loop_polygon(loop: Loop, sagitta: float = FINE) -> Polygon:
    """The loop as a polygon of fine chords."""
    points: list[tuple[float, float]] = []
    for (ax, ay, bulge), (bx, by, _) in ways(loop):
        if not bulge:
            points.append((ax, ay))
            continue
        shift = (1 - bulge**2) / (4 * bulge)  # from the chord's middle to the centre, in chords to the left
        centre = ((ax + bx) / 2 - (by - ay) * shift, (ay + by) / 2 + (bx - ax) * shift)
        points += _arc_points((ax, ay), centre, 4 * math.atan(bulge), sagitta)
    return Polygon(points)


def _sweep(arc: Arc) -> float:
    a, b = (math.atan2(p[1] - arc.centre[1], p[0] - arc.centre[0]) for p in (arc.start, arc.end))
    return -((a - b) % math.tau) if arc.clockwise else (b - a) % math.tau


def path_polygon(path: Path, sagitta: float = FINE) -> Polygon:
    """A path that was read, as a polygon of fine chords."""
    points: list[tuple[float, float]] = []
    for s in path.segments:
        points += _arc_points(s.start, s.centre, _sweep(s), sagitta) if isinstance(s, Arc) else [s.start]
    return Polygon(points)


def exact_area(path: Path) -> float:
    """Area inside a path that was read, arcs exact, always positive."""
    return area_of(
        tuple((*s.start, math.tan(_sweep(s) / 4) if isinstance(s, Arc) else 0.0) for s in path.segments)
    )


def _apart(read: Polygon, meant: Polygon) -> float:
    return float(read.exterior.hausdorff_distance(meant.exterior))


def _assert_same_loops(read: list[Path], meant: list[Loop], within: float, what: str) -> None:
    assert len(read) == len(meant), f"{len(read)} {what}s were read, {len(meant)} were drawn"
    left = [(path, path_polygon(path)) for path in read]
    for loop in meant:
        target = loop_polygon(loop)
        found = min(left, key=lambda pair: pair[1].centroid.distance(target.centroid))
        left.remove(found)
        distance = _apart(found[1], target)
        assert distance <= within, f"{what} near {target.centroid} lies {distance:.4f} mm off"
        allowed = within * target.length
        assert abs(exact_area(found[0]) - area_of(loop)) <= allowed, (
            f"area of the {what} near {target.centroid}"
        )


def _assert_same_holes(part: Part, piece: Piece, within: float) -> None:
    assert len(part.holes) == len(piece.holes), f"{len(part.holes)} holes, {len(piece.holes)} were drawn"
    left = list(part.holes)
    for x, y, diameter in piece.holes:
        found = min(left, key=lambda hole: math.dist(hole.centre, (x, y)))
        left.remove(found)
        assert math.dist(found.centre, (x, y)) <= within, f"hole at ({x:.3f}, {y:.3f}) read at {found.centre}"
        assert abs(found.diameter - diameter) <= within, f"hole of {diameter} read as {found.diameter}"
        assert found.depth is None


def assert_same_parts(parts: Iterable[Part], drawing: Drawing, within: float = 0.005) -> None:
    """Each piece was read once, each outline and opening within `within` mm of what was drawn."""
    left = [(part, path_polygon(part.outline)) for part in parts]
    assert len(left) == len(drawing), f"{len(left)} parts were read, {len(drawing)} were drawn"
    for piece in drawing:
        target = loop_polygon(piece.outline)
        found = min(left, key=lambda pair: pair[1].centroid.distance(target.centroid))
        left.remove(found)
        part = found[0]
        assert not part.pockets
        _assert_same_loops([part.outline], [piece.outline], within, "outline")
        _assert_same_loops(list(part.openings), list(piece.openings), within, "opening")
        _assert_same_holes(part, piece, within)
