"""Offsets of areas against Steiner's formulas, figures by hand, and distances measured by shapely.

Steiner: growing a convex area by r makes its perimeter P + 2 pi r and its area A + P r + pi r^2.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPoint, Point, Polygon, prepare

from camkit.geometry.offset import offset
from camkit.geometry.path import Arc, Line, Path, Region, Segment, circle, polygon, rectangle, region

WITHIN = 0.002
# A cutter's path may lie 0.011 too wide, 0.005 of it on purpose: the offset itself has the rest.
WIDE = 0.006


# --- measures of this file's own --------------------------------------------------------------------


def turn_of(arc: Arc) -> float:
    first = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    last = math.atan2(arc.end[1] - arc.centre[1], arc.end[0] - arc.centre[0])
    return (last - first) % (2 * math.pi) if not arc.clockwise else -((first - last) % (2 * math.pi))


def points_of(segment: Segment, error: float = 0.0005) -> list[tuple[float, float]]:
    """Points from start to end whose chords stay within `error` of the segment."""
    if isinstance(segment, Line):
        return [segment.start, segment.end]
    turn, r = turn_of(segment), math.dist(segment.start, segment.centre)
    count = max(2, math.ceil(abs(turn) / (2 * math.acos(max(0.0, 1 - error / max(r, 2 * error))))))
    first = math.atan2(segment.start[1] - segment.centre[1], segment.start[0] - segment.centre[0])
    inner = [
        (
            segment.centre[0] + r * math.cos(first + turn * k / count),
            segment.centre[1] + r * math.sin(first + turn * k / count),
        )
        for k in range(1, count)
    ]
    return [segment.start, *inner, segment.end]


def loop_of(path: Path) -> list[tuple[float, float]]:
    return [p for s in path.segments for p in points_of(s)[:-1]]


def loops(area: Region) -> tuple[Path, ...]:
    return (area.exterior, *area.interiors)


def length_of(path: Path) -> float:
    return sum(
        math.dist(s.start, s.end) if isinstance(s, Line) else abs(turn_of(s)) * math.dist(s.start, s.centre)
        for s in path.segments
    )


def area_of(path: Path) -> float:
    """Signed area by Green's theorem, arcs exact."""
    total = 0.0
    for s in path.segments:
        (ax, ay), (bx, by) = s.start, s.end
        if isinstance(s, Line):
            total += (ax * by - bx * ay) / 2
        else:
            (cx, cy), r = s.centre, math.dist(s.start, s.centre)
            total += (r * r * turn_of(s) + cx * (by - ay) - cy * (bx - ax)) / 2
    return total


def net_area(areas: Iterable[Region]) -> float:
    return sum(area_of(loop) for area in areas for loop in loops(area))


def perimeter(areas: Iterable[Region]) -> float:
    return sum(length_of(loop) for area in areas for loop in loops(area))


def check(source: Region, distance: float, results: tuple[Region, ...]) -> None:
    """Every loop is closed and turned as regions want it; every point lies `distance` from the source."""
    edges = MultiLineString([LineString([*loop_of(p), p.start]) for p in loops(source)])
    solid = Polygon(loop_of(source.exterior), [loop_of(p) for p in source.interiors])
    prepare(solid)
    for result in results:
        assert area_of(result.exterior) > 0
        assert all(area_of(loop) < 0 for loop in result.interiors)
        for loop in loops(result):
            assert math.dist(loop.start, loop.end) <= 1e-6
            for segment in loop.segments:
                samples = points_of(segment)
                if isinstance(segment, Line):
                    (ax, ay), (bx, by) = samples
                    samples = [(ax + (bx - ax) * k / 16, ay + (by - ay) * k / 16) for k in range(17)]
                for point in samples:
                    here = Point(point)
                    error = edges.distance(here) - abs(distance)
                    assert -WITHIN - 0.0005 <= error <= WIDE + 0.0005, (segment, point)
                    assert solid.covers(here) == (distance < 0), (segment, point)


def under_circle(r: float, width: float) -> float:
    """Area under a quarter circle from its top to `width` beside it."""
    return (width * math.sqrt(r * r - width * width) + r * r * math.asin(width / r)) / 2


def segments_of(areas: Iterable[Region]) -> int:
    return sum(len(loop.segments) for area in areas for loop in loops(area))


