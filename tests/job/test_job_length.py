"""Lengths and feeds: read exactly, or refused in words."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.job.length import feed_mm_min, length_mm

# NIST SP 811 (2008), appendix B.8, from memory of the table: inch 2.54 E-02 m, foot 3.048 E-01 m, both exact.
MM = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction("25.4"),
    "ft": Fraction("304.8"),
}


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("18 mm", 18.0),
        ("18mm", 18.0),
        (" 18.5 mm ", 18.5),
        (".5 in", 12.7),
        ("1.8 cm", 18.0),
        ("2.44 m", 2440.0),
        ("3/4 in", 19.05),
        ('3/4"', 19.05),
        ("3/4″", 19.05),
        ("3/4 inch", 19.05),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("23/32 in", 18.25625),  # the PS 1 performance category, as a fraction of 25.4
        ("-2.5 cm", -25.0),
        ("-1 1/2 in", -38.1),
        ("+5 mm", 5.0),
        ("8 ft", 2438.4),
    ],
)
def test_reads_what_has_one_meaning(text: str, mm: float) -> None:
    assert length_mm(text) == mm


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("18,5 mm", "write a decimal point, not a comma"),
        ("1,220 mm", "nothing between thousands"),
        ("1 1/2", "say the unit"),
        ("18", "say the unit"),
        ("1 2 in", "is not a length"),
        ("1 5/4 in", "is not a length"),  # a slip of the finger, or 2 1/4: nobody knows
        ("1/0 in", "is not a length"),
        ("3/4'", "is not a length"),  # the foot sign is too easily meant for the inch sign
        ("3/4”", "is not a length"),
        ("5' 6\"", "is not a length"),
        ("1e3 mm", "is not a length"),
        ("1_000 mm", "is not a length"),
        ("١٨ mm", "is not a length"),
        ("18 thou", "is not a length"),
        ("18 mm 2", "is not a length"),
        ("", "is not a length"),
        ("9" * 5000 + " mm", "…' is not a length"),
    ],
)
def test_refuses_what_could_be_misread(text: str, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        length_mm(text)


@given(
    whole=st.integers(0, 9999),
    bottom=st.integers(2, 128),
    data=st.data(),
    unit=st.sampled_from(sorted(MM)),
    negative=st.booleans(),
)
@settings(derandomize=True, deadline=None, max_examples=50)
def test_a_mixed_fraction_is_the_nearest_float_to_its_exact_value(
    whole: int, bottom: int, data: st.DataObject, unit: str, negative: bool
) -> None:
    top = data.draw(st.integers(0, bottom - 1))
    exact = Fraction(whole * bottom + top, bottom) * MM[unit] * (-1 if negative else 1)
    text = f"{'-' if negative else ''}{whole} {top}/{bottom} {unit}"
    assert length_mm(text) == exact.numerator / exact.denominator


@given(thousandths=st.integers(-(10**8), 10**8), unit=st.sampled_from(sorted(MM)))
@settings(derandomize=True, deadline=None, max_examples=50)
def test_a_decimal_is_the_nearest_float_to_its_exact_value(thousandths: int, unit: str) -> None:
    sign, digits = ("-" if thousandths < 0 else ""), f"{abs(thousandths):04d}"
    exact = Fraction(thousandths, 1000) * MM[unit]
    assert length_mm(f"{sign}{digits[:-3]}.{digits[-3:]} {unit}") == exact.numerator / exact.denominator


@given(text=st.text(alphabet="0123456789 .,/-+mcinft\"'", max_size=12))
@settings(derandomize=True, deadline=None, max_examples=50)
def test_any_text_is_a_number_or_refused(text: str) -> None:
    try:
        value = length_mm(text)
    except ValueError as refusal:
        assert "is not a length" in str(refusal)
    else:
        assert isinstance(value, float)


@pytest.mark.parametrize(
    ("text", "mm_min"),
    [
        ("3600 mm/min", 3600.0),
        ("140 in/min", 3556.0),
        ("60 mm/s", 3600.0),
        ("3.6 m/min", 3600.0),
        ("12 ft / min", 3657.6),
    ],
)
def test_reads_feeds(text: str, mm_min: float) -> None:
    assert feed_mm_min(text) == mm_min


@pytest.mark.parametrize("text", ["3600", "140 in", "140 ipm", "3,5 m/min", "1/0 in/min", "60 mm/h"])
def test_refuses_other_feeds(text: str) -> None:
    with pytest.raises(ValueError, match="is not a feed: write 3600"):
        feed_mm_min(text)
