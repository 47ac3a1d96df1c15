"""How many random benches go together after fitting, how many are refused, and how long that takes.

Run: python tests/benchmarks/benches_close.py [how many]
"""

from __future__ import annotations

import pathlib
import sys
import time
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.random_benches import Keep, bench, outcome

_MATTER = {"drawn-off", "fits-several-places", "outside-not-kept", "stand-in-order"}


def main(count: int) -> None:
    """Print what became of the benches, and every one that should have ended otherwise."""
    ways: tuple[Keep, ...] = ("shoulders", "outside")
    for keep in ways:
        states: Counter[str] = Counter()
        start = time.perf_counter()
        for seed in range(count):
            one = bench(seed)
            came = outcome(one, keep)
            closes = one.closes or keep == "outside"
            states[came.state if closes else f"cannot close: {came.state}"] += 1
            states.update(_MATTER.intersection(came.said))
            if (came.state == "fits") != closes:
                print(f"seed {seed}, {keep}: {came.state}, room {came.room:.3f}, {came.said}, {one}")
        print(f"{keep}: {dict(states)}, {1e3 * (time.perf_counter() - start) / count:.0f} ms each")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
