"""Inside corners by the formulas of plane geometry: a circle of radius r between two walls at an angle."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.geometry.corner import (
    arriving,
    corner_angle,
    dogbone,
    dogbone_opening,
    dogbone_overcut,
    leaving,
    move_walls,
    turn_between,
    uncut_gap,
)
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, Line, Path, arc_sweep, circle, polygon, rectangle, reversed_path

ANGLES = st.floats(math.radians(40), math.radians(150))
TURNS = st.floats(0, 2 * math.pi)


def walls(angle: float, turn: float = 0.0, length: float = 50.0) -> tuple[Line, Line]:
    """Two walls that meet in (30, 20); the cut-out of interior `angle` lies on their right."""
    corner = (30.0, 20.0)
    out = (corner[0] + length * math.cos(turn), corner[1] + length * math.sin(turn))
    back = (corner[0] + length * math.cos(turn + angle), corner[1] + length * math.sin(turn + angle))
    return Line(out, corner), Line(corner, back)


# Each row by r (1/sin - 1), 2 r cos and r (1 - sin) of half the angle, and 2 r2 (b - sin b cos b) with
# b = (pi - angle) / 2: the areas of the two circular segments behind the walls.
@pytest.mark.parametrize(
    ("angle_deg", "radius", "gap", "opening", "overcut", "beyond"),
    [
        (60, 3.0, 3.0, 5.196152, 1.5, 11.055327),
        (90, 3.0, 1.242641, 4.242641, 0.878680, 5.137167),
        (120, 3.0, 0.464102, 3.0, 0.401924, 1.630549),
        (90, 3.175, 1.315128, 4.490128, 0.929936, 5.753984),
    ],
)
def test_dogbone_has_the_measures_of_plane_geometry(angle_deg, radius, gap, opening, overcut, beyond):
    before, after = walls(math.radians(angle_deg))
    angle = corner_angle(before, after)
    assert angle == pytest.approx(math.radians(angle_deg), abs=1e-12)
    assert uncut_gap(angle, radius) == pytest.approx(gap, abs=1e-6)
    assert dogbone_opening(angle, radius) == pytest.approx(opening, abs=1e-6)
    assert dogbone_overcut(angle, radius) == pytest.approx(overcut, abs=1e-6)

    first, relief, second = dogbone(before, after, radius)
    assert math.dist(first.end, before.end) == pytest.approx(opening, abs=1e-6)
    assert math.dist(second.start, before.end) == pytest.approx(opening, abs=1e-6)
    # from scratch: the relief's disc less the wedge between the walls is what is cut behind them
    wedge = shapely.Polygon([before.start, before.end, after.end])
    disc = as_polygon(circle(relief.centre, 2 * relief.radius), 1e-5)
    assert disc.difference(wedge).area == pytest.approx(beyond, abs=2e-3)
    (ux, uy), (x0, y0) = arriving(before), before.end
    behind = max(ux * (y - y0) - uy * (x - x0) for x, y in disc.exterior.coords)
    assert behind == pytest.approx(overcut, abs=1e-4)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(ANGLES, TURNS, st.floats(0.5, 6))
def test_the_rim_of_a_dogbone_passes_through_the_corner_and_ends_on_the_walls(angle, turn, radius):
    before, after = walls(angle, turn)
    first, relief, second = dogbone(before, after, radius)
    assert relief.clockwise
    assert math.dist(relief.centre, before.end) == pytest.approx(radius, abs=1e-9)
    assert math.dist(relief.centre, relief.end) == pytest.approx(radius, abs=1e-9)
    assert (first.start, second.end) == (before.start, after.end)
    assert arriving(first) == pytest.approx(arriving(before), abs=1e-9)
    assert leaving(second) == pytest.approx(leaving(after), abs=1e-9)
    # the inscribed angle at the corner stands on the chord: the rim sweeps a full turn less twice the angle
    assert arc_sweep(relief) == pytest.approx(2 * math.pi - 2 * angle, abs=1e-6)


def test_a_dogbone_refuses_a_corner_of_the_material():
    before, after = walls(math.radians(90))
    with pytest.raises(ValueError, match="does not turn right"):
        dogbone(Line(after.end, after.start), Line(before.end, before.start), 3)


def test_a_dogbone_refuses_walls_in_line():
    with pytest.raises(ValueError, match="does not turn right"):
        dogbone(Line((0, 0), (10, 0)), Line((10, 0), (20, 0)), 3)


def test_a_dogbone_refuses_walls_that_do_not_meet():
    with pytest.raises(ValueError, match="do not meet"):
        dogbone(Line((0, 0), (10, 0)), Line((11, 0), (11, -10)), 3)


@pytest.mark.parametrize("short", ["before", "after"])
def test_a_dogbone_refuses_a_wall_shorter_than_its_opening(short):
    before, after = walls(math.radians(90))
    if short == "before":
        before = Line((34.24, 20.0), before.end)  # 4.24 < 4.2426
    else:
        after = Line(after.start, (30.0, 24.24))
    with pytest.raises(ValueError, match=r"too short for a relief that takes 4\.243"):
        dogbone(before, after, 3)


def test_a_relieved_rectangle_grows_by_four_dogbones():
    slot = reversed_path(rectangle(0, 0, 60, 18))
    done = relieve_corners(slot, dict.fromkeys(range(4), CornerRelief(3.0)))
    # nothing is taken from inside the opening, so the area grows by what lies beyond the walls
    assert as_polygon(done, 1e-4).area == pytest.approx(60 * 18 + 4 * 5.137167, abs=0.02)
    assert sum(isinstance(segment, Arc) for segment in done.segments) == 4


def test_reliefs_refuse_a_curved_wall():
    bow = Path((Line((0, 0), (10, 0)), Arc((10, 0), (0, 0), (5, 0), True)))
    with pytest.raises(ValueError, match="two straight walls"):
        relieve_corners(bow, {0: CornerRelief(1.0)})


@pytest.mark.parametrize(
    ("before", "after", "turn"),
    [
        (Line((0, 0), (5, 0)), Line((5, 0), (5, 5)), math.pi / 2),
        (Line((0, 0), (5, 0)), Line((5, 0), (5, -5)), -math.pi / 2),
        (Line((0, 0), (5, 0)), Arc((5, 0), (10, 5), (5, 5), False), 0.0),
        (Line((0, 0), (5, 0)), Arc((5, 0), (10, 5), (10, 0), True), math.pi / 2),
    ],
)
def test_turns_count_to_the_left(before, after, turn):
    assert turn_between(before, after) == pytest.approx(turn, abs=1e-12)


def test_a_point_has_no_direction():
    with pytest.raises(ValueError, match="without length"):
        leaving(Line((1, 1), (1, 1)))


def test_a_moved_wall_widens_a_rectangle_by_hand():
    opening = reversed_path(rectangle(10, 10, 110, 28))
    long_walls = [i for i, s in enumerate(opening.segments) if abs(s.end[0] - s.start[0]) > 50]
    moved = move_walls(opening, dict.fromkeys(long_walls, -0.125))
    assert as_polygon(moved).bounds == pytest.approx((10, 10.125, 110, 27.875), abs=1e-12)


def test_an_unmoved_corner_stays_bit_for_bit():
    shape = polygon([(0.1, 0.2), (100.3, 0.7), (99.9, 50.1), (0.3, 49.7)])
    moved = move_walls(shape, {0: 0.4})
    assert moved.segments[2] is shape.segments[2]
    assert moved.segments[1].end == shape.segments[1].end


@settings(derandomize=True, deadline=None, max_examples=50)
@given(
    TURNS,
    st.lists(st.floats(-2, 2), min_size=5, max_size=5),
    st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
)
def test_walls_moved_and_moved_back_return(turn, shifts, at):
    corners = [(0, 0), (120, 10), (150, 90), (60, 130), (-20, 80)]
    cos, sin = math.cos(turn), math.sin(turn)
    shape = polygon((at[0] + x * cos - y * sin, at[1] + x * sin + y * cos) for x, y in corners)
    there = move_walls(shape, dict(enumerate(shifts)))
    for index, shift in enumerate(shifts):  # each wall really lies `shift` to the left of where it was
        (ux, uy), old, new = arriving(shape.segments[index]), shape.segments[index], there.segments[index]
        away = (new.start[1] - old.start[1]) * ux - (new.start[0] - old.start[0]) * uy
        assert away == pytest.approx(shift, abs=1e-9)
    back = move_walls(there, {index: -shift for index, shift in enumerate(shifts)})
    for old, new in zip(shape.segments, back.segments, strict=True):
        assert math.dist(old.start, new.start) < 1e-9


def test_a_wall_beside_an_arc_slides_along_the_circle():
    # a half disc of radius 50 on its chord: moved in by 30 the chord is 2 sqrt(50 50 - 30 30) = 80 long
    shape = Path((Line((-50, 0), (50, 0)), Arc((50, 0), (-50, 0), (0, 0), False)))
    with pytest.raises(ValueError, match="run away"):
        move_walls(Path((Line((-50, 0), (50, 0)), Arc((50, 0), (-50, 0), (0, -400), False))), {0: 1.0})
    moved = move_walls(shape, {0: 30.0})
    assert moved.segments[0].start == pytest.approx((-40, 30), abs=1e-9)
    assert moved.segments[0].end == pytest.approx((40, 30), abs=1e-9)
    assert moved.segments[1].radius == pytest.approx(50, abs=1e-9)


@pytest.mark.parametrize(
    ("shape", "shifts", "said"),
    [
        (rectangle(0, 0, 10, 10), {0: 11.0}, "would vanish"),
        (polygon([(0, 0), (50, 0), (100, 0), (100, 50), (0, 50)]), {0: 1.0}, "in line"),
        (polygon([(0, 0), (50, 0), (100, 1.7), (100, 50), (0, 50)]), {0: 0.4, 1: -0.4}, "run away"),
        (Path((Line((-5, 0), (5, 0)), Arc((5, 0), (-5, 0), (0, 0), False))), {1: 1.0}, "curved wall"),
        (Path((Line((-5, 0), (5, 0)), Arc((5, 0), (-5, 0), (0, 0), False))), {0: 6.0}, "no longer meets"),
    ],
)
def test_moves_that_would_change_the_shape_are_refused(shape, shifts, said):
    with pytest.raises(ValueError, match=said):
        move_walls(shape, shifts)
