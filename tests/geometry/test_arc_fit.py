"""Arcs found again in short lines. Distances are measured by shapely on dense points, apart from the fit."""

import math
import random
import time
from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from camkit.geometry.arc_fit import with_arcs
from camkit.geometry.path import (
    Arc,
    Line,
    Path,
    Point,
    arc_sweep,
    circle,
    polygon,
    reversed_path,
    signed_area,
)

Corners = list[Point]


def fitted(path: Path) -> Path:
    (found,) = with_arcs([path])
    return found


def arcs_of(path: Path) -> list[Arc]:
    return [s for s in path.segments if isinstance(s, Arc)]


def sampled(centre: Point, radius: float, first: float, sweep: float, sagitta: float) -> Corners:
    """Corners on an arc, equal chords of that sagitta or less: e = R (1 - cos(step / 2))."""
    count = max(3, math.ceil(abs(sweep) / (2 * math.acos(1 - sagitta / radius))))
    angles = [first + sweep * k / count for k in range(count + 1)]
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def dense(path: Path) -> shapely.LinearRing:
    """The path in steps of at most 0.4 mm, by sines and cosines of its own."""
    points: Corners = []
    for s in path.segments:
        size = math.dist(s.start, s.end)
        if isinstance(s, Line):
            count = max(1, math.ceil(size / 0.4))
            x, y = s.start
            dx, dy = s.end[0] - x, s.end[1] - y
            points += [(x + dx * k / count, y + dy * k / count) for k in range(count)]
            continue
        (cx, cy), r = s.centre, math.dist(s.centre, s.start)
        begin = math.atan2(s.start[1] - cy, s.start[0] - cx)
        turned = math.atan2(s.end[1] - cy, s.end[0] - cx) - begin
        turned = -(-turned % math.tau) if s.clockwise else turned % math.tau
        # Chords so fine that their own sagitta, r step^2 / 8, is below 0.02 um.
        count = max(8, math.ceil(abs(turned) * math.sqrt(r / 1.6e-4)))
        angles = [begin + turned * k / count for k in range(count)]
        points += [(cx + r * math.cos(a), cy + r * math.sin(a)) for a in angles]
    return shapely.LinearRing(points)


def apart(a: Path, b: Path) -> float:
    """Symmetric Hausdorff distance of two closed paths."""
    one, other = (shapely.get_coordinates(dense(path)) for path in (a, b))
    return max(_farthest(one, other), _farthest(other, one))


def _farthest(points: NDArray[np.float64], corners: NDArray[np.float64]) -> float:
    edges = shapely.linestrings(np.stack((corners[:-1], corners[1:]), axis=1))
    _, away = shapely.STRtree(edges).query_nearest(
        shapely.points(points), return_distance=True, all_matches=False
    )
    return float(away.max())


def turned_over(corners: Sequence[Point], *, begin: int, back: bool) -> Corners:
    walked = [*corners[begin:], *corners[:begin]]
    return walked[::-1] if back else walked


def tombstone(radius: float, sagitta: float) -> Corners:
    """A rectangle with a half disc on top."""
    return [(-radius, -60.0), (radius, -60.0), *sampled((0, 0), radius, 0, math.pi, sagitta)]


@pytest.mark.parametrize("radius", [1.0, 6.0, 50.0, 900.0])
def test_a_half_disc_of_short_lines_gets_its_arc_back(radius: float) -> None:
    found = fitted(polygon(tombstone(radius, 0.002)))
    (arc,) = arcs_of(found)
    assert len(found.segments) == 4
    assert (arc.start, arc.end) == ((radius, 0.0), tombstone(radius, 0.002)[-1])
    assert arc.radius == pytest.approx(radius, abs=1e-9)
    assert arc.centre == pytest.approx((0, 0), abs=1e-9)
    assert arc_sweep(arc) == pytest.approx(math.pi)


