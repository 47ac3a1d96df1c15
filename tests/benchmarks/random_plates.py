"""Random plates, cutters and machines the whole way: every program is sound, or refused by name.

Run: python tests/benchmarks/random_plates.py [how many]
"""

from __future__ import annotations

import pathlib
import random
import sys
import time
import traceback
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.random_shapes import random_region

from camkit.geometry.offset import offset
from camkit.geometry.path import Path, rectangle
from camkit.geometry.transform import Placement, moved
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Hole, Part, Placed, Pocket
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (700.0, 500.0)


def _opened(seed: int, radius: float) -> Path:
    """A random outline whose inside corners a cutter of `radius` can follow."""
    while True:
        seed += 7919
        shape = random_region(seed)
        inner = offset(shape, -radius) if shape is not None else ()
        if inner:
            return offset(inner[0], radius)[0].exterior


def plate(seed: int, thickness: float) -> Part:
    """A plate of 600 x 400 with a random opening and pocket, one pocket off its edge, and holes."""
    chance = random.Random(seed)
    opening, pocket = _opened(seed * 3 + 1, 4.2), _opened(seed * 3 + 2, 4.2)
    depth = round(chance.uniform(1, thickness - 2), 2)
    turn = chance.uniform(0, 360)
    holes = tuple(
        Hole((90 + 70 * k, 80), round(chance.uniform(3, 45), 2), chance.choice((None, depth)))
        for k in range(7)
    )
    return Part(
        f"plate {seed}",
        rectangle(50, 50, 650, 450),
        (moved(opening, Placement(200, 290, turn)),),
        holes,
        (
            Pocket(moved(pocket, Placement(420, 290, turn)), depth),
            Pocket(rectangle(560, 200, 650, 200 + chance.uniform(8, 60)), depth),
        ),
    )


def job(seed: int) -> Job:
    chance = random.Random(seed + 10_000)
    wide = chance.choice((3.0, 4.0, 6.0, 6.35, 8.0, 12.0))
    return Job(
        sheet=Sheet(size=SIZE, measured_thickness=(chance.choice((9.0, 12.0, 17.6, 21.0)),)),
        machine=Machine(
            direction=chance.choice(("climb", "conventional")), zero=chance.choice(("sheet top", "table"))
        ),
        cutter=(
            Cutter(number=1, diameter=wide, pass_depth=round(chance.uniform(2, wide), 1)),
            Cutter(number=2, diameter=2.0),
        ),
    )


def main(wanted: int) -> None:
    """Print how many were sound, what the others were refused for, and every planner's fault."""
    told: Counter[str] = Counter()
    begin = time.perf_counter()
    for seed in range(wanted):
        task = job(seed)
        thickness = task.sheet[0].thickness
        part = plate(seed, thickness)
        try:
            planned = plan([Placed(part, part)], task, SIZE, thickness)
            text = write(planned.cuts, task, task.sheet[0], name="plate", size=SIZE)
            said = judge(text, [Placed(part, part)], task, sheet_size=SIZE, thickness=thickness).verdict
        except Exception:
            told["traceback"] += 1
            print(f"seed {seed}:", traceback.format_exc(limit=-3))
            continue
        planner = {f.rule for f in planned.findings if f.level == "error"}
        judge_says = {f.rule for f in said.findings if f.level == "error"}
        if not judge_says and not planner:
            told["sound"] += 1
        elif planner:
            told[f"refused: {', '.join(sorted(planner))}"] += 1
        else:
            told[f"judge only: {', '.join(sorted(judge_says))}"] += 1
            worst = [f for f in said.findings if f.level == "error"][:3]
            print(f"seed {seed}:", *(f"\n   {f} [{f.x_mm}, {f.y_mm}, {f.z_mm}]" for f in worst))
    print(
        f"{wanted} plates, {time.perf_counter() - begin:.0f} s: "
        + "; ".join(f"{k} {v}" for k, v in sorted(told.items()))
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
