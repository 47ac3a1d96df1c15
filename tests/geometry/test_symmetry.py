"""Symmetries of outlines whose groups every textbook of geometry gives."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, affinity, box

from camkit.geometry.symmetry import Symmetry, symmetries


def counted(shape: Polygon) -> tuple[int, int]:
    """How many turns (none by nought) and flips are found."""
    found = symmetries(shape, 1.0)
    return sum(not s.flip for s in found), sum(s.flip for s in found)


def regular(corners: int) -> Polygon:
    steps = [2 * math.pi * k / corners for k in range(corners)]
    return Polygon([(100 * math.cos(a), 100 * math.sin(a)) for a in steps])


SHAPES = {
    "rectangle": (box(0, 0, 400, 300), 1, 2),
    "square": (box(0, 0, 300, 300), 3, 4),
    "triangle": (regular(3), 2, 3),
    "hexagon": (regular(6), 5, 6),
    "isosceles": (Polygon([(0, 0), (200, 0), (100, 300)]), 0, 1),
    "parallelogram": (Polygon([(0, 0), (200, 0), (260, 80), (60, 80)]), 1, 0),
    "letter L": (Polygon([(0, 0), (200, 0), (200, 60), (60, 60), (60, 300), (0, 300)]), 0, 0),
    "letter T": (
        Polygon([(0, 0), (60, 0), (60, 200), (160, 200), (160, 260), (-100, 260), (-100, 200), (0, 200)]),
        0,
        1,
    ),
}


@pytest.mark.parametrize("name", SHAPES)
@settings(derandomize=True, deadline=None, max_examples=8)
@given(turn=st.floats(0, 360), x=st.floats(-2000, 2000))
def test_known_symmetry_groups_are_found_in_any_position(name, turn, x):
    shape, turns, flips = SHAPES[name]
    assert counted(affinity.translate(affinity.rotate(shape, turn), x, -x)) == (turns, flips)


def test_a_round_outline_has_many_flips():
    turns, flips = counted(Point(500, 300).buffer(150, quad_segs=32))
    assert turns >= 3
    assert flips >= 36


@pytest.mark.parametrize(("more", "found"), [(0.8, (1, 2)), (3.0, (0, 0))])
def test_an_outline_almost_symmetric_counts_within_the_tolerance(more, found):
    assert counted(Polygon([(0, 0), (400, 0), (400, 300 + more), (0, 300)])) == found


def test_openings_do_not_count():
    drilled = box(0, 0, 400, 300).difference(box(20, 20, 60, 60))
    assert counted(drilled) == (1, 2)


def test_where_points_land_by_hand():
    points = np.array([[3.0, 1.0]])
    assert Symmetry((1.0, 1.0), math.pi, False).applied(points) == pytest.approx(np.array([[-1.0, 1.0]]))
    assert Symmetry((1.0, 1.0), math.pi / 2, False).applied(points) == pytest.approx(np.array([[1.0, 3.0]]))
    assert Symmetry((1.0, 1.0), math.pi / 2, True).applied(points) == pytest.approx(np.array([[-1.0, 1.0]]))
    assert Symmetry((1.0, 1.0), math.pi / 4, True).applied(points) == pytest.approx(np.array([[1.0, 3.0]]))
