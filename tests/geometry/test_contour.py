"""Contours: drawn reliefs give way to the corner they were cut for, fillets follow their walls.

Truth is the sharp polygon that a loop was drawn from by plane geometry, without the code under test.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.decoys import DECOYS, decoy
from support.drawn_corners import convex_corners, flattened, rounded, with_corners
from support.places import published

from camkit.drawing.read import read
from camkit.geometry.arc_fit import with_arcs
from camkit.geometry.contour import Contour, contour_of, loop_of
from camkit.geometry.corner import move_walls
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, Line, Path, Point, circle, oriented, polygon, reversed_path, signed_area

RELIEFS = ("dogbone", "t-bone before", "t-bone after")
# Walked clockwise: an opening of 60 x 18.
OPENING = [(0.0, 0.0), (0.0, 18.0), (60.0, 18.0), (60.0, 0.0)]


def farthest(contour: Contour, truth: list[Point]) -> float:
    """How far the walls' corners lie from the true ones; infinite when they are not as many."""
    ends = [wall.end for wall in contour.walls.segments]
    if len(ends) != len(truth):
        return math.inf
    return max(min(math.dist(end, corner) for end in ends) for corner in truth)


def same_curve(one: Path, other: Path) -> float:
    """How far two loops of equally many segments differ, wherever each begins."""
    a, b = one.segments, other.segments
    if len(a) != len(b) or [type(s) for s in a] != [type(s) for s in one.segments]:
        return math.inf
    return min(
        max(
            max(math.dist(s.start, t.start), math.dist(s.end, t.end), _centres(s, t))
            for s, t in zip(a, b[shift:] + b[:shift], strict=True)
        )
        for shift in range(len(b))
    )


def _centres(s: Line | Arc, t: Line | Arc) -> float:
    if isinstance(s, Arc) and isinstance(t, Arc):
        return math.dist(s.centre, t.centre)
    return 0.0 if type(s) is type(t) else math.inf


@pytest.mark.parametrize("way", RELIEFS)
@pytest.mark.parametrize("chords", [None, 5, 8, 16, 64])
def test_an_opening_drawn_with_reliefs_has_its_four_sharp_corners_again(way, chords):
    drawn = with_corners(OPENING, [way] * 4, 3.0)
    if chords:
        drawn = flattened(drawn, chords)
    contour = contour_of(drawn, hollow=True)
    assert farthest(contour, OPENING) < 1e-9
    assert [corner.kind for corner in contour.corners] == ["relief"] * 4
    assert [corner.radius for corner in contour.corners] == pytest.approx([3.0] * 4, abs=1e-6)
    assert contour.drawn is drawn
    assert same_curve(loop_of(contour), polygon(OPENING)) < 1e-9


# The bounds are those that a prototype measured over 9,756 corners, and 15.8 um, the worst here over 3,600.
@pytest.mark.parametrize(("decimals", "worst"), [(6, 2e-6), (3, 0.0015), (2, 0.016)])
def test_reliefs_of_all_kinds_at_60_to_135_degrees_are_undone_however_they_are_stored(decimals, worst):
    for seed in range(25):
        chance = random.Random(seed)
        radius = chance.uniform(0.8, 6)
        truth = convex_corners(chance, 6.5 * radius)
        drawn = with_corners(truth, [chance.choice(RELIEFS) for _ in truth], radius)
        for stored in (drawn, *(flattened(drawn, chords) for chords in (5, 16, 64))):
            path = rounded(stored, decimals)
            for seen in (path, with_arcs([path])[0]):
                assert farthest(contour_of(seen, hollow=True), truth) < worst, (seed, len(stored.segments))


def test_walls_in_several_pieces_beside_a_relief_are_one_wall_and_keep_its_direction():
    drawn = flattened(with_corners(OPENING, ["dogbone"] * 4, 2.0), 12)
    cut = []
    for segment in drawn.segments:
        (ax, ay), (bx, by) = segment.start, segment.end
        if math.dist((ax, ay), (bx, by)) > 10:
            row = [(ax + (bx - ax) * t, ay + (by - ay) * t) for t in (0, 0.0005, 0.4, 0.9995, 1)]
            # A speck of a wall that is askew by less than a tenth of a micrometre.
            row[1] = (row[1][0] + 4e-5, row[1][1] + 4e-5)
            cut += [Line(a, b) for a, b in pairwise(row)]
        else:
            cut.append(segment)
    assert farthest(contour_of(Path(tuple(cut)), hollow=True), OPENING) < 1e-9


