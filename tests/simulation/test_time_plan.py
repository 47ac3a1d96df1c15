"""Times against kinematics worked by hand: trapezoids, triangles, corners, arcs (speeds in mm/s, mm/s2)."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.job.machine import Machine
from camkit.program.read import read
from camkit.simulation.timing import plan_times, total_time

EVEN = Machine(rapid=(60000.0, 60000.0, 60000.0), acceleration=(500.0, 500.0, 500.0), corner_deviation=0.01)


def seconds(*lines: str, machine: Machine = EVEN) -> float:
    reading = read("\n".join(["G21 G90 G94 G17", "G0 X0 Y0 Z0", *lines, "M2", ""]))
    assert reading.findings == ()
    return total_time(reading, plan_times(reading, machine))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("G1 X100 F6000", 1.2),  # trapezoid: d / v + v / a
        ("G1 X5 F6000", 0.2),  # triangle: 2 sqrt(d / a)
        ("G1 X20 F6000", 0.4),  # where both meet, d = v^2 / a
        ("G1 Z-100 F6000", 1.2),
        ("G1 X60 Y80 F6000", 100 / 100 + 100 / 625),  # a = min(500 / 0.6, 500 / 0.8) = 625
    ],
)
def test_one_move(line, expected):
    assert seconds(line) == pytest.approx(expected, abs=1e-12)


def corner_speed(angle_deg: float, deviation: float = 0.01, acceleration: float = 500.0) -> float:
    """sqrt(a rho), rho = d s / (1 - s): the arc that rounds a corner of that inner angle by d."""
    s = math.sin(math.radians(angle_deg) / 2)
    return math.sqrt(acceleration * deviation * s / (1 - s))


def one_way(distance: float, corner: float, acceleration: float, feed: float = 100.0) -> float:
    """Time of a move from rest to the corner's speed."""
    peak = min(feed, math.sqrt(acceleration * distance + corner**2 / 2))
    ramps = (2 * peak**2 - corner**2) / (2 * acceleration)
    return (2 * peak - corner) / acceleration + max(0.0, distance - ramps) / peak


@pytest.mark.parametrize(
    ("angle", "speed"),
    [(45, 1.760560), (90, 3.474344), (120, 5.685113), (135, 7.790081), (150, 11.905406), (170, 36.179500)],
)
def test_corner_speeds(angle, speed):
    """The corner's speed is found back from the time of two moves of 50 mm that meet in it."""
    assert corner_speed(angle) == pytest.approx(speed, abs=1e-6)
    turn = math.radians(180 - angle)
    cos, sin = math.cos(turn), math.sin(turn)
    found = seconds(f"G1 X50 F6000\nX{50 + 50 * cos:.12f} Y{50 * sin:.12f}")
    along = 500 / max(abs(cos), abs(sin))
    expected = one_way(50, speed, 500) + one_way(50, speed, along)
    assert found == pytest.approx(expected, abs=1e-7)


def test_the_path_turns_back_only_at_rest():
    assert seconds("G1 X100 F6000", "X0") == pytest.approx(2.4)


def test_g64_names_the_corners_own_deviation():
    speed = corner_speed(90, 0.1)
    found = seconds("G64 P0.1 G1 X50 F6000", "Y50", "G61")
    assert found == pytest.approx(2 * one_way(50, speed, 500), abs=1e-9)


def test_exact_stop_rests_in_every_corner():
    assert seconds("G61.1 G1 X100 F6000", "Y100") == pytest.approx(2.4)


@pytest.mark.parametrize("radius", [1.5, 3.0, 10.0])
def test_arcs_are_no_faster_than_their_radius_allows(radius):
    """sqrt(a r): 27.386, 38.730, 70.711; below the feed of 100 it sets the speed all around."""
    speed = math.sqrt(500 * radius)
    assert speed < 100
    distance = 2 * math.pi * radius
    found = seconds(f"G2 X0 Y0 I{radius} F6000")
    assert found == pytest.approx(distance / speed + speed / 500, abs=1e-9)


def test_a_large_arc_runs_at_its_feed():
    """r = 50 would allow 158.1."""
    assert seconds("G2 X0 Y0 I50 F6000") == pytest.approx(100 * math.pi / 100 + 0.2)


def test_an_arc_meets_its_tangent_line_without_a_halt():
    whole = seconds("G1 X100 F3000", "G3 X150 Y50 I0 J50", "G1 Y150")
    assert whole == pytest.approx((200 + 25 * math.pi) / 50 + 50 / 500, abs=1e-9)


def test_an_arc_and_its_chords_take_the_same_time():
    """Chords off by e, passed with a deviation of e, are rounded by the radius R - e exactly.

    Between their corners chords may run a little faster, and on a slant both axes pull together.
    """
    error, radius = 0.01, 10.0
    count = math.ceil(math.pi / math.acos(1 - error / radius))
    chords = [
        f"G1 X{radius - radius * math.cos(2 * math.pi * n / count):.9f} "
        f"Y{radius * math.sin(2 * math.pi * n / count):.9f} F6000"
        for n in range(1, count + 1)
    ]
    arc = seconds("G2 X0 Y0 I10 F6000")
    assert seconds(*chords) == pytest.approx(arc, rel=0.03)


