"""Which walls of a part bear on other parts: sides, ends and shoulders of tenons, walls of what takes them.

What stands on such a wall, or marks it, keeps the joint from closing. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import shapely

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Line, Path, Point
from camkit.joinery.features import Feature
from camkit.joinery.finger_fit import Fingers, walls_of_fingers
from camkit.joinery.pairs import Pairs
from camkit.joinery.place import Place, place_of, tip_of, wall_at
from camkit.joinery.wanted import Loops
from camkit.part import JointFace, Part

__all__ = ["joint_faces"]

# Walls of a recess this near to the part's edge lie on it or beyond it, and bear on nothing.
_AT_EDGE = 0.1
# A loop of the part (its kind and number) and one of the loop's walls.
_Wall = tuple[str, int, int]


def joint_faces(
    index: int,
    part: Part,
    drawn: Loops,
    cut: Loops,
    found: Pairs,
    fingers: Sequence[Fingers] = (),
    places: Sequence[Place] = (),
) -> tuple[JointFace, ...]:
    """The straight walls of part `index` that belong to joints, with sharp corners, where they are `cut`.

    `drawn` are its sharp loops as drawn, on which joints were found; walls of `cut` are counted alike.
    `places` are those that take a part because the job says so. What looks like a joint and has no mate
    counts. Holes do not, nor walls of recesses on the part's edge.
    """
    walls: dict[_Wall, None] = {}
    loose: list[JointFace] = []
    for feature in _of_part(index, found):
        indices = list(_walls_of(feature, drawn, part))
        walls |= dict.fromkeys(_numbered(feature, indices))
        if not indices:
            loose += _frame_of(feature)
    for place in places:
        walls |= dict.fromkeys(_numbered(place, _of_place(place, drawn)))
    for one in fingers:
        if one.edge.part == index:
            walls |= dict.fromkeys(("outline", 0, k) for k in walls_of_fingers(one.edge, drawn.outline, part))
    edge = as_polygon(part.outline).exterior
    faces = [face for wall in sorted(walls) if (face := _face(wall, cut, edge)) is not None]
    return tuple(dict.fromkeys((*faces, *loose)))


def _of_part(index: int, found: Pairs) -> Iterator[Feature]:
    """All that the part brings to joints, paired or only likely to be."""
    for pair in found.pairs:
        if pair.kind != "dowels":
            yield from (f for f in (*pair.enters, *pair.takes) if f.part == index)
    for row, choices in found.options.items():
        yield from (f for f in row.members if f.part == index and choices)
        yield from (f for fit in choices for f in fit if f.part == index)
    yield from (f for f in (*found.wedges, *found.lone) if f.part == index)


def _walls_of(feature: Feature, drawn: Loops, part: Part) -> Iterator[int]:
    if feature.kind == "edge":
        wall = wall_at(drawn.outline, feature.middle, feature.along)
        yield from () if wall is None else (wall,)
    elif feature.kind in ("tenon", "step"):
        tip = tip_of(feature, drawn.outline)
        if tip is not None:
            yield from (tip.end, *tip.chamfers, *tip.sides)
            yield from (wall for wall in tip.shoulders if wall is not None)
    elif feature.kind in ("mortise", "slot", "housing", "rabbet"):
        place = place_of(feature, drawn.of(feature), part)
        yield from () if place is None else _of_place(place, drawn)


def _of_place(place: Place, drawn: Loops) -> list[int]:
    """Its broad walls and those that its corners end; every wall of a recess that takes an edge."""
    if place.kind in ("housing", "rabbet") and place.loop is not None:
        return list(range(len(drawn.pockets[place.loop].segments)))
    loop = drawn.outline if place.loop is None else drawn.openings[place.loop]
    count = len(loop.segments)
    ends = {k for corner in place.corners for k in (corner, (corner + 1) % count)}
    return sorted({*place.broad, *ends})


def _numbered(where: Feature | Place, indices: Sequence[int]) -> list[_Wall]:
    if where.loop is None:
        return [("outline", 0, k) for k in indices]
    kind = "pocket" if where.kind in ("housing", "rabbet") else "opening"
    return [(kind, where.loop, k) for k in indices]


def _face(wall: _Wall, cut: Loops, edge: shapely.LinearRing) -> JointFace | None:
    kind, number, index = wall
    loops: dict[str, Sequence[Path]] = {
        "outline": (cut.outline,),
        "opening": cut.openings,
        "pocket": cut.pockets,
    }
    segment = loops[kind][number].segments[index]
    if not isinstance(segment, Line):
        return None
    middle = shapely.Point(_between(segment.start, segment.end))
    on_edge = kind == "pocket" and (
        edge.distance(middle) <= _AT_EDGE or not shapely.Polygon(edge).contains(middle)
    )
    return None if on_edge else (segment.start, segment.end)


def _between(one: Point, other: Point) -> Point:
    return ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)


def _frame_of(feature: Feature) -> Iterator[JointFace]:
    """The sides of a shape whose walls are not straight and sharp, from its sizes alone."""
    if feature.kind not in ("mortise", "slot", "tenon", "step"):
        return
    (x, y), (ux, uy) = feature.middle, feature.along
    if feature.kind in ("tenon", "step"):  # its middle is that of its end, the wood lies left of it
        half, back, front = feature.width / 2, feature.length, 0.0
    else:
        half, back, front = feature.length / 2, feature.width / 2, -feature.width / 2

    def at(ahead: float, left: float) -> Point:
        return (x + ux * ahead - uy * left, y + uy * ahead + ux * left)

    corners = [at(-half, back), at(-half, front), at(half, front), at(half, back)]
    if feature.kind == "slot":  # open where it begins
        corners = [*corners[1:], corners[0]]
    yield from pairwise(corners)
    if feature.kind == "mortise":
        yield (corners[3], corners[0])
