"""The area that a written program clears receives the mate's true section, replayed from its text alone."""

from __future__ import annotations

import pathlib

import pytest
from support.joint_cases import case, try_case

# Every kind that goes together, refusals among them; `tests/benchmarks/mates_enter.py` runs hundreds.
LAPS_AND_HOUSINGS = [seed for seed in range(15, 44) if case(seed).kind != "mortise"][:12]


@pytest.mark.parametrize("seed", LAPS_AND_HOUSINGS)
def test_a_random_mate_enters_or_the_cutter_is_refused_by_name(seed: int, tmp_path: pathlib.Path) -> None:
    came = try_case(case(seed), tmp_path)
    assert came.state != "failed", (str(case(seed)), came.reasons)


def test_the_sample_holds_both_what_enters_and_what_is_refused(tmp_path: pathlib.Path) -> None:
    states = [try_case(case(seed), tmp_path).state for seed in LAPS_AND_HOUSINGS]
    assert {"entered", "refused"} <= set(states)
