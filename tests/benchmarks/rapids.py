"""How long the travel between cuts is, against bounds that owe nothing to the planner.

Run: python tests/benchmarks/rapids.py
"""

from __future__ import annotations

import itertools
import math
import pathlib
import sys
import time

import numpy as np
import shapely

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.places import DEMO
from support.tour_bound import held_karp_bound, round_length

from camkit.cut import CutKind
from camkit.geometry.path import Path, rectangle
from camkit.job.load import load
from camkit.job.model import Cutter
from camkit.pipeline import make
from camkit.toolpath.feature import Feature
from camkit.toolpath.free_starts import Stops
from camkit.toolpath.order import Task, ordered
from camkit.toolpath.reach import Choice
from camkit.toolpath.tour import closed_tour

SIZES = (60, 300, 1000)
# Openings in each part: the fewer, the more of the travel the second tier takes.
OPENINGS = (2, 4, 9)


def random_holes(count: int) -> None:
    points = np.random.default_rng(count).random((count, 2)) * (2440, 1220)
    begin = time.process_time()
    order = closed_tour(points)
    spent = time.process_time() - begin
    bound = held_karp_bound(points)
    ratio = round_length(points, order) / bound
    print(f"{count} random holes: {ratio:.4f} of the Held-Karp bound (wanted 1.03), {spent:.2f} s")


def known_tours() -> None:
    """Grids (m n when even, else m n - 1 + sqrt 2) and points on a circle (round the polygon)."""
    for m, n in ((5, 5), (6, 5), (10, 10), (20, 15), (25, 25)):
        points = np.array(list(itertools.product(range(m), range(n))), dtype=float)
        best = m * n if m * n % 2 == 0 else m * n - 1 + math.sqrt(2)
        print(f"grid {m} x {n}: {round_length(points, closed_tour(points)) / best:.9f} of the shortest")
    for n in (12, 100, 500):
        turn = np.random.default_rng(n).permutation(n) * (2 * math.pi / n)
        points = 50 * np.stack((np.cos(turn), np.sin(turn)), 1)
        best = 2 * 50 * n * math.sin(math.pi / n)
        print(f"{n} on a circle: {round_length(points, closed_tour(points)) / best:.9f} of the shortest")


def contours(count: int, openings: int) -> tuple[list[Task], list[np.ndarray]]:
    """Outlines scattered on a sheet, so many openings in each, and 24 places round every contour."""
    chance = np.random.default_rng(count)
    parts = max(1, round(count / (openings + 1)))
    across = math.ceil(math.sqrt(2 * parts))
    cell = 2440 / across
    mill = Choice(Cutter(number=1, diameter=6.0), 0.0)
    tasks, places = [], []
    for k in range(parts):
        wide, high = cell * chance.uniform(0.5, 0.9, 2)
        x, y = cell * (k % across) + (cell - wide) / 2, cell * (k // across) + (cell - high) / 2
        loops: list[tuple[CutKind, Path]] = [("profile", rectangle(x, y, x + wide, y + high))]
        side = math.ceil(math.sqrt(openings))
        for n in range(openings):
            room_x, room_y = wide / side, high / math.ceil(openings / side)
            w, h = room_x * chance.uniform(0.3, 0.7), room_y * chance.uniform(0.3, 0.7)
            left = x + room_x * (n % side) + (room_x - w) * chance.uniform(0.2, 0.8)
            low = y + room_y * (n // side) + (room_y - h) * chance.uniform(0.2, 0.8)
            loops.append(("opening", rectangle(left, low, left + w, low + h)))
        for kind, loop in loops:
            tasks.append(Task(Feature(kind, f"part {k}", 1, loop), mill))
            ring = shapely.LinearRing([segment.start for segment in loop.segments])
            spots = shapely.line_interpolate_point(ring, np.arange(24) / 24, normalized=True)
            places.append(shapely.get_coordinates(spots))
    return tasks, places


def free_starts(count: int, openings: int) -> None:
    """Openings before outlines, each begun at any of 24 places, against all begun at their first corner."""
    tasks, places = contours(count, openings)
    bound = held_karp_bound(np.array([spots[0] for spots in places]))
    begin = time.process_time()
    fixed = ordered(tasks, [Stops(spots[:1], spots[:1]) for spots in places]).length
    middle = time.process_time()
    free = ordered(tasks, [Stops(spots, spots) for spots in places]).length
    spent = time.process_time() - middle
    print(
        f"{len(tasks)} contours, {openings} openings a part, of the Held-Karp bound of fixed starts: "
        f"fixed {fixed / bound:.3f} in {middle - begin:.2f} s, free {free / bound:.3f} in {spent:.2f} s "
        "(wanted 1.12)"
    )


def demo() -> None:
    """Travel over the sheet in the demo's program, as its text is replayed."""
    result = make(load(DEMO), DEMO.parent, "potting-bench")
    for k, program in enumerate(result.programs, 1):
        rapids = [m for m in program.reading.motions if m.kind == "rapid"]
        way = sum(math.dist(m.start[:2], m.end[:2]) for m in rapids)
        print(f"demo, sheet {k}: {way / 1000:.2f} m of rapids, judged {'sound' if result.ok else 'UNSOUND'}")


if __name__ == "__main__":
    for size in SIZES:
        random_holes(size)
    known_tours()
    for openings in OPENINGS:
        for size in SIZES:
            free_starts(size, openings)
    demo()
