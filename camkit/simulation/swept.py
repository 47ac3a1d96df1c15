"""Areas that the cutter has swept, and the lines its centre ran along, as shapely geometry. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from camkit.simulation.track import Ints, Track

__all__ = ["Shapes", "Swept", "disc_segments", "grown", "piece_lines", "swept"]

Shapes = NDArray[np.object_]

# Chord error of round ends of swept areas: far below what counts as uncut, and on the side that leaves wood.
CHORD = 0.002
# Points of a path joined into one area: longer ones make fewer areas, shorter ones are found faster.
CHAIN_POINTS = 200


def disc_segments(radius: float) -> int:
    """Chords a quarter circle so that a disc of `radius` is kept within 0.002 mm."""
    if radius <= CHORD:
        return 4
    return max(4, math.ceil(math.pi / 4 / math.acos(1 - CHORD / radius)))


def grown(area: BaseGeometry, distance: float) -> BaseGeometry:
    """The area widened by `distance` (narrowed when negative), corners rounded within 0.002 mm."""
    made = area.buffer(distance, quad_segs=disc_segments(abs(distance)))
    if made.is_valid:
        return made
    # Now and then GEOS gives back a ring that crosses itself by a billionth, which no later step takes.
    return shapely.union_all([p for p in shapely.get_parts(shapely.make_valid(made)) if p.area])


def piece_lines(track: Track) -> Shapes:
    """Each piece seen from above: a line, or a point where the cutter goes straight down or up."""
    a, b = track.start[:, :2], track.end[:, :2]
    shapes: Shapes = np.empty(len(track), dtype=object)
    still = (a == b).all(axis=1)
    shapes[still] = shapely.points(a[still])
    shapes[~still] = shapely.linestrings(np.stack((a[~still], b[~still]), axis=1))
    return shapes


@dataclass(frozen=True, slots=True, eq=False)
class Swept:
    """What cutters swept below one depth: `pieces` with their `lines` and an index of them, and areas of
    joined pieces with an index of those.
    """

    pieces: Track
    lines: Shapes
    line_index: STRtree
    areas: Shapes
    area_index: STRtree

    def near(self, shape: BaseGeometry) -> BaseGeometry:
        """The swept area around `shape`: right wherever `shape` reaches, and more or less of it beyond."""
        return shapely.union_all(self.areas[np.sort(self.area_index.query(shape, "intersects"))])

    def pieces_meeting(self, shape: BaseGeometry, gap: float) -> Ints:
        """Indices of the pieces whose disc comes within `gap` of `shape`, in program order."""
        found = [np.empty(0, dtype=np.int64)]
        for radius in np.unique(self.pieces.radius):
            close = self.pieces_within(shape, float(radius) + gap)
            found.append(close[self.pieces.radius[close] == radius])
        return np.sort(np.concatenate(found))

    def pieces_within(self, shape: BaseGeometry, distance: float) -> Ints:
        """Indices of the pieces whose centre line comes that close, in program order."""
        return np.sort(self.line_index.query(shape, "dwithin", distance=distance)).astype(np.int64)


def swept(track: Track, depth: float) -> Swept:
    """What the track sweeps below `depth`; passes over one line count once."""
    pieces, _ = track.below(depth).distinct()
    lines = piece_lines(pieces)
    areas = _areas(pieces)
    return Swept(pieces, lines, STRtree(lines), areas, STRtree(areas))


def _areas(pieces: Track) -> Shapes:
    if not len(pieces):
        return np.empty(0, dtype=object)
    a, b = pieces.start[:, :2], pieces.end[:, :2]
    follows = np.zeros(len(pieces), dtype=bool)
    follows[1:] = (np.abs(a[1:] - b[:-1]) <= 1e-6).all(axis=1) & (pieces.radius[1:] == pieces.radius[:-1])
    run = np.cumsum(~follows) - 1
    place = np.arange(len(pieces)) - np.flatnonzero(~follows)[run]
    breaks = ~follows | (place % CHAIN_POINTS == 0)
    firsts = np.flatnonzero(breaks)
    radii = pieces.radius[firsts]
    chains: Sequence[NDArray[np.float64]] = [
        np.vstack((a[first : first + 1], b[first:last]))
        for first, last in zip(firsts, [*firsts[1:], len(pieces)], strict=True)
    ]
    counts = [len(chain) for chain in chains]
    lines = shapely.linestrings(np.concatenate(chains), indices=np.repeat(np.arange(len(chains)), counts))
    lines = shapely.simplify(lines, CHORD / 8)
    dots = shapely.length(lines) == 0
    lines[dots] = shapely.points(a[firsts[dots]])
    areas: Shapes = np.empty(len(lines), dtype=object)
    for radius in np.unique(radii):
        of_radius = radii == radius
        areas[of_radius] = shapely.buffer(lines[of_radius], radius, quad_segs=disc_segments(radius))
    return areas
