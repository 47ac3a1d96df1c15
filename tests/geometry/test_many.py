"""Many paths measured at once agree with each measured alone, and with closed formulas."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.random_shapes import random_region

from camkit.geometry.flatten import as_polygon
from camkit.geometry.many import areas, extents, lengths, polygons, tabled
from camkit.geometry.measure import bounds, length
from camkit.geometry.path import Arc, Line, Path, circle, polygon, rectangle, reversed_path, signed_area


def test_a_disc_a_square_and_a_half_disc_by_closed_formula() -> None:
    half = Path((Line((0, 0), (10, 0)), Arc((10, 0), (0, 0), (5, 0), False)))
    table = tabled([circle((7, -3), 8), rectangle(1, 2, 4, 7), half, reversed_path(half)])
    bow = math.pi * 25 / 2
    assert lengths(table) == pytest.approx([8 * math.pi, 16, 10 + 5 * math.pi, 10 + 5 * math.pi])
    assert areas(table) == pytest.approx([16 * math.pi, 15, bow, -bow])
    assert extents(table) == pytest.approx(
        np.array([(3, -7, 11, 1), (1, 2, 4, 7), (0, 0, 10, 5), (0, 0, 10, 5)])
    )


def test_no_path_gives_no_row() -> None:
    table = tabled([])
    assert lengths(table).shape == areas(table).shape == polygons(table).shape == (0,)
    assert extents(table).shape == (0, 4)


def test_two_points_are_no_polygon() -> None:
    there_and_back = Path((Line((0, 0), (1, 0)), Line((1, 0), (0, 0))))
    with pytest.raises(ValueError):
        polygons(tabled([there_and_back]))


@settings(derandomize=True, deadline=None, max_examples=40)
@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=5), st.sampled_from([0.002, 0.05, 0.5]))
def test_many_at_once_are_as_each_alone(seeds: list[int], tolerance: float) -> None:
    regions = [random_region(seed) for seed in seeds]
    paths = [region.exterior for region in regions if region is not None]
    paths += [reversed_path(path) for path in paths] + [polygon([(0, 0), (3, 0), (1, 2)])]
    table = tabled(paths)
    assert lengths(table) == pytest.approx([length(p) for p in paths])
    assert areas(table) == pytest.approx([signed_area(p) for p in paths])
    assert extents(table) == pytest.approx(np.array([bounds(p) for p in paths]))
    for shape, path in zip(polygons(table, tolerance), paths, strict=True):
        alone = as_polygon(path, tolerance)
        assert shape.area == pytest.approx(alone.area, rel=1e-3)
        assert shapely.hausdorff_distance(shape.exterior, alone.exterior) < 2 * tolerance
        assert abs(shape.area - abs(signed_area(path))) < tolerance * length(path) + 1e-9
