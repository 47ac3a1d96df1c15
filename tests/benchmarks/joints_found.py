"""How many drawn joints are recognised, and what is taken for a joint that is none.

Run: python tests/benchmarks/joints_found.py [jobs] [first seed]
"""

from __future__ import annotations

import pathlib
import sys
import time
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.joints_judged import judged
from support.known_joints import known_job

from camkit.joinery.pairs import pairs

# Found in 400 other jobs by a first trial with pairs, and by widths within 0.6 of the sheet alone.
TRIAL = {
    "mortise": "of 771: 775 paired, 985 by width",
    "mortise, loose": "of 199: 203 paired, 51 by width (none right)",
    "tenon": "of 970: 1161 paired, 1595 by width",
    "cross-lap": "of 398: 398 paired, 403 by width",
    "cross-lap, loose": "of 98: 98 paired, 0 by width",
    "finger edge": "of 394: 496 both ways",
}


def main(wanted: int, first: int) -> None:
    """Print a line for each kind, and every job in which something was missed or wrongly found."""
    told: Counter[str] = Counter()
    spent = decoys = 0.0
    for seed in range(first, first + wanted):
        job = known_job(seed)
        begin = time.process_time()
        found = pairs(job.parts, job.thicknesses, (), job.stacks)
        spent += time.process_time() - begin
        one = judged(job, found)
        decoys += job.decoys
        told += one
        wrong = {name: count for name, count in one.items() if count and name.endswith((", false", "mate"))}
        wrong.pop("without a mate", None)
        for name, count in one.items():
            if name.endswith(", truth") and one[name.replace("truth", "found")] != count:
                wrong[name.replace(", truth", ", missed")] = count - one[name.replace("truth", "found")]
        if wrong:
            print(
                f"seed {seed}, {sorted(set(job.thicknesses))}: "
                + ", ".join(f"{n} {name}" for name, n in wrong.items())
            )
    print(f"{wanted} jobs, {decoys:.0f} decoys, {1000 * spent / wanted:.1f} ms a job")
    print(f"{'':24} {'truth':>6} {'found':>6} {'false':>6} {'mate':>6}   first trial")
    for name in sorted(key.removesuffix(", truth") for key in told if key.endswith(", truth")):
        row = "".join(f" {told[f'{name}, {what}']:6}" for what in ("truth", "found", "false", "wrong mate"))
        print(f"{name:24}{row}   {TRIAL.get(name, '')}")
    print(f"listed without a mate: {told['without a mate']}")


if __name__ == "__main__":
    main(*(int(word) for word in (sys.argv[1:] + ["400", "1"][len(sys.argv) - 1 :])[:2]))
