"""A few jobs by chance, measured whole; tests/benchmarks/signed_programs.py runs hundreds."""

from __future__ import annotations

import pathlib

import pytest
from support.random_trials import random_trial
from support.signed import sign
from support.trials import made, texts

SOUND = (0, 4, 13)


@pytest.mark.parametrize("seed", SOUND)
def test_a_machinist_would_sign_it(tmp_path: pathlib.Path, seed: int) -> None:
    trial = random_trial(seed)
    assert sign(trial, texts(made(trial, tmp_path)), 0.7).complaints == {}
