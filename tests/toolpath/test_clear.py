"""Clearing: nothing that the cutter could reach is left, and nothing beyond the wall is touched."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.path import Path, Region, circle, polygon, rectangle, region
from camkit.toolpath.clear import rings
from camkit.toolpath.recess import recess_area

STAR = polygon(
    [
        (
            50 + (40 if k % 2 else 18) * math.cos(k * math.pi / 5),
            50 + (40 if k % 2 else 18) * math.sin(k * math.pi / 5),
        )
        for k in range(10)
    ]
)
L_SHAPE = polygon([(0, 0), (90, 0), (90, 25), (30, 25), (30, 80), (0, 80)])
AREAS = {
    "rectangle": region(rectangle(0, 0, 100, 60)),
    "narrow housing": region(rectangle(0, 0, 200, 17.75)),
    "slot 13 wide": region(rectangle(0, 0, 120, 13)),
    "circle": region(circle((0, 0), 55)),
    "star": region(STAR),
    "L shape": region(L_SHAPE),
    "rectangle with a round island": region(rectangle(0, 0, 120, 80), [circle((60, 40), 30)]),
    "L shape with a square island": region(L_SHAPE, [rectangle(9, 9, 20, 16)]),
    "wide": region(rectangle(0, 0, 310, 205)),
}


@pytest.mark.parametrize("name", AREAS)
@pytest.mark.parametrize("radius", [1.5, 3.0])
def test_rings_leave_nothing_within_reach_and_stay_inside(name: str, radius: float) -> None:
    """An opened area (shrunk and grown by the radius, shapely) against the sweep of the rings."""
    area: Region = AREAS[name]
    wanted = as_polygon(area, 0.001)
    levels = rings(area, radius)
    loops: list[Path] = [p for level in levels for piece in level for p in (piece.exterior, *piece.interiors)]
    swept = shapely.union_all(
        [shapely.linearrings(flattened(loop, 0.001)).buffer(radius, quad_segs=90) for loop in loops]
    )
    reachable = wanted.buffer(-radius - 0.006, quad_segs=90).buffer(radius, quad_segs=90)
    assert reachable.difference(swept).area < 1e-3
    beyond = swept.difference(wanted)
    assert beyond.is_empty or beyond.area < 1e-3


def test_an_area_narrower_than_the_cutter_has_no_rings() -> None:
    assert rings(region(rectangle(0, 0, 50, 5.9)), 3) == ()


def test_a_pocket_inside_the_part_keeps_its_own_area() -> None:
    inside = rectangle(40, 40, 60, 90)
    assert recess_area(inside, (), rectangle(0, 0, 200, 100), (), 6) == (region(inside),)


def test_a_pocket_that_ends_at_the_edge_runs_off_it_far_enough_for_the_cutter() -> None:
    (area,) = recess_area(rectangle(0, 40, 60, 60), (), rectangle(0, 0, 200, 100), (), 6)
    x0, y0, x1, y1 = as_polygon(area).bounds
    assert x0 <= -6 and x1 == pytest.approx(60)
    assert (y0, y1) == pytest.approx((40, 60), abs=0.06)
    inner = as_polygon(area).buffer(-3)
    # The cutter's centre reaches past the edge, so that the whole pocket in the part is swept.
    assert inner.buffer(3.0).covers(shapely.box(0, 43, 57, 57))
    assert np.isclose(inner.bounds[0], x0 + 3, atol=0.01)


def test_a_pocket_that_runs_off_the_edge_keeps_out_of_the_part_beside_it() -> None:
    (area,) = recess_area(
        rectangle(0, 40, 60, 60), (), rectangle(0, 0, 200, 100), (rectangle(-50, 0, -4, 100),), 6
    )
    assert as_polygon(area).bounds[0] == pytest.approx(-4, abs=1e-6)