def test_the_tangent_lines_beside_an_arc_are_not_eaten() -> None:
    """A slot with rounded corners; each line touches two arcs smoothly."""
    corners: Corners = []
    for x, y, first in ((40, 10, -90), (40, 30, 0), (-40, 30, 90), (-40, 10, 180)):
        corners += sampled((x, y), 8, math.radians(first), math.pi / 2, 0.002)
    found = fitted(polygon(corners))
    assert [type(s) for s in found.segments] == [Arc, Line] * 4
    lines = [s for s in found.segments if isinstance(s, Line)]
    assert [math.dist(s.start, s.end) for s in lines] == pytest.approx([20, 80, 20, 80])
    assert [arc.radius for arc in arcs_of(found)] == pytest.approx([8] * 4)


@pytest.mark.parametrize("share", [1.0, 3.0, 6.0])
def test_a_short_tangent_line_stays_a_line(share: float) -> None:
    """A line as long as one chord, three and six of them, before the real corner."""
    arc = sampled((0, 0), 20, 0, math.pi / 2, 0.002)
    chord = math.dist(arc[0], arc[1])
    path = polygon([(-50, 0), (-50, -50), (20, -50), (20, -share * chord), *arc])
    found = fitted(polygon([(-50, 0), (-50, -50), (40, -50), (20, -share * chord), *arc]))
    assert len(arcs_of(found)) == 1
    assert arcs_of(found)[0].radius == pytest.approx(20, abs=0.15)
    assert apart(path, fitted(path)) <= 0.005


@pytest.mark.parametrize("sagitta", [0.002, 0.0002])
def test_arcs_that_run_smoothly_into_each_other_part_where_they_meet(sagitta: float) -> None:
    """An oval of four arcs, 30 and 100 mm, tangent at 50 degrees off the axis."""
    turn = math.radians(50)
    across, along = 70 * math.sin(turn), 70 * math.cos(turn)
    corners: Corners = []
    for centre, radius, first, sweep in (
        ((across, 0), 30, turn - math.pi / 2, math.pi - 2 * turn),
        ((0, -along), 100, math.pi / 2 - turn, 2 * turn),
        ((-across, 0), 30, math.pi / 2 + turn, math.pi - 2 * turn),
        ((0, along), 100, 3 * math.pi / 2 - turn, 2 * turn),
    ):
        corners += sampled(centre, radius, first, sweep, sagitta)[:-1]
    for begin in (0, 7, 150, 301):
        for back in (False, True):
            found = fitted(polygon(turned_over(corners, begin=begin, back=back)))
            assert sorted(arc.radius for arc in arcs_of(found)) == pytest.approx([30, 30, 100, 100], abs=1e-6)
            assert len(found.segments) == 4


@pytest.mark.parametrize("clockwise", [False, True])
def test_short_lines_all_around_become_a_circle(clockwise: bool) -> None:
    ring = polygon(sampled((70, -20), 12.5, 0.3, math.tau, 0.003)[:-1])
    found = fitted(reversed_path(ring) if clockwise else ring)
    assert len(found.segments) == 2
    first = found.segments[0]
    assert isinstance(first, Arc) and first.clockwise == clockwise
    assert (first.centre, first.radius) == (pytest.approx((70, -20)), pytest.approx(12.5))


@pytest.mark.parametrize("sides", [3, 4, 5, 6, 8, 12, 24])
def test_polygons_that_were_meant_stay_what_they_are(sides: int) -> None:
    """Even 24 sides of a circle of 10 mm stand off by 5 (1 - cos 7.5 degrees) = 0.043 mm."""
    path = polygon(ngon(sides, 5))
    assert fitted(path) is path


def ngon(sides: int, radius: float) -> Corners:
    return [
        (radius * math.cos(k * math.tau / sides), radius * math.sin(k * math.tau / sides))
        for k in range(sides)
    ]


