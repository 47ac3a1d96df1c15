"""How long reading a large DXF takes, beside the bare time that ezdxf needs to load it, and how that grows.

Run: python tests/benchmarks/reading_speed.py
"""

from __future__ import annotations

import pathlib
import tempfile
import time

import ezdxf
from ezdxf.filemanagement import readfile

from camkit.drawing.read import read

# Lines, corner arcs and holes of one part: 4 + 4 + 22 entities.
_ENTITIES = 30
_ACROSS = 40


def draw(path: pathlib.Path, parts: int) -> None:
    """Write plates of 280 x 180 mm with rounded corners, drawn as loose lines and arcs, and 22 holes each."""
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    for number in range(parts):
        x, y = 300.0 * (number % _ACROSS), 200.0 * (number // _ACROSS)
        r, w, h = 20.0, 280.0, 180.0
        space.add_line((x + r, y), (x + w - r, y))
        space.add_line((x + w, y + r), (x + w, y + h - r))
        space.add_line((x + w - r, y + h), (x + r, y + h))
        space.add_line((x, y + h - r), (x, y + r))
        space.add_arc((x + w - r, y + r), r, 270, 360)
        space.add_arc((x + w - r, y + h - r), r, 0, 90)
        space.add_arc((x + r, y + h - r), r, 90, 180)
        space.add_arc((x + r, y + r), r, 180, 270)
        for hole in range(22):
            space.add_circle((x + 30 + 20 * (hole % 11), y + 60 + 60 * (hole // 11)), 4)
    document.saveas(path)


def timed(path: pathlib.Path, parts: int) -> tuple[float, float]:
    """Seconds of the bare load and of the whole reading, the better of two runs each."""
    loads, reads = [], []
    for _ in range(2):
        begin = time.process_time()
        readfile(path)
        middle = time.process_time()
        found = read(path)
        reads.append(time.process_time() - middle)
        loads.append(middle - begin)
        assert len(found.parts) == parts and all(len(part.holes) == 22 for part in found.parts)
    return min(loads), min(reads)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        taken = {}
        for count in (200, 2000):
            drawing = pathlib.Path(folder) / f"{count}.dxf"
            draw(drawing, count)
            taken[count] = timed(drawing, count)
            load, whole = taken[count]
            size = count * _ENTITIES
            print(f"{count} parts, {size} entities: loaded in {load:.2f} s, read in {whole:.2f} s", end="")
            print(f" of processor time, {whole / load:.2f} times the load")
        print(f"ten times the parts: {taken[2000][1] / taken[200][1]:.1f} times the reading time")
