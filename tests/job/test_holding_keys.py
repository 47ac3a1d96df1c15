"""How a job says what holds its pieces, and what it is told when that cannot be."""

from __future__ import annotations

import pytest

from camkit.errors import InputError
from camkit.job.load import parse

LEAST = """
[sheet]
measured_thickness = 18
[[cutter]]
number = 1
diameter = 6
"""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ('[tabs]\nhold = "tape"', 'line 8: tabs.hold: "tape" is not "tabs", "skin" or "vacuum"'),
        ("[tabs]\nskin = 0.1", "line 8: tabs.skin: 0.1 is not a length from 0.2 to 1.5"),
        ("[tabs]\nvacuum_kpa = 2", "line 8: tabs.vacuum_kpa: 2 is not a pressure from 5 to 100"),
        ('[sheet]\ngrain = "across"', 'sheet.grain: "across" is not "length", "width" or "none"'),
        (
            '[[part]]\nname = "a"\nhold = "air"',
            'line 9: part.1.hold: "air" is not "tabs", "skin" or "vacuum"',
        ),
        (
            '[[part]]\nname = "a"\ntabs = [[1, 2]]\nhold = "skin"',
            "line 10: part.1.hold: 'a' is held by skin, and has places for tabs too. Leave out tabs or hold",
        ),
    ],
)
def test_what_cannot_hold_a_piece_is_told_with_its_line(words: str, said: str) -> None:
    text = LEAST.replace("[sheet]", words) if words.startswith("[sheet]") else LEAST + words
    with pytest.raises(InputError) as refusal:
        parse(text, "job.toml")
    assert said in str(refusal.value.findings[0])


def test_a_part_overrules_the_job_and_places_for_tabs_overrule_both() -> None:
    rows = """[tabs]
hold = "vacuum"
[[part]]
name = "one"
[[part]]
name = "two"
hold = "skin"
[[part]]
name = "three"
tabs = [[10, 20]]
"""
    job = parse(LEAST + rows, "job.toml")
    assert [job.holding(name) for name in ("one", "two", "three", "no row")] == [
        "vacuum", "skin", "tabs", "vacuum",
    ]  # fmt: skip


def test_the_area_that_vacuum_needs_follows_from_friction_and_three_times_the_side_force() -> None:
    """0.0133 m2 at 30 kPa, friction 0.3 and 40 N: 115 x 115 mm."""
    job = parse(LEAST, "job.toml")
    assert job.tabs.vacuum_area == pytest.approx(13_333, abs=1)
    assert 0.3 * 30e3 * job.tabs.vacuum_area * 1e-6 == pytest.approx(3 * 40)
