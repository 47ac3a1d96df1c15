"""The area that a written program clears receives the mate's true section, replayed from its text alone.

A small sample of every kind of joint; `tests/benchmarks/mates_enter.py` runs hundreds.
"""

from __future__ import annotations

import pathlib

import pytest
from _pytest.mark import ParameterSet
from support.joint_trials import tried
from support.random_joints import KINDS, Joint, Kind, joint

# Kind and seed, and why it does not enter yet. Drawn reliefs, drawn play, turned openings and two sheets are
# among them.
ENTER: dict[tuple[Kind, int], str] = {
    ("flush tenon", 7): "",
    ("flush tenon", 6): "",
    ("proud tenon", 5): "",
    ("stub tenon", 14): "",
    ("open slot", 7): "",
    ("cross-lap", 53): "",
    ("fingers", 7): "",
    ("stopped housing", 5): "",
    ("open housing", 5): "",
    ("rabbet", 2): "",
    ("glued layers", 2): "",
    ("proud tenon", 50): "T-bones that leave less than their radius of wall between them are not undone",
    ("open slot", 98): "",
    ("rabbet", 559): "a rabbet half as wide as the cutter is left uncut, though it is open at the edge",
}
REFUSED: list[tuple[Kind, int]] = [("open slot", 2), ("fingers", 11), ("stub tenon", 86)]


def marked(expected: dict[tuple[Kind, int], str]) -> list[ParameterSet]:
    return [
        pytest.param(*case, marks=pytest.mark.xfail(strict=True, reason=why) if why else ())
        for case, why in expected.items()
    ]


@pytest.mark.parametrize("kind, seed", marked(ENTER))
def test_a_random_mate_enters_fits_as_asked_and_seats(kind: Kind, seed: int, tmp_path: pathlib.Path) -> None:
    came = tried(joint(seed, kind), tmp_path)
    assert came.state == "entered", (str(joint(seed, kind)), came.reasons)


@pytest.mark.parametrize("kind, seed", REFUSED)
def test_a_joint_too_narrow_for_the_cutter_is_refused_by_rule_and_part(
    kind: Kind, seed: int, tmp_path: pathlib.Path
) -> None:
    one = joint(seed, kind)
    assert one.must_be_refused
    came = tried(one, tmp_path)
    assert came.state == "refused", (str(one), came.reasons)


def test_one_in_seven_of_the_random_joints_cannot_be_made() -> None:
    """And every kind, turned openings, two sheets and drawn reliefs are among 200."""
    drawn: list[Joint] = [joint(seed) for seed in range(1, 201)]
    assert 0.10 < sum(j.must_be_refused for j in drawn) / len(drawn) < 0.20
    assert {j.kind for j in drawn} == set(KINDS)
    assert min(sum(j.two_sheets for j in drawn), sum(j.relief is not None for j in drawn)) > 20
    assert sum(j.turn_deg != 0 for j in drawn) > 20
