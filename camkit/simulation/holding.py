"""Rule `loose-part`: parts and waste that nothing holds once they are cut through. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from camkit.errors import Finding
from camkit.geometry.path import Point
from camkit.program.motion import Reading
from camkit.simulation.swept import Swept, grown
from camkit.simulation.wanted import Through, Wanted

__all__ = ["Vacuum", "find_loose"]

# What clings to a part's edge within this width is no tab.
CLINGS = 0.1
# Distance of the spots along a part's outline at which its freeing is followed.
SPOTS = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class _Wood:
    """What is left of the sheet at full depth, piece by piece; `parts_in` are the parts in each piece."""

    pieces: Sequence[Polygon]
    parts_in: Sequence[tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Vacuum:
    """Which of the parts are held by vacuum, and the area in mm2 that such a piece needs."""

    parts: Sequence[bool]
    area: float

    def holds(self, number: int, piece: BaseGeometry) -> bool:
        """Whether it holds a piece of the part with that number, or of waste in it."""
        return bool(self.parts[number] and piece.area >= self.area)


def find_loose(
    wanted: Sequence[Wanted],
    bottom: Swept,
    anything: Swept,
    sheet: tuple[float, float],
    reading: Reading,
    first: int = 0,
    vacuum: Vacuum | None = None,
) -> list[Finding]:
    """Parts that the last motion leaves held by nothing, and waste in openings that comes free.

    A piece of wood is held when it reaches the sheet's edge: tabs join a part to the rest of the sheet. Parts
    held only by an offcut that is itself free are free. `bottom` is what was swept at full depth, `anything`
    what was swept below the sheet's top. What `vacuum` holds may come free, if nothing cuts it after that.
    Offcuts beside the parts and slugs narrower than the cutter that freed them are left out. What motions
    before `first` did was told with the program they belong to.
    """
    if not len(bottom.pieces):
        return []
    vacuum = vacuum or Vacuum([False] * len(wanted), 0.0)
    board = shapely.box(0.0, 0.0, *sheet)
    wood = _left_at_bottom(wanted, bottom, board)
    findings = []
    for piece, inside in zip(wood.pieces, wood.parts_in, strict=True):
        if inside and not _held(piece, [wanted[n] for n in inside], board):
            findings += [
                _loose_part(
                    wanted[n], bottom, anything, reading, first, by_vacuum=vacuum.holds(n, wanted[n].solid)
                )
                for n in inside
            ]
    waste = [piece for piece, inside in zip(wood.pieces, wood.parts_in, strict=True) if not inside]
    findings += [
        _loose_slug(piece, wanted[n], feature, bottom, reading, first)
        for piece, n, feature in _slugs(waste, wanted)
        if not vacuum.holds(n, piece)
    ]
    return [finding for finding in findings if finding is not None]


def _left_at_bottom(wanted: Sequence[Wanted], bottom: Swept, board: Polygon) -> _Wood:
    left = board.difference(shapely.union_all(bottom.areas))
    pieces = [piece for piece in shapely.get_parts(left) if isinstance(piece, Polygon)]
    spots = [part.solid.representative_point() for part in wanted]
    inside: list[list[int]] = [[] for _ in pieces]
    if spots:
        piece, spot = STRtree(spots).query(np.array(pieces, dtype=object), "contains")
        for p, s in sorted(zip(piece.tolist(), spot.tolist(), strict=True)):
            inside[p].append(s)
    return _Wood(pieces, [tuple(parts) for parts in inside])


def _held(piece: Polygon, parts: Sequence[Wanted], board: Polygon) -> bool:
    edge = board.exterior
    if not _reaches(piece, board):
        return False
    if not any(_reaches(grown(part.fill, CLINGS), board) for part in parts):
        return True
    beside = piece.difference(shapely.union_all([grown(part.fill, CLINGS) for part in parts]))
    return any(rest.distance(edge) < 1e-6 for rest in shapely.get_parts(beside))


def _reaches(piece: BaseGeometry, board: Polygon) -> bool:
    """Whether the piece comes to the edge of the sheet, by their bounds."""
    x0, y0, x1, y1 = piece.bounds
    left, low, right, high = board.bounds
    return bool(x0 <= left + 1e-6 or y0 <= low + 1e-6 or x1 >= right - 1e-6 or y1 >= high - 1e-6)


def _loose_part(
    part: Wanted, bottom: Swept, anything: Swept, reading: Reading, first: int, *, by_vacuum: bool
) -> Finding | None:
    freed = _freed_by(part, bottom)
    if freed is None:
        return None
    motion, (x, y) = freed
    later = anything.pieces_within(part.fill.buffer(-CLINGS), 0.0)
    again = int(anything.pieces.motion[later].max(initial=-1))
    if motion < first > again:
        return None
    line = reading.motions[max(motion, again) if motion < first else motion].line
    words = f"nothing holds the part once line {line} has cut it free"
    if by_vacuum and again <= motion:
        return None
    if motion < first:
        words = f"a program before this one cuts the part free, and line {line} still cuts it"
    elif again > motion:
        words = f"line {line} cuts the part free, and line {reading.motions[again].line} still cuts it"
    return Finding(
        "error",
        "loose-part",
        words,
        "Cut everything inside it first, and its outline last"
        if by_vacuum
        else "Leave tabs or a skin in its outline, and cut everything inside it first",
        line=line,
        x_mm=round(x, 4),
        y_mm=round(y, 4),
        part=part.name,
    )


def _freed_by(part: Wanted, bottom: Swept) -> tuple[int, Point] | None:
    """The motion that cut the last wood in the line of the outline, and where; None when none did."""
    near = bottom.pieces_meeting(part.fill, CLINGS)
    if not len(near):
        return None
    line = grown(part.fill, float(bottom.pieces.radius[near].min())).exterior
    spots = shapely.line_interpolate_point(line, np.arange(0.0, line.length, SPOTS))
    piece, spot = STRtree(spots).query(bottom.lines[near], "dwithin", distance=bottom.pieces.radius[near])
    if not len(spot):
        return None
    never = np.iinfo(np.int64).max
    first = np.full(len(spots), never)
    np.minimum.at(first, spot, bottom.pieces.motion[near][piece])
    first[first == never] = -1
    last = int(np.argmax(first))
    return int(first[last]), (float(spots[last].x), float(spots[last].y))


def _slugs(waste: Sequence[Polygon], wanted: Sequence[Wanted]) -> list[tuple[Polygon, int, Through]]:
    """Pieces of waste with the opening that each lies in, and its part's number; offcuts lie in none."""
    features = [(n, feature) for n, part in enumerate(wanted) for feature in part.through]
    if not features or not waste:
        return []
    spots = STRtree([piece.representative_point() for piece in waste])
    areas = np.array([feature.area for _, feature in features], dtype=object)
    inside, slug = spots.query(areas, "contains")
    return [(waste[s], *features[f]) for s, f in sorted(zip(slug.tolist(), inside.tolist(), strict=True))]


def _loose_slug(
    piece: Polygon, part: Wanted, feature: Through, bottom: Swept, reading: Reading, first: int
) -> Finding | None:
    around = bottom.pieces_meeting(piece, CLINGS)
    width = _width(piece)
    if not len(around) or width <= 2 * float(bottom.pieces.radius[around].min()):
        return None
    spot = piece.representative_point()
    motion = int(bottom.pieces.motion[around].max())
    if motion < first:
        return None
    return Finding(
        "error",
        "loose-part",
        f"waste {width:.1f} mm wide comes free in {feature.said}",
        "Leave tabs at it, or mill it away",
        line=reading.motions[motion].line,
        x_mm=round(spot.x, 4),
        y_mm=round(spot.y, 4),
        amount_mm=round(width, 4),
        part=part.name,
    )


def _width(piece: Polygon) -> float:
    """Shorter side of the smallest rectangle around the piece, turned as it may be."""
    corners = shapely.get_coordinates(piece.minimum_rotated_rectangle)
    if len(corners) < 4:
        return 0.0
    sides = np.hypot(*np.diff(corners[:3], axis=0).T)
    return float(sides.min())
