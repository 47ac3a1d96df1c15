"""Finding the places of a part that take another part: mortises, slots and stopped housings.

Only sharp corners are read: reliefs of the drawing are to be undone before. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from camkit.geometry.corner import arriving, turn_between
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path, Point, Segment
from camkit.geometry.tolerance import RIGHT_ANGLE
from camkit.geometry.walls import walls_of
from camkit.joinery.place import Place
from camkit.part import Part

__all__ = ["places", "tenon_roots"]

# A width belongs to the drawn thickness within this (common practice, no source).
_BAND = 0.6
# Shorter openings of that width are square holes, cable outlets and wedge holes.
_ASPECT = 1.5
# An opening as wide as this many sheets takes a part of glued layers.
_LAYERS = (1, 2, 3)
# Lands of a finger edge are of the order of the thickness; slots of a grid lie farther apart.
_FINGER = 3.0
_SQUARE = math.pi / 2
# A path has a corner where it kinks by at least this.
_KINK = math.radians(15)


def places(part: Part, thickness: float) -> tuple[Place, ...]:
    """All places of the part that take a sheet drawn `thickness` thick: mortises, slots, then housings.

    Mortises and housings are rectangles whose short side is in band and at least 1.5 times as long; mortises
    may also be as wide as two or three sheets. Slots are square-bottomed notches of the outline whose
    width is in band, unless they are the gaps of a finger edge.
    """
    found = [
        place
        for index, opening in enumerate(part.openings)
        if (place := _rectangular("mortise", index, opening, thickness, _LAYERS))
    ]
    found += [notch for notch, finger in _notches(part.outline, thickness) if not finger]
    found += [
        place
        for index, pocket in enumerate(part.pockets)
        if not pocket.islands and (place := _rectangular("housing", index, pocket.outline, thickness, (1,)))
    ]
    return tuple(found)


def _layers(width: float, thickness: float, choices: Sequence[int]) -> int | None:
    nearest = min(choices, key=lambda count: abs(width - count * thickness))
    return nearest if abs(width - nearest * thickness) <= _BAND else None


def _rectangular(
    kind: Literal["mortise", "housing"], index: int, loop: Path, thickness: float, choices: Sequence[int]
) -> Place | None:
    walls = walls_of(loop, hollow=True).segments
    if len(walls) != 4 or not all(isinstance(wall, Line) for wall in walls):
        return None
    first, second = ((segment_length(walls[i]) + segment_length(walls[i + 2])) / 2 for i in (0, 1))
    broad, width, length = ((1, 3), first, second) if first <= second else ((0, 2), second, first)
    middle = (sum(w.start[0] for w in walls) / 4, sum(w.start[1] for w in walls) / 4)
    if not _is_rectangle(
        [wall.start for wall in walls[broad[0] :] + walls[: broad[0]]], middle, length, width
    ):
        return None
    layers = _layers(width, thickness, choices)
    if layers is None or length < _ASPECT * width:
        return None
    return Place(kind, index, broad, (0, 1, 2, 3), width, length, middle, layers)


def _is_rectangle(corners: Sequence[Point], middle: Point, length: float, width: float) -> bool:
    """Whether a true rectangle with that middle, its length along the first wall, has these corners."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = corners
    along = (bx - ax + cx - dx, by - ay + cy - dy)
    size = math.hypot(*along)
    ux, uy = along[0] / size, along[1] / size
    return all(
        math.dist(
            corner,
            (
                middle[0] + ux * sign_u * length / 2 - uy * sign_v * width / 2,
                middle[1] + uy * sign_u * length / 2 + ux * sign_v * width / 2,
            ),
        )
        <= RIGHT_ANGLE
        for corner, sign_u, sign_v in zip(corners, (-1, 1, 1, -1), (1, 1, -1, -1), strict=True)
    )


def _notches(outline: Path, thickness: float) -> list[tuple[Place, bool]]:
    """Notches of the outline with a width in band, and whether each is the gap of a finger edge."""
    walls = walls_of(outline, hollow=False).segments
    if len(walls) <= 4:
        return []
    found = [place for index in range(len(walls)) if (place := _notch(walls, index, thickness))]
    return [(place, _is_finger_gap(place, walls, thickness)) for place in found]


def _square_bottom(down: Segment, bottom: Segment, up: Segment) -> bool:
    if not (isinstance(down, Line) and isinstance(bottom, Line) and isinstance(up, Line)):
        return False
    size = segment_length(bottom)
    return all(
        turn_between(a, b) < 0 and abs(turn_between(a, b) + _SQUARE) * size <= RIGHT_ANGLE
        for a, b in ((down, bottom), (bottom, up))
    )


def _notch(walls: Sequence[Segment], bottom: int, thickness: float) -> Place | None:
    count = len(walls)
    mouth, first, second, past = (walls[(bottom + step) % count] for step in (-2, -1, 1, 2))
    if not _square_bottom(first, walls[bottom], second):
        return None
    if turn_between(mouth, first) < _KINK or turn_between(second, past) < _KINK:
        return None
    width, depth = segment_length(walls[bottom]), min(segment_length(first), segment_length(second))
    if _layers(width, thickness, (1,)) is None:
        return None
    (ax, ay), (bx, by), (ux, uy) = walls[bottom].start, walls[bottom].end, arriving(first)
    middle = ((ax + bx) / 2 - ux * depth / 2, (ay + by) / 2 - uy * depth / 2)
    broad = ((bottom - 1) % count, (bottom + 1) % count)
    return Place("slot", None, broad, (broad[0], bottom), width, depth, middle)


def _is_finger_gap(place: Place, walls: Sequence[Segment], thickness: float) -> bool:
    """Whether the notch is as deep as the sheet and a second such step follows within a short land."""
    if abs(place.length - thickness) > _BAND:
        return False
    count = len(walls)
    entry, exit_ = place.broad
    steps = (
        (walls[(entry - 1) % count], walls[(entry - 2) % count]),
        (walls[(exit_ + 1) % count], walls[(exit_ + 2) % count]),
    )
    return any(
        isinstance(land, Line)
        and segment_length(land) <= _FINGER * thickness
        and abs(segment_length(step) - thickness) <= _BAND
        for land, step in steps
    )


def tenon_roots(part: Part, thickness: float) -> int:
    """How many sharp inside corners of the outline stand at the root of a tenon about as long as the sheet.

    A tenon here is a straight end between two square convex corners whose sides are one sheet long, with an
    inside corner at one root at least. Bottom corners of slots do not count.
    """
    walls = walls_of(part.outline, hollow=False).segments
    count = len(walls)
    if count <= 4:
        return 0
    roots: set[int] = set()
    for end in range(count):
        before, first, tip, second, after = (walls[(end + step) % count] for step in (-2, -1, 0, 1, 2))
        if not all(isinstance(wall, Line) for wall in (before, first, tip, second, after)):
            continue
        square = all(abs(turn_between(a, b) - _SQUARE) < _KINK for a, b in ((first, tip), (tip, second)))
        side = min(segment_length(first), segment_length(second))
        if square and abs(side - thickness) <= _BAND:
            roots |= {(end - 2) % count} if turn_between(before, first) < -_KINK else set()
            roots |= {(end + 1) % count} if turn_between(second, after) < -_KINK else set()
    slots = (place for place, finger in _notches(part.outline, thickness) if not finger)
    return len(roots.difference(*(slot.corners for slot in slots)))
