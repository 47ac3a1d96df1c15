"""Lengths and feeds as people write them: text with a unit, read exactly or refused."""

from __future__ import annotations

import re
from fractions import Fraction

__all__ = ["MM_PER_UNIT", "feed_mm_min", "length_mm"]

# The international inch is 25.4 mm exactly (yard and pound agreement of 1959), the foot twelve of them.
# The inch sign is the straight double quote or the double prime; curly quotes are punctuation.
MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "inch": Fraction(254, 10),
    '"': Fraction(254, 10),
    "″": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}

_DECIMAL = r"(?P<decimal>[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_FRACTION = r"(?:(?P<whole>[0-9]+)(?: +|-))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
_NUMBER = rf"(?P<sign>[-+]?)(?:{_DECIMAL}|{_FRACTION})"
_BARE = re.compile(rf"\s*{_NUMBER}\s*")
_LENGTH = re.compile(rf"\s*{_NUMBER}\s*(?P<unit>mm|cm|m|in|inch|\"|″|ft)\s*")
_FEED = re.compile(rf"\s*{_NUMBER}\s*(?P<unit>mm|cm|m|in|inch|ft)\s*/\s*(?P<time>min|s)\s*")
# No honest length is longer; without a limit a number of a million digits would be worked out.
_LONGEST_TEXT = 40


def _value(match: re.Match[str]) -> Fraction | None:
    """The number that was matched; None for a fraction over zero or "1 5/4", which is a slip."""
    if match["decimal"] is not None:
        size = Fraction(match["decimal"])
    else:
        top, bottom = int(match["top"]), int(match["bottom"])
        if bottom == 0 or (match["whole"] is not None and top >= bottom):
            return None
        size = Fraction(match["whole"] or 0) + Fraction(top, bottom)
    return -size if match["sign"] == "-" else size


def _shown(text: str) -> str:
    return repr(text if len(text) <= _LONGEST_TEXT else text[:_LONGEST_TEXT] + "…")


def length_mm(text: str) -> float:
    """Read "18 mm", "3/4 in", '3/4"', "1 1/2 in", "1-1/2 in" or "-2.5 cm" as mm, exactly.

    Raises ValueError, saying what is expected, for anything else: a decimal comma, a missing unit,
    two numbers that are no mixed fraction.
    """
    match = _LENGTH.fullmatch(text) if len(text) <= _LONGEST_TEXT else None
    size = None if match is None else _value(match)
    if match is None or size is None:
        hint = ""
        if "," in text:
            hint = "; write a decimal point, not a comma, and nothing between thousands"
        elif _BARE.fullmatch(text):
            hint = "; say the unit"
        raise ValueError(f'{_shown(text)} is not a length: write 18.5, "18.5 mm" or "1 1/2 in"{hint}')
    return float(size * MM_PER_UNIT[match["unit"]])


def feed_mm_min(text: str) -> float:
    """Read "140 in/min" or "60 mm/s" as mm/min, exactly; raises ValueError for anything else."""
    match = _FEED.fullmatch(text) if len(text) <= _LONGEST_TEXT else None
    size = None if match is None else _value(match)
    if match is None or size is None:
        raise ValueError(f'{_shown(text)} is not a feed: write 3600, "3600 mm/min" or "140 in/min"')
    per_minute = 60 if match["time"] == "s" else 1
    return float(size * MM_PER_UNIT[match["unit"]] * per_minute)