def test_wherever_the_loop_begins_the_same_corners_are_found():
    drawn = flattened(with_corners(OPENING, ["dogbone", "t-bone after", "t-bone before", "dogbone"], 3.0), 9)
    for shift in range(len(drawn.segments)):
        turned = Path(drawn.segments[shift:] + drawn.segments[:shift])
        assert farthest(contour_of(turned, hollow=True), OPENING) < 1e-9
        assert farthest(contour_of(reversed_path(turned), hollow=True), OPENING) < 1e-9


def test_material_on_the_other_side_nothing_is_a_relief():
    drawn = with_corners(OPENING, ["dogbone"] * 4, 3.0)
    contour = contour_of(drawn, hollow=False)
    assert not contour.reliefs
    assert same_curve(loop_of(contour), oriented(drawn)) < 1e-9


def test_a_corner_that_pokes_through_its_faceted_circle_is_one_relief():
    """As published: two flattened quarters meet in the square corner, 0.05 outside the circle."""
    r, poke = 2.1, 0.05
    away = (r + poke) / math.sqrt(2)
    half = math.sqrt(r**2 - away**2)
    pieces: list[Line | Arc] = []
    for (bx, by), (x, y), (ax, ay) in zip(
        OPENING[-1:] + OPENING[:-1], OPENING, OPENING[1:] + OPENING[:1], strict=True
    ):
        (ux, uy), (vx, vy) = (
            (dx / math.hypot(dx, dy), dy / math.hypot(dx, dy))
            for dx, dy in ((bx - x, by - y), (ax - x, ay - y))
        )
        centre = (x + away * (ux + vx), y + away * (uy + vy))
        far, near = away + half, away - half
        into, out = ((x + d * ux, y + d * uy) for d in (far, near))
        back, on = ((x + d * vx, y + d * vy) for d in (near, far))
        if pieces:
            pieces.append(Line(pieces[-1].end, into))
        pieces += [
            Arc(into, out, centre, True),
            Line(out, (x, y)),
            Line((x, y), back),
            Arc(back, on, centre, True),
        ]
    pieces.append(Line(pieces[-1].end, pieces[0].start))
    path = flattened(Path(tuple(pieces)), 25)
    for stored in (Path(tuple(pieces)), path, rounded(path, 4)):
        assert farthest(contour_of(stored, hollow=True), OPENING) < 2e-4


def frame(way: str, radius: float, count: int = 4) -> Path:
    """The opening with that many relieved corners, the others sharp."""
    return with_corners(OPENING, [way] * count + ["sharp"] * (4 - count), radius)


def left_over(drawn: Path, *, hollow: bool = True) -> list[str]:
    contour = contour_of(drawn, hollow=hollow)
    assert not contour.reliefs
    assert same_curve(loop_of(contour), oriented(drawn, clockwise=hollow)) < 1e-9
    return [one.reason for one in contour.left]


def test_an_opening_is_undone_with_one_radius_or_not_at_all():
    two, four = with_corners(OPENING, ["dogbone"] * 4, 2.0), with_corners(OPENING, ["dogbone"] * 4, 2.5)
    middle = [s for s in two.segments if max(s.start[0], s.end[0]) < 30]
    other = [s for s in four.segments if min(s.start[0], s.end[0]) > 30]
    ends = [(middle, other), (other, middle)]
    joined = []
    for one, following in ends:
        joined += one
        joined.append(Line(one[-1].end, following[0].start))
    assert "radii in one opening differ" in left_over(Path(tuple(joined)))[0]
    assert left_over(frame("dogbone", 3.0, 1)) == ["no other corner of the opening has one"]


