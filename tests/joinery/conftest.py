"""Jobs and shapes that the tests of fitting share."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

import pytest

from camkit.geometry.path import Path, Point, polygon
from camkit.job.model import Job


def make_job(
    *,
    drawn: float | None = 18.0,
    measured: float = 17.6,
    cutters: Iterable[float] = (6.0,),
    clearance: float = 0.15,
    **tables: object,
) -> Job:
    sheet: dict[str, object] = {"measured_thickness": (measured,)}
    if drawn is not None:
        sheet["drawn_thickness"] = drawn
    rows = tuple({"number": number, "diameter": d} for number, d in enumerate(cutters, 1))
    return Job.model_validate({"sheet": sheet, "cutter": rows, "fit": {"clearance": clearance}, **tables})


def slanted_rectangle(middle: Point, length: float, width: float, turn_deg: float = 0.0) -> Path:
    """A rectangle about `middle` whose long side is turned by `turn_deg`."""
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return polygon(
        (middle[0] + u * cos - v * sin, middle[1] + u * sin + v * cos)
        for u, v in (
            (-length / 2, -width / 2),
            (length / 2, -width / 2),
            (length / 2, width / 2),
            (-length / 2, width / 2),
        )
    )


@pytest.fixture(scope="session")
def job() -> Callable[..., Job]:
    return make_job


@pytest.fixture(scope="session")
def slanted() -> Callable[..., Path]:
    return slanted_rectangle