def test_facets_are_arcs_up_to_their_sagitta_of_5_um_and_not_beyond() -> None:
    """The sagitta of a side of n is R (1 - cos(pi / n)): with 70 sides 0.0049 mm at 4.87, 0.0051 at 5.07."""
    assert arcs_of(fitted(polygon(ngon(70, 4.87))))
    assert not arcs_of(fitted(polygon(ngon(70, 5.07))))


def test_a_straight_row_of_points_stays_straight() -> None:
    top = [(400 - 4.0 * k, 100.0) for k in range(101)]
    path = polygon([(0, 0), (400, 0), *top])
    assert fitted(path) is path
    rng = random.Random(5)
    wavering = polygon([(0, 0), (400, 0), *((x, y + rng.uniform(-5e-4, 5e-4)) for x, y in top)])
    assert not arcs_of(fitted(wavering))


def test_a_bow_of_less_than_15_um_is_no_arc() -> None:
    """A bow of height h over a chord c has the radius c^2 / (8 h) + h / 2."""
    for height, found in ((0.012, 0), (0.018, 1)):
        radius = 20**2 / (8 * height) + height / 2
        half = math.asin(10 / radius)
        bow = sampled((0, -radius), radius, math.pi / 2 - half, 2 * half, height / 16.1)
        lowest = min(y for _, y in bow)
        path = polygon([(-10, lowest - 30), (10, lowest - 30), *bow])
        assert len(arcs_of(fitted(path))) == found


def test_a_real_corner_ends_a_run() -> None:
    """Two arcs of one circle with a notch between them, and two circles that meet in a cusp."""
    notched = [*sampled((0, 0), 30, 0, 1.0, 0.002), (10, 5), *sampled((0, 0), 30, 1.3, 1.5, 0.002), (0, 0)]
    found = fitted(polygon(notched))
    assert [arc.radius for arc in arcs_of(found)] == pytest.approx([30, 30])
    assert len(found.segments) == 6
    lens = [*sampled((0, -20), 40, math.pi / 6, 2 * math.pi / 3, 0.002)[:-1]]
    lens += [(-x, -y) for x, y in lens]
    lens_found = fitted(polygon(lens))
    assert [type(s) for s in lens_found.segments] == [Arc, Arc]


@pytest.mark.parametrize(("a", "b"), [(100, 40), (100, 95), (20, 19.9), (300, 200), (1000, 600)])
def test_an_ellipse_is_no_row_of_arcs(a: float, b: float) -> None:
    count = math.ceil(math.tau / (2 * math.acos(1 - 0.002 / a)))
    turns = [math.tau * k / count for k in range(count)]
    path = polygon([(a * math.cos(t), b * math.sin(t)) for t in turns])
    assert fitted(path) is path


def test_a_spiral_is_no_row_of_arcs() -> None:
    spiral = [
        ((20 + 3 * t) * math.cos(t), (20 + 3 * t) * math.sin(t)) for t in np.arange(0, 6, 0.02).tolist()
    ]
    path = polygon([*spiral, (0, -60), (80, -60), (80, 0)])
    assert not arcs_of(fitted(path))


@pytest.mark.parametrize("back", [False, True])
@pytest.mark.parametrize("count", [200, 220, 234, 241])
def test_an_arc_that_an_ellipse_runs_smoothly_into_is_found_from_end_to_end(count: int, back: bool) -> None:
    """A quarter ellipse and a circle of 40 mm that share a level tangent."""
    ellipse = [(60 * math.sin(t), 30 * math.cos(t)) for t in np.linspace(-math.pi / 2, 0, count).tolist()]
    corners = [*ellipse[:-1], *sampled((0, -10), 40, math.pi / 2, -2.0, 0.001), (0, -80), (-60, -80)]
    (arc,) = arcs_of(fitted(polygon(turned_over(corners, begin=50, back=back))))
    assert arc.radius == pytest.approx(40, abs=1e-3)
    assert arc_sweep(arc) == pytest.approx(2.0, abs=1e-3)


