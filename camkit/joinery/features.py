"""What may be part of a joint: mortises, tenons, slots, steps of finger edges, housings, rabbets, holes.

Only shapes are read here; which of them are joints is told by their mates (see `pairs`). Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import shapely

from camkit.geometry.corner import arriving, turn_between
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path, Point, Segment
from camkit.joinery.squared import squared
from camkit.joinery.undo import undone
from camkit.part import Hole, Part

__all__ = [
    "DOWELS",
    "LONGER",
    "WIDER",
    "Feature",
    "Kind",
    "Sharp",
    "features",
    "in_band",
    "oblongs",
    "sharpened",
]

Kind = Literal[
    "mortise",
    "tenon",
    "slot",
    "step",
    "edge",
    "housing",
    "rabbet",
    "dowel hole",
    "screw hole",
    "countersunk screw hole",
    "pilot hole",
]

# Bands hold their own ends, which floating point would miss.
_HAIR = 1e-6
# Published joints are drawn wider than their sheet by this much (22.0 for 21, 12.2 for 12).
WIDER = (-0.2 - _HAIR, 1.2 + _HAIR)
# A mortise is longer than its tenon is wide by this much: 22.0 x 91.0 takes one of 90, 12.2 x 60.2 one of 60.
LONGER = (-0.05 - _HAIR, 1.3 + _HAIR)
# Dowels as sold, and how far a drawing is from them (common practice, no source).
DOWELS, _DOWEL_BAND = (6.0, 8.0, 10.0, 12.0), 0.3 + _HAIR
# Clearance holes for screws of 3 to 6, pilot holes below (DIN 74-1; common practice).
_SCREW, _PILOT = (3.4, 6.6), 3.0
_CONCENTRIC = 0.05
# Corners of joints are square to within this; walls face each other to within the same.
_SQUARE = math.radians(5)
# A recess that ends this near the edge runs off it.
_AT_EDGE = 0.1
_LAYERS = (1, 2, 3)


@dataclass(frozen=True, slots=True)
class Feature:
    """One shape that may be part of a joint.

    `part` is the part's index. `loop` is the index of the opening, pocket or hole it comes from; None where
    it is in the outline. `width` lies across the mate's thickness for mortises, slots and housings, and along
    the end for tenons and edges. `length` is a mortise's long side, a tenon's projection, a slot's depth, an
    edge's own length again. `along` is the direction of the mortise's long side or of the tenon's end.
    `rest` is the wood below a slot's bottom; `layers` tells how many sheets fill the width, `roots` at how
    many sides a tenon has an inside corner.
    """

    kind: Kind
    part: int
    loop: int | None
    middle: Point
    width: float
    length: float
    along: Point = (1.0, 0.0)
    rest: float = 0.0
    layers: int = 1
    roots: int = 0


@dataclass(frozen=True, slots=True)
class Sharp:
    """A part's loops as joints are judged on; see `squared`."""

    outline: Path
    openings: tuple[Path, ...]
    pockets: tuple[Path, ...]


@lru_cache(maxsize=1024)
def sharpened(part: Part) -> Sharp:
    """The part's outline, openings and pockets with sharp corners.

    Reliefs and fillets give way to the exact corner of their walls; what is left is squared.
    """
    drawn = undone(part)
    return Sharp(
        squared(drawn.outline.walls, hollow=False),
        tuple(squared(contour.walls, hollow=True) for contour in drawn.openings),
        tuple(squared(contour.walls, hollow=True) for contour in drawn.pockets),
    )


def in_band(width: float, thickness: float) -> int | None:
    """How many sheets (1 to 3) fill a width, drawn play included; None when it is no such width."""
    low, high = WIDER
    return next((n for n in _LAYERS if low <= width - n * thickness <= high), None)


def features(index: int, part: Part, thickness: float) -> tuple[Feature, ...]:
    """All shapes of the part that may belong to joints of sheets drawn `thickness` thick.

    An opening counts when one of its sides is in band; a tenon when it ends square with a root on one side
    at least; a step of a finger edge is a tenon that is as long as the sheet is thick.
    """
    sharp = sharpened(part)
    found: list[Feature] = []
    for loop, opening in enumerate(sharp.openings):
        found += _rectangular("mortise", index, loop, opening, thickness, _LAYERS)
    found += _of_outline(index, sharp.outline, thickness)
    for loop, pocket in enumerate(sharp.pockets):
        if not part.pockets[loop].islands:
            found += _recess(index, loop, pocket, part, thickness)
    found += _bored(index, part.holes)
    return tuple(found)


