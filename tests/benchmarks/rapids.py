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

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.places import DEMO
from support.tour_bound import held_karp_bound, round_length

from camkit.job.load import load
from camkit.pipeline import make
from camkit.toolpath.tour import closed_tour

SIZES = (60, 300, 1000)


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
    demo()
