"""Tolerance grades of ISO 286-1, by which a shop names how exact a width is. Sizes in mm."""

from __future__ import annotations

__all__ = ["grade_for", "it_grade"]

# ISO 286-1 table, IT6 to IT11 in thousandths, for sizes over the first and up to the second number. The table
# counts, not the formula behind it, which ordinary rounding does not turn into the table.
_TABLE: tuple[tuple[float, float, tuple[int, ...]], ...] = (
    (3, 6, (8, 12, 18, 30, 48, 75)),
    (6, 10, (9, 15, 22, 36, 58, 90)),
    (10, 18, (11, 18, 27, 43, 70, 110)),
    (18, 30, (13, 21, 33, 52, 84, 130)),
    (30, 50, (16, 25, 39, 62, 100, 160)),
)
_FINEST, _COARSEST, _FROM_TEN_TIMES = 6, 14, 12


def it_grade(size: float, grade: int) -> float | None:
    """Tolerance in mm of a grade from IT6 to IT14 at a size over 3 up to 50; None for sizes outside.

    Every fifth grade is ten times as wide, so IT12 to IT14 are ten times IT7 to IT9. Raises ValueError for
    another grade. 18 mm belongs to the step over 10 up to 18.

    >>> it_grade(18.0, 12)
    0.18
    """
    if not _FINEST <= grade <= _COARSEST:
        raise ValueError(f"IT{grade} is not one of IT6 to IT14")
    for over, up_to, row in _TABLE:
        if over < size <= up_to:
            if grade >= _FROM_TEN_TIMES:
                return row[grade - 5 - _FINEST] * 10 / 1000
            return row[grade - _FINEST] / 1000
    return None


def grade_for(size: float, tolerance: float) -> str | None:
    """The finest grade whose whole tolerance is at least this one ("IT12"), or None beyond the table."""
    for grade in range(_FINEST, _COARSEST + 1):
        allowed = it_grade(size, grade)
        if allowed is not None and allowed >= tolerance - 1e-9:
            return f"IT{grade}"
    return None