def test_reliefs_prolonged_by_straight_pieces_stay_with_all_others_of_their_opening():
    steep = polygon([(0, 0), (20, 40), (90, 40), (70, 0)])  # 63 and 117 degrees
    relieved = relieve_corners(steep, {k: CornerRelief(3.0) for k in range(4)})
    assert len(relieved.segments) == 4 + 2 * 3 + 2
    assert Counter(left_over(relieved)) == {
        "another corner of the opening is no plain relief": 2,
        "a relief prolonged by straight pieces": 2,
    }


def test_reliefs_that_run_into_each_other_are_told():
    """On a wall of 8 two dogbones of 3 reach 4.24 each: the wall between is gone."""
    told = left_over(narrow_union(3.0))
    assert told == ["two reliefs run into each other: the wall between cannot be known"] * 2


@pytest.mark.parametrize("chords", [None, 24])
def test_a_wall_too_short_to_tell_its_direction_is_told(chords):
    """Dogbones of 3 leave 0.5 of a wall of 8.985; rounding would turn it about by a degree."""
    wide = 6 * math.sqrt(2) + 0.5
    drawn = with_corners([(0, 0), (0, wide), (60, wide), (60, 0)], ["dogbone"] * 4, 3.0)
    told = left_over(flattened(drawn, chords) if chords else drawn)
    assert told == ["the wall beside it is too short to tell where the corner is"] * 4


@pytest.mark.parametrize("left", [0.01, 0.2])
def test_reliefs_that_all_but_run_into_each_other_are_told_as_if_they_did(left):
    wide = 6 * math.sqrt(2) + left
    told = left_over(with_corners([(0, 0), (0, wide), (60, wide), (60, 0)], ["dogbone"] * 4, 3.0))
    assert told == ["two reliefs run into each other: the wall between cannot be known"] * 2


def narrow_union(radius: float) -> Path:
    """The opening of 60 x 8 with dogbones, each two cut where their circles cross."""
    away = radius / math.sqrt(2)
    up = 4 - away
    cross = away - math.sqrt(radius**2 - up**2)
    mouth = 2 * away
    left, right = (cross, 4.0), (60 - cross, 4.0)
    return Path(
        (
            Arc((mouth, 0.0), left, (away, away), True),
            Arc(left, (mouth, 8.0), (away, 8 - away), True),
            Line((mouth, 8.0), (60 - mouth, 8.0)),
            Arc((60 - mouth, 8.0), right, (60 - away, 8 - away), True),
            Arc(right, (60 - mouth, 0.0), (60 - away, away), True),
            Line((60 - mouth, 0.0), (mouth, 0.0)),
        )
    )


def test_a_hole_about_an_inside_corner_may_carry_a_cable_and_stays():
    """An L with a hole of 12 about its inside corner."""
    r = 6.0
    ell = Path(
        (
            Line((0, 0), (80, 0)),
            Line((80, 0), (80, 30)),
            Line((80, 30), (30 + r, 30)),
            Arc((30 + r, 30), (30, 30 + r), (30, 30), True),
            Line((30, 30 + r), (30, 80)),
            Line((30, 80), (0, 80)),
            Line((0, 80), (0, 0)),
        )
    )
    assert left_over(ell, hollow=False) == ["a circle about the corner may be a hole for a cable"]


@pytest.mark.parametrize("kind", DECOYS)
def test_no_fillet_slot_keyhole_notch_or_scoop_is_taken_for_a_relief(kind):
    """Thousands of them are tried in tests/benchmarks/drawn_reliefs.py."""
    for seed in range(12):
        loop, hollow = decoy(kind, seed)
        for path in (loop, with_arcs([loop])[0]):
            contour = contour_of(path, hollow=hollow)
            assert not contour.reliefs, seed
            assert signed_area(loop_of(contour)) == pytest.approx(
                signed_area(oriented(path, clockwise=hollow))
            )