def test_each_axis_has_its_own_limits():
    slow = Machine(rapid=(6000.0, 3000.0, 1200.0), acceleration=(500.0, 400.0, 200.0))
    assert seconds("G0 X100", machine=slow) == pytest.approx(100 / 100 + 100 / 500)
    assert seconds("G0 Y100", machine=slow) == pytest.approx(100 / 50 + 50 / 400)
    assert seconds("G1 Z-50 F6000", machine=slow) == pytest.approx(50 / 20 + 20 / 200)
    # 3-4-5: Y moves 0.8 of the way at 50 at most, so the path runs at 62.5; a = min(500/0.6, 400/0.8) = 500.
    assert seconds("G0 X60 Y80", machine=slow) == pytest.approx(100 / 62.5 + 62.5 / 500)


def test_a_dwell_halts_and_adds_its_seconds():
    reading = read("G21\nG0 X0 Y0 Z0\nG1 X50 F6000\nG4 P2\nX100\nG4 P3\nM2\n")
    timing = plan_times(reading, EVEN)
    half = 50 / 100 + 100 / 500
    assert timing[1].ends_s == pytest.approx(half)
    assert timing[2].begins_s == pytest.approx(half + 2)
    assert total_time(reading, timing) == pytest.approx(2 * half + 5)


@pytest.mark.parametrize("between", ["M5", "S9000 M3", "T2 M6", "M0"])
def test_the_machine_rests_where_something_changes(between):
    assert seconds("S18000 M3", "G1 X100 F6000", between, "G1 X200") == pytest.approx(2.4)


def test_no_motion_takes_no_time():
    assert seconds() == 0.0
    assert seconds("G1 X0 F100", "X0") == 0.0
    assert plan_times(read(""), EVEN) == ()


@settings(derandomize=True, deadline=None, max_examples=50)
@given(st.floats(1, 500), st.floats(0.01, 0.99), st.floats(0, 360), st.integers(100, 9000))
def test_splitting_a_move_changes_no_time(distance, share, angle_deg, feed):
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    x, y = distance * c, distance * s
    whole = seconds(f"G1 X{x:.12f} Y{y:.12f} F{feed}")
    parts = seconds(f"G1 X{x * share:.12f} Y{y * share:.12f} F{feed}", f"X{x:.12f} Y{y:.12f}")
    assert parts == pytest.approx(whole, rel=1e-6)


_PLACES = st.lists(
    st.tuples(st.integers(0, 300), st.integers(0, 300), st.integers(-20, 20)), min_size=1, max_size=20
)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(_PLACES, st.integers(100, 9000))
def test_time_is_never_below_length_over_feed_and_never_falls_with_the_limits(places, feed):
    lines = [f"G1 X{x} Y{y} Z{z} F{feed}" for x, y, z in places]
    length = sum(map(math.dist, [(0, 0, 0), *places], places))
    usual = seconds(*lines)
    assert usual >= length / (feed / 60) - 1e-9
    weak = EVEN.model_copy(update={"acceleration": (500.0, 200.0, 500.0)})
    slow = EVEN.model_copy(update={"rapid": (60000.0, 60000.0, 2000.0)})
    assert seconds(*lines, machine=weak) >= usual - 1e-9
    assert seconds(*lines, machine=slow) >= usual - 1e-9


@settings(derandomize=True, deadline=None, max_examples=30)
@given(_PLACES, st.integers(100, 9000))
def test_the_running_minima_agree_with_a_plain_walk_along_the_path(places, feed):
    """Look-ahead as anybody would write it: backwards, then forwards, one move after the other."""
    moves = [(a, b) for a, b in itertools.pairwise([(0, 0, 0), *places]) if a != b]
    lines = [f"G1 X{x} Y{y} Z{z} F{feed}" for _, (x, y, z) in moves]
    if not moves:
        return
    units, lengths, pulls = [], [], []
    for a, b in moves:
        d = math.dist(a, b)
        units.append([(q - p) / d for p, q in zip(a, b, strict=True)])
        lengths.append(d)
        pulls.append(min(500 / abs(u) for u in units[-1] if u))
    corner = [0.0]
    for u, v in itertools.pairwise(units):
        s = math.sqrt(max(0.0, (1 + sum(p * q for p, q in zip(u, v, strict=True))) / 2))
        corner.append(math.inf if 1 - s < 1e-12 else math.sqrt(500 * 0.01 * s / (1 - s)))
    corner.append(0.0)
    speed = [min(c, feed / 60) for c in corner]
    for n in reversed(range(len(moves))):
        speed[n] = min(speed[n], math.sqrt(speed[n + 1] ** 2 + 2 * pulls[n] * lengths[n]))
    for n in range(len(moves)):
        speed[n + 1] = min(speed[n + 1], math.sqrt(speed[n] ** 2 + 2 * pulls[n] * lengths[n]))
    expected = 0.0
    for n, (d, a) in enumerate(zip(lengths, pulls, strict=True)):
        v0, v1 = speed[n], speed[n + 1]
        peak = min(feed / 60, math.sqrt((2 * a * d + v0**2 + v1**2) / 2))
        expected += (2 * peak - v0 - v1) / a
        expected += max(0.0, d - (2 * peak**2 - v0**2 - v1**2) / (2 * a)) / peak
    assert seconds(*lines) == pytest.approx(expected, abs=1e-6)
