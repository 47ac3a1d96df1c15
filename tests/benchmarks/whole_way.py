"""How long the whole way takes, stage by stage, for the demo and published drawings.

Run: python tests/benchmarks/whole_way.py
"""

from __future__ import annotations

import itertools
import pathlib
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.places import DEMO, DRAWINGS

from camkit.job.load import load
from camkit.job.model import Job
from camkit.job.overrule import from_words
from camkit.pipeline import make

PUBLISHED = {
    "desk-fillets-mm.dxf": (21.0, "2520x1270", ["6"]),
    "case-middle-plate.dxf": (18.0, None, ["6"]),
    "rack-inches.dxf": (20.64, None, ["6"]),
    "front-plate.svg": (3.0, None, ["2"]),
}


def stages(name: str, job: Job, folder: pathlib.Path) -> None:
    """Print the seconds of each stage and what the judge says."""
    stamps: list[tuple[str, float]] = []
    result = make(job, folder, name, lambda doing: stamps.append((doing, time.perf_counter())))
    stamps.append(("", time.perf_counter()))
    parts = [f"{a[0].lower()} {b[1] - a[1]:.2f}" for a, b in itertools.pairwise(stamps)]
    verdict = result.programs[0].verdict
    print(
        f"{name}: {'sound' if result.ok else 'refused'}, cutting {verdict.time_s:.0f} s; {', '.join(parts)}"
    )


if __name__ == "__main__":
    for words in (("--help",), ("cut", str(DEMO), "--out", tempfile.mkdtemp())):
        begin = time.perf_counter()
        subprocess.run([sys.executable, "-m", "camkit", *words], check=True, capture_output=True)
        print(f"camkit {words[0]}: {time.perf_counter() - begin:.2f} s in a process of its own")
    stages("potting bench", load(DEMO), DEMO.parent)
    for name, (thickness, sheet, cutters) in PUBLISHED.items():
        if (DRAWINGS / name).exists():
            stages(name, from_words([name], thickness, sheet, cutters, None), DRAWINGS)
