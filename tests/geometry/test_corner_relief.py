"""Reliefs in inside corners of 30 to 150 degrees, by plane geometry and by sweeping the cutter.

The figures are elementary geometry: a circle of radius r between two walls at an angle.
"""

from __future__ import annotations

import math
from itertools import product

import pytest
import shapely

from camkit.geometry.corner import uncut_gap
from camkit.geometry.corner_relief import (
    CornerRelief,
    opening_of,
    relieve_corners,
    tbone_opening,
    tbone_overcut,
)
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, Line, Path, polygon, rectangle, reversed_path, signed_area

ANGLES = (30, 60, 90, 120, 150)
RADII = (1.0, 3.0, 3.175, 6.0)


def wedge(angle_deg: float) -> Path:
    """A three-sided opening, clockwise, whose corner of that angle stands at the origin, 120 mm a side."""
    far = math.radians(angle_deg)
    return polygon([(0, 0), (120 * math.cos(far), 120 * math.sin(far)), (120, 0)])


def swept(loop: Path, radius: float) -> shapely.Geometry:
    """What a cutter of `radius` clears of the opening when it enters in the middle; chords of 2 um."""
    area = as_polygon(loop, 0.002)
    centres = area.buffer(-(radius - 0.003), quad_segs=256)  # inscribed chords narrow a mouth by 2 um
    pieces = shapely.get_parts(centres)
    return max(pieces, key=lambda piece: piece.area).buffer(radius, quad_segs=256)


@pytest.mark.parametrize("past", ["both", "before", "after"])
@pytest.mark.parametrize(("angle", "radius"), list(product(ANGLES, RADII)))
def test_the_smallest_cutter_sweeps_the_whole_sharp_corner(angle, radius, past):
    sharp = wedge(angle)
    done = relieve_corners(sharp, {2: CornerRelief(radius, past)})
    near = as_polygon(sharp).intersection(shapely.Point(0, 0).buffer(1.5 * radius))
    cleared = swept(done, radius)
    missed = shapely.points(shapely.get_coordinates(near.difference(cleared)))
    assert float(shapely.distance(cleared, missed).max(initial=0.0)) < 0.003  # by depth, not by area
    gap = swept(sharp, radius).distance(shapely.Point(0, 0))  # without relief the check would fail
    assert gap == pytest.approx(uncut_gap(math.radians(angle), radius), abs=0.02)


# Beyond the walls by hand. From 90 degrees a dogbone opens 2 r2 (b - sin b cos b) with b = (180 - a) / 2, a
# T-bone the segment r2 / 2 (s - sin s) with s = 2 (180 - a). Below, the prolonged dogbone opens
# r2 (cot(a/2) - 2 + pi / 2), the prolonged T-bone half a disc and the trapezium up to the wall.
def by_hand(angle: float, radius: float, past: str) -> float:
    if past == "both":
        b = (math.pi - angle) / 2
        if angle >= math.pi / 2:
            return 2 * radius**2 * (b - math.sin(b) * math.cos(b))
        return radius**2 * (1 / math.tan(angle / 2) - 2 + math.pi / 2)
    if angle >= math.pi / 2:
        s = 2 * (math.pi - angle)
        return radius**2 / 2 * (s - math.sin(s))
    return math.pi * radius**2 / 2 + 2 * radius**2 / math.tan(angle)


@pytest.mark.parametrize("past", ["both", "before", "after"])
@pytest.mark.parametrize(("angle_deg", "radius"), list(product(ANGLES, RADII)))
def test_the_area_opened_behind_the_walls_is_that_of_plane_geometry(angle_deg, radius, past):
    angle = math.radians(angle_deg)
    sharp = wedge(angle_deg)
    done = relieve_corners(sharp, {2: CornerRelief(radius, past)})
    opened = abs(signed_area(done)) - abs(signed_area(sharp))
    assert opened == pytest.approx(by_hand(angle, radius, past), abs=1e-6)


@pytest.mark.parametrize(
    ("angle", "radius", "past", "area"),
    [
        (90, 3.0, "both", 5.137167),
        (120, 3.0, "both", 1.630549),
        (90, 3.175, "both", 5.753984),
        (90, 3.0, "after", 14.137167),
    ],
)
def test_the_worked_areas(angle, radius, past, area):
    assert by_hand(math.radians(angle), radius, past) == pytest.approx(area, abs=1e-6)


def test_a_square_t_bone_passes_one_wall_by_r_opens_2_r_and_leaves_the_other_whole():
    assert tbone_overcut(math.pi / 2, 3.0) == pytest.approx(3.0)
    assert tbone_opening(math.pi / 2, 3.0) == pytest.approx(6.0)
    assert opening_of(CornerRelief(3.0, "before"), math.pi / 2) == pytest.approx((6.0, 0.0))
    loop = reversed_path(rectangle(0, 0, 60, 18))
    for past in ("before", "after"):
        done = relieve_corners(loop, {1: CornerRelief(3.0, past)})
        x0, y0, x1, y1 = as_polygon(done, 1e-4).bounds
        passed = [0 - x0, 0 - y0, x1 - 60, y1 - 18]
        assert sorted(passed) == pytest.approx([0, 0, 0, 3], abs=1e-3)
        assert sum(isinstance(s, Arc) for s in done.segments) == 1


@pytest.mark.parametrize("angle", ANGLES)
def test_a_t_bone_passes_its_wall_by_r_times_one_plus_the_cosine(angle):
    done = relieve_corners(wedge(angle), {2: CornerRelief(3.0, "after")})
    turn = math.radians(angle)
    behind = [
        x * -math.sin(turn) + y * math.cos(turn) for x, y in shapely.get_coordinates(as_polygon(done, 1e-4))
    ]
    assert max(behind) == pytest.approx(tbone_overcut(turn, 3.0), abs=1e-3)
    assert min(y for _, y in shapely.get_coordinates(as_polygon(done, 1e-4))) > -1e-9


def test_reliefs_refuse_walls_too_short_bent_or_turning_left():
    loop = reversed_path(rectangle(0, 0, 60, 11.9))
    ends = dict.fromkeys(range(4), CornerRelief(3.0, "both"))
    relieve_corners(loop, ends)
    short = next(i for i, s in enumerate(loop.segments) if abs(s.end[1] - s.start[1]) > 1)
    both = {(short - 1) % 4: CornerRelief(3.0, "after"), short: CornerRelief(3.0, "before")}
    with pytest.raises(ValueError, match=r"too short for a relief that takes 6\.000"):
        relieve_corners(loop, both)  # T-bones along a wall merge below 4 r
    with pytest.raises(ValueError, match="does not turn right"):
        relieve_corners(rectangle(0, 0, 60, 18), {0: CornerRelief(3.0)})
    bow = Path((Line((0, 0), (10, 0)), Arc((10, 0), (0, 0), (5, 0), True)))
    with pytest.raises(ValueError, match="two straight walls"):
        relieve_corners(bow, {0: CornerRelief(1.0)})
