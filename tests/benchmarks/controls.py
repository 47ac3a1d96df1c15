"""The demo written for many controls: is each program sound, how long is its text, what time does it take?

    python tests/benchmarks/controls.py

Prints one line a control: the judge's verdict, programs, lines, arcs, the worst difference between the radii
of an arc as written (NISTIR 6556 section 3.5.3 allows 0.002 mm or 0.0002 inch), machine time.
"""

from __future__ import annotations

import math
import pathlib
import re
import sys
from collections.abc import Iterator

sys.path.insert(0, str(pathlib.Path(__file__).parents[1]))

from support.places import DEMO

from camkit.job.load import load
from camkit.job.model import Job
from camkit.pipeline import make

CONTROLS: dict[str, dict[str, object]] = {
    "as it is": {},
    "zero in the middle": {"xy_zero": "centre"},
    "upper right, on the table": {"xy_zero": "upper right", "zero": "table"},
    "inches": {"program_unit": "inch"},
    "inches, upper left, table": {"program_unit": "inch", "xy_zero": "upper left", "zero": "table"},
    "no arcs": {"arcs": "lines"},
    "no arcs, inches": {"arcs": "lines", "program_unit": "inch"},
    "blended 0.015": {"path": "blended", "path_deviation": 0.015},
    "plain": {"omit": ("T", "M6", "G61"), "speed_by_hand": True, "start_dwell": 3.0, "with_spindle": ("M8",)},
    "separate programs": {"cutter_change": "separate programs"},
    "cycles, inches": {"drilling_cycles": True, "program_unit": "inch"},
}


def mismatches(text: str) -> Iterator[float]:
    """How much the radii of each arc differ, in the program's unit."""
    at = (0.0, 0.0)
    for row in text.splitlines():
        words = dict(re.findall(r"([A-Z])(-?[\d.]+)", re.sub(r"\(.*\)", "", row)))
        end = (float(words.get("X", at[0])), float(words.get("Y", at[1])))
        if "I" in words:
            centre = (at[0] + float(words["I"]), at[1] + float(words["J"]))
            yield abs(math.dist(at, centre) - math.dist(end, centre))
        at = end


def with_machine(job: Job, keys: dict[str, object]) -> Job:
    """The job with other keys of [machine]."""
    return job.model_copy(update={"machine": job.machine.model_copy(update=keys)})


def main() -> None:
    """Print a line for each control."""
    job = load(DEMO)
    print(f"{'control':28}{'verdict':>10}{'programs':>10}{'lines':>8}{'arcs':>7}{'worst':>10}{'seconds':>9}")
    for name, keys in CONTROLS.items():
        result = make(with_machine(job, keys), DEMO.parent, "bench")
        texts = [program.text for program in result.programs]
        off = [d for text in texts for d in mismatches(text)]
        warned = sum(f.level == "warning" for p in result.programs for f in p.verdict.findings)
        said = "refused" if not result.ok else f"{warned} warned" if warned else "sound"
        lines = sum(text.count("\n") for text in texts)
        time = sum(program.verdict.time_s for program in result.programs)
        worst = f"{max(off):.6f}" if off else "-"
        print(f"{name:28}{said:>10}{len(texts):>10}{lines:>8}{len(off):>7}{worst:>10}{time:>9.0f}")
        for program in result.programs:
            for finding in program.verdict.findings:
                print("   ", finding.level, finding.rule, finding)


if __name__ == "__main__":
    main()
