"""Curves as chords."""

from __future__ import annotations

import math

import pytest

from camkit.geometry.flatten import as_polygon, chords_for
from camkit.geometry.path import circle


@pytest.mark.parametrize("diameter", [0.01, 0.039, 0.041, 0.05, 0.2, 50.0])
def test_a_circle_is_an_area_however_small_it_is_against_the_tolerance(diameter: float) -> None:
    """Four chords of a circle enclose 2 / pi of it; chords of more than a quarter turn never appear."""
    area = as_polygon(circle((3.0, 4.0), diameter), 0.02).area
    assert 2 / math.pi - 1e-9 <= area / (math.pi * diameter**2 / 4) <= 1


def test_chords_keep_the_sagitta() -> None:
    """10 mm within 0.01: a chord spans 2 acos(0.999) = 5.125 degrees at most; a full turn takes 71."""
    assert chords_for(10.0, 2 * math.pi, 0.01) == 71
