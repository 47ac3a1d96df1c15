"""Tolerance grades by the published table of ISO 286-1."""

from __future__ import annotations

import math

import pytest

from camkit.joinery.grades import grade_for, it_grade

# mechguru.com, DIN ISO 286 standard tolerances IT6 to IT11, in thousandths.
TABLE = {
    (3, 6): (8, 12, 18, 30, 48, 75),
    (6, 10): (9, 15, 22, 36, 58, 90),
    (10, 18): (11, 18, 27, 43, 70, 110),
    (18, 30): (13, 21, 33, 52, 84, 130),
    (30, 50): (16, 25, 39, 62, 100, 160),
}


@pytest.mark.parametrize(("step", "row"), TABLE.items())
def test_grades_are_those_of_the_table_and_near_the_formula(step, row):
    """The formula of ISO 286-1 (i = 0.45 D^(1/3) + 0.001 D) lies within 10 % of every entry."""
    size = math.sqrt(step[0] * step[1])
    unit = 0.45 * size ** (1 / 3) + 0.001 * size
    for grade, um, times in zip(range(6, 12), row, (10, 16, 25, 40, 64, 100), strict=True):
        assert it_grade(step[1], grade) == um / 1000
        assert um == pytest.approx(unit * times, rel=0.1)


def test_eighteen_millimetres_belong_to_the_step_below():
    """Holes H12 and H13 over 10 up to 18 are +180 and +270 (ISO 286-2 table, studylib.net)."""
    assert [it_grade(18.0, grade) for grade in (7, 11, 12, 13)] == [0.018, 0.11, 0.18, 0.27]
    assert it_grade(18.001, 7) == 0.021
    assert it_grade(3.0, 7) is None
    with pytest.raises(ValueError, match="IT5 is not one of IT6 to IT14"):
        it_grade(18.0, 5)


def test_a_tolerance_is_named_by_the_finest_grade_that_allows_it():
    assert grade_for(18.0, 0.11) == "IT11"
    assert grade_for(18.0, 0.111) == "IT12"
    assert grade_for(18.0, 0.5) is None
    assert grade_for(60.0, 0.1) is None
