"""Tours against closed formulas, a bound of their own kind and trying every order."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from support.tour_bound import held_karp_bound, round_length

from camkit.toolpath import tour
from camkit.toolpath.tour import closed_tour, open_way, way_length

Floats = NDArray[np.float64]


@pytest.mark.parametrize(("m", "n"), [(5, 5), (6, 5), (2, 9), (8, 7)])
def test_a_grid_is_toured_in_as_many_steps_as_it_has_points(m: int, n: int) -> None:
    """m n when that is even; else one step is a diagonal: m n - 1 + sqrt 2 (5 x 5: 25.414214)."""
    points = np.array(list(itertools.product(range(m), range(n))), dtype=float)
    best = m * n if m * n % 2 == 0 else m * n - 1 + math.sqrt(2)
    assert round_length(points, closed_tour(points)) == pytest.approx(best, abs=1e-9)


@pytest.mark.parametrize("n", [3, 12, 100])
def test_points_on_a_circle_are_toured_round_their_polygon(n: int) -> None:
    """n = 12, R = 50: 310.582854; no tour through points in convex position is shorter than their hull."""
    turn = np.random.default_rng(n).permutation(n) * (2 * math.pi / n)
    points = 50 * np.stack((np.cos(turn), np.sin(turn)), 1)
    best = 100 * n * math.sin(math.pi / n)
    assert round_length(points, closed_tour(points)) == pytest.approx(best, abs=1e-9)


@pytest.mark.parametrize(("count", "seed"), [(60, 1), (60, 2), (150, 3)])
def test_random_holes_stay_within_three_per_cent_of_the_held_karp_bound(count: int, seed: int) -> None:
    points = np.random.default_rng(seed).random((count, 2)) * (2440, 1220)
    order = closed_tour(points)
    assert sorted(order) == list(range(count))
    ratio = round_length(points, order) / held_karp_bound(points)
    assert 1 - 1e-9 <= ratio <= 1.03


def test_the_bound_is_met_by_a_square_and_never_passes_a_known_shortest_tour() -> None:
    square = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    assert held_karp_bound(square) == pytest.approx(40, abs=1e-6)
    grid = np.array(list(itertools.product(range(5), range(5))), dtype=float)
    assert 24.5 < held_karp_bound(grid) <= 24 + math.sqrt(2) + 1e-9


_places = st.lists(st.tuples(*[st.integers(0, 12)] * 4), min_size=1, max_size=6)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(_places, st.booleans())
def test_few_places_with_two_ends_each_are_visited_in_nearly_the_best_of_all_orders(
    places: list[tuple[int, int, int, int]], ended: bool
) -> None:
    """Entered at one point and left at another, some of them at one spot; every order is tried."""
    ends = np.array(places, dtype=float)
    enters, leaves, begin = ends[:, :2], ends[:, 2:], np.zeros(2)
    onwards = np.hypot(*(leaves - (6, 6)).T) if ended else np.zeros(len(ends))
    order = open_way(enters, leaves, begin, onwards)
    assert sorted(order) == list(range(len(ends)))

    def cost(way: tuple[int, ...]) -> float:
        return way_length(way, enters, leaves, begin) + float(onwards[way[-1]])

    assert cost(tuple(order)) <= min(map(cost, itertools.permutations(range(len(ends))))) * 1.02 + 1e-9


def test_places_at_one_spot_end_the_search() -> None:
    points = np.zeros((40, 2))
    points[30:] = (100.0, 0.0)
    assert round_length(points, closed_tour(points)) == pytest.approx(200)


def test_more_places_than_one_table_holds_are_parted_and_all_visited(monkeypatch: pytest.MonkeyPatch) -> None:
    """260 holes on a pitch of 10, a table for 100: at most a twentieth longer than a step for each hole."""
    monkeypatch.setattr(tour, "_MOST", 100)
    points = np.array(list(itertools.product(range(26), range(10))), dtype=float) * 10
    order = open_way(points, points, np.zeros(2))
    assert sorted(order) == list(range(260))
    assert way_length(order, points, points, np.zeros(2)) <= 1.05 * 2600


def test_the_length_of_a_way_counts_travel_only() -> None:
    enters, leaves = np.array([(3.0, 4.0), (10.0, 0.0)]), np.array([(7.0, 4.0), (99.0, 0.0)])
    assert way_length([0, 1], enters, leaves, np.zeros(2)) == pytest.approx(5 + 5)
