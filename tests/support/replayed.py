"""A program's text replayed without any of camkit: where the cutter went, and the wood that it leaves.

Words G0 to G3 (centre format), G4, G20, G21, X Y Z I J and T on lines of their own or together; absolute,
plane XY, as in NISTIR 6556 sections 3.3 and 3.5.1 to 3.5.4; the cycles G81 and G83 with G98, one hole a line
(3.5.16). A word that is not understood stops the replay. Moves come in mm. Where no T tells the cutter, the
comment "(CUTTER 2 drill)" does.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from shapely import LineString, Point, Polygon, box, get_parts, union_all
from shapely.geometry.base import BaseGeometry

__all__ = ["CHORD", "Move", "depth_in", "replay", "swept", "window", "wood"]

# Chords of cutter and path are inscribed and no coarser than this: what is called cleared was cleared.
CHORD = 0.0005

_WORD = re.compile(r"([A-Z])(-?\d*\.?\d+)")
_CUTTER = re.compile(r"\(CUTTER (\d+) ")
_SETTINGS = {4, 17, 21, 40, 49, 54, 61, 64, 80, 81, 83, 90, 94, 98}


@dataclass(frozen=True, slots=True)
class Move:
    """A cutter of `diameter` runs along `points` (n, 3): x, y, z, straight from each to the next."""

    diameter: float
    points: np.ndarray
    line: int


def replay(text: str, diameters: dict[int, float], zero: tuple[float, float] = (0.0, 0.0)) -> list[Move]:
    """Every move of the program after the first place is known; `diameters` by T number.

    `zero` is where on the sheet the program's X0 Y0 lies, in mm.
    """
    shift = np.array([*zero, 0.0])
    unit = 1.0
    place: dict[str, float | None] = {"X": None, "Y": None, "Z": None}
    motion, tool, moves = 0, 0, []
    for number, row in enumerate(text.splitlines(), 1):
        words = _WORD.findall(re.sub(r"\(.*?\)", "", row).replace(" ", ""))
        given = {letter: float(value) for letter, value in words if letter not in "GM"}
        unit = 25.4 if ("G", "20") in words else unit
        given |= {letter: given[letter] * unit for letter in "XYZIJRQ" if letter in given}
        if named := _CUTTER.match(row):
            tool = int(named[1])
        for letter, value in words:
            if letter == "G" and float(value) in (0, 1, 2, 3):
                motion = int(float(value))
            elif letter == "G" and float(value) not in _SETTINGS | {20}:
                raise ValueError(f"line {number}: G{value} is not replayed")
        tool = int(given.get("T", tool))
        if not given.keys() & set("XYZ"):
            continue
        before = dict(place)
        place.update({axis: given[axis] for axis in "XYZ" if axis in given})
        start = [before[axis] if before[axis] is not None else place[axis] for axis in "XYZ"]
        if None in start:
            continue
        a, b = np.array(start, float) + shift, np.array([place[axis] for axis in "XYZ"], float) + shift
        if ("G", "81") in words or ("G", "83") in words:
            points = _drilled(a, b, given["R"], given.get("Q", math.inf))
            place["Z"] = float(points[-1][2])
        elif motion < 2:
            points = np.stack((a, b))
        else:
            points = _arc(a, b, given.get("I", 0.0), given.get("J", 0.0), clockwise=motion == 2)
        moves.append(Move(diameters[tool], points, number))
    return moves


def _drilled(a: np.ndarray, b: np.ndarray, retract: float, peck: float) -> np.ndarray:
    """Over to the hole, down by pecks with a lift to the R plane after each, and out to the old height."""
    x, y = b[:2]
    points = [a, (x, y, a[2]), (x, y, retract)]
    below = retract - peck
    while below > b[2] + 1e-4:
        points += [(x, y, below), (x, y, retract)]
        below -= peck
    return np.array([*points, (x, y, b[2]), (x, y, max(a[2], retract))])


def _arc(a: np.ndarray, b: np.ndarray, i: float, j: float, *, clockwise: bool) -> np.ndarray:
    """Points along the arc from `a` to `b` about `a` + (i, j), Z in proportion."""
    cx, cy, radius = a[0] + i, a[1] + j, math.hypot(i, j)
    first, last = math.atan2(-j, -i), math.atan2(b[1] - cy, b[0] - cx)
    sweep = (first - last if clockwise else last - first) % (2 * math.pi)
    sweep = sweep if sweep > 1e-9 else 2 * math.pi
    steps = max(2, math.ceil(sweep / (2 * math.acos(max(0.0, 1 - CHORD / max(radius, CHORD))))))
    share = np.linspace(0, 1, steps + 1)
    angle = first + (-sweep if clockwise else sweep) * share
    arc = np.stack(
        (cx + radius * np.cos(angle), cy + radius * np.sin(angle), a[2] + (b[2] - a[2]) * share), 1
    )
    arc[0], arc[-1] = a, b
    return arc


def _below(points: np.ndarray, level: float) -> list[np.ndarray]:
    """The pieces of a chain of points that lie at `level` or lower, as chains of (x, y)."""
    pieces: list[list[np.ndarray]] = []
    for a, b in pairwise(points):
        za, zb = a[2] - level, b[2] - level
        if za > 0 and zb > 0:
            continue
        if za > 0 or zb > 0:
            cut = a + (b - a) * (za / (za - zb))
            a, b = (cut, b) if za > 0 else (a, cut)
        if pieces and np.array_equal(pieces[-1][-1], a[:2]):
            pieces[-1].append(b[:2])
        else:
            pieces.append([a[:2], b[:2]])
    return [np.array(piece) for piece in pieces]


def swept(moves: list[Move], level: float, around: BaseGeometry | None = None) -> BaseGeometry:
    """The area cleared down to `level` or deeper: the cutter's disc along every path, inscribed."""
    near = None if around is None else around.bounds
    discs = []
    for move in moves:
        radius = move.diameter / 2
        (x0, y0), (x1, y1) = move.points[:, :2].min(0), move.points[:, :2].max(0)
        if near and not (x1 + radius > near[0] and x0 - radius < near[2] and y1 + radius > near[1]
                         and y0 - radius < near[3]):  # fmt: skip
            continue
        quads = math.ceil(math.pi / 4 / math.acos(1 - CHORD / radius))
        for chain in _below(move.points, level - 1e-9):
            still = np.ptp(chain, axis=0).max() == 0
            path = Point(chain[0]) if still else LineString(chain)
            discs.append(path.buffer(radius, quad_segs=quads))
    return union_all(discs)


def wood(cleared: BaseGeometry, spot: tuple[float, float], around: BaseGeometry) -> Polygon:
    """The piece that stays in one with `spot`, within `around`; all that is cut free of it falls out."""
    for piece in get_parts(around.difference(cleared)):
        if piece.contains(Point(spot)):
            return piece
    raise ValueError(f"nothing is left at {spot}")


def depth_in(solid: BaseGeometry, other: BaseGeometry) -> float:
    """How deep `other` reaches into `solid`: the farthest that a point of both lies from the way out."""
    both = solid.intersection(other)
    if both.is_empty or both.area == 0:
        return 0.0
    pieces = [piece for piece in get_parts(both) if piece.area]
    points = (Point(p) for piece in pieces for p in piece.segmentize(0.5).exterior.coords)
    return max(solid.boundary.distance(point) for point in points)


def window(shape: BaseGeometry, margin: float) -> Polygon:
    """The upright box around a shape and `margin` more."""
    x0, y0, x1, y1 = shape.bounds
    return box(x0 - margin, y0 - margin, x1 + margin, y1 + margin)
