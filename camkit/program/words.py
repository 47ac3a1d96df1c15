"""Words of RS-274 text: numbers without exponent, comments of plain characters (NISTIR 6556, 3.3)."""

from __future__ import annotations

import unicodedata

from camkit.geometry.tolerance import PROGRAM_DECIMALS

__all__ = ["COMMENT_LENGTH", "comment", "number"]

# A line may hold 256 characters (3.3); comments stay well below, so that operators can read them on a screen.
COMMENT_LENGTH = 120


def number(value: float, decimals: int = PROGRAM_DECIMALS) -> str:
    """The value with at most `decimals` places, without trailing zeros and never "-0"."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def comment(text: str) -> str:
    """The text as a comment: printable ASCII, no parentheses inside (3.3.4), cut to COMMENT_LENGTH."""
    plain = unicodedata.normalize("NFKD", text.replace("\u00d7", "x").replace("\u2212", "-"))
    kept = "".join(
        {"(": "[", ")": "]"}.get(c, c)
        if c.isascii() and c.isprintable()
        else ("" if unicodedata.combining(c) else "?")
        for c in plain
    )
    return f"({kept[: COMMENT_LENGTH - 2]})"