def oblongs(index: int, part: Part) -> tuple[Feature, ...]:
    """Four-sided openings of any width, as mortises with the shorter side as their width."""
    loops = enumerate(sharpened(part).openings)
    return tuple(
        Feature("mortise", index, loop, sides[0].middle, sides[0].width, sides[0].length, sides[0].along)
        for loop, path in loops
        if (sides := _sides(path))
    )


@dataclass(frozen=True, slots=True)
class _Side:
    """A rectangle as a mortise along one of its walls."""

    middle: Point
    width: float
    length: float
    along: Point


def _sides(path: Path) -> tuple[_Side, ...]:
    """Both ways to see a rectangle, the shorter width first; nothing for any other shape."""
    walls = path.segments
    if len(walls) != 4 or not all(isinstance(wall, Line) for wall in walls):
        return ()
    if any(abs(abs(turn_between(walls[k - 1], walls[k])) - math.pi / 2) > _SQUARE for k in range(4)):
        return ()
    first, second = ((segment_length(walls[k]) + segment_length(walls[k + 2])) / 2 for k in (0, 1))
    middle = (sum(w.start[0] for w in walls) / 4, sum(w.start[1] for w in walls) / 4)
    one, other = (
        _Side(middle, second, first, arriving(walls[0])),
        _Side(middle, first, second, arriving(walls[1])),
    )
    return (one, other) if second <= first else (other, one)


def _rectangular(
    kind: Kind, index: int, loop: int, path: Path, thickness: float, layers: Sequence[int]
) -> Iterator[Feature]:
    # The shorter side first: it is the one that a sheet's thickness is looked for in.
    for side in _sides(path):
        filled = in_band(side.width, thickness)
        if filled is not None and filled in layers:
            yield Feature(kind, index, loop, side.middle, side.width, side.length, side.along, layers=filled)
            return


def _of_outline(index: int, outline: Path, thickness: float) -> Iterator[Feature]:
    walls = outline.segments
    count = len(walls)
    if count < 4:
        return
    turns = [turn_between(walls[k], walls[(k + 1) % count]) for k in range(count)]
    for k, wall in enumerate(walls):
        before, after = turns[k - 1], turns[k]
        if not isinstance(wall, Line):
            continue
        if _is_square(before) and _is_square(after):
            yield from _tongue(index, walls, turns, k, thickness)
        elif _is_square(-before) and _is_square(-after):
            yield from _notch(index, outline, turns, k, thickness)


def _is_square(turn: float) -> bool:
    return abs(turn - math.pi / 2) <= _SQUARE


def _middle_of(wall: Segment) -> Point:
    return ((wall.start[0] + wall.end[0]) / 2, (wall.start[1] + wall.end[1]) / 2)


def _tongue(
    index: int, walls: Sequence[Segment], turns: Sequence[float], k: int, thickness: float
) -> Iterator[Feature]:
    count = len(walls)
    sides = (walls[k - 1], walls[(k + 1) % count])
    reflex = (turns[k - 2] < -_SQUARE, turns[(k + 1) % count] < -_SQUARE)
    width = segment_length(walls[k])
    roots = [
        segment_length(side)
        for side, is_root in zip(sides, reflex, strict=True)
        if is_root and isinstance(side, Line)
    ]
    if roots:
        projection = min(roots)
        kind: Kind = "step" if abs(projection - thickness) <= 0.6 else "tenon"
        middle, along = _middle_of(walls[k]), arriving(walls[k])
        yield Feature(kind, index, None, middle, width, projection, along, roots=len(roots))
    else:
        yield Feature("edge", index, None, _middle_of(walls[k]), width, width, arriving(walls[k]))


