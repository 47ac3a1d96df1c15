"""Random sheets with clamps, pods and hold-down screws: nothing runs into one, and what is refused is named.

Run: python tests/benchmarks/fixtures.py [how many]
"""

from __future__ import annotations

import pathlib
import random
import sys
import time
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

import shapely
from support.random_shapes import random_region

from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.offset import offset
from camkit.geometry.path import Path, rectangle
from camkit.geometry.transform import Placement, moved
from camkit.job.fixtures import HoldDown, KeepOut
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Countersink, Hole, Part, Placed, Pocket
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (1200.0, 700.0)


def _outline(chance: random.Random) -> Path:
    """A rectangle, or a random outline whose notches a cutter of 6 can follow."""
    if chance.random() < 0.5:
        return rectangle(0, 0, chance.uniform(150, 330), chance.uniform(120, 280))
    while True:
        shape = random_region(chance.randrange(10**6))
        wide = offset(shape, 3.2) if shape is not None else ()
        round_ones = offset(wide[0], -3.2) if len(wide) == 1 else ()
        if len(round_ones) == 1:
            return round_ones[0].exterior


def parts(chance: random.Random) -> tuple[Part, ...]:
    """Up to six plates in two rows, with drilled, sunk and bored holes and an open pocket."""
    found: list[Part] = []
    for row in range(2):
        x = chance.uniform(12, 60)
        for column in range(3):
            outline = _outline(chance)
            x0, y0, x1, y1 = bounds(outline)
            y = 12 + row * 345 + chance.uniform(0, 40)
            if x + x1 - x0 > SIZE[0] - 12 or y + y1 - y0 > 12 + (row + 1) * 340:
                continue
            shift = Placement(x - x0, y - y0)
            solid = moved(outline, shift)
            inside = shapely.maximum_inscribed_circle(as_polygon(solid), 0.1)
            middle = (round(inside.coords[0][0], 2), round(inside.coords[0][1], 2))
            sink = chance.choice((None, Countersink(chance.uniform(7, 11))))
            holes = (Hole(middle, 4.5, chance.choice((None, 9.0)), sink),)
            pockets = ()
            if as_polygon(solid).equals(shapely.box(*bounds(solid))):
                pockets = (Pocket(rectangle(x, y + 20, x + 15, y + 40), 6.0),)
                holes += (
                    Hole((x + 22, y + y1 - y0 - 22), chance.uniform(7, 25), chance.choice((None, 8.0))),
                )
            found.append(Part(f"plate {row}{column}", solid, (), holes, pockets))
            x += x1 - x0 + chance.uniform(10, 90)
    return tuple(found)


def fixtures(chance: random.Random) -> tuple[KeepOut, ...]:
    """Up to three clamps at the edges and a pod somewhere."""
    rows = []
    for _ in range(chance.randrange(4)):
        x, y = chance.uniform(0, SIZE[0] - 40), chance.choice((0.0, SIZE[1] - 12))
        rows.append(KeepOut(kind="clamp", box=(x, y, x + 40, y + 12), height=chance.uniform(1, 12)))
    if chance.random() < 0.3:
        at = (chance.uniform(100, 1100), chance.uniform(100, 600))
        rows.append(KeepOut(kind="pod", at=at, diameter=60.0))
    return tuple(rows)


def trial(seed: int) -> str:
    """What became of one sheet, in a word or two."""
    chance = random.Random(seed)
    placed = tuple(Placed(part, part) for part in parts(chance))
    if not placed:
        return "no part"
    pointed = chance.random() < 0.5
    job = Job(
        sheet=Sheet(measured_thickness=(18.0,)),
        machine=Machine(
            into_table=1.5 if pointed else 0.3,
            drilling_cycles=chance.random() < 0.5,
            travel_height=chance.choice((3.0, 5.0, 8.0)),
        ),
        cutter=(
            Cutter(number=1, diameter=6.0, kind="upcut spiral"),
            Cutter(number=2, diameter=4.5, kind="drill", point_angle=118.0 if pointed else 180.0),
            Cutter(number=3, diameter=chance.choice((6.5, 12.0)), kind="v-groove"),
            Cutter(number=4, diameter=3.0),
        ),
        keep_out=fixtures(chance),
        hold_down=chance.choice((None, HoldDown(apart=chance.uniform(120, 600)))),
    )
    planned = plan(placed, job, SIZE, 18.0)
    text = write(planned.cuts, job, job.sheet[0], name="trial", size=SIZE)
    said = judge(text, placed, job, sheet_size=SIZE, thickness=18.0).verdict.findings
    wrong = {f.rule for f in said if f.level == "error"}
    refused = {f.rule for f in planned.findings if f.level == "error"}
    if "fixture-hit" in wrong or "table-cut" in wrong:
        return f"FAULT {sorted(wrong)} seed {seed}"
    if wrong and not refused:
        return f"FAULT {sorted(wrong)} seed {seed}"
    return f"refused: {', '.join(sorted(refused))}" if refused else "sound"


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    begin = time.perf_counter()
    counted = Counter(trial(seed) for seed in range(many))
    for what, count in sorted(counted.items()):
        print(f"{count:5} {what}")
    print(f"{many} sheets in {time.perf_counter() - begin:.0f} s")
