"""How long fitting, planning and writing take for many parts, and how that grows with their number.

Run: python tests/benchmarks/planning_speed.py [COUNT ...]
"""

from __future__ import annotations

import itertools
import math
import pathlib
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.random_shapes import bowed

from camkit.geometry.flatten import flattened
from camkit.geometry.path import Arc, Line, Path, Point, Segment, circle, polygon, rectangle
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.joinery.fit import fit
from camkit.part import Hole, Part, Placed, Pocket
from camkit.program.write import write
from camkit.toolpath.plan import plan

SIZE = (280.0, 190.0)
ACROSS = 8


def wavy(a: Point, b: Point, count: int, high: float, waves: float) -> list[Point]:
    """Points from a to b (without b), waving `high` to the left, as chords of a curve."""
    long = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    found = []
    for k in range(count):
        along, aside = long * k / count, high * math.sin(math.pi * waves * k / count) ** 2
        found.append((a[0] + ux * along - uy * aside, a[1] + uy * along + ux * aside))
    return found


def scalloped(a: Point, b: Point, count: int, bow: float) -> list[Segment]:
    """Arcs from a to b that bow out and in by turns."""
    places = [(a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count) for k in range(count + 1)]
    return [
        bowed(one, other, bow * (1 if k % 2 else -1))
        for k, (one, other) in enumerate(itertools.pairwise(places))
    ]


def drawn(number: int, x: float, y: float, *, arcs: bool) -> Part:
    """A plate 260 x 170 with two waving edges, a waving opening, mortises, holes and a pocket.

    Waves are true `arcs`, as a drawing program draws them, or chords, as a curve comes through an export.
    """
    x1, y1, r, waves = x + 260.0, y + 170.0, 20.0, 3 + number % 4
    if arcs:
        edges = [
            *scalloped((x1, y + 30), (x1, y1), 2 * waves, 4.0),
            *scalloped((x1, y1), (x + r, y1), 2 * waves + 4, 5.0),
        ]
    else:
        chords = [
            *wavy((x1, y + 30), (x1, y1), 300, 8, waves),
            *wavy((x1, y1), (x + r, y1), 500, 10, waves + 2),
        ]
        edges = [Line(a, b) for a, b in itertools.pairwise([*chords, (x + r, y1)])]
    outline = [
        *edges,
        Arc((x + r, y1), (x, y1 - r), (x + r, y1 - r), False),
        Line((x, y1 - r), (x, y + r)),
        Arc((x, y + r), (x + r, y), (x + r, y + r), False),
        Line((x + r, y), (x1 - 30, y)),
        Arc((x1 - 30, y), (x1, y + 30), (x1 - 30, y + 30), False),
    ]
    cx, cy = x + 130.0, y + 100.0
    if arcs:
        corners = [(cx - 70, cy - 32), (cx + 70, cy - 32), (cx + 70, cy + 32), (cx - 70, cy + 32)]
        sides = itertools.pairwise([*corners, corners[0]])
        hole = Path(tuple(arc for a, b in sides for arc in scalloped(a, b, 4, 4.0)))
    else:
        hole = polygon(
            (cx + 70 * wide * math.cos(t), cy + 32 * wide * math.sin(t))
            for t in (2 * math.pi * k / 500 for k in range(500))
            for wide in (1 + 0.15 * math.sin(5 * t),)
        )
    mortises = (rectangle(x + 30, y + 15, x + 90, y + 33), rectangle(x + 150, y + 15, x + 210, y + 33))
    holes = tuple(Hole((x + 15, y + 60 + 40 * k), 8.1 if k else 4.5) for k in range(3))
    pocket = Pocket(rectangle(x + 220, y + 60, x + 245, y + 110), 6.0)
    return Part(f"plate {number}", Path(tuple(outline)), (hole, *mortises), holes, (pocket,))


def points_of(part: Part) -> int:
    """Points of all the part's contours, flattened as for planning."""
    loops = [part.outline, *part.openings, *(circle(h.centre, h.diameter) for h in part.holes)]
    return sum(len(flattened(loop)) for loop in [*loops, *(p.outline for p in part.pockets)])


def timed(count: int, *, arcs: bool) -> float:
    """Print the seconds of each stage for so many parts; gives their sum."""
    across = ACROSS * max(1, round(math.sqrt(count / 40)))
    parts = [
        drawn(k, 10 + SIZE[0] * (k % across), 10 + SIZE[1] * (k // across), arcs=arcs) for k in range(count)
    ]
    size = (20 + SIZE[0] * across, 20 + SIZE[1] * math.ceil(count / across))
    stock = Sheet(drawn_thickness=18.0, measured_thickness=(17.6,))
    cutters = (Cutter(number=1, diameter=6.0), Cutter(number=2, diameter=4.5, kind="drill"))
    job = Job(sheet=(stock,), machine=Machine(), cutter=cutters)
    stamps = [time.process_time()]
    fitted = fit(parts, job, [stock] * count)
    stamps.append(time.process_time())
    placed = [Placed(part, part) for part in fitted.parts]
    planned = plan(placed, job, size, stock.thickness)
    stamps.append(time.process_time())
    text = write(planned.cuts, job, stock, name="speed", size=size)
    stamps.append(time.process_time())
    fitting, planning, writing = (b - a for a, b in itertools.pairwise(stamps))
    errors = [f.message for f in planned.findings if f.level == "error"]
    drawn_with, points = "arcs" if arcs else "chords", sum(map(points_of, parts))
    print(
        f"{count} parts drawn with {drawn_with}, {points} points, {len(planned.cuts)} cuts, "
        f"{text.count(chr(10))} lines: fit {fitting:.2f}, plan {planning:.2f}, write {writing:.2f} s"
        + (f"; NOT CUT: {errors[:2]}" if errors else "")
    )
    return stamps[-1] - stamps[0]


if __name__ == "__main__":
    counts = [int(word) for word in sys.argv[1:]] or [40, 400]
    for arcs in (True, False):
        taken = {count: timed(count, arcs=arcs) for count in counts}
        if 40 in taken:
            print(f"40 parts: {taken[40]:.2f} s (wanted 3)")
        if {40, 400} <= taken.keys():
            print(f"from 40 to 400 parts: {taken[400] / taken[40]:.1f} times (wanted 12)")
