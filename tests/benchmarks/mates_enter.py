"""Random joints the whole way: the area that the program clears receives the mate, or it is refused by name.

Run: python tests/benchmarks/mates_enter.py [how many] [first seed] [only this kind]
"""

from __future__ import annotations

import pathlib
import sys
import tempfile
import time
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.joint_trials import Outcome, tried
from support.random_joints import KINDS, Kind, joint


def main(wanted: int, first: int, kind: Kind | None) -> None:
    """Print how many entered, what the others were refused for, and every failure with its seed."""
    told: Counter[str] = Counter()
    worst, off, begin = 0.0, 0.0, time.perf_counter()
    with tempfile.TemporaryDirectory() as name:
        for seed in range(first, first + wanted):
            one = joint(seed, kind)
            folder = pathlib.Path(name, str(seed))
            folder.mkdir()
            try:
                came = tried(one, folder)
            except Exception as crash:  # told as a failure: nothing may end with a traceback
                came = Outcome("failed", [f"{type(crash).__name__}: {crash}"])
            rules = f" ({', '.join(came.reasons)})" if came.state == "refused" else ""
            told[f"{one.kind} {came.state}{rules}"] += 1
            told[came.state] += 1
            if came.state == "failed":
                print(f"{one}\n    {'; '.join(came.reasons)}", flush=True)
            elif came.state == "entered":
                worst, off = max(worst, came.overlap), max(off, came.clearance_off)
    print(f"{wanted} joints, {time.perf_counter() - begin:.0f} s; of those that entered: deepest overlap "
          f"{worst:.4f}, clearance off by {off:.4f} at most")  # fmt: skip
    for words, count in sorted(told.items()):
        print(f"  {count:4d} {words}")


if __name__ == "__main__":
    given = sys.argv[1:]
    how_many, first = (int(word) for word in (given + ["200", "1"][len(given) :])[:2])
    main(how_many, first, KINDS[KINDS.index(given[2])] if len(given) > 2 else None)
