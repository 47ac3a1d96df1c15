"""How far the cutter goes to clear a pocket, against the least that its area asks, and what it leaves.

The length is measured in the program's text, by a replay without camkit: level ways at the floors of the
passes, links between rings in; and all that is fed below the sheet's top, ramps in.

Run: python tests/benchmarks/pockets.py
"""

from __future__ import annotations

import pathlib
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.pocket_shapes import SHAPES, SLOTS, Cleared, cleared

DIAMETERS = (6.0, 8.0)


def one(name: str, diameter: float, depth: float, passes: int) -> Cleared:
    """Prints a row and gives it back."""
    begin = time.process_time()
    found = cleared(SHAPES[name], diameter, depth, passes)
    spent = time.process_time() - begin
    print(
        f"{name:24}{diameter:4g} in {passes}: floors {found.floors / found.bound:.3f}, ramps in "
        f"{found.fed / found.bound:.3f}, left {found.left:.5f}, lifts {found.lifts}, moves {found.moves:4d}, "
        f"shortest {found.shortest:.3f}, planned in {found.planning_s * 1000:.0f} ms of {spent * 1000:.0f}"
        f"{', ' + ' '.join(found.faults) if found.faults else ''}"
    )
    return found


if __name__ == "__main__":
    for diameter in DIAMETERS:
        for depth, passes in ((3.0, 1), (12.0, 3)):
            rows = {name: one(name, diameter, depth, passes) for name in SHAPES}
            for said, slots in (("wide pockets, wanted 1.30", False), ("slots, wanted 1.42", True)):
                worst = max(row.floors / row.bound for name, row in rows.items() if (name in SLOTS) == slots)
                print(f"  D {diameter:g} in {passes}, {said}: {worst:.3f}")
            print(f"  most left {max(row.left for row in rows.values()):.5f} mm2, wanted 0.001")
