"""How far offsets stray from the true distance and how many moves they need, on random and real shapes.

Run: python tests/benchmarks/offsets.py [how many random shapes]
"""

from __future__ import annotations

import pathlib
import sys
import time
from collections.abc import Iterator

import numpy as np
import shapely

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.places import DRAWINGS
from support.random_shapes import random_region

from camkit.drawing.read import read
from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.offset import offset
from camkit.geometry.path import Region, region

DISTANCES = (-10.0, -3.0, -1.0, 1.0, 3.0, 10.0)


def contours() -> Iterator[Region]:
    """Every outline and opening of the published drawings at hand."""
    for path in sorted(DRAWINGS.glob("*.[ds][xv][fg]")):
        for part in read(path).parts:
            yield from (region(loop) for loop in (part.outline, *part.openings))


def measure(name: str, shapes: list[Region]) -> None:
    """Print the worst deviations in um, the share of moves against flattened rings, and the time."""
    near = far = spent = 0.0
    moves = flat = rings = off = 0
    for shape in shapes:
        fine = as_polygon(shape, 0.0002).boundary
        for distance in DISTANCES:
            begin = time.perf_counter()
            pieces = offset(shape, distance)
            spent += time.perf_counter() - begin
            for loop in (loop for piece in pieces for loop in (piece.exterior, *piece.interiors)):
                points = flattened(loop, 0.0005)
                points = np.vstack((points, (points + np.roll(points, -1, axis=0)) / 2))
                away = shapely.distance(fine, shapely.points(points)) - abs(distance)
                near, far = min(near, float(away.min())), max(far, float(away.max()))
                off += bool(away.min() < -0.006 or away.max() > 0.006)
                moves += len(loop.segments)
                flat += len(flattened(loop, 0.002))
                rings += 1
    print(
        f"{name}: {len(shapes)} shapes, {rings} rings, {near * 1000:+.1f} to {far * 1000:+.1f} um, "
        f"{off} rings beyond 6 um, moves 1/{flat / max(moves, 1):.1f} of flattened, {spent:.1f} s"
    )


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 3000
    measure("random", [shape for seed in range(wanted) if (shape := random_region(seed)) is not None])
    measure("published", list(contours()))
