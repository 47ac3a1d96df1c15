"""A fixed sample of `tests/benchmarks/joints_found.py`: every joint that was drawn is found, and no other."""

from __future__ import annotations

from collections import Counter

from support.joints_judged import judged
from support.known_joints import known_job

from camkit.joinery.pairs import pairs

JOBS = 60


def test_random_joints_are_found_with_their_mates_and_decoys_are_not() -> None:
    told: Counter[str] = Counter()
    decoys = 0
    for seed in range(1, JOBS + 1):
        job = known_job(seed)
        told += judged(job, pairs(job.parts, job.thicknesses, (), job.stacks))
        decoys += job.decoys
    kinds = [key.removesuffix(", truth") for key in told if key.endswith(", truth")]
    missed = {kind: told[f"{kind}, truth"] - told[f"{kind}, found"] for kind in kinds}
    assert missed == dict.fromkeys(kinds, 0)
    # A hole of 3.4 to 6.6 that is nobody's dowel hole may be a screw's: its size is all that there is.
    wrong = {key for key in told if key.endswith((", false", "wrong mate")) and told[key]}
    assert wrong <= {"screw hole, false"}
    assert len(kinds) == 11
    assert decoys > JOBS
