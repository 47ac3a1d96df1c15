"""The bench made by hand, sound and refused."""

from __future__ import annotations

import pytest
from support.bench_by_hand import ERRORS, bench

from camkit.pipeline import Result


@pytest.fixture(scope="session")
def sound() -> Result:
    return bench()


@pytest.fixture(scope="session")
def refused() -> Result:
    return bench(errors=ERRORS)