# --- convex areas -----------------------------------------------------------------------------------


@pytest.mark.parametrize("r", [0.5, 3.0, 3.175, 40.0])
def test_a_grown_rectangle_has_round_corners(r: float) -> None:
    source = region(rectangle(0, 0, 100, 60))
    grown = offset(source, r)
    assert len(grown) == 1 and not grown[0].interiors
    assert perimeter(grown) == pytest.approx(320 + 2 * math.pi * r, abs=0.01)
    assert net_area(grown) == pytest.approx(6000 + 320 * r + math.pi * r * r, abs=1.0)
    check(source, r, grown)
    kinds = [type(s) for s in grown[0].exterior.segments]
    assert kinds.count(Line) == 4 and 4 <= kinds.count(Arc) <= 8


def test_the_worked_figures_of_a_rectangle() -> None:
    # 100 x 60 grown by 3: 338.849556 and 6988.274334 (Steiner)
    grown = offset(region(rectangle(0, 0, 100, 60)), 3)
    assert perimeter(grown) == pytest.approx(338.849556, abs=0.005)
    assert net_area(grown) == pytest.approx(6988.274334, abs=0.5)
    # what a 6 mm cutter reaches of the same pocket: shrunk and grown again, 5992.274334
    (shrunk,) = offset(region(rectangle(0, 0, 100, 60)), -3)
    assert net_area(offset(shrunk, 3)) == pytest.approx(5992.274334, abs=0.5)


@settings(derandomize=True, deadline=None, max_examples=25)
@given(
    st.lists(
        st.tuples(
            st.floats(-150, 150).map(lambda v: round(v, 3)), st.floats(-90, 90).map(lambda v: round(v, 3))
        ),
        min_size=3,
        max_size=12,
    ),
    st.sampled_from([0.3, 1.5, 3.0, 6.35, 25.0]),
)
def test_steiner_holds_for_any_convex_polygon(points: list[tuple[float, float]], r: float) -> None:
    hull = MultiPoint(points).convex_hull
    if not isinstance(hull, Polygon) or hull.area < 100 or hull.buffer(-1).is_empty:
        return
    source = region(polygon(list(hull.exterior.coords)[:-1]))
    grown = offset(source, r)
    assert len(grown) == 1
    p, a = hull.length, hull.area
    assert perimeter(grown) == pytest.approx(p + 2 * math.pi * r, abs=0.02)
    assert net_area(grown) == pytest.approx(a + p * r + math.pi * r * r, abs=WITHIN * (p + 2 * math.pi * r))
    check(source, r, grown)


def test_a_shrunk_rectangle_has_sharp_corners() -> None:
    source = region(rectangle(10, 20, 110, 80))
    shrunk = offset(source, -3)
    assert len(shrunk) == 1
    assert perimeter(shrunk) == pytest.approx(2 * (94 + 54), abs=0.02)
    assert net_area(shrunk) == pytest.approx(94 * 54, abs=0.5)
    assert [type(s) for s in shrunk[0].exterior.segments] == [Line] * 4
    check(source, -3, shrunk)


# --- hollow corners, arcs, openings -----------------------------------------------------------------

L_SHAPE = region(polygon(((0, 0), (100, 0), (100, 30), (40, 30), (40, 80), (0, 80))))


def test_an_l_shape_grown_meets_sharply_in_its_hollow_corner() -> None:
    grown = offset(L_SHAPE, 3)
    # five round corners, one sharp: A + P r + 5 (pi/4) r^2 - r^2, P + 5 (pi/2) r - 2 r
    assert net_area(grown) == pytest.approx(5000 + 360 * 3 + 5 * math.pi / 4 * 9 - 9, abs=0.8)
    assert perimeter(grown) == pytest.approx(360 + 5 * math.pi / 2 * 3 - 6, abs=0.02)
    check(L_SHAPE, 3, grown)
    assert segments_of(grown) <= 6 + 10


