"""Clearing: nothing that the cutter could reach is left, and nothing beyond the wall is touched."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.path import Arc, Line, Path, Region, polygon, rectangle, region
from camkit.job.model import Machine
from camkit.toolpath.circuit import in_turn, joined
from camkit.toolpath.clear import clearings
from camkit.toolpath.recess import recess_area


def test_an_area_narrower_than_the_cutter_has_no_way() -> None:
    assert clearings(region(rectangle(0, 0, 50, 5.9)), 3, Machine()) == ()


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_random_areas_are_cleared_of_all_in_reach(seed: int) -> None:
    """An opened area (shrunk and grown by the radius, shapely) against the sweep of the way."""
    area = random_area(seed)
    wanted = as_polygon(area, 0.001)
    ways = [joined(clear, in_turn(clear)) for clear in clearings(area, 3.0, Machine())]
    lines = [shapely.linestrings([*flattened(way, 0.001), way.end]) for way in ways]
    swept = shapely.union_all([line.buffer(3.0, quad_segs=90) for line in lines])
    # Offset paths may keep up to 13 um off the walls; what they sweep is seen a little smaller.
    reachable = wanted.buffer(-3.02, quad_segs=90).buffer(3.0, quad_segs=90)
    assert reachable.difference(swept).area < 1e-3
    beyond = swept.difference(wanted)
    assert beyond.is_empty or beyond.area < 1e-3


def random_area(seed: int) -> Region:
    """A star-shaped polygon of 3 to 12 corners, 5 to 60 from its middle, in half of them a square island."""
    random = np.random.default_rng(seed)
    count = int(random.integers(3, 13))
    turns = np.sort(random.uniform(0, 2 * math.pi, count))
    radii = random.uniform(5, 60, count)
    corners = [(float(r * math.cos(t)), float(r * math.sin(t))) for r, t in zip(radii, turns, strict=True)]
    outer = polygon(corners)
    size = float(random.uniform(1, 6))
    island = rectangle(-size, -size, size, size)
    fits = as_polygon(outer).is_valid and as_polygon(outer).contains(as_polygon(island))
    if not as_polygon(outer).is_valid:
        return region(rectangle(0, 0, float(radii[0]) + 7, float(radii[1]) + 7))
    return region(outer, [island] if fits and seed % 2 else [])


def test_a_pocket_inside_the_part_keeps_its_own_area() -> None:
    inside = rectangle(40, 40, 60, 90)
    assert recess_area(inside, (), rectangle(0, 0, 200, 100), (), 6) == (region(inside),)


def test_a_pocket_that_ends_at_the_edge_runs_off_it_far_enough_for_the_cutter() -> None:
    (area,) = recess_area(rectangle(0, 40, 60, 60), (), rectangle(0, 0, 200, 100), (), 6)
    x0, y0, x1, y1 = as_polygon(area).bounds
    assert x0 == pytest.approx(-4) and x1 == pytest.approx(60)
    assert (y0, y1) == pytest.approx((40, 60), abs=0.06)
    inner = as_polygon(area).buffer(-3)
    # The cutter's centre reaches past the edge, so that the whole pocket in the part is swept.
    assert inner.buffer(3.0).covers(shapely.box(0, 43, 57, 57))
    assert np.isclose(inner.bounds[0], x0 + 3, atol=0.01)


def test_a_pocket_that_runs_off_the_edge_keeps_out_of_the_part_beside_it() -> None:
    (area,) = recess_area(
        rectangle(0, 40, 60, 60), (), rectangle(0, 0, 200, 100), (rectangle(-50, 0, -2, 100),), 6
    )
    assert as_polygon(area).bounds[0] == pytest.approx(-2, abs=1e-6)


def test_a_pocket_that_runs_off_the_edge_keeps_its_arcs_and_its_width() -> None:
    """A housing with round inner corners of 5: four lines and two arcs."""
    rounded = Path(
        (
            Line((0, 40), (55, 40)),
            Arc((55, 40), (60, 45), (55, 45), False),
            Line((60, 45), (60, 55)),
            Arc((60, 55), (55, 60), (55, 55), False),
            Line((55, 60), (0, 60)),
            Line((0, 60), (0, 40)),
        )
    )
    (area,) = recess_area(rounded, (), rectangle(0, 0, 200, 100), (), 6)
    arcs = [s for s in area.exterior.segments if isinstance(s, Arc)]
    assert [round(arc.radius, 6) for arc in arcs] == [5, 5] and len(area.exterior.segments) == 6
    assert as_polygon(area).bounds == pytest.approx((-4, 40, 60, 60), abs=1e-6)
