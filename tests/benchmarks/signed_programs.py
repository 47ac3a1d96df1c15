"""Random jobs, each program measured in its replayed text: would a machinist sign it?

    python tests/benchmarks/signed_programs.py [FIRST] [LAST]

Seeds from FIRST to before LAST (0 to 200). A line for every complaint, then the figures: how many jobs were
refused, and how many of the others each measure complains about.
"""

from __future__ import annotations

import collections
import pathlib
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.random_trials import random_trial
from support.signed import sign
from support.trials import faults, made, texts

MEASURES = (
    ("line", "path within -1 and +11 um of the true offset"),
    ("side", "climb or conventional as asked"),
    ("descents", "ramps within the job's angle, no faster down than the plunge feed"),
    ("rapids", "no rapid in wood or down below the top"),
    ("bites", "no more than the pass depth at once, by over half a millimetre"),
    ("bites by ramps", "no more than the pass depth at once, by less"),
    ("passes", "even passes, a compression spiral's first below its upcut part"),
    ("feeds", "no faster than the cutter's feed"),
    ("ridges", "no wood left in a kerf"),
    ("tabs", "tabs by number, width, height, around the centre of area"),
    ("loose", "no loose wood"),
    ("order", "the trade's order, nothing cut in a freed part"),
    ("changes", "cutter changes as few as the order allows"),
    ("leftover", "pockets and openings empty where the cutter reaches, under 0.001 mm2"),
    ("holes", "holes as wide and deep as drawn"),
    ("gouges", "parts and floors whole"),
    ("profile", "one outline a part"),
    ("opening", "every opening cut"),
)


def main(first: int, last: int) -> None:
    """Print complaints and figures."""
    refused: list[int] = []
    seeds: dict[str, list[int]] = collections.defaultdict(list)
    planned = measured = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, last):
            trial = random_trial(seed)
            began = time.perf_counter()
            result = made(trial, pathlib.Path(folder))
            planned += time.perf_counter() - began
            if said := faults(result):
                refused.append(seed)
                print(f"{seed}: refused: {said[0][:180]}", flush=True)
                continue
            began = time.perf_counter()
            signed = sign(trial, texts(result), 0.6)
            measured += time.perf_counter() - began
            for measure, complaints in signed.complaints.items():
                seeds[measure].append(seed)
                for complaint in complaints[:2]:
                    print(f"{seed}: {measure}: {complaint}", flush=True)
    sound = last - first - len(refused)
    print(f"\n{last - first} jobs: {len(refused)} refused ({refused}), {sound} measured")
    for measure, words in MEASURES:
        print(
            f"{sound - len(seeds[measure]):5} of {sound}  {words}"
            + (f": not {seeds[measure]}" * bool(seeds[measure]))
        )
    print(f"whole way {planned:.0f} s, measuring {measured:.0f} s")


if __name__ == "__main__":
    limits = [int(word) for word in sys.argv[1:3]]
    main(*(limits if len(limits) == 2 else (0, 200)))
