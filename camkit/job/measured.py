"""What a test coupon measured, as the job file states it. Lengths in mm."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from camkit.job.machine import DIAMETER, Table
from camkit.job.quantity import Expected, Positive, PositivePair, shown, to_tuple

__all__ = ["BLOCK", "LARGEST_MARK", "MARK_STEP", "SMALLEST_MARK", "Mark", "Measured"]

# The marks of a coupon's slots: what is added to the sheet's thickness.
SMALLEST_MARK, LARGEST_MARK, MARK_STEP = -0.10, 0.40, 0.05
# Side of its block.
BLOCK = 50.0

_MARK_WORDS = 'a list of 2, along X and Y: each a mark from -0.1 to 0.4 by 0.05, or "none"'


def _mark(value: object) -> object:
    """The mark exactly on its step; raises ValueError for what no slot is marked with."""
    if value == "none":
        return value
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        mark = round(round(value / MARK_STEP) * MARK_STEP, 2)
        if SMALLEST_MARK <= mark <= LARGEST_MARK and abs(value - mark) < 1e-6:
            return mark
    raise ValueError(f'{shown(value)} is not a mark: from -0.1 to 0.4 by 0.05, or "none"')


Mark = Annotated[float | Literal["none"], BeforeValidator(_mark)]
_MarkPair = Annotated[tuple[Mark, Mark], BeforeValidator(to_tuple), Expected(_MARK_WORDS)]


class Measured(Table):
    """Readings of a test coupon, along X and along Y; its sheet prints these lines."""

    cut_for: Positive = Field(
        description="thickness that the coupon was cut for, as its sheet says", examples=["17.6"]
    )
    cutter: Annotated[float, DIAMETER] = Field(
        description="diameter of the cutter that made it, as its sheet says", examples=["6.0"]
    )
    tongue: Positive | None = Field(
        default=None,
        description="thickness of the tongue that was tried; without it as thick as `cut_for`",
        examples=["17.62"],
    )
    by_hand: _MarkPair | None = Field(
        default=None,
        description="mark of the narrowest slot that the tongue enters by hand; the clearance of knock-down "
        "joints",
        examples=["[0.1, 0.15]", '[0.1, "none"]'],
    )
    by_mallet: _MarkPair | None = Field(
        default=None,
        description="mark of the narrowest slot that it enters by a light mallet; the clearance of press "
        "joints, and one step looser that of glued ones (common practice, no source)",
        examples=["[0.0, 0.05]"],
    )
    widest_slot: PositivePair | None = Field(
        default=None,
        description="measured width of the slots marked 0.40; with `block` it tells the cutter's error from "
        "backlash",
        examples=["[18.02, 18.03]"],
    )
    block: PositivePair | None = Field(
        default=None, description="measured size of the block of 50.00", examples=["[49.96, 49.95]"]
    )
