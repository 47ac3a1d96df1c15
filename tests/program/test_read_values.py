"""Numbers, parameters, expressions and functions after NISTIR 6556, section 3.3.2."""

import math

import pytest

from camkit.program.read import read
from camkit.program.read_error import BlockError
from camkit.program.read_value import Values


def value(text: str, parameters: dict[int, float] | None = None) -> float:
    values = Values(text, parameters or {})
    result = values.real()
    assert values.place == len(text)
    return result


@pytest.mark.parametrize(
    ("text", "expected"),
    [("3", 3.0), ("+3.", 3.0), ("-.5", -0.5), ("0003.250", 3.25), ("-0", 0.0)],
)
def test_numbers(text, expected):
    assert value(text) == expected


@pytest.mark.parametrize(
    "text", ["", ".", "+", "-", "--1", "[1", "[1+]", "[]", "1+1]", "SIN", "SIN30", "-#1", "-[1]"]
)
def test_what_is_no_real_value(text):
    with pytest.raises(BlockError, match="missing") if text != "1+1]" else pytest.raises(AssertionError):
        value(text)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[1+2*3]", 7.0),
        ("[[1+2]*3]", 9.0),
        ("[2*3**2]", 18.0),
        ("[2**3**2]", 64.0),  # equals from left to right
        ("[10-4-3]", 3.0),
        ("[12/4*3]", 9.0),
        ("[1+7MOD4]", 4.0),
        ("[-1MOD4]", 3.0),
        ("[1OR0]", 1.0),
        ("[1AND0]", 0.0),
        ("[2XOR3]", 0.0),
        ("[0XOR-3]", 1.0),
        ("ABS[-2]", 2.0),
        ("ACOS[0]", 90.0),
        ("ASIN[1]", 90.0),
        ("ATAN[1]/[-1]", 135.0),
        ("COS[60]", 0.5),
        ("EXP[1]", math.e),
        ("FIX[-2.8]", -3.0),
        ("FUP[-2.8]", -2.0),
        ("LN[EXP[2]]", 2.0),
        ("ROUND[2.5]", 3.0),
        ("ROUND[-2.5]", -3.0),
        ("SIN[30]", 0.5),
        ("SQRT[16]", 4.0),
        ("TAN[45]", 1.0),
        ("#3", 7.5),
        ("##2", 7.5),
        ("#[1+2]", 7.5),
        ("#99", 0.0),
    ],
)
def test_expressions(text, expected):
    assert value(text, {2: 3.0, 3: 7.5}) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[1/0]", "1 / 0 has no value"),
        ("[1MOD0]", "1 MOD 0 has no value"),
        ("[-8**.5]", r"-8 \*\* 0.5 has no value"),
        ("[10**400]", r"10 \*\* 400 has no value"),
        ("[1" + "0" * 200 + "*1" + "0" * 200 + "]", "not a finite number"),
        ("SQRT[-1]", r"SQRT\[-1\] has no value"),
        ("LN[0]", r"LN\[0\] has no value"),
        ("ASIN[2]", r"ASIN\[2\] has no value"),
        ("EXP[1000]", r"EXP\[1000\] has no value"),
        ("#0", "no parameter #0"),
        ("#5400", "no parameter #5400"),
        ("#1.5", "whole number"),
        ("ATAN[1]", "a / is missing"),
        ("[" * 60 + "1" + "]" * 60, "nested deeper than 40"),
        ("#" * 100 + "1", "nested deeper than 40"),
        ("SIN[" * 50 + "1" + "]" * 50, "nested deeper than 40"),
    ],
)
def test_what_cannot_be_worked_out(text, message):
    with pytest.raises(BlockError, match=message):
        value(text)


def test_settings_take_effect_after_their_whole_line():
    """3.3.3: #3=15 on a line that also uses #3 leaves the old value in use there."""
    reading = read("G21 G90\n#3=6\nG0 X#3 Z5 #3=15\nX#3\nM2\n")
    assert [m.end[0] for m in reading.motions] == [6.0, 15.0]
    assert reading.findings == ()


def test_a_setting_needs_its_equals_sign():
    (finding,) = read("G21\n#3 15\nM2\n").findings
    assert "an = is missing" in finding.message
    assert finding.line == 2


def test_thousands_of_brackets_are_a_finding():
    reading = read("G21 G90\nG0 X" + "[" * 100_000 + "\nG0 X1 Z5\nM2\n")
    assert {f.rule for f in reading.findings} == {"bad-block"}
    assert len(reading.motions) == 1