@settings(deadline=None, max_examples=60, derandomize=True)
@given(st.integers(0, 10**6))
def test_undone_and_relieved_for_another_cutter_the_corners_return_once_more(seed):
    chance = random.Random(seed)
    wide, high = chance.uniform(20, 60), chance.uniform(20, 90)
    truth = [(0.0, 0.0), (0.0, high), (wide, high), (wide, 0.0)]
    drawn = with_corners(truth, [chance.choice(RELIEFS) for _ in truth], chance.uniform(0.8, 2.2))
    once = contour_of(drawn, hollow=True)
    cutter = chance.uniform(0.8, 2.2)
    ways = [CornerRelief(cutter, chance.choice(("both", "before", "after"))) for _ in truth]
    again = relieve_corners(once.walls, dict(enumerate(ways)))
    assert farthest(contour_of(rounded(again, 4), hollow=True), truth) < 0.001


def test_square_reliefs_stay_as_drawn_though_their_corners_lie_on_a_circle():
    """Squares of 4 past the long walls of 60 x 18, each with a corner in the corner of the opening."""
    drawn = polygon(
        (
            *((0, 0), (0, 18), (0, 22), (4, 22), (4, 18), (56, 18), (56, 22), (60, 22)),
            *((60, 18), (60, 0), (60, -4), (56, -4), (56, 0), (4, 0), (4, -4), (0, -4)),
        )
    )
    contour = contour_of(drawn, hollow=True)
    assert not contour.reliefs
    assert sum(len(corner.pieces) for corner in contour.corners) == 0
    # (0, 0), (0, 18), (60, 18) and (60, 0) lie on straight walls and are gone.
    assert len(contour.walls.segments) == 12


@pytest.mark.parametrize("clockwise", [False, True])
def test_an_arc_that_meets_its_walls_at_an_angle_is_a_wall_and_no_fillet(clockwise):
    """A corner cut by an arc of 15 whose centre stands 14.9 from both walls: they meet at 6.6 degrees."""
    centre, radius = (60 - 14.9, 60 - 14.9), 15.0
    reach = centre[0] + math.sqrt(radius**2 - (60 - centre[1]) ** 2)
    drawn = Path(
        (
            Line((0, 0), (60, 0)),
            Line((60, 0), (60, reach)),
            Arc((60, reach), (reach, 60), centre, False),
            Line((reach, 60), (0, 60)),
            Line((0, 60), (0, 0)),
        )
    )
    drawn = reversed_path(drawn) if clockwise else drawn
    contour = contour_of(drawn, hollow=clockwise)
    assert {corner.kind for corner in contour.corners} == {"sharp"}
    assert same_curve(contour.walls, drawn) == 0


def test_specks_without_direction_do_not_disturb():
    specks = [Line((60, 18 - 8e-7 * k), (60, 18 - 8e-7 * (k + 1))) for k in range(4)]
    last = Line(specks[-1].end, (60, 0))
    path = Path((Line((0, 0), (0, 18)), Line((0, 18), (60, 18)), *specks, last, Line((60, 0), (0, 0))))
    assert farthest(contour_of(path, hollow=True), OPENING) < 1e-9


@pytest.mark.parametrize("clockwise", [False, True])
def test_a_loop_without_corners_is_its_own_wall(clockwise):
    ring = circle((10, 20), 30)
    contour = contour_of(ring, hollow=clockwise)
    assert same_curve(loop_of(contour), oriented(ring, clockwise=clockwise)) == 0
    assert {corner.kind for corner in contour.corners} == {"sharp"}


@settings(deadline=None, max_examples=150, derandomize=True)
@given(st.integers(0, 10**6), st.booleans(), st.sampled_from([None, 4, 11, 40]))
def test_sharp_corners_and_fillets_come_back_exactly(seed, hollow, chords):
    chance = random.Random(seed)
    radius = chance.uniform(0.3, 12)
    corners = convex_corners(chance, 7 * radius + 5)
    ways = [chance.choice(("sharp", "fillet")) for _ in corners]
    drawn = with_corners(corners, ways, radius)
    drawn = oriented(flattened(drawn, chords) if chords else drawn, clockwise=hollow)
    contour = contour_of(drawn, hollow=hollow)
    assert farthest(contour, corners) < 1e-9
    assert Counter(corner.kind for corner in contour.corners) == Counter(ways)
    assert all(c.radius == pytest.approx(radius, abs=1e-6) for c in contour.corners if c.kind == "fillet")
    assert same_curve(loop_of(contour), drawn) < 1e-9


