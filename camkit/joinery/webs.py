"""How much wood reliefs leave standing to whatever else is cut near them. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import shapely

from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.flatten import arc_points
from camkit.geometry.path import Arc, Path, Segment

__all__ = ["Opened", "Thin", "least_web", "neighbours", "opened_by", "thin_webs", "walls_near", "web_left"]

_LEAST = 1.0
_CHORD = 0.005
# A relief that comes no nearer than its walls did takes nothing from the web.
_NEARER = 0.01


def least_web(radius: float) -> float:
    """Wood that should stay between a relief and the next cut: half its radius, 1.0 at least.

    Common practice, no source: a thinner web breaks out while the cutter passes.
    """
    return max(_LEAST, radius / 2)


def opened_by(path: Path, corner: int, relief: CornerRelief) -> shapely.Geometry:
    """The wood that a relief in a sharp path's corner opens behind the walls.

    A dogbone opens two areas that touch in the corner, a T-bone one.
    """
    done = relieve_corners(path, {corner: relief}).segments
    rim = done[corner + 1 : corner + 1 + len(done) - len(path.segments)]
    points = [path.segments[corner].end, *(point for piece in rim for point in _chords(piece))]
    return shapely.buffer(shapely.make_valid(shapely.Polygon(points)), 0)


def _chords(piece: Segment) -> list[tuple[float, float]]:
    if not isinstance(piece, Arc):
        return [piece.start, piece.end]
    return [(float(x), float(y)) for x, y in arc_points(piece, _CHORD)]


def walls_near(count: int, own: Iterable[int]) -> frozenset[int]:
    """Of a loop of `count` walls those in `own` and the next on either side: a relief is no web to these."""
    return frozenset((wall + step) % count for wall in own for step in (-1, 0, 1))


def neighbours(loops: Sequence[Path], own: int, walls: Collection[int]) -> shapely.Geometry:
    """Every wall of a part's loops as lines, but those `walls` of the loop `own`."""
    return shapely.MultiLineString(
        [
            _chords(segment)
            for index, loop in enumerate(loops)
            for wall, segment in enumerate(loop.segments)
            if index != own or wall not in walls
        ]
    )


def web_left(path: Path, reliefs: Mapping[int, CornerRelief], others: shapely.Geometry | None) -> float:
    """Least wood between the reliefs and `others`, in mm: 0 where they break through.

    Infinite without others, or where no relief comes nearer to them than the walls of its own corner do.
    """
    if others is None or shapely.is_empty(others):
        return math.inf
    count = len(path.segments)
    least = math.inf
    for corner, relief in reliefs.items():
        left = float(shapely.distance(opened_by(path, corner, relief), others))
        walls = (path.segments[corner], path.segments[(corner + 1) % count])
        bare = min(float(shapely.distance(shapely.LineString(_chords(wall)), others)) for wall in walls)
        if left < bare - _NEARER:
            least = min(least, left)
    return least


@dataclass(frozen=True, slots=True)
class Opened:
    """The wood that one corner's relief, or one end cut over whole, opens in the loop of that index.

    `walls` are the walls that it opens or touches. `place` names the joint: "the slot at (10.0, 20.0)".
    `least` is the web that it should leave.
    """

    area: shapely.Geometry
    loop: int
    walls: tuple[int, ...]
    place: str
    least: float


class Thin(NamedTuple):
    """A web too thin at (x, y), between two places named in words; `left` is 0 where they break through.

    `loops` are the indices of the loops that both lie in.
    """

    one: str
    other: str
    left: float
    x: float
    y: float
    loops: tuple[int, int]


def thin_webs(
    opened: Sequence[Opened], loops: Sequence[Path], names: Mapping[tuple[int, int], str]
) -> tuple[Thin, ...]:
    """Where less wood than wanted stays between a relief and another, or any other wall of the part.

    `loops` are the part's sharp loops, its outline first; `names` says what a wall belongs to, by (loop,
    wall); without a name it is the edge, or an opening. Each two places are told once, at the thinnest web.
    Webs that the reliefs make no thinner are left alone.
    """
    lines = {
        (index, wall): shapely.LineString(_chords(segment))
        for index, loop in enumerate(loops)
        for wall, segment in enumerate(loop.segments)
    }
    keys, tree = list(lines), shapely.STRtree(list(lines.values()))
    areas = shapely.STRtree([one.area for one in opened])
    found: list[Thin | None] = []
    for index, one in enumerate(opened):
        own = [lines[one.loop, wall] for wall in one.walls]
        touched = walls_near(len(loops[one.loop].segments), one.walls)
        for at in sorted(tree.query(one.area, predicate="dwithin", distance=one.least)):
            loop, wall = keys[at]
            if loop != one.loop or wall not in touched:
                plain = "the edge" if loop == 0 else "an opening"
                found.append(_between(one, own, names.get((loop, wall), plain), loop, lines[loop, wall]))
        for at in sorted(areas.query(one.area, predicate="dwithin", distance=one.least)):
            other = opened[at]
            if at > index and (one.loop != other.loop or not set(one.walls) & set(other.walls)):
                found.append(_between(one, own, other.place, other.loop, other.area))
    worst: dict[tuple[str, str], Thin] = {}
    for thin in found:
        if thin is not None:
            pair = (min(thin.one, thin.other), max(thin.one, thin.other))
            if pair not in worst or thin.left < worst[pair].left:
                worst[pair] = thin
    return tuple(worst[pair] for pair in sorted(worst))


def _between(
    one: Opened, own: Sequence[shapely.Geometry], other: str, loop: int, geometry: shapely.Geometry
) -> Thin | None:
    """The web between a relief and something else, unless the relief's own walls come as near to it."""
    left = float(shapely.distance(one.area, geometry))
    if left >= min(float(shapely.distance(wall, geometry)) for wall in own) - _NEARER:
        return None
    x, y = shapely.get_coordinates(shapely.shortest_line(one.area, geometry))[0]
    return Thin(one.place, other, left, float(x), float(y), (one.loop, loop))