def test_an_l_shape_shrunk_is_round_about_its_hollow_corner() -> None:
    shrunk = offset(L_SHAPE, -3)
    # the mirror of growing: A - P r + 5 r^2 - (pi/4) r^2
    assert net_area(shrunk) == pytest.approx(5000 - 360 * 3 + 5 * 9 - math.pi / 4 * 9, abs=0.8)
    check(L_SHAPE, -3, shrunk)
    arcs = [s for s in shrunk[0].exterior.segments if isinstance(s, Arc)]
    assert arcs and all(math.dist(a.centre, (40, 30)) < 0.01 for a in arcs)
    assert segments_of(shrunk) <= 6 + 2


@pytest.mark.parametrize("distance", [5.0, 0.1, -0.1, -5.0, -19.0])
def test_a_circle_stays_a_circle(distance: float) -> None:
    source = region(circle((70, -30), 40))
    (result,) = offset(source, distance)
    r = 20 + distance
    assert net_area((result,)) == pytest.approx(math.pi * r * r, abs=WITHIN * 2 * math.pi * r + 1e-6)
    check(source, distance, (result,))
    assert all(isinstance(s, Arc) for s in result.exterior.segments)
    assert len(result.exterior.segments) <= 4
    for arc in result.exterior.segments:
        assert isinstance(arc, Arc) and math.dist(arc.centre, (70, -30)) < 0.01


SLOT = region(
    Path(
        (
            Line((10, 0), (90, 0)),
            Arc((90, 0), (90, 20), (90, 10), False),
            Line((90, 20), (10, 20)),
            Arc((10, 20), (10, 0), (10, 10), False),
        )
    )
)


@pytest.mark.parametrize("distance", [3.0, -3.0, -9.0])
def test_a_slot_keeps_its_lines_and_arcs(distance: float) -> None:
    result = offset(SLOT, distance)
    r = 10 + distance
    assert net_area(result) == pytest.approx(80 * 2 * r + math.pi * r * r, abs=0.5)
    assert perimeter(result) == pytest.approx(160 + 2 * math.pi * r, abs=0.02)
    check(SLOT, distance, result)
    assert segments_of(result) <= 8


def test_rounded_corners_shrink_to_nothing_and_then_are_sharp() -> None:
    corners = []
    for cx, cy, a in ((95, 5, -90), (95, 55, 0), (5, 55, 90), (5, 5, 180)):
        u, v = math.radians(a), math.radians(a + 90)
        corners.append(
            Arc(
                (cx + 5 * round(math.cos(u)), cy + 5 * round(math.sin(u))),
                (cx + 5 * round(math.cos(v)), cy + 5 * round(math.sin(v))),
                (cx, cy),
                False,
            )
        )
    segments: list[Segment] = []
    for k, arc in enumerate(corners):
        segments += [Line(corners[k - 1].end, arc.start), arc]
    source = region(Path(tuple(segments)))
    for distance in (-2.0, -8.0):
        shrunk = offset(source, distance)
        check(source, distance, shrunk)
        d = -distance
        left = 5 - d
        area = (100 - 2 * d) * (60 - 2 * d) - ((4 - math.pi) * left**2 if left > 0 else 0)
        assert net_area(shrunk) == pytest.approx(area, abs=0.6)
        assert segments_of(shrunk) <= 12


def test_openings_shrink_when_the_area_grows() -> None:
    source = region(rectangle(0, 0, 100, 60), (circle((30, 30), 20), rectangle(60, 20, 80, 40)))
    grown = offset(source, 3)
    assert len(grown) == 1 and len(grown[0].interiors) == 2
    assert sorted(-area_of(loop) for loop in grown[0].interiors) == pytest.approx(
        sorted([math.pi * 49, 14 * 14]), abs=0.2
    )
    check(source, 3, grown)
    shrunk = offset(source, -3)
    assert len(shrunk) == 1
    # 94 x 54 less a circle of 13 and a rounded square of 26
    expected = 94 * 54 - math.pi * 169 - (400 + 80 * 3 + math.pi * 9)
    assert net_area(shrunk) == pytest.approx(expected, abs=1.0)
    check(source, -3, shrunk)


def test_an_opening_closes_and_vanishes() -> None:
    source = region(rectangle(0, 0, 100, 60), (circle((30, 30), 5), rectangle(60, 20, 80, 25)))
    (grown,) = offset(source, 3)
    assert grown.interiors == ()
    check(source, 3, (grown,))


