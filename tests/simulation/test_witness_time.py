"""Cutting time against closed formulas and against an integrator of its own.

Trapezoid and triangle of motion: Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and
Robots (Springer 2008), section 3.2. Corner speed: an arc that touches both lines and passes the corner at the
allowed deviation, v = sqrt(a rho). Every expectation is worked out here, in this file.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import pairwise

import pytest

from camkit.job.model import Machine
from camkit.program.motion import Dwell, Motion, Point3, Reading
from camkit.simulation.timing import plan_times

FAST = 60000.0


def machine(
    acceleration: tuple[float, float, float] = (500.0, 500.0, 500.0),
    rapid: tuple[float, float, float] = (FAST, FAST, FAST),
    deviation: float = 0.01,
) -> Machine:
    return Machine.model_validate(
        {"acceleration": acceleration, "rapid": rapid, "corner_deviation": deviation}
    )


def feeds(points: Sequence[tuple[float, ...]], feed: float = 6000.0, kind: str = "feed") -> Reading:
    """Straight moves through the points (Z 0 where left out)."""
    places: list[Point3] = [(p[0], p[1], p[2] if len(p) > 2 else 0.0) for p in points]
    return Reading(
        tuple(
            Motion(n, kind, a, b, feed_mm_min=feed, spindle_rev_min=18000.0, cutter=1)
            for n, (a, b) in enumerate(pairwise(places), 1)
        )
    )


def total(reading: Reading, on: Machine | None = None) -> float:
    times = plan_times(reading, on or machine())
    assert len(times) == len(reading.motions)
    assert all(t.ends_s >= t.begins_s for t in times)
    assert all(b.begins_s >= a.ends_s - 1e-9 for a, b in pairwise(times))
    return times[-1].ends_s


def leg(distance: float, speed: float, a: float, v0: float = 0.0, v1: float = 0.0) -> float:
    """Shortest time over a straight distance between two speeds, mm, mm/s, mm/s2."""
    peak = min(speed, math.sqrt((2 * a * distance + v0**2 + v1**2) / 2))
    ramps = (2 * peak**2 - v0**2 - v1**2) / (2 * a)
    return (2 * peak - v0 - v1) / a + (distance - ramps) / peak


def corner(a: float, deviation: float, interior: float) -> float:
    """Speed through a corner of so many degrees inside (180 is straight)."""
    s = math.sin(math.radians(interior) / 2)
    return math.sqrt(a * deviation * s / (1 - s))


def test_the_formulas_of_this_file_give_the_published_figures() -> None:
    assert leg(100, 100, 500) == pytest.approx(1.2)
    assert leg(5, 100, 500) == pytest.approx(0.2)
    assert leg(20, 100, 500) == pytest.approx(0.4)
    assert leg(10, 1000, 500, 20, 40) == pytest.approx(0.189839, abs=1e-6)
    assert corner(500, 0.01, 45) == pytest.approx(1.760560, abs=1e-6)
    assert corner(500, 0.01, 90) == pytest.approx(3.474344, abs=1e-6)
    assert corner(500, 0.01, 150) == pytest.approx(11.905406, abs=1e-6)


@pytest.mark.parametrize(("distance", "seconds"), [(100.0, 1.2), (5.0, 0.2), (20.0, 0.4)])
def test_a_straight_cut_is_a_trapezoid_or_a_triangle(distance: float, seconds: float) -> None:
    assert total(feeds([(0, 0), (distance, 0)])) == pytest.approx(seconds, rel=1e-6)
    assert total(feeds([(0, 0), (0, -distance)])) == pytest.approx(seconds, rel=1e-6)


def test_each_axis_has_its_own_limit() -> None:
    # along (0.6, 0.8): acceleration min(500 / 0.6, 200 / 0.8) = 250
    on = machine(acceleration=(500.0, 200.0, 100.0))
    assert total(feeds([(0, 0), (60, 80)]), on) == pytest.approx(leg(100, 100, 250), rel=1e-6)
    assert total(feeds([(0, 0, 0), (0, 0, -30)]), on) == pytest.approx(leg(30, 100, 100), rel=1e-6)
    # a rapid along (0.6, 0.8): speed min(6000 / 0.6, 3000 / 0.8) = 3750 mm/min
    on = machine(rapid=(6000.0, 3000.0, 1000.0))
    assert total(feeds([(0, 0), (60, 80)], kind="rapid"), on) == pytest.approx(
        leg(100, 62.5, 500 / 0.8), rel=1e-6
    )


@pytest.mark.parametrize("interior", [45.0, 90.0, 120.0, 135.0, 150.0])
@pytest.mark.parametrize("deviation", [0.01, 1.0])
def test_an_l_shaped_path_slows_down_in_its_corner(interior: float, deviation: float) -> None:
    # the corner's bisector lies along Y, so that its acceleration is Y's own limit; legs of 150 mm
    half = math.radians(interior) / 2
    u = (math.sin(half), math.cos(half))
    points = [(-150 * u[0], 150 * u[1]), (0.0, 0.0), (150 * u[0], 150 * u[1])]
    along = min(500 / u[0], 500 / u[1])
    v = min(corner(500, deviation, interior), 100.0)
    expected = 2 * leg(150, 100, along, 0, v)
    assert total(feeds(points), machine(deviation=deviation)) == pytest.approx(expected, rel=2e-3)


def test_a_path_that_turns_back_stops() -> None:
    assert total(feeds([(0, 0), (100, 0), (0, 0)])) == pytest.approx(2.4, rel=1e-3)


def whole_circle(radius: float, feed: float, lead: float) -> Reading:
    a, b, c = (-lead, 0.0, 0.0), (0.0, 0.0, 0.0), (lead, 0.0, 0.0)
    common = {"feed_mm_min": feed, "spindle_rev_min": 18000.0, "cutter": 1}
    return Reading(
        (
            Motion(1, "feed", a, b, **common),
            Motion(2, "arc", b, b, (0.0, radius), False, **common),
            Motion(3, "feed", b, c, **common),
        )
    )


@pytest.mark.parametrize(
    ("radius", "speed"), [(1.5, 27.386128), (3.0, 38.729833), (10.0, 70.710678), (50.0, 158.113883)]
)
def test_an_arc_is_never_faster_than_its_acceleration_allows(radius: float, speed: float) -> None:
    times = plan_times(whole_circle(radius, 24000, 200), machine())
    assert times[1].ends_s - times[1].begins_s == pytest.approx(2 * math.pi * radius / speed, rel=5e-3)
    assert times[0].ends_s == pytest.approx(leg(200, 400, 500, 0, speed), rel=5e-3)


def test_a_slow_arc_keeps_the_feed() -> None:
    times = plan_times(whole_circle(10, 1200, 50), machine())
    assert times[1].ends_s - times[1].begins_s == pytest.approx(math.pi, rel=1e-6)


def test_a_helix_is_timed_along_its_whole_length() -> None:
    start, end = (10.0, 0.0, 0.0), (10.0, 0.0, -40.0)
    helix = Motion(1, "arc", start, end, (0.0, 0.0), False, 1, 600.0, 18000.0, 1)
    # two turns (turns = 1 beyond the first), 10 mm/s; starting and stopping cost v/a = 0.02 s
    length = math.hypot(2 * 2 * math.pi * 10, 40)
    assert total(Reading((helix,))) == pytest.approx(length / 10 + 0.02, rel=1e-3)


@pytest.mark.parametrize("radius", [10.0, 25.0])
def test_an_arc_and_its_facets_take_equally_long(radius: float) -> None:
    # chords with an error e, passed at a deviation e, are passed on a radius of exactly R - e
    e = 0.01
    count = math.ceil(math.pi / math.acos(1 - e / radius))
    points = [
        (radius * math.sin(2 * math.pi * k / count), radius - radius * math.cos(2 * math.pi * k / count))
        for k in range(count + 1)
    ]
    faceted = feeds([(-200.0, 0.0), *points, (200.0, 0.0)], 24000)
    on = machine(deviation=e)
    times = plan_times(faceted, on)
    arc = plan_times(whole_circle(radius, 24000, 200), on)
    lap = times[count].ends_s - times[1].begins_s
    # the chords allow a little speeding up between their corners
    assert lap == pytest.approx(arc[1].ends_s - arc[1].begins_s, rel=0.06)


@pytest.mark.parametrize("pieces", [2, 7, 50])
def test_splitting_a_straight_cut_changes_nothing(pieces: int) -> None:
    whole = [(0.0, 0.0), (120.0, 50.0)]
    chance = random.Random(pieces)
    shares = sorted(chance.random() for _ in range(pieces - 1))
    split = [whole[0], *((120 * s, 50 * s) for s in shares), whole[1]]
    assert total(feeds(split)) == pytest.approx(total(feeds(whole)), rel=1e-6)


def polyline(seed: int, corners: int = 6) -> list[tuple[float, float]]:
    """Legs of 60 to 200 mm that turn by 45 to 140 degrees at every corner."""
    chance = random.Random(seed)
    x, y, heading = 0.0, 0.0, chance.uniform(0, 2 * math.pi)
    points = [(x, y)]
    for _ in range(corners + 1):
        d = chance.uniform(60, 200)
        x, y = x + d * math.cos(heading), y + d * math.sin(heading)
        points.append((x, y))
        heading += chance.choice((-1, 1)) * math.radians(chance.uniform(45, 140))
    return points


def integrated(points: Sequence[tuple[float, float]], speed: float, a: float, deviation: float) -> float:
    """Time by a forward and a backward sweep over steps of about 0.02 mm; per-axis limit `a` on X and Y."""
    limits: list[float] = []
    steps: list[float] = []
    accelerations: list[float] = []
    for k, (p, q) in enumerate(pairwise(points)):
        d = math.dist(p, q)
        u = ((q[0] - p[0]) / d, (q[1] - p[1]) / d)
        n = math.ceil(d / 0.02)
        steps += [d / n] * n
        accelerations += [a / max(abs(u[0]), abs(u[1]))] * n
        entry = speed
        if k == 0:
            entry = 0.0
        else:
            o = points[k - 1]
            e = math.dist(o, p)
            before = ((p[0] - o[0]) / e, (p[1] - o[1]) / e)
            turn = math.acos(max(-1.0, min(1.0, before[0] * u[0] + before[1] * u[1])))
            pull = (u[0] - before[0], u[1] - before[1])  # the acceleration points along the bisector
            size = math.hypot(*pull)
            inward = a / max(abs(pull[0]) / size, abs(pull[1]) / size)
            entry = min(speed, corner(inward, deviation, 180 - math.degrees(turn)))
        limits += [entry] + [speed] * (n - 1)
    limits.append(0.0)
    v = list(limits)
    for k, step in enumerate(steps):
        v[k + 1] = min(v[k + 1], math.sqrt(v[k] ** 2 + 2 * accelerations[k] * step))
    for k in range(len(steps) - 1, -1, -1):
        v[k] = min(v[k], math.sqrt(v[k + 1] ** 2 + 2 * accelerations[k] * steps[k]))
    return sum(2 * step / (v[k] + v[k + 1]) for k, step in enumerate(steps))


@pytest.mark.parametrize("seed", range(10))
def test_an_independent_integration_agrees_within_half_a_percent(seed: int) -> None:
    points = polyline(seed)
    expected = integrated(points, 80.0, 400.0, 0.01)
    on = machine(acceleration=(400.0, 400.0, 200.0))
    assert total(feeds(points, 4800.0), on) == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize("seed", range(20, 30))
def test_no_program_is_faster_than_its_feed_and_lower_limits_never_shorten_it(seed: int) -> None:
    points = polyline(seed)
    length = sum(math.dist(p, q) for p, q in pairwise(points))
    base = total(feeds(points, 6000.0))
    assert base >= length / 100
    assert base <= length / 100 + (len(points) - 1) * 100 / 500 + 1e-6
    slack = 1 - 1e-9
    for share in (0.9, 0.5, 0.1):
        assert total(feeds(points, 6000.0 * share)) >= base * slack
        assert total(feeds(points), machine((500 * share, 500.0, 500.0))) >= base * slack
        assert total(feeds(points), machine((500.0, 500 * share, 500.0))) >= base * slack
        assert total(feeds(points), machine(deviation=0.01 * share)) >= base * slack
    rapid = total(feeds(points, kind="rapid"), machine(rapid=(8000.0, 8000.0, 8000.0)))
    slower = total(feeds(points, kind="rapid"), machine(rapid=(8000.0, 2000.0, 8000.0)))
    assert slower >= rapid * slack


def test_short_moves_in_a_row_look_ahead_and_back() -> None:
    # a hundred moves of 1 mm in one line, then a square corner: speed must be built up and shed over many
    points = [(float(k), 0.0) for k in range(101)] + [(100.0, float(k)) for k in range(1, 101)]
    coarse = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0)]
    assert total(feeds(points)) == pytest.approx(total(feeds(coarse)), rel=1e-6)


def test_a_dwell_is_waited_out_at_rest() -> None:
    moves = feeds([(0, 0), (100, 0), (200, 0)])
    waiting = Reading(moves.motions, dwells=(Dwell(2, 1, 2.0),))
    times = plan_times(waiting, machine())
    assert times[0].ends_s == pytest.approx(1.2, rel=1e-6)
    assert times[1].ends_s == pytest.approx(1.2 + 2.0 + 1.2, rel=1e-6)


def test_times_begin_at_nothing() -> None:
    assert plan_times(feeds([(0, 0), (10, 0)]), machine())[0].begins_s == 0.0
    assert plan_times(Reading(()), machine()) == ()
