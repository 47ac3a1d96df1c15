"""Time and memory that files made to break the reader take; `python tests/benchmarks/hostile_drawings.py`.

One line a file: how it ended, seconds of computing, MiB of memory. Also the largest plain drawings that are
read: the limits on entities, values and lines are set by these figures (10 s, 1 GiB).
"""

from __future__ import annotations

import pathlib
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent))

from support.bounded import BoundedReader
from support.hostile import SAMPLES
from support.hostile_dxf import entities


def squares(count: int) -> bytes:
    """Squares of 8 mm in rows of 200, drawn as four lines each."""
    lines = []
    for i in range(count):
        x, y = i % 200 * 10, i // 200 * 10
        corners = ((x, y), (x + 8, y), (x + 8, y + 8), (x, y + 8))
        for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
            lines.append(f"0\nLINE\n8\n0\n10\n{ax}\n20\n{ay + 100}\n11\n{bx}\n21\n{by + 100}\n")
    return entities("".join(lines))


def wheel(count: int) -> bytes:
    """One outline of so many corners."""
    corners = "".join(f"10\n{i % 1000}\n20\n{100 + i // 1000 + (i % 2) / 10}\n" for i in range(count))
    return entities(f"0\nLWPOLYLINE\n8\n0\n90\n{count}\n70\n0\n{corners}")


def main() -> None:
    """Read and print."""
    plain = {"24 000 squares of lines": squares(24_000), "390 000 corners": wheel(390_000)}
    with tempfile.TemporaryDirectory() as folder, BoundedReader(120) as reader:
        path = pathlib.Path(folder) / "drawing"
        for name, content in [*plain.items(), *((name, sample.make()) for name, sample in SAMPLES.items())]:
            path.write_bytes(content)
            outcome = reader.read(path)
            size = f"{len(content) / 1e6:6.1f} MB"
            figures = f"{outcome.seconds:6.2f} s {outcome.memory_mib:5.0f} MiB"
            print(f"{name:32} {size} {outcome.kind:8} {outcome.rule:18} {figures}", flush=True)


if __name__ == "__main__":
    main()
