"""Motions, modes and arcs after NISTIR 6556, sections 3.5 to 3.8."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.program.motion import Dwell, Motion, Reading
from camkit.program.read import read
from camkit.simulation.accounts import feed_and_rapid_lengths


def program(*lines: str) -> Reading:
    return read("\n".join(["G21 G90 G94 G17", *lines, "M2", ""]))


def sound(*lines: str) -> Reading:
    reading = program(*lines)
    assert reading.findings == ()
    return reading


def last(*lines: str) -> Motion:
    return sound(*lines).motions[-1]


def test_omitted_axes_keep_their_place():
    assert last("G0 X1 Y2 Z3", "G1 Y5 F100").end == (1.0, 5.0, 3.0)


def test_increments_add_up():
    assert last("G0 X1 Y2 Z3", "G91 X2 Z-1", "X2").end == (5.0, 2.0, 2.0)


def test_inches_become_mm():
    motion = last("G0 X0 Y0 Z0", "G20 G1 X1 F10")
    assert motion.end[0] == 25.4
    assert motion.feed_mm_min == pytest.approx(254.0)


def test_the_spindle_starts_before_its_line_moves():
    """Table 8: `G1 X10 F600 M3 S18000` must spin before moving."""
    motion = last("G0 Z5", "G1 X10 F600 M3 S18000")
    assert (motion.spindle_rev_min, motion.feed_mm_min) == (18000.0, 600.0)


def test_the_spindle_stops_before_its_line_moves():
    assert last("G0 Z5 M3 S9000", "G0 X1 M5").spindle_rev_min == 0.0


def test_m4_turns_backwards_and_m6_leaves_the_spindle_stopped():
    reading = sound("M4 S100 G0 X1 Z5", "T3 M6", "G0 X2", "M3 G0 X3")
    assert [(m.spindle_rev_min, m.cutter) for m in reading.motions] == [(-100.0, None), (0.0, 3), (100.0, 3)]
    assert reading.changes == ((3, 1, 3),)


def test_t_alone_changes_nothing():
    assert last("T2 G0 X1 Z5").cutter is None


def test_no_feed_is_none_and_a_feed_of_nothing_too():
    assert last("G0 Z5", "G1 X1").feed_mm_min is None
    assert last("G0 Z5", "G1 X1 F0").feed_mm_min is None


def test_a_dwell_is_in_seconds_and_stands_before_the_next_motion():
    reading = sound("G0 X1 Z5", "G4 P2.5", "G0 X2", "M0", "G0 X3")
    assert reading.dwells == (Dwell(3, 1, 2.5), Dwell(5, 2, 0.0))


@pytest.mark.parametrize(("word", "seconds"), [("F2", 30.0), ("F6", 10.0)])
def test_inverse_time_feeds(word, seconds):
    """3.5.19: F2 is half a minute, F6 ten seconds, whatever the length."""
    motion = last("G0 X0 Y0 Z0", f"G93 G1 X30 Y40 {word}")
    assert motion.feed_mm_min is not None
    assert 50.0 / motion.feed_mm_min * 60 == pytest.approx(seconds)


def test_inverse_time_wants_f_on_every_line():
    reading = program("G0 X0 Y0 Z0", "G93 G1 X30 F2", "X40")
    (finding,) = reading.findings
    assert (finding.rule, finding.line) == ("bad-block", 4)
    assert "needs its F word" in finding.message


def test_no_feed_is_left_over_from_inverse_time():
    assert last("G0 X0 Y0 Z0", "G93 G1 X30 F2", "G94 X40").feed_mm_min is None


def test_path_control():
    reading = sound("G64 P0.05 G0 X1 Z5", "G61 X2", "G61.1 X3", "G20 G64 P0.001 X0")
    assert [m.pass_over for m in reading.motions] == pytest.approx([0.05, 0.0, 0.0, 0.0254])
    assert [m.stop for m in reading.motions] == [False, False, True, False]


def test_g64_without_a_deviation_is_a_note():
    (note,) = program("G64 G0 X1 Z5").findings
    assert note.level == "note"
    assert "G64 without P" in note.message


def test_g92_shifts_and_its_friends_undo_and_restore():
    reading = sound(
        "G0 X10 Y0 Z5",
        "G92 X0",
        "G0 X1",
        "G92.2",
        "G0 X1",
        "G92.3",
        "G0 X1",
        "G92.1",
        "G0 X1",
        "G92.3",
        "G0 X1",
    )
    assert [m.end[0] for m in reading.motions] == [10.0, 11.0, 1.0, 11.0, 1.0, 1.0]


def test_g53_passes_the_shift_over():
    reading = program("G0 X10 Y0 Z5", "G92 X0", "G53 G0 X1")
    assert reading.motions[-1].end[0] == 1.0
    (note,) = reading.findings
    assert note.level == "note"


def test_the_first_height_named_is_where_the_program_begins():
    """Where the machine stands before is not in the text; the first sample of the report begins so."""
    reading = sound("G0 X0 Y0 Z50", "X10")
    assert [(m.start, m.end) for m in reading.motions] == [
        ((0.0, 0.0, 50.0), (0.0, 0.0, 50.0)),
        ((0.0, 0.0, 50.0), (10.0, 0.0, 50.0)),
    ]
    earlier = sound("G0 X10", "Z15", "X20")
    assert [m.start[2] for m in earlier.motions] == [15.0, 15.0, 15.0]


def test_a_program_that_begins_with_a_feed_begins_at_zero():
    assert last("G1 X100 F6000").start == (0.0, 0.0, 0.0)
    assert last("G1 Z-5 F600").start == (0.0, 0.0, 0.0)


def test_after_g28_the_height_is_whatever_the_program_names_next():
    reading = program("G0 X10 Y10 Z5", "G28 Z20", "G0 X50", "G0 Z15")
    assert [m.end for m in reading.motions] == [
        (10.0, 10.0, 5.0),
        (10.0, 10.0, 20.0),
        (0.0, 0.0, 20.0),
        (50.0, 0.0, 15.0),
        (50.0, 0.0, 15.0),
    ]
    assert [f.level for f in reading.findings] == ["note"]


# Arcs, 3.5.3.


def path_length(motion: Motion) -> float:
    return feed_and_rapid_lengths(Reading((motion,)))[0]


def test_the_reports_arc_in_centre_format():
    """From (7, 7), G2 X10 Y16 I3 J4: centre (10, 11), radius 5, 143.1301 degrees."""
    arc = last("G0 X7 Y7 Z0", "G17 G2 X10 Y16 I3 J4 F100")
    assert arc.centre == (10.0, 11.0)
    assert arc.clockwise
    assert math.degrees(path_length(arc) / 5) == pytest.approx(143.130102, abs=1e-6)
    assert path_length(arc) == pytest.approx(12.490458, abs=1e-6)


def test_the_same_arc_as_a_helix():
    arc = last("G0 X7 Y7 Z0", "G17 G2 X10 Y16 Z4 I3 J4 F100")
    assert path_length(arc) == pytest.approx(13.115317, abs=1e-6)


def test_a_feed_in_inverse_time_goes_along_the_helix():
    arc = last("G0 X7 Y7 Z0", "G93 G2 X10 Y16 Z4 I3 J4 F2")
    assert arc.feed_mm_min == pytest.approx(2 * 13.115317, abs=1e-5)


@pytest.mark.parametrize(
    ("words", "centre", "length"),
    [
        ("G2 X10 Y0 R10", (5.0, -8.660254), 10.471976),
        ("G2 X10 Y0 R-10", (5.0, 8.660254), 52.359878),
        ("G3 X10 Y0 R10", (5.0, 8.660254), 10.471976),
        ("G3 X10 Y0 R-10", (5.0, -8.660254), 52.359878),
    ],
)
def test_arcs_in_radius_format(words, centre, length):
    """R above 0 turns at most 180 degrees, below 0 more; 60 and 300 degrees by hand."""
    arc = last("G0 X0 Y0 Z0", f"{words} F100")
    assert arc.centre == pytest.approx(centre, abs=1e-6)
    assert path_length(arc) == pytest.approx(length, abs=1e-6)


def test_an_arc_to_its_start_is_a_full_circle():
    arc = last("G0 X0 Y0 Z0", "G3 X0 Y0 I5 F100")
    assert (arc.turns, path_length(arc)) == (0, pytest.approx(10 * math.pi))


def test_centres_count_from_the_start_under_g90_and_g91():
    assert last("G0 X7 Y7 Z0", "G91 G2 X3 Y9 I3 J4 F100").centre == (10.0, 11.0)


def faults(*lines: str) -> list[tuple[str, str]]:
    return [(f.rule, f.message) for f in program(*lines).findings if f.level == "error"]


@pytest.mark.parametrize(
    ("line", "rule", "message"),
    [
        ("G2 X10 Y0 F100", "bad-block", "either its centre"),
        ("G2 X10 Y0 I5 R5 F100", "bad-block", "either its centre"),
        ("G2 I5 F100", "bad-block", "without an axis word"),
        ("G2 Z5 I5 F100", "bad-block", "names no end in its plane"),
        ("G2 X0 Y0 R5 F100", "bad-block", "ends where it begins"),
        ("G2 X10 Y0 I5 K5 F100", "bad-block", "K has no meaning"),
        ("G2 X0 Y0 I0 J0 F100", "bad-block", "radius is 0"),
        ("G2 X10 Y0 R4 F100", "arc-mismatch", "cannot reach"),
        ("G2 X10.01 Y0 I5 F100", "arc-mismatch", "0.0100 mm differently far"),
    ],
)
def test_bad_arcs(line, rule, message):
    met = faults("G0 X0 Y0 Z0", line)
    assert any(r == rule and message in m for r, m in met), met


def test_after_a_bad_arc_the_next_move_starts_at_its_end():
    reading = program("G0 X0 Y0 Z0", "G2 X10 Y0 R4 F100", "G1 X20")
    assert reading.motions[-1].start[:2] == (10.0, 0.0)


@pytest.mark.parametrize(
    ("line", "met"),
    [
        ("G3 X10.0019 Y0 I5 F100", []),
        ("G3 X10.0021 Y0 I5 F100", [0.0021]),
        ("G20 G3 X1.00019 Y0 I0.5 F100", []),
        ("G20 G3 X1.00021 Y0 I0.5 F100", [0.00021 * 25.4]),
    ],
)
def test_radii_may_differ_by_2_micrometres_or_a_fifth_of_a_thousandth_of_an_inch(line, met):
    """3.5.3.2: 0.002 mm, 0.0002 in."""
    found = [f.amount_mm for f in program("G0 X0 Y0 Z0", line).findings if f.rule == "arc-mismatch"]
    assert found == pytest.approx(met, abs=1e-9)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(st.floats(3, 2200), st.floats(0, 360), st.floats(1, 359), st.booleans(), st.sampled_from([4]))
def test_four_decimals_always_keep_the_radii_rule(radius, first, sweep, clockwise, decimals):
    """Each of X, Y, I, J rounded by 0.00005 at most: the radii differ by 0.000283 at most."""
    a, b = math.radians(first), math.radians(first + sweep)
    x0, y0 = round(radius * math.cos(a), decimals), round(radius * math.sin(a), decimals)
    x1, y1 = radius * math.cos(b), radius * math.sin(b)
    word = "G2" if clockwise else "G3"
    reading = program(f"G0 X{x0:.4f} Y{y0:.4f} Z0", f"{word} X{x1:.4f} Y{y1:.4f} I{-x0:.4f} J{-y0:.4f} F100")
    assert reading.findings == ()


@pytest.mark.parametrize(
    ("plane", "words", "through"),
    [
        # G2 is clockwise as seen from the positive end of the third axis. From +Y with Z up, X runs to the
        # left, so that clockwise from X0 to X10 goes below; from +X with Z up, Y runs to the right.
        ("G18", "G2 X10 Z0 I5 K0", (5.0, 0.0, -5.0)),
        ("G18", "G3 X10 Z0 I5 K0", (5.0, 0.0, 5.0)),
        ("G19", "G2 Y10 Z0 J5 K0", (0.0, 5.0, 5.0)),
        ("G19", "G3 Y10 Z0 J5 K0", (0.0, 5.0, -5.0)),
    ],
)
def test_arcs_of_the_upright_planes_are_fine_chords(plane, words, through):
    reading = sound("G0 X0 Y0 Z0", f"{plane} {words} F600")
    chords = reading.motions[1:]
    assert {m.kind for m in chords} == {"feed"}
    assert {m.feed_mm_min for m in chords} == {600.0}
    length = sum(math.dist(m.start, m.end) for m in chords)
    assert length == pytest.approx(5 * math.pi, abs=0.005)
    assert min(math.dist(m.end, through) for m in chords) < 0.2
    centre = (5.0, 0.0, 0.0) if plane == "G18" else (0.0, 5.0, 0.0)
    for m in chords:
        middle = [(p + q) / 2 for p, q in zip(m.start, m.end, strict=True)]
        assert 5 - math.dist(middle, centre) == pytest.approx(0.0005, abs=0.00051)


def test_an_engraving_of_every_kind_of_move_has_the_length_worked_out_by_hand():
    """Lines, three quarters of a circle, two full circles, an R arc and a half circle, as engravers use them.

    By hand: 10 + 5 + 10 of lines and 3 plunges of 2.5; 270 degrees at r 2.5 (11.780972); two circles at r 2.5
    (31.415927); the R4 arc over a chord of 5, 2 asin(2.5 / 4) = 77.364 degrees (5.401052); 180 degrees at
    r 2.5 (7.853982). Rapids: 3 retracts of 2.5, hops of 5 and 10 in X.
    """
    reading = sound(
        "G0 X0 Y0 Z2 F20",
        "G1 Z-.5",
        "Y10",
        "X5",
        "Y0",
        "G0 Z2",
        "X10",
        "G1 Z-.5",
        "G3 X7.5 Y2.5 I0 J2.5",
        "G3 X7.5 Y2.5 I2.5 J0",
        "G2 X7.5 Y2.5 I2.5",
        "G0 Z2",
        "X17.5",
        "G1 Z-.5",
        "G2 X22.5 Y2.5 R4",
        "G3 X17.5 Y2.5 I-2.5",
        "G0 Z2",
    )
    feed, rapid = feed_and_rapid_lengths(reading)
    assert feed == pytest.approx(25 + 7.5 + 11.780972 + 31.415927 + 5.401052 + 7.853982, abs=1e-5)
    assert rapid == pytest.approx(7.5 + 5 + 10, abs=1e-9)
