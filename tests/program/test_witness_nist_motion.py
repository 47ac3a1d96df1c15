"""Arcs, feed modes and canned cycles as NISTIR 6556 says (Kramer, Proctor, Messina, 2000).

Expectations come from the report's rules and worked examples, and from arithmetic by hand.
"""

from __future__ import annotations

import math

import pytest

from camkit.program.motion import Motion
from camkit.program.read import read

from .witness_reading import FIRST, bad, ends, good, moves

# --- arcs (3.5.3) -----------------------------------------------------------------------------------


def sweep_of(arc: Motion) -> float:
    assert arc.centre is not None
    cx, cy = arc.centre
    first = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    last = math.atan2(arc.end[1] - cy, arc.end[0] - cx)
    turn = (first - last if arc.clockwise else last - first) % (2 * math.pi)
    return (turn or 2 * math.pi) + 2 * math.pi * arc.turns


def radius_of(arc: Motion) -> float:
    assert arc.centre is not None
    return math.dist(arc.centre, arc.start[:2])


@pytest.mark.parametrize("distance", ["G90", "G91"])
def test_the_centre_is_always_relative_to_the_start(distance: str) -> None:
    target = "X10 Y16" if distance == "G90" else "X3 Y9"
    arc = moves(f"G0 X7 Y7\n{distance} G2 {target} I3 J4 F100")[-1]
    assert arc.kind == "arc" and arc.clockwise
    assert arc.centre == pytest.approx((10.0, 11.0))
    assert arc.end == pytest.approx((10.0, 16.0, 0.0))
    assert math.degrees(sweep_of(arc)) == pytest.approx(143.130102, abs=1e-6)
    assert radius_of(arc) * sweep_of(arc) == pytest.approx(12.490458, abs=1e-6)


def test_an_arc_that_rises_is_a_helix() -> None:
    arc = moves("G0 X7 Y7\nG2 X10 Y16 Z4 I3 J4 F100")[-1]
    assert arc.end == pytest.approx((10.0, 16.0, 4.0))
    assert math.hypot(radius_of(arc) * sweep_of(arc), 4.0) == pytest.approx(13.115317, abs=1e-6)


@pytest.mark.parametrize(
    ("word", "centre", "degrees"),
    [("R10", (5.0, -8.660254), 60.0), ("R-10", (5.0, 8.660254), 300.0)],
)
def test_radius_format(word: str, centre: tuple[float, float], degrees: float) -> None:
    # clockwise from (0, 0) to (10, 0): the short way bows upwards about a centre below
    arc = moves(f"G2 X10 Y0 {word} F100")[0]
    assert arc.centre == pytest.approx(centre, abs=1e-6)
    assert math.degrees(sweep_of(arc)) == pytest.approx(degrees, abs=1e-6)
    assert radius_of(arc) * sweep_of(arc) == pytest.approx(
        10.471976 if degrees == 60 else 52.359878, abs=1e-6
    )


def test_counter_clockwise_radius_format_is_the_mirror_image() -> None:
    arc = moves("G3 X10 Y0 R10 F100")[0]
    assert not arc.clockwise and arc.centre == pytest.approx((5.0, 8.660254), abs=1e-6)
    arc = moves("G3 X10 Y0 R-10 F100")[0]
    assert arc.centre == pytest.approx((5.0, -8.660254), abs=1e-6)
    assert math.degrees(sweep_of(arc)) == pytest.approx(300.0)


def test_an_end_equal_to_the_start_is_a_full_circle() -> None:
    arc = moves("G2 X0 Y0 I5 J0 F100")[0]
    assert arc.kind == "arc" and arc.turns == 0
    assert arc.centre == pytest.approx((5.0, 0.0)) and arc.end == pytest.approx(arc.start)
    arc = moves("G0 X0 Y0 Z0\nG91 G3 X0 Z-2 I5 F100")[-1]
    assert arc.end == pytest.approx((0.0, 0.0, -2.0)) and not arc.clockwise


@pytest.mark.parametrize(
    "words",
    [
        "G2 I5 F100",  # X and Y both missing
        "G2 X10 F100",  # I and J both missing
        "G2 X0 Y0 R5 F100",  # radius format, end equal to start
        "G2 R5 F100",
        "G2 Z-1 I5 F100",
        "G2 X10 Y0 R4 F100",  # half the chord is 5
    ],
)
def test_arcs_that_say_too_little_are_errors(words: str) -> None:
    bad("G0 X0 Y0 Z0\n" + words, line=3)


@pytest.mark.parametrize(
    ("slip", "sound"), [(0.0015, True), (0.0019, True), (0.0025, False), (0.003, False), (0.5, False)]
)
def test_radii_may_differ_by_two_microns(slip: float, sound: bool) -> None:
    text = f"G0 X10 Y0\nG3 X0 Y{10 + slip} I-10 J0 F100"
    if sound:
        assert moves(text)[-1].kind == "arc"
    else:
        finding = bad(text, line=3)
        assert finding.rule == "arc-mismatch"
        assert finding.amount_mm == pytest.approx(slip, abs=1e-4)