def test_a_line_around_a_circle_and_on_keeps_its_length() -> None:
    """One turn and a radian more is never taken for the radian alone."""
    path = polygon([(80, -5), *sampled((0, 0), 25, 0, math.tau + 1, 0.002), (80, 60)])
    found = fitted(path)
    assert sum(arc_sweep(arc) for arc in arcs_of(found)) == pytest.approx(math.tau + 1, abs=0.1)
    assert not any(arc.clockwise for arc in arcs_of(found))
    assert dense(found).length == pytest.approx(dense(path).length, abs=0.02)


def test_an_arc_of_twenty_metres_stays_lines() -> None:
    path = polygon([(-200, -19_900), (200, -19_900), *sampled((0, -20_000), 20_000, 1.5608, 0.02, 0.002)])
    assert fitted(path) is path


def test_quarters_of_one_circle_become_the_circle() -> None:
    corners = [(20.0, 0.0), (0.0, 20.0), (-20.0, 0.0), (0.0, -20.0)]
    quarters = [Arc(a, b, (0, 0), False) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    assert fitted(Path(tuple(quarters))) == circle((0, 0), 40)


def test_neighbouring_arcs_of_one_circle_are_joined_and_others_not() -> None:
    half = [
        Arc((20, 0), (0, 20), (0, 0), False),
        Arc((0, 20), (-20, 0), (0, 0), False),
        Line((-20, 0), (20, 0)),
    ]
    assert fitted(Path(tuple(half))).segments == (Arc((20, 0), (-20, 0), (0, 0), False), half[2])
    bent = [
        Arc((20, 0), (0, 20), (0, 0), False),
        Arc((0, 20), (-10, 10), (0, 10), False),
        Line((-10, 10), (20, 0)),
    ]
    path = Path(tuple(bent))
    assert fitted(path) is path


def test_three_quarters_and_more_stay_in_two_arcs() -> None:
    """A key's bow: 300 degrees of a circle, then two lines."""
    bow = sampled((0, 0), 25, math.radians(-60), math.radians(300), 0.002)
    found = fitted(polygon([*bow, (12.5, -80), (12.6, -80)]))
    assert [arc.radius for arc in arcs_of(found)] == pytest.approx([25, 25])
    assert sum(arc_sweep(arc) for arc in arcs_of(found)) == pytest.approx(math.radians(300))


@pytest.mark.parametrize("count", [3, 4, 5, 6])
def test_a_few_short_lines_off_any_arc_stay_as_they_are(count: int) -> None:
    """A wave of 0.01 mm between two corners: smooth, and no arc."""
    wave = [(10 - 2.0 * k, 0.01 * (-1) ** (k // 2)) for k in range(count + 1)]
    path = polygon([(wave[-1][0], -30), (10, -30), *wave])
    assert fitted(path) is path


def test_a_row_that_bends_both_ways_between_corners_is_no_arc_around_the_world() -> None:
    """The end of a free curve after its cusp: five vertices within 5 um of a line and of large circles."""
    row = [(0.51054, 0.98619), (0.51338, 0.99804), (0.51155, 1.04128), (0.49926, 1.26397), (0.48443, 1.73844)]
    path = polygon([*row, (-50, 40), (-60, -70)])
    assert apart(path, fitted(path)) <= 0.005


def test_paths_that_hold_no_run_are_given_back_as_they_are() -> None:
    paths = [polygon([(0, 0), (50, 0), (50, 50)]), circle((0, 0), 5), polygon(ngon(6, 30))]
    assert all(a is b for a, b in zip(with_arcs(paths), paths, strict=True))
    assert with_arcs([]) == ()


coordinates = st.floats(-500, 500)
radii = st.floats(math.log(0.5), math.log(2000)).map(math.exp)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(
    coordinates,
    coordinates,
    radii,
    st.floats(0, 6),
    st.floats(0.5, 4.5),
    st.floats(0.0005, 0.003),
    st.booleans(),
)
def test_a_sampled_arc_comes_back_as_one_arc(
    x: float, y: float, radius: float, first: float, sweep: float, sagitta: float, back: bool
) -> None:
    arc = sampled((x, y), radius, first, sweep, sagitta)
    middle = first + sweep / 2 + math.pi
    far = 3 * radius + 20
    corner = (x + far * math.cos(middle), y + far * math.sin(middle))
    path = polygon(turned_over([*arc, corner], begin=len(arc) // 3, back=back))
    found = fitted(path)
    (one,) = arcs_of(found)
    assert len(found.segments) == 3
    assert one.radius == pytest.approx(radius, abs=1e-4)
    assert arc_sweep(one) == pytest.approx(sweep, rel=1e-4)
    assert {one.start, one.end} == {arc[0], arc[-1]}
    assert one.clockwise == back


@settings(derandomize=True, deadline=None, max_examples=50)
@given(st.integers(0, 10**6), st.integers(3, 40))
def test_polygons_of_long_edges_stay_the_same(seed: int, count: int) -> None:
    rng = random.Random(seed)
    turns = sorted(rng.uniform(0, math.tau) for _ in range(count))
    path = polygon([(r * math.cos(t), r * math.sin(t)) for t in turns for r in [rng.uniform(300, 900)]])
    if all(math.dist(s.start, s.end) > 5 for s in path.segments):
        assert fitted(path) is path


@settings(derandomize=True, deadline=None, max_examples=25)
@given(st.integers(0, 10**6), st.sampled_from([0.0, 1e-5, 1e-4, 5e-4]))
def test_nothing_moves_by_more_than_5_um_wherever_it_begins(seed: int, rounding: float) -> None:
    """A ring of random arcs, lines and waves, read on from anywhere in either direction, on any grid."""
    rng = random.Random(seed)
    corners: Corners = []
    for k in range(6):
        turn = k * math.tau / 6
        at = (120 * math.cos(turn), 120 * math.sin(turn))
        radius = rng.uniform(2, 40)
        kind = rng.choice(["arc", "wave", "corner"])
        if kind == "arc":
            corners += sampled(at, radius, turn - 1, 2, rng.uniform(0.0005, 0.006))
        elif kind == "wave":
            corners += [
                (
                    at[0] - radius * math.sin(turn) * t,
                    at[1] + radius * math.cos(turn) * t + 2 * math.sin(3 * t),
                )
                for t in np.linspace(-1, 1, rng.randint(40, 150)).tolist()
            ]
        else:
            corners.append(at)
    if rounding:
        corners = [
            (round(x / rounding / 2) * rounding * 2, round(y / rounding / 2) * rounding * 2)
            for x, y in corners
        ]
    path = polygon(corners)
    found = fitted(path)
    assert apart(path, found) <= 0.005 + 1e-6
    for begin, back in ((1, True), (len(corners) // 2, False)):
        again = fitted(polygon(turned_over(corners, begin=begin, back=back)))
        assert apart(again, found) <= 0.01
        edge = dense(found).length
        assert abs(abs(signed_area(again)) - abs(signed_area(found))) <= 0.005 * edge / 4


def test_an_outline_of_thousands_of_lines_takes_no_time() -> None:
    """Best of five in process time; 50 ms is the aim, the limit leaves room for a slow machine."""
    corners: Corners = []
    for k in range(40):
        corners += [(x + 130 * k, y) for x, y in tombstone(50, 0.002)][::-1]
    outline = polygon([*corners, (5300, -200), (-100, -200)])
    count = math.ceil(math.tau / (2 * math.acos(1 - 0.002 / 4000)))
    ellipse = polygon(
        [(4000 * math.cos(math.tau * k / count), 2000 * math.sin(math.tau * k / count)) for k in range(count)]
    )
    assert len(outline.segments) > 6000 and len(ellipse.segments) > 3000
    assert len(arcs_of(fitted(outline))) == 40
    for path in (outline, ellipse):
        spent = []
        for _ in range(5):
            begin = time.process_time()
            fitted(path)
            spent.append(time.process_time() - begin)
        assert min(spent) < 0.15
