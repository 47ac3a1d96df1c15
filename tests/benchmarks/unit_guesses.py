"""How often drawings without a unit are read in the right one, asked about, or read in a wrong one.

Run: python tests/benchmarks/unit_guesses.py [drawings of each unit]
"""

from __future__ import annotations

import pathlib
import random
import sys
import tempfile
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.habits import MM, dxf_text, random_shapes

from camkit.drawing.read import read
from camkit.errors import InputError


def outcome(path: pathlib.Path, unit: str) -> str:
    """What becomes of a drawing: "right", "asked", or what it was wrongly read in."""
    try:
        found = read(path)
    except InputError:
        return "asked"
    assert any(finding.rule == "unit-guessed" and finding.level == "warning" for finding in found.findings)
    return "right" if found.unit == unit else f"wrong: {found.unit}"


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    with tempfile.TemporaryDirectory() as folder:
        place = pathlib.Path(folder) / "drawing.dxf"
        for bare in (False, True):
            print("plain rectangles" if bare else "parts with slots or holes")
            for unit in MM:
                chance = random.Random(f"{unit} {bare}")
                found: Counter[str] = Counter()
                for _ in range(count):
                    place.write_text(dxf_text(random_shapes(chance, unit, bare=bare)))
                    found[outcome(place, unit)] += 1
                print(f"  {unit}: " + ", ".join(f"{n} {said}" for said, n in sorted(found.items())))
