"""Which cutter makes an opening, and which is the largest whose dogbones stay apart in it."""

from __future__ import annotations

import math

import pytest

from camkit.job.model import Cutter
from camkit.joinery.relief import cutter_for, dogbones_fit, largest_for


def cutters(*diameters: float) -> list[Cutter]:
    return [Cutter(number=n, diameter=d) for n, d in enumerate(diameters, 1)]


@pytest.mark.parametrize(
    ("width", "diameters", "chosen"),
    [
        (17.75, (3.0, 6.0, 8.0), 8.0),
        (17.75, (20.0, 6.0), 6.0),
        (17.75, (6.0, 14.0), 6.0),  # 14 is below 0.8 x 17.75 = 14.2, but its dogbones would merge
        (17.75, (14.0,), 14.0),
        (6.15, (6.0,), 6.0),  # above 0.8 of the width, yet it enters
        (6.15, (4.0, 6.0), 4.0),
        (6.0, (6.0, 8.0), None),
    ],
)
def test_the_largest_cutter_that_does_the_work_is_taken(width, diameters, chosen):
    cutter = cutter_for(width, 18, cutters(*diameters))
    assert (cutter and cutter.diameter) == chosen


def test_a_drill_mills_nothing():
    assert cutter_for(17.75, 18, [Cutter(number=1, kind="drill", diameter=6.0)]) is None


def test_a_cutter_too_short_counts_only_when_it_is_the_only_one():
    short = Cutter(number=1, diameter=8.0, cutting_length=12.0)
    long = Cutter(number=2, diameter=6.0, cutting_length=25.0)
    assert cutter_for(17.75, 18.0, [short, long]) is long
    assert cutter_for(17.75, 6.0, [short, long]) is short
    assert cutter_for(17.75, 18.0, [short]) is short


def test_two_dogbones_need_an_end_of_twice_root_two_radii():
    # 2 sqrt(2) x 3 = 8.485281
    assert dogbones_fit(3.0, width=8.5)
    assert not dogbones_fit(3.0, width=8.48)
    assert not dogbones_fit(3.0, width=20, depth=4.24)  # sqrt(2) x 3 = 4.2426 of a side wall


@pytest.mark.parametrize(("width", "depth"), [(17.75, None), (6.15, None), (17.75, 5.0)])
def test_the_largest_cutter_named_serves_and_one_a_tenth_larger_does_not(width, depth):
    largest = largest_for(width, depth)
    side = math.inf if depth is None else depth
    assert dogbones_fit(largest / 2 + 0.05, width=width, depth=side)
    assert not dogbones_fit((largest + 0.1) / 2 + 0.05, width=width, depth=side)
