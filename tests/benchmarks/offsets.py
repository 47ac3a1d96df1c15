"""How far offsets stray from the true distance and how many moves they need, on random and real shapes.

Run: python tests/benchmarks/offsets.py [how many random shapes]
"""

from __future__ import annotations

import itertools
import pathlib
import sys
import time
from collections.abc import Iterator

import numpy as np
import pyclipper
import shapely

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.places import DRAWINGS
from support.random_shapes import random_region

from camkit.drawing.read import read
from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.offset import offset
from camkit.geometry.path import Region, circle, region

# Chords of what is flattened, mm.
CHORD = 0.002
RADII = (1.0, 2.0, 3.0, 5.0, 10.0)
# Paths are asked for 5 um wider than the cutter's radius, and are to lie from 1 um nearer to 11 um farther.
WIDER, NEAREST, FARTHEST = 0.005, -0.001, 0.011


def contours() -> Iterator[Region]:
    """Every closed line of the published drawings at hand: outlines, openings, pockets and holes."""
    for path in sorted(DRAWINGS.glob("*.[ds][xv][fg]")):
        for part in read(path).parts:
            loops = (part.outline, *part.openings, *(pocket.outline for pocket in part.pockets))
            yield from (region(loop) for loop in loops)
            yield from (Region(circle(hole.centre, hole.diameter)) for hole in part.holes)


def flattened_moves(shape: Region, distance: float) -> int:
    """Moves of the offset of the flattened shape, the arcs at its corners flattened as finely."""
    clipper = pyclipper.PyclipperOffset(2.0, 0.4 * CHORD * 1e5)
    for loop in (shape.exterior, *shape.interiors):
        ring = np.round(flattened(loop, CHORD) * 1e5).astype(np.int64).tolist()
        clipper.AddPath(ring, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    return sum(len(ring) for ring in clipper.Execute(distance * 1e5))


def measure(name: str, shapes: list[Region]) -> None:
    """Print how paths beside the shapes stray from the true offset in um, their moves, and the time."""
    near, far, spent = 1.0, -1.0, 0.0
    moves = flat = rings = off = 0
    for shape in shapes:
        fine = as_polygon(shape, 0.0002).boundary
        for radius, side in itertools.product(RADII, (1, -1)):
            begin = time.perf_counter()
            pieces = offset(shape, side * (radius + WIDER))
            spent += time.perf_counter() - begin
            flat += flattened_moves(shape, side * (radius + WIDER))
            for loop in (loop for piece in pieces for loop in (piece.exterior, *piece.interiors)):
                points = flattened(loop, 0.0005)
                points = np.vstack((points, (points + np.roll(points, -1, axis=0)) / 2))
                away = shapely.distance(fine, shapely.points(points)) - radius
                near, far = min(near, float(away.min())), max(far, float(away.max()))
                off += bool(away.min() < NEAREST or away.max() > FARTHEST)
                moves += len(loop.segments)
                rings += 1
    print(
        f"{name}: {len(shapes)} shapes, {rings} rings, {near * 1000:+.1f} to {far * 1000:+.1f} um, {off} "
        f"rings outside -1 to +11, moves 1/{flat / max(moves, 1):.1f} of the flattened's, {spent:.1f} s"
    )


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 3000
    measure("random", [shape for seed in range(wanted) if (shape := random_region(seed)) is not None])
    measure("published", list(contours()))
