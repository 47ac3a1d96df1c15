"""Canned cycles as the single motions that they stand for (NISTIR 6556, 3.5.16)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from camkit.program.motion import Point3
from camkit.program.read_error import BlockError

__all__ = ["BACK_OFF", "Cycle", "Step", "count_of_steps", "cycle_from_words", "cycle_steps"]

# 3.5.16.4 lets G83 return to the bottom "backed off a bit" and gives no figure; a quarter of a mm is ours.
BACK_OFF = 0.25
# Cycles that use a word besides Z and R; and those that feed out again.
_PECKS, _DWELLS, _FEEDS_OUT = (830,), (820, 890), (850, 890)

Step = tuple[Literal["rapid", "feed"], Point3] | float


@dataclass(frozen=True, slots=True)
class Cycle:
    """One canned cycle in the XY plane, absolute and in mm.

    `code` is ten times the G number; `retract` is the R plane, `clear` the height to return to; `peck` is Q
    (G83), `dwell_s` is P (G82, G89).
    """

    code: int
    bottom: float
    retract: float
    clear: float
    peck: float
    dwell_s: float


def cycle_from_words(
    code: int,
    words: Mapping[str, float],
    height: float,
    *,
    absolute: bool,
    to_old_height: bool,
    shift: float = 0.0,
) -> Cycle:
    """The cycle that Z, R, Q (mm) and P (seconds) describe when begun at `height`.

    Under G91 R counts from `height` and Z from R. Raises BlockError when a word is missing or impossible.
    """
    for word in ("Z", "R", *(("Q",) if code in _PECKS else ()), *(("P",) if code in _DWELLS else ())):
        if word not in words:
            raise BlockError(f"G{code // 10} needs a {word} word (3.5.16)", f"Write {word}")
    if words.get("Q", 1.0) <= 0 or words.get("P", 0.0) < 0:
        raise BlockError("Q must be above 0 and P not below 0 (3.5.16)", "Correct Q or P")
    retract = words["R"] + (shift if absolute else height)
    bottom = words["Z"] + (shift if absolute else retract)
    if retract < bottom:
        raise BlockError("R lies below Z (3.5.16)", "Write R above the bottom of the hole")
    clear = height if to_old_height and height > retract else retract
    return Cycle(code, bottom, retract, clear, words.get("Q", 1.0), words.get("P", 0.0))


def _pecks(cycle: Cycle) -> float:
    if cycle.code not in _PECKS:
        return 1.0
    return max(1.0, math.ceil((cycle.retract - cycle.bottom) / cycle.peck - 1e-9))


def count_of_steps(cycle: Cycle, repeats: int) -> float:
    """About how many motions the cycle makes when repeated; known before any is made."""
    return repeats * (3 * _pecks(cycle) + 2)


def cycle_steps(cycle: Cycle, at: Point3, places: tuple[tuple[float, float], ...]) -> Iterator[Step]:
    """The motions from the position `at`, one hole at each (x, y); a bare number is a dwell in seconds."""
    x, y, z = at
    if z < cycle.retract:
        z = cycle.retract
        yield "rapid", (x, y, z)
    for place in places:
        if place != (x, y):
            x, y = place
            yield "rapid", (x, y, z)
        if z != cycle.retract:
            yield "rapid", (x, y, cycle.retract)
        yield from _bore(cycle, x, y)
        z = cycle.clear


def _bore(cycle: Cycle, x: float, y: float) -> Iterator[Step]:
    pecks = int(_pecks(cycle))
    for n in range(1, pecks):
        yield "feed", (x, y, cycle.retract - n * cycle.peck)
        yield "rapid", (x, y, cycle.clear)
        yield "rapid", (x, y, min(cycle.clear, cycle.retract - n * cycle.peck + BACK_OFF))
    yield "feed", (x, y, cycle.bottom)
    if cycle.code in _DWELLS:
        yield cycle.dwell_s
    if cycle.code in _FEEDS_OUT:
        yield "feed", (x, y, cycle.retract)
    if cycle.code not in _FEEDS_OUT or cycle.clear != cycle.retract:
        yield "rapid", (x, y, cycle.clear)