@settings(deadline=None, max_examples=100, derandomize=True)
@given(st.integers(0, 10**6))
def test_fillets_follow_moved_walls_and_return_with_them(seed):
    """The moved loop is the one drawn about the moved polygon."""
    chance = random.Random(seed)
    radius = chance.uniform(0.3, 8)
    corners = convex_corners(chance, 3.5 * radius + 8)
    ways = [chance.choice(("sharp", "fillet")) for _ in corners]
    drawn = with_corners(corners, ways, radius)
    contour = contour_of(drawn, hollow=True)
    shifts = {k: chance.uniform(-0.5, 0.5) for k in range(len(corners)) if chance.random() < 0.6}
    moved = replace(contour, walls=move_walls(contour.walls, shifts))
    ends = {wall.end: corner.kind for wall, corner in zip(moved.walls.segments, moved.corners, strict=True)}
    truth = with_corners(list(ends), list(ends.values()), radius)
    assert same_curve(loop_of(moved), truth) < 1e-7
    back = replace(moved, walls=move_walls(moved.walls, {k: -shift for k, shift in shifts.items()}))
    assert same_curve(loop_of(back), drawn) < 1e-9


def test_a_fillet_between_walls_that_stand_still_is_the_very_same():
    drawn = with_corners(OPENING, ["fillet"] * 4, 3.0)
    contour = contour_of(drawn, hollow=True)
    moved = loop_of(replace(contour, walls=move_walls(contour.walls, {2: -0.4})))
    arcs = [segment for segment in drawn.segments if isinstance(segment, Arc)]
    kept = [segment for segment in moved.segments if any(segment is arc for arc in arcs)]
    assert len(kept) == 2


def test_a_fillet_that_no_longer_fits_is_told_in_words():
    contour = contour_of(with_corners(OPENING, ["fillet"] * 4, 3.0), hollow=True)
    narrow = replace(contour, walls=move_walls(contour.walls, {1: -12.5}))
    with pytest.raises(
        ValueError, match=r"fillet of radius 3 and 3 no longer fits the wall .* 0\.500 mm too short"
    ):
        loop_of(narrow)
    touching = replace(contour, walls=move_walls(contour.walls, {1: -12.0}))
    assert sum(isinstance(segment, Line) for segment in loop_of(touching).segments) == 2


def test_walls_and_corners_must_stay_as_many():
    contour = contour_of(polygon(OPENING), hollow=True)
    with pytest.raises(ValueError, match="3 walls have 4 corners"):
        loop_of(replace(contour, walls=polygon(OPENING[:3])))


@pytest.mark.parametrize(
    ("name", "reliefs", "openings"),
    [
        ("desk-2004.dxf", 118, 24),
        ("desk-fillets-mm.dxf", 80, 20),
        ("rack-inches.dxf", 44, 4),
        ("rack-inches.svg", 44, 4),
    ],
)
def test_reliefs_of_published_drawings_are_undone_and_every_opening_is_four_sided(name, reliefs, openings):
    found = four = 0
    for part in read(published(name)).parts:
        found += len(contour_of(part.outline, hollow=False).reliefs)
        for opening in part.openings:
            contour = contour_of(opening, hollow=True)
            found += len(contour.reliefs)
            four += [corner.kind for corner in contour.corners] == ["relief"] * 4
    assert (found, four) == (reliefs, openings)


@pytest.mark.parametrize(
    "name",
    [
        *("case-middle-plate.dxf", "case-mirrored.dxf", "case-projected-solid.dxf", "cover-splines.dxf"),
        *(
            "desk-cm.dxf",
            "enclosure-circles.dxf",
            "enclosure-older.dxf",
            "front-plate.dxf",
            "front-plate.svg",
        ),
        "desk-line-soup.dxf",
    ],
)
def test_published_drawings_without_reliefs_have_none_and_come_back(name):
    for part in read(published(name)).parts:
        for loop, hollow in ((part.outline, False), *((opening, True) for opening in part.openings)):
            contour = contour_of(loop, hollow=hollow)
            assert not contour.reliefs
            assert bounds(loop_of(contour)) == pytest.approx(bounds(loop), abs=2e-4)
