"""A copy of a loop to judge joints on: corners that were rounded or relieved are sharp, jogs are gone.

Nothing is ever cut from it. Lengths in mm.
"""

from __future__ import annotations

import math

from camkit.geometry.corner import arriving, turn_between
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc, Line, Path, Point, Segment
from camkit.geometry.walls import walls_of

__all__ = ["squared"]

# Chords of a flattened fillet or relief are shorter; so are its radius and its distance from the corner.
_CHORD = 4.0
_RADIUS = 12.5
_REACH = 16.0
# A short wall between two corners as clear as this is meant.
_CLEAR = math.radians(60)
# What steps aside by less is a slip of the drawing.
_JOG = 0.06
_PARALLEL = 1e-3
# Roots are square to within this; a rounding leaves its wall with no more of a kink than the other.
_SQUARE, _TANGENT = math.radians(15), math.radians(1)
# Chords of a relief leave their wall at such an angle at least.
_BULGES = math.radians(15)


def squared(loop: Path, *, hollow: bool) -> Path:
    """The loop with material on its left, straight walls meeting in sharp corners wherever they would.

    Fillets, chamfers of a few mm, dogbones and T-bones between two straight walls give way to the corner in
    which the walls meet. Curves that are no corner stay. A loop with fewer than three walls is returned as it
    is.
    """
    walls = walls_of(loop, hollow=hollow)
    segments = walls.segments
    keep = [not _clutter(segments, index) for index in range(len(segments))]
    kept = [index for index, wanted in enumerate(keep) if wanted]
    if len(kept) < 3:
        return walls
    pieces: list[list[Segment]] = []
    for place, index in enumerate(kept):
        following = kept[(place + 1) % len(kept)]
        between = (following - index - 1) % len(segments)
        pieces.append([segments[(index + 1 + step) % len(segments)] for step in range(between)])
    starts: dict[int, Point] = {}
    ends: dict[int, Point] = {}
    for place, between_walls in enumerate(pieces):
        following = (place + 1) % len(kept)
        before, after = segments[kept[place]], segments[kept[following]]
        corner = _corner(before, after) if between_walls else None
        if corner is not None:
            ends[place] = starts[following] = corner
            between_walls.clear()
    joined: list[Segment] = []
    for place, index in enumerate(kept):
        wall = segments[index]
        if place in starts or place in ends:
            wall = Line(starts.get(place, wall.start), ends.get(place, wall.end))
        joined += [wall, *pieces[place]]
    return walls_of(Path(tuple(joined)), hollow=hollow) if _forward(joined) else walls


def _clutter(segments: tuple[Segment, ...], index: int) -> bool:
    segment = segments[index]
    if isinstance(segment, Arc):
        return segment.radius <= _RADIUS
    size = segment_length(segment)
    if size >= _CHORD:
        return False
    before, after = segments[index - 1], segments[(index + 1) % len(segments)]
    turns = (turn_between(before, segment), turn_between(segment, after))
    return size <= _JOG or (
        min(map(abs, turns)) < _CLEAR
        and not _is_short_side(turns, before if turns[0] < turns[1] else after)
        and not (isinstance(before, Arc) and isinstance(after, Arc))
        and not _is_between_reliefs(segments, index)
    )


def _is_short_side(turns: tuple[float, float], shoulder: Segment) -> bool:
    """Whether a piece runs from a square root to a rounded end: the side of a short tenon."""
    is_root = abs(min(turns) + math.pi / 2) <= _SQUARE and segment_length(shoulder) > _JOG
    return is_root and max(turns) > -_TANGENT


def _is_between_reliefs(segments: tuple[Segment, ...], index: int) -> bool:
    """Whether a piece lies between two chains of chords that bulge into the wood: a short relieved wall."""
    count = len(segments)
    for before, relief, after in (
        (segments[index], segments[(index + 1) % count], segments[(index + 2) % count]),
        (segments[index - 2], segments[index - 1], segments[index]),
    ):
        near, far = turn_between(before, relief), turn_between(relief, after)
        if after is segments[index]:
            near, far = far, near
        if not (near > _BULGES and far < 0 and segment_length(relief) < _CHORD):
            return False
    return True


def _corner(before: Segment, after: Segment) -> Point | None:
    """Where two straight walls meet, if that is near the ends of both."""
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return None
    (ux, uy), (vx, vy) = arriving(before), arriving(after)
    cross = ux * vy - uy * vx
    dx, dy = after.start[0] - before.end[0], after.start[1] - before.end[1]
    if abs(cross) <= _PARALLEL:
        jog = abs(ux * dy - uy * dx)
        return (
            ((before.end[0] + after.start[0]) / 2, (before.end[1] + after.start[1]) / 2)
            if jog <= _JOG
            else None
        )
    along = (dx * vy - dy * vx) / cross
    corner = (before.end[0] + along * ux, before.end[1] + along * uy)
    near = max(math.dist(corner, before.end), math.dist(corner, after.start)) <= _REACH
    return corner if near else None


def _forward(segments: list[Segment]) -> bool:
    """Whether every piece still meets the next: moved walls may have swallowed one another."""
    return all(
        math.dist(one.end, other.start) < 1e-6 and segment_length(one) > 1e-6
        for one, other in zip(segments, segments[1:] + segments[:1], strict=True)
    )
