"""Arcs of RS-274 text in the plane they lie in: centre, sweep, radii (NISTIR 6556, 3.5.3). Lengths in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from camkit.program.read_error import BlockError

__all__ = ["ArcWords", "centre_of", "radius_mismatch", "sweep", "swept_points"]

_Point = tuple[float, float]
# Chord error of arcs turned into straight feeds; and what keeps a huge arc from filling memory.
CHORD = 0.001
MOST_CHORDS = 10_000


@dataclass(frozen=True, slots=True)
class ArcWords:
    """How a block describes an arc: offsets from start to centre, or a radius; None is not written."""

    first: float | None = None
    second: float | None = None
    radius: float | None = None


def radius_mismatch(start: _Point, end: _Point, centre: _Point) -> float:
    """By how much the distances of start and end from the centre differ."""
    return abs(math.dist(start, centre) - math.dist(end, centre))


def centre_of(
    start: _Point, end: _Point, words: ArcWords, clockwise: bool, within: float, farthest: float
) -> _Point:
    """Centre of the arc; raises BlockError when there is none or a radius is too small by over `within`."""
    centred = words.first is not None or words.second is not None
    if centred == (words.radius is not None):
        raise BlockError(
            "an arc needs either its centre (I, J, K) or its radius R (3.5.3)", "Write one of the two"
        )
    if words.radius is not None:
        centre = _centre_by_radius(start, end, words.radius, clockwise, within)
    else:
        centre = (start[0] + (words.first or 0.0), start[1] + (words.second or 0.0))
    if max(abs(centre[0]), abs(centre[1])) > farthest or start == centre:
        raise BlockError("an arc's radius is 0 or beyond any machine (3.5.3)", "Correct its centre or radius")
    return centre


def _centre_by_radius(start: _Point, end: _Point, radius: float, clockwise: bool, within: float) -> _Point:
    chord = math.dist(start, end)
    if chord == 0:
        raise BlockError(
            "an arc with R ends where it begins (3.5.3.1)", "Write a full circle with I and J, or as two arcs"
        )
    half, size = chord / 2, abs(radius)
    if half - size > within:
        raise BlockError(
            f"an arc of radius {size:.4f} mm cannot reach its end {chord:.4f} mm away (3.5.3.1)",
            "Correct the radius or the end",
            rule="arc-mismatch",
            amount_mm=chord - 2 * size,
        )
    height = math.sqrt(max(0.0, size * size - half * half))
    # Seen from start to end the centre of a short counter-clockwise arc lies on the left.
    side = height if clockwise == (radius < 0) else -height
    ux, uy = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    return ((start[0] + end[0]) / 2 - uy * side, (start[1] + end[1]) / 2 + ux * side)


def sweep(start: _Point, end: _Point, centre: _Point, clockwise: bool) -> float:
    """Angle turned through in radians, above 0 and up to a full circle, which equal ends mean."""
    if start == end:
        return 2 * math.pi
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    return ((first - last if clockwise else last - first) % (2 * math.pi)) or 2 * math.pi


def swept_points(
    start: _Point, end: _Point, centre: _Point, clockwise: bool
) -> list[tuple[float, float, float]]:
    """Points along the arc after its start, chords within 0.001 mm: (u, v, share of the sweep)."""
    turned = sweep(start, end, centre, clockwise)
    r0, r1 = math.dist(start, centre), math.dist(end, centre)
    step = 2 * math.acos(max(0.0, 1 - CHORD / max(r0, r1, CHORD)))
    count = max(1, min(MOST_CHORDS, math.ceil(turned / step)))
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    points = []
    for n in range(1, count):
        share = n / count
        angle = first + (-turned if clockwise else turned) * share
        r = r0 + (r1 - r0) * share
        points.append((centre[0] + r * math.cos(angle), centre[1] + r * math.sin(angle), share))
    return [*points, (end[0], end[1], 1.0)]