def _notch(index: int, outline: Path, turns: Sequence[float], k: int, thickness: float) -> Iterator[Feature]:
    walls = outline.segments
    count = len(walls)
    width = segment_length(walls[k])
    layers = in_band(width, thickness)
    if layers is None:
        return
    sides = (walls[k - 1], walls[(k + 1) % count])
    mouths = (turns[k - 2] > _SQUARE, turns[(k + 1) % count] > _SQUARE)
    if not all(mouths) or not all(isinstance(side, Line) for side in sides):
        return
    depth = min(segment_length(side) for side in sides)
    (mx, my), (ux, uy) = _middle_of(walls[k]), arriving(walls[k - 1])
    rest = _wood_behind(outline, (mx, my), (ux, uy))
    middle = (mx - ux * depth / 2, my - uy * depth / 2)
    yield Feature("slot", index, None, middle, width, depth, (ux, uy), rest=rest, layers=layers)


def _wood_behind(outline: Path, start: Point, direction: Point) -> float:
    """How much wood lies behind a slot's bottom, straight on."""
    x0, y0, x1, y1 = as_polygon(outline).bounds
    far = math.hypot(x1 - x0, y1 - y0) + 1
    (x, y), (ux, uy) = start, direction
    ray = shapely.LineString([(x + 1e-6 * ux, y + 1e-6 * uy), (x + far * ux, y + far * uy)])
    inside = as_polygon(outline).intersection(ray)
    pieces = list(inside.geoms) if hasattr(inside, "geoms") else [inside]
    first = min(pieces, key=lambda piece: piece.distance(shapely.Point(start)))
    return float(first.length)


def _recess(index: int, loop: int, path: Path, part: Part, thickness: float) -> Iterator[Feature]:
    """A rabbet where one long side of the recess lies on the part's edge or beyond it, else a housing."""
    walls = path.segments
    if len(walls) != 4 or not all(isinstance(wall, Line) for wall in walls):
        return
    outline = as_polygon(part.outline)
    inside = as_polygon(path).intersection(outline)
    if not isinstance(inside, shapely.Polygon) or inside.is_empty:
        return
    corners = list(inside.minimum_rotated_rectangle.exterior.coords)
    first, second = math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])
    long_ones = (0, 2) if first >= second else (1, 3)
    width, length = min(first, second), max(first, second)
    rim = outline.boundary.buffer(_AT_EDGE)
    at_edge = any(rim.contains(shapely.LineString([corners[k], corners[k + 1]])) for k in long_ones)
    if not at_edge:
        for found in _rectangular("housing", index, loop, path, thickness, (1,)):
            yield replace(found, length=_inside(path, found.along, part))
    elif in_band(width, thickness) == 1 and length > width:
        (ax, ay), (bx, by) = corners[long_ones[0]], corners[long_ones[0] + 1]
        along = ((bx - ax) / length, (by - ay) / length)
        yield Feature("rabbet", index, loop, (inside.centroid.x, inside.centroid.y), width, length, along)


def _inside(pocket: Path, along: Point, part: Part) -> float:
    """How long the pocket is inside the part's outline, along its long side."""
    kept = as_polygon(pocket).intersection(as_polygon(part.outline))
    if kept.is_empty:
        return 0.0
    reach = shapely.get_coordinates(kept) @ along
    return float(reach.max() - reach.min())


def _bored(index: int, holes: Sequence[Hole]) -> Iterator[Feature]:
    for loop, hole in enumerate(holes):
        wider = any(
            other.diameter > hole.diameter and math.dist(other.centre, hole.centre) <= _CONCENTRIC
            for other in holes
        )
        narrower = any(
            other.diameter < hole.diameter and math.dist(other.centre, hole.centre) <= _CONCENTRIC
            for other in holes
        )
        kind: Kind | None = None
        if _SCREW[0] <= hole.diameter <= _SCREW[1]:
            kind = "countersunk screw hole" if wider else "screw hole"
        elif hole.diameter <= _PILOT:
            kind = "pilot hole"
        elif not narrower and any(abs(hole.diameter - dowel) <= _DOWEL_BAND for dowel in DOWELS):
            kind = "dowel hole"
        if kind is not None:
            yield Feature(kind, index, loop, hole.centre, hole.diameter, hole.depth or 0.0)
        # A 6 dowel hole has the size of a large screw's clearance: which one it is, its mates tell.
        if kind == "screw hole" and abs(hole.diameter - 6.0) <= _DOWEL_BAND:
            yield Feature("dowel hole", index, loop, hole.centre, hole.diameter, hole.depth or 0.0)
