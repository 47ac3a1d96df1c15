"""Lengths and feeds as people write them: numbers in mm, or text with a unit."""

from __future__ import annotations

import re
from fractions import Fraction

__all__ = ["MM_PER_UNIT", "feed_mm_min", "length_mm"]

# The international inch is 25.4 mm exactly (1959 agreement; ISO 80000-3 gives the metre).
MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "inch": Fraction(254, 10),
    '"': Fraction(254, 10),
    "ft": Fraction(3048, 10),
}

_NUMBER = r"(?P<sign>[-+]?)(?:(?P<decimal>\d+(?:\.\d+)?|\.\d+)|(?:(?P<whole>\d+)[ -]+)?(?P<top>\d+)/(?P<bottom>[1-9]\d*))"
_LENGTH = re.compile(rf"\s*{_NUMBER}\s*(?P<unit>mm|cm|m|in|inch|\"|ft)\s*")
_FEED = re.compile(rf"\s*{_NUMBER}\s*(?P<unit>mm|cm|m|in|inch|ft)\s*/\s*(?P<time>min|s)\s*")


def _value(match: re.Match[str]) -> Fraction:
    if match["decimal"] is not None:
        size = Fraction(match["decimal"])
    else:
        size = Fraction(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    return -size if match["sign"] == "-" else size


def length_mm(text: str) -> float:
    """Read "18 mm", "3/4 in", "1 1/2 in" or "-2.5 cm" as mm, exactly.

    Raises ValueError, saying what is expected, for anything else: a decimal comma, a missing unit,
    two numbers without a fraction.
    """
    match = _LENGTH.fullmatch(text)
    if match is None:
        hint = "; write a decimal point, not a comma" if "," in text else ""
        raise ValueError(f'cannot read {text!r} as a length: write 18.5, "18.5 mm" or "3/4 in"{hint}')
    return float(_value(match) * MM_PER_UNIT[match["unit"]])


def feed_mm_min(text: str) -> float:
    """Read "140 in/min" or "60 mm/s" as mm/min; raises ValueError for anything else."""
    match = _FEED.fullmatch(text)
    if match is None:
        raise ValueError(f'cannot read {text!r} as a feed: write 3600, "3600 mm/min" or "140 in/min"')
    per_minute = 60 if match["time"] == "s" else 1
    return float(_value(match) * MM_PER_UNIT[match["unit"]] * per_minute)
