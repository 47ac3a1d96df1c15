"""Coupons for many sheets and cutters: how many are judged sound, and how long they cut.

Run: python tests/benchmarks/coupons.py
"""

from __future__ import annotations

import itertools
import pathlib
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).parents[1]))

from test_coupon_way import job_for

from camkit.errors import CannotBeMadeError
from camkit.joinery.coupon import coupon
from camkit.pipeline import make_coupon

SHEETS = (3.0, 3.3, 4.0, 6.5, 9.0, 12.1, 15.0, 17.6, 18.4, 21.0, 24.0, 30.0)
CUTTERS = (2.0, 2.5, 3.0, 3.175, 4.0, 6.0, 6.35, 8.0)
GLUED = {
    "glue_up": ({"name": "a", "layers": ("x", "y"), "dowel": 8.0},),
    "machine": {"zero": "table", "direction": "conventional"},
}


def main() -> None:
    """Print a row for each pair that can be cut, and what was not sound."""
    sound = refused = wrong = 0
    begin = time.perf_counter()
    for thickness, diameter, tables in itertools.product(SHEETS, CUTTERS, ({}, GLUED)):
        job = job_for(thickness, diameter, **tables)
        try:
            piece = coupon(job, job.sheet[0])
        except CannotBeMadeError:
            refused += 1
            continue
        result = make_coupon(piece, "coupon")
        if result.ok:
            sound += 1
        else:
            wrong += 1
            print(f"sheet {thickness:g}, cutter {diameter:g}:", *result.programs[0].verdict.findings[:3])
        if not tables:
            minutes = result.programs[0].verdict.time_s / 60
            wide, high = piece.size
            print(f"sheet {thickness:g}, cutter {diameter:g}: {wide:.0f} x {high:.0f} mm, {minutes:.0f} min")
    print(f"{sound} sound, {refused} refused by name, {wrong} wrong, {time.perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main()
