"""Walls that bear on other parts, marked on the part; their places worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.fitting import fit_one_sheet

from camkit.geometry.path import Path, Point, polygon, rectangle
from camkit.geometry.transform import Placement, moved_point
from camkit.layout.move import moved_part
from camkit.part import Hole, Part, Pocket

END = Part("end", rectangle(0, 0, 400, 300), (rectangle(100, 50, 190, 68),), (Hole((300, 200), 20),))


def shelf(projection: float = 18.0) -> Part:
    """A board of 400 x 300 with one tenon 89.7 wide at its right end."""
    x = 1000 + projection
    corners = [(600, 0), (1000, 0), (1000, 100), (x, 100), (x, 189.7), (1000, 189.7), (1000, 300), (600, 300)]
    return Part("shelf", polygon(corners))


def walls(faces: tuple[tuple[Point, Point], ...]) -> set[tuple[tuple[float, float], ...]]:
    """Faces to a micrometre, in either direction."""
    return {tuple(sorted((round(x, 3), round(y, 3)) for x, y in face)) for face in faces}


def loop(*corners: Point) -> set[tuple[tuple[float, float], ...]]:
    """The walls between corners, one after another."""
    return {tuple(sorted((round(x, 3), round(y, 3)) for x, y in pair)) for pair in pairwise(corners)}


def test_a_mortise_and_its_tenon_bear_on_the_walls_that_will_be_cut(job):
    # 18 becomes 17.6 + 0.15 about y 59; the tenon ends flush at 1017.6, its shoulders run on to the edges.
    end, board = fit_one_sheet([END, shelf()], job()).parts
    low, high = 59 - 8.875, 59 + 8.875
    assert walls(end.joint_faces) == loop((100, low), (190, low), (190, high), (100, high), (100, low))
    tip = 1017.6
    assert walls(board.joint_faces) == loop(
        (1000, 0), (1000, 100), (tip, 100), (tip, 189.7), (1000, 189.7), (1000, 300)
    )


def test_without_a_drawn_thickness_joints_are_looked_for_all_the_same_and_nothing_moves(job):
    parts = [END, shelf(17.6)]
    result = fit_one_sheet(parts, job(drawn=None, measured=17.6))
    end, board = result.parts
    assert [part.outline for part in result.parts] == [part.outline for part in parts]
    assert walls(end.joint_faces) == loop((100, 50), (190, 50), (190, 68), (100, 68), (100, 50))
    assert len(walls(board.joint_faces)) == 5


def test_a_mortise_without_a_mate_counts_and_an_opening_or_an_edge_without_joints_does_not(job):
    (alone,) = fit_one_sheet([END], job()).parts
    assert walls(alone.joint_faces) == loop((100, 50), (190, 50), (190, 68), (100, 68), (100, 50))
    window = Part("window", rectangle(0, 0, 400, 300), (rectangle(100, 50, 300, 250),))
    assert fit_one_sheet([window], job()).parts[0] is window


def test_slots_of_a_cross_lap_bear_on_both_walls_and_the_bottom(job):
    def lapped(x: float, y: float) -> Part:
        corners = [(0, 0), (400, 0), (400, 100), (209, 100), (209, 50), (191, 50), (191, 100), (0, 100)]
        return Part(f"rail {y}", polygon([(x + u, y + v) for u, v in corners]))

    for part, y in zip(fit_one_sheet([lapped(0, 0), lapped(0, 200)], job()).parts, (0, 200), strict=True):
        left, right = 200 - 8.875, 200 + 8.875
        assert walls(part.joint_faces) == loop(
            (left, y + 100), (left, y + 50), (right, y + 50), (right, y + 100)
        )


def test_a_board_in_a_housing_bears_with_its_end_and_the_housing_where_it_is_inside_the_part(job):
    upright = Part(
        "upright", rectangle(0, 0, 300, 500), pockets=(Pocket(rectangle(-5, 100, 305, 118), depth=6),)
    )
    board = Part("board", rectangle(400, 0, 800, 300))
    first, second = fit_one_sheet([upright, board], job()).parts
    low, high = 109 - 8.875, 109 + 8.875
    # Both ends of the recess lie beyond the edges.
    assert walls(first.joint_faces) == loop((-5, low), (305, low)) | loop((-5, high), (305, high))
    assert len(second.joint_faces) == 1
    assert math.dist(*second.joint_faces[0]) == pytest.approx(300)


def test_every_land_and_step_of_a_finger_edge_counts(job):
    def toothed(out: bool, y: float) -> Path:
        """An edge of 200 along y, five lands of 40, the first standing out or not; 18 deep."""
        corners: list[Point] = [(0, y + 100)]
        for k in range(5):
            level = y if (k % 2 == 0) == out else y + 18
            corners += [(40.0 * k, level), (40.0 * (k + 1), level)]
        return polygon([*corners, (200, y + 100)])

    parts = [Part("one", toothed(True, 0)), Part("two", toothed(False, 200))]
    for part in fit_one_sheet(parts, job()).parts:
        assert len(part.joint_faces) == 9  # five lands and the four steps between them
        lengths = sorted(round(math.dist(*face), 1) for face in part.joint_faces)
        assert lengths[:4] == [17.6] * 4


@settings(max_examples=12, deadline=None, derandomize=True)
@given(turn=st.floats(0, 360), x=st.floats(-500, 500), mirrored=st.booleans())
def test_joint_faces_go_with_a_part_however_it_is_drawn_and_placed(job, turn, x, mirrored):
    placement = Placement(x, 2 * x, turn, mirrored)
    straight = fit_one_sheet([END, shelf()], job()).parts
    drawn = [moved_part(part, placement) for part in (END, shelf())]
    for one, other in zip(straight, fit_one_sheet(drawn, job()).parts, strict=True):
        placed = moved_part(one, placement)
        at = tuple((moved_point(a, placement), moved_point(b, placement)) for a, b in one.joint_faces)
        assert placed.joint_faces == at
        assert len(other.joint_faces) == len(placed.joint_faces)
        found, known = (shapely.MultiLineString(list(p.joint_faces)) for p in (other, placed))
        assert shapely.hausdorff_distance(found, known) < 1e-3


def test_a_mortise_with_a_slip_in_a_wall_stays_as_drawn_and_bears_on_its_frame(job):
    jogged = polygon([(100, 50), (145, 50), (145, 50.05), (190, 50.05), (190, 68), (100, 68)])
    result = fit_one_sheet([replace(END, openings=(jogged,)), shelf()], job())
    assert "joint-as-drawn" in [finding.rule for finding in result.findings]
    faces = result.parts[0].joint_faces
    assert len(faces) == 4
    frame = shapely.LinearRing([(100, 50), (190, 50), (190, 68), (100, 68)])
    assert shapely.hausdorff_distance(shapely.MultiLineString(list(faces)), frame) < 0.1