@pytest.mark.parametrize(("slip", "sound"), [(0.00015, True), (0.00025, False)])
def test_radii_in_inches_may_differ_by_two_tenths_of_a_thou(slip: float, sound: bool) -> None:
    text = f"G0 X1 Y0\nG3 X0 Y{1 + slip} I-1 J0 F10\nM2\n"
    reading = read("G20 G17 G90 G94\n" + text)
    assert [f.rule for f in reading.findings] == ([] if sound else ["arc-mismatch"])


@pytest.mark.parametrize(
    ("words", "middle", "last"),
    [
        # seen from +Y, X up and Z to the right, clockwise from X0 to X10 passes Z-5
        ("G18 G2 X10 Z0 I5 K0 F100", (5.0, 0.0, -5.0), (10.0, 0.0, 0.0)),
        ("G18 G3 X10 Z0 I5 K0 F100", (5.0, 0.0, 5.0), (10.0, 0.0, 0.0)),
        # seen from +X, Y to the right and Z up, clockwise from Y0 to Y10 passes Z5
        ("G19 G2 Y10 Z0 J5 K0 F100", (0.0, 5.0, 5.0), (0.0, 10.0, 0.0)),
        ("G19 G3 Y10 Z0 J5 K0 F100", (0.0, 5.0, -5.0), (0.0, 10.0, 0.0)),
    ],
)
def test_arcs_of_other_planes_arrive_as_short_straight_feeds(
    words: str, middle: tuple[float, float, float], last: tuple[float, float, float]
) -> None:
    motions = [m for m in moves("G0 X0 Y0 Z0\n" + words) if m.line == 3]
    assert all(m.kind == "feed" for m in motions) and len(motions) > 8
    assert motions[-1].end == pytest.approx(last, abs=1e-9)
    assert min(math.dist(m.end, middle) for m in motions) < 1.0
    total = sum(math.dist(m.start, m.end) for m in motions)
    assert total == pytest.approx(5 * math.pi, rel=2e-3)
    centre = tuple((a + b) / 2 for a, b in zip((0.0, 0.0, 0.0), last, strict=True))
    assert all(math.dist(m.end, centre) == pytest.approx(5.0, abs=0.01) for m in motions)


# --- feed modes (3.5.19) ----------------------------------------------------------------------------


def test_inverse_time_feed() -> None:
    # F2 is half a minute: 60 mm in 30 s is 120 mm/min; F6 is 10 s
    motions = moves("G93 G1 X60 F2\nG1 X0 F6")
    assert [m.feed_mm_min for m in motions] == pytest.approx([120.0, 360.0])
    arc = moves("G93 G2 X10 Y0 I5 J0 F2")[0]
    assert arc.feed_mm_min == pytest.approx(5 * math.pi * 2)
    helix = moves("G0 X0 Y0 Z0\nG93 G2 X10 Y0 Z-3 I5 J0 F2")[-1]
    assert helix.feed_mm_min == pytest.approx(math.hypot(5 * math.pi, 3) * 2)


def test_inverse_time_wants_a_feed_on_every_cut() -> None:
    bad("G93 G1 X60 F2\nG1 X0", line=3)
    bad("G93 G1 X60 F2\nX0", line=3)
    assert len(moves("G93 G1 X60 F2\nG0 X0")) == 2


# --- canned cycles (3.5.16) -------------------------------------------------------------------------


def test_the_first_worked_example_of_a_cycle() -> None:
    assert ends("G0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8 F100")[1:] == [
        ("rapid", (4.0, 5.0, 3.0)),
        ("rapid", (4.0, 5.0, 2.8)),
        ("feed", (4.0, 5.0, 1.5)),
        ("rapid", (4.0, 5.0, 3.0)),
    ]


def test_the_second_worked_example_of_a_cycle() -> None:
    wanted = [("rapid", (1.0, 2.0, 4.8))]
    for x, y in ((5.0, 7.0), (9.0, 12.0), (13.0, 17.0)):
        wanted += [("rapid", (x, y, 4.8)), ("feed", (x, y, 4.2)), ("rapid", (x, y, 4.8))]
    assert ends("G0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 F100")[1:] == wanted


def test_the_return_to_r() -> None:
    assert ends("G0 X1 Y2 Z10\nG81 G99 X4 Y5 Z-5 R2 F100")[-1] == ("rapid", (4.0, 5.0, 2.0))
    assert ends("G0 X1 Y2 Z10\nG81 G98 X4 Y5 Z-5 R2 F100")[-1] == ("rapid", (4.0, 5.0, 10.0))
    assert ends("G0 X1 Y2 Z1\nG81 G98 X4 Y5 Z-5 R2 F100")[-1] == ("rapid", (4.0, 5.0, 2.0))


