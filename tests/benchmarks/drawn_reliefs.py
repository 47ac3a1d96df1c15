"""Drawn reliefs: what published drawings hold, what decoys are taken for reliefs, how exactly corners return.

Run: python tests/benchmarks/drawn_reliefs.py [how many decoys of a kind, and a third as many of the others]
"""

from __future__ import annotations

import math
import pathlib
import random
import sys
import time
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.decoys import DECOYS, decoy
from support.drawn_corners import Way, convex_corners, flattened, rounded, with_corners
from support.places import DRAWINGS

from camkit.drawing.read import read
from camkit.geometry.arc_fit import with_arcs
from camkit.geometry.contour import contour_of, loop_of
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.path import Line, Path, Point

RELIEFS: tuple[Way, ...] = ("dogbone", "t-bone before", "t-bone after")


def published() -> None:
    """Reliefs, sides of relieved openings, and the spread of equal openings, drawing by drawing."""
    for file in sorted([*DRAWINGS.glob("*.dxf"), *DRAWINGS.glob("*.svg")]):
        sides: Counter[int] = Counter()
        kinds: Counter[str] = Counter()
        sizes: list[tuple[float, float]] = []
        begin, loops, told = time.perf_counter(), 0, 0
        drawn = read(file)
        begin = time.perf_counter()
        for part in drawn.parts:
            shapes = [(part.outline, False), *((o, True) for o in part.openings)]
            for loop, hollow in shapes:
                contour = contour_of(loop, hollow=hollow)
                kinds.update(corner.kind for corner in contour.corners)
                loops, told = loops + 1, told + len(contour.left)
                if hollow and contour.reliefs:
                    walls = contour.walls.segments
                    sides[len(walls)] += 1
                    a, b = (math.dist(wall.start, wall.end) for wall in walls[:2])
                    sizes.append((min(a, b), max(a, b)))
        took = time.perf_counter() - begin
        print(
            f"{file.name}: {kinds['relief']} reliefs, {kinds['fillet']} fillets, told {told}; "
            f"relieved openings by sides {dict(sides)}; {1000 * took / loops:.1f} ms a loop"
        )
        for size, spread, count in _alike(sizes):
            print(f"    {count} openings of {size[0]:.3f} x {size[1]:.3f}, apart by at most {spread:.4f}")


def _alike(sizes: list[tuple[float, float]]) -> list[tuple[tuple[float, float], float, int]]:
    groups: list[list[tuple[float, float]]] = []
    for size in sorted(sizes):
        group = next((g for g in groups if math.dist(g[0], size) < 0.2), None)
        if group is None:
            groups.append([size])
        else:
            group.append(size)
    result = []
    for group in groups:
        spread = max(max(side) - min(side) for side in zip(*group, strict=True))
        result.append((group[0], spread, len(group)))
    return result


def decoys(wanted: int) -> None:
    """How many loops without a relief were taken to have one, and how long a loop took."""
    fired: Counter[str] = Counter()
    for kind in DECOYS:
        begin, seeds = time.perf_counter(), []
        for seed in range(wanted):
            loop, hollow = decoy(kind, seed)
            for path in (loop, with_arcs([loop])[0]):
                contour = contour_of(path, hollow=hollow)
                loop_of(contour)
                if contour.reliefs:
                    fired[kind] += 1
                    seeds.append(seed)
        took = time.perf_counter() - begin
        print(f"{kind}: {fired[kind]} of {2 * wanted} fired {seeds[:5]}, {1000 * took / wanted:.1f} ms each")
    print(f"decoys in all: {sum(fired.values())} of {2 * wanted * len(DECOYS)} fired")


def corners(wanted: int) -> None:
    """Openings of 60 to 135 degrees, r 0.8 to 6: how many came back sharp, and the worst corner."""
    worst: dict[tuple[str, int], float] = {}
    missed: Counter[tuple[str, int]] = Counter()
    total: Counter[tuple[str, int]] = Counter()
    for seed in range(wanted):
        chance = random.Random(seed)
        radius = chance.uniform(0.8, 6)
        truth = convex_corners(chance, 6.5 * radius)
        drawn = with_corners(truth, [chance.choice(RELIEFS) for _ in truth], radius)
        stored = {"arcs": drawn} | {f"{n} chords": flattened(drawn, n) for n in (5, 8, 16, 32, 64)}
        for name, path in stored.items():
            for decimals in (6, 3, 2):
                found = _farthest(
                    contour_of(with_arcs([rounded(path, decimals)])[0], hollow=True).walls, truth
                )
                key = (name, decimals)
                total[key] += len(truth)
                missed[key] += found is None
                worst[key] = max(worst.get(key, 0.0), found or 0.0)
    for (name, decimals), count in total.items():
        print(
            f"{name} at {decimals} decimals: {count} corners, {missed[name, decimals]} openings missed, "
            f"worst {1000 * worst[name, decimals]:.3f} um"
        )


def _farthest(walls: Path, truth: list[Point]) -> float | None:
    ends = [wall.end for wall in walls.segments]
    if len(ends) != len(truth):
        return None
    return max(min(math.dist(end, corner) for end in ends) for corner in truth)


def again(wanted: int) -> None:
    """Undone, relieved for another cutter, stored with 4 decimals, undone again."""
    worst, missed, short = 0.0, 0, 0
    for seed in range(wanted):
        chance = random.Random(seed)
        truth = convex_corners(chance, 40, 150)
        # Sharper corners are relieved with straight pieces, which are left alone.
        if min(_angles(truth)) < 90:
            wide, high = chance.uniform(20, 60), chance.uniform(20, 60)
            truth = [(0.0, 0.0), (0.0, high), (wide, high), (wide, 0.0)]
        drawn = with_corners(truth, [chance.choice(RELIEFS) for _ in truth], chance.uniform(0.8, 4))
        once = contour_of(drawn, hollow=True)
        cutter = chance.uniform(0.8, 4)
        reliefs = {
            k: CornerRelief(cutter, chance.choice(("both", "before", "after")))
            for k in range(len(once.walls.segments))
        }
        try:
            cut = relieve_corners(once.walls, reliefs)
        except ValueError:
            short += 1
            continue
        twice = contour_of(rounded(cut, 4), hollow=True)
        found = _farthest(twice.walls, truth)
        missed += found is None
        worst = max(worst, found or 0.0)
    print(
        f"again: {wanted - short} openings, {missed} missed, worst {1000 * worst:.3f} um; {short} had no room"
    )


def _angles(points: list[Point]) -> list[float]:
    walls = [Line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]
    angles = []
    for one, other in zip(walls[-1:] + walls[:-1], walls, strict=True):
        (ax, ay), (bx, by) = ((w.end[0] - w.start[0], w.end[1] - w.start[1]) for w in (one, other))
        angles.append(180 - abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))))
    return angles


def main(wanted: int) -> None:
    """Print all figures."""
    published()
    decoys(wanted)
    corners(wanted // 3)
    again(wanted // 3)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 900)
