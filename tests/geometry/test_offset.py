"""Offsets: true arcs, the right distance everywhere, the right topology."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from support.random_shapes import random_region

from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.measure import length
from camkit.geometry.offset import offset
from camkit.geometry.path import Arc, Line, Path, Region, circle, polygon, rectangle, region, signed_area


def deviations(piece: Region, source: Region, distance: float) -> tuple[float, float]:
    """How much nearer and farther than `distance` the piece's boundary runs, by shapely on fine chords."""
    fine = as_polygon(source, 0.0002).boundary
    nearest, farthest = 0.0, 0.0
    for loop in (piece.exterior, *piece.interiors):
        points = flattened(loop, 0.0005)
        points = np.vstack((points, (points + np.roll(points, -1, axis=0)) / 2))
        away = shapely.distance(fine, shapely.points(points)) - abs(distance)
        nearest, farthest = min(nearest, float(away.min())), max(farthest, float(away.max()))
    return nearest, farthest


def test_a_grown_rectangle_has_four_lines_and_four_true_corner_arcs() -> None:
    (grown,) = offset(region(rectangle(0, 0, 100, 60)), 3)
    kinds = [type(s) for s in grown.exterior.segments]
    assert kinds.count(Line) == 4 and kinds.count(Arc) == 4
    # Steiner's formulas for convex shapes: P + 2 pi r and A + P r + pi r2.
    assert length(grown.exterior) == pytest.approx(320 + 2 * math.pi * 3, abs=1e-9)
    assert signed_area(grown.exterior) == pytest.approx(6000 + 320 * 3 + math.pi * 9, abs=1e-9)


def test_a_shrunk_rectangle_keeps_sharp_corners() -> None:
    (shrunk,) = offset(region(rectangle(0, 0, 100, 60)), -3)
    assert len(shrunk.exterior.segments) == 4
    assert signed_area(shrunk.exterior) == pytest.approx(94 * 54, abs=1e-9)


def test_a_circle_is_offset_by_arithmetic_and_vanishes_when_too_small() -> None:
    (grown,) = offset(region(circle((5, 5), 20)), 2.5)
    assert [s.radius for s in grown.exterior.segments if isinstance(s, Arc)] == [12.5, 12.5]
    assert offset(region(circle((0, 0), 6)), -3) == ()


def test_a_slot_with_round_ends_stays_two_lines_and_two_arcs() -> None:
    slot = Path(
        (
            Line((0, -9), (60, -9)),
            Arc((60, -9), (60, 9), (60, 0), False),
            Line((60, 9), (0, 9)),
            Arc((0, 9), (0, -9), (0, 0), False),
        )
    )
    (inner,) = offset(region(slot), -3)
    assert sorted(type(s).__name__ for s in inner.exterior.segments) == ["Arc", "Arc", "Line", "Line"]
    assert signed_area(inner.exterior) == pytest.approx(60 * 12 + math.pi * 36, abs=1e-6)


def test_a_neck_narrower_than_the_cutter_parts_the_area_in_two() -> None:
    left, right = [(20, 12), (20, 20), (0, 20), (0, 0), (20, 0), (20, 8)], [(40, 8), (40, 0), (60, 0)]
    dumbbell = polygon([*left, *right, (60, 20), (40, 20), (40, 12)])
    pieces = offset(region(dumbbell), -3)
    # 14 x 14, and into the neck what lies 3 from both its corners: 2 (6 - integral of sqrt(9 - u2), 0..2).
    bay = 196 + 2 * (6 - (math.sqrt(5) + 4.5 * math.asin(2 / 3)))
    assert [signed_area(p.exterior) for p in pieces] == pytest.approx([bay, bay], abs=1e-6)


def test_openings_shrink_as_the_wood_grows() -> None:
    plate = region(rectangle(0, 0, 100, 60), [rectangle(10, 10, 20, 50), circle((60, 30), 20)])
    (grown,) = offset(plate, 3)
    assert sorted(round(-signed_area(hole), 6) for hole in grown.interiors) == pytest.approx(
        [4 * 34, math.pi * 49], abs=1e-6
    )


@pytest.mark.parametrize("seed", (*range(20), 538, 1468, 2655, 3805))
def test_random_shapes_keep_their_distance_within_the_path_tolerance(seed: int) -> None:
    """x."""
    source = random_region(seed)
    if source is None:
        return
    for distance in (-10.0, -3.0, 1.0, 3.0, 10.0):
        for piece in offset(source, distance):
            near, far = deviations(piece, source, distance)
            assert near > -0.003 and far < 0.006


def test_coordinates_beyond_ten_metres_are_refused() -> None:
    with pytest.raises(ValueError, match="beyond 10000 mm"):
        offset(region(rectangle(0, 0, 20000, 10)), 3)