def test_a_cycle_goes_on_from_line_to_line() -> None:
    motions = moves("G0 Z10\nG81 G99 X1 Y1 Z-5 R2 F100\nX2\nY3 Z-4\nG80\nG0 X0")
    assert [m.end for m in motions if m.kind == "feed"] == [(1, 1, -5), (2, 1, -5), (2, 3, -4)]
    assert [m.line for m in motions if m.kind == "feed"] == [3, 4, 5]


def test_a_cycle_in_place_is_repeated_in_absolute_distances() -> None:
    motions = moves("G0 X1 Y1 Z10\nG81 G99 X2 Y2 Z-5 R2 L3 F100")
    assert [m.end for m in motions if m.kind == "feed"] == [(2, 2, -5)] * 3


def test_the_dwell_of_a_cycle_waits_at_the_bottom() -> None:
    reading = good("G0 X1 Y1 Z10\nG82 G98 X2 Y2 Z-5 R2 P1.5 F100")
    (dwell,) = reading.dwells
    assert dwell.seconds == 1.5
    before, after = reading.motions[dwell.before - 1], reading.motions[dwell.before]
    assert before.kind == "feed" and before.end == pytest.approx((2, 2, -5))
    assert after.kind == "rapid" and after.end == pytest.approx((2, 2, 10))


def test_pecks_go_deeper_by_q_and_clear_the_hole_between() -> None:
    motions = moves("G0 X0 Y0 Z5\nG83 G99 X1 Y0 Z-18 R2 Q6 F100")
    feeds = [m for m in motions if m.kind == "feed"]
    assert [m.end[2] for m in feeds] == pytest.approx([-4, -10, -16, -18])
    after = [motions[k + 1] for k, m in enumerate(motions) if m.kind == "feed"]
    assert all(m.kind == "rapid" and m.end[2] == pytest.approx(2.0) for m in after)
    for last, feed in zip([-4, -10, -16], feeds[1:], strict=True):
        # "backed off a bit": above what is drilled, and within the hole
        assert last < feed.start[2] <= last + 6


def test_every_peck_returns_to_the_clear_height_of_g98() -> None:
    motions = moves("G0 X0 Y0 Z5\nG83 G98 X1 Y0 Z-10 R2 Q6 F100")
    after = [motions[k + 1] for k, m in enumerate(motions) if m.kind == "feed"]
    assert [m.end[2] for m in after] == pytest.approx([5.0, 5.0])


def test_boring_cycles_feed_out() -> None:
    for cycle in ("G85", "G89 P0.5"):
        motions = moves(f"G0 X0 Y0 Z5\n{cycle} G99 X1 Y0 Z-10 R2 F100")
        assert [(m.kind, m.end[2]) for m in motions[-2:]] == [("feed", -10.0), ("feed", 2.0)]


@pytest.mark.parametrize(
    "words",
    [
        "G81 R2 F100",  # X, Y and Z all missing
        "G81 X1 R2 F100",  # Z missing, no cycle active
        "G81 X1 Z5 R2 F100",  # R below Z
        "G82 X1 Z-5 R2 P-1 F100",
        "G83 X1 Z-5 R2 F100",  # no Q
        "G83 X1 Z-5 R2 Q0 F100",
        "G83 X1 Z-5 R2 Q-1 F100",
        "G81 X1 Z-5 R2 L0 F100",
        "G81 X1 Z-5 R2 L1.5 F100",
        "G81 X1 Z-5 R2 L-2 F100",
        "G93 G81 X1 Z-5 R2 F100",
    ],
)
def test_cycles_that_cannot_be_are_errors(words: str) -> None:
    bad("G0 X0 Y0 Z10\n" + words, line=3)


# --- a whole text -----------------------------------------------------------------------------------


def test_reading_goes_on_after_a_bad_block() -> None:
    reading = read(FIRST + "G0 X1\nG0 X2 E5\nG0 X3\nG0 X4 X5\nG0 X6\nM2\n")
    assert [f.line for f in reading.findings] == [3, 5]
    assert {m.end[0] for m in reading.motions} >= {1.0, 3.0, 6.0}


@pytest.mark.parametrize("text", ["", "\n\n", "%\n%\n", "\x00\x01", "(", "G", "[", "#", "M2", "%"])
def test_odd_texts_never_end_in_a_traceback(text: str) -> None:
    assert read(text).motions == ()


def test_a_comment_counts_lines() -> None:
    reading = read("(one)\n(two)\n\nG21 G0 X1\nM2\n")
    assert reading.motions[0].line == 4
    assert reading.last_line == 5