def test_an_opening_near_the_edge_runs_out_when_the_area_shrinks() -> None:
    source = region(rectangle(0, 0, 100, 60), (rectangle(40, 4, 60, 40),))
    shrunk = offset(source, -3)
    assert len(shrunk) == 1 and shrunk[0].interiors == ()
    check(source, -3, shrunk)
    # 94 x 54 less what lies within 3 of the opening: round above it, 26 wide beside it, a strip of 1 below it
    above = 20 * 3 + math.pi * 9 / 2
    beside = 26 * (40 - 4)
    below = 20 * 1 + 2 * under_circle(3, 1)
    assert net_area(shrunk) == pytest.approx(94 * 54 - above - beside - below, abs=1.0)


# --- necks ------------------------------------------------------------------------------------------


def dumbbell() -> Region:
    corners = (
        (0, 0), (40, 0), (40, 17), (80, 17), (80, 0), (120, 0),
        (120, 40), (80, 40), (80, 23), (40, 23), (40, 40), (0, 40),
    )  # fmt: skip
    return region(polygon(corners))


def test_a_neck_breaks_into_two_when_shrunk() -> None:
    source = dumbbell()
    whole = offset(source, -2.9)
    assert len(whole) == 1
    check(source, -2.9, whole)
    halves = offset(source, -3.5)
    assert len(halves) == 2
    check(source, -3.5, halves)
    areas = [net_area((half,)) for half in halves]
    assert areas[0] == pytest.approx(areas[1], abs=0.2)
    # 33 x 33, and a beak into the neck between circles of 3.5 about (40, 17) and (40, 23)
    assert areas[0] == pytest.approx(33 * 33 + 2 * (3 * 3.5 - under_circle(3.5, 3)), abs=0.4)


def test_a_grown_gap_closes_into_an_opening() -> None:
    # a C whose mouth is 4 wide closes when grown by 3 and keeps a chamber
    corners = (
        (0, 0), (60, 0), (60, 28), (50, 28), (50, 10), (10, 10),
        (10, 50), (50, 50), (50, 32), (60, 32), (60, 60), (0, 60),
    )  # fmt: skip
    source = region(polygon(corners))
    grown = offset(source, 3)
    assert len(grown) == 1 and len(grown[0].interiors) == 1
    check(source, 3, grown)
    # the chamber is 34 x 34, and a beak into the closed mouth
    beak = 2 * (2 * 3 - under_circle(3, 2))
    assert -area_of(grown[0].interiors[0]) == pytest.approx(34 * 34 + beak, abs=0.4)


@pytest.mark.parametrize("distance", [-30.001, -50.0, -1000.0])
def test_what_is_shrunk_beyond_its_middle_vanishes(distance: float) -> None:
    assert offset(region(rectangle(0, 0, 100, 60)), distance) == ()
    assert offset(region(circle((0, 0), 60)), distance) == ()


def test_nothing_happens_at_no_distance() -> None:
    (same,) = offset(L_SHAPE, 0.0)
    assert net_area((same,)) == pytest.approx(5000, abs=0.01)
    assert segments_of((same,)) == 6


def test_an_offset_far_from_the_origin_is_as_good() -> None:
    source = region(rectangle(5000, 3000, 5100, 3060), (circle((5050, 3030), 20),))
    for distance in (3.0, -3.0):
        check(source, distance, offset(source, distance))


@settings(derandomize=True, deadline=None, max_examples=12)
@given(
    st.integers(5, 14),
    st.randoms(use_true_random=False),
    st.sampled_from([-4.0, -1.0, 1.0, 4.0]),
)
def test_any_star_of_straight_walls_is_offset_truly(count: int, chance: object, distance: float) -> None:
    radii = [chance.uniform(20, 80) for _ in range(count)]
    corners = [
        (
            round(r * math.cos(2 * math.pi * k / count), 3),
            round(r * math.sin(2 * math.pi * k / count), 3),
        )
        for k, r in enumerate(radii)
    ]
    source = region(polygon(corners))
    results = offset(source, distance)
    check(source, distance, results)
    witness = Polygon(corners).buffer(distance, quad_segs=256)
    assert net_area(results) == pytest.approx(witness.area, abs=WITHIN * witness.length + 0.1)


def test_the_same_offset_twice_is_the_same() -> None:
    assert offset(dumbbell(), -3.5) == offset(dumbbell(), -3.5)
