"""Reading RS-274 as NISTIR 6556 says (Kramer, Proctor, Messina, 17 August 2000); sections beside the checks.

Expectations come from the report's rules and worked examples, and from arithmetic by hand.
"""

from __future__ import annotations

import math

import pytest

from camkit.errors import Finding
from camkit.program.motion import Motion, Reading
from camkit.program.read import read

FIRST = "G21 G17 G90 G94\n"


def moves(text: str, first: str = FIRST) -> list[Motion]:
    """Motions that go somewhere, of a text that must be without fault."""
    reading = read(first + text + "\nM2\n")
    assert reading.findings == (), reading.findings
    return [m for m in reading.motions if m.kind == "arc" or math.dist(m.start, m.end) > 1e-9]


def ends(text: str, first: str = FIRST) -> list[tuple[str, tuple[float, ...]]]:
    return [(m.kind, tuple(round(v, 6) + 0.0 for v in m.end)) for m in moves(text, first)]


def bad(text: str, line: int = 2, first: str = FIRST) -> Finding:
    """The error that the text brings on its own line (counted with the first line)."""
    reading = read(first + text + "\nM2\n")
    found = [f for f in reading.findings if f.level == "error" and f.line == line]
    assert found, f"no error on line {line} of {text!r}: {reading.findings}"
    assert found[0].rule in {"bad-block", "arc-mismatch"}
    return found[0]


def good(text: str) -> Reading:
    reading = read(FIRST + text + "\nM2\n")
    assert reading.findings == (), reading.findings
    return reading


# --- lines (section 3.3) ----------------------------------------------------------------------------


def test_spaces_and_letter_case_mean_nothing() -> None:
    # the report's own example: "g0x +0. 12 34y 7" is "g0 x+0.1234 y7"
    assert ends("g0x +0. 12 34y 7") == [("rapid", (0.1234, 7.0, 0.0))]
    assert ends("G0 X+0.1234 Y7") == [("rapid", (0.1234, 7.0, 0.0))]
    assert ends("g\t0\tx1\t2") == [("rapid", (12.0, 0.0, 0.0))]


def test_blank_lines_and_every_line_end_are_allowed() -> None:
    for end in ("\n", "\r\n", "\r"):
        text = end.join(["G21 G90", "", "   ", "G0 X1", "G0 X2", "M2", ""])
        reading = read(text)
        assert reading.findings == ()
        assert [m.end[0] for m in reading.motions] == [1.0, 2.0]
        assert reading.motions[-1].line == 5


@pytest.mark.parametrize("number", ["N0", "N10", "N99999", "n00012", "N 1 2"])
def test_line_numbers_up_to_five_digits(number: str) -> None:
    assert ends(f"{number} G0 X5") == [("rapid", (5.0, 0.0, 0.0))]


@pytest.mark.parametrize("number", ["N100000", "N000009", "N-1", "N1.5", "N"])
def test_other_line_numbers_are_errors(number: str) -> None:
    bad(f"{number} G0 X5")


def test_a_line_number_stands_first() -> None:
    bad("G0 N10 X5")


def test_line_numbers_may_repeat_and_fall() -> None:
    assert len(moves("N20 G0 X1\nN10 G0 X2\nN10 G0 X3")) == 3


@pytest.mark.parametrize("number", ["5", "5.", "+5", "5.0", "05", "+5.000"])
def test_numbers_without_exponent(number: str) -> None:
    assert ends(f"G0 X{number}") == [("rapid", (5.0, 0.0, 0.0))]


def test_a_number_may_begin_with_its_point() -> None:
    assert ends("G0 X-.5 Y.25") == [("rapid", (-0.5, 0.25, 0.0))]


@pytest.mark.parametrize(
    "words", ["G0 X1E3", "G0 X1.2.3", "G0 X", "G0 X.", "G0 X--1", "G0 X-", "G0 X1,5", "G0 5", "G0 X5 $"]
)
def test_other_numbers_are_errors(words: str) -> None:
    bad(words)


@pytest.mark.parametrize("letter", "EOUVW")
def test_letters_of_other_dialects_are_errors(letter: str) -> None:
    bad(f"G0 X5 {letter}5")


def test_no_semicolon_comment_is_defined() -> None:
    bad("G0 X5 ; across")


def test_lines_hold_256_characters() -> None:
    words = "G0 X5 "
    assert len(moves(words + " " * (256 - len(words)))) == 1
    assert len(moves(words + "(" + "a" * (256 - len(words) - 2) + ")")) == 1
    bad(words + "(" + "a" * (257 - len(words) - 2) + ")")


def test_comments_close_on_their_line_and_do_not_nest() -> None:
    assert ends("(first) G0 (second) X5 (third; G1 X7)") == [("rapid", (5.0, 0.0, 0.0))]
    bad("G0 X5 (open")
    bad("G0 X5 (one (two))")
    bad("G0 X5 closed)")


@pytest.mark.parametrize("words", ["X1 X2", "G0 X1 Y2 Y2", "G1 X5 F100 F200", "S100 M3 S200"])
def test_a_letter_stands_once(words: str) -> None:
    bad(words)


def test_four_m_words_and_no_more() -> None:
    good("T1 S1000 M6 M3 M8 M48")
    bad("T1 S1000 M6 M3 M8 M48 M0")


def test_both_coolants_may_run() -> None:
    good("M7\nM8\nM9")


def test_text_between_percent_signs() -> None:
    reading = read("%\nG21 G90\nG0 X1\n%\nG0 X2\nrubbish\n")
    assert reading.findings == ()
    assert [m.end[0] for m in reading.motions] == [1.0]
    assert reading.ended
    reading = read("\n  % \nG21\nG0 X1\n\t%\n")
    assert reading.findings == () and reading.ended


def test_a_percent_sign_at_the_start_wants_one_at_the_end() -> None:
    reading = read("%\nG21 G90\nG0 X1\n")
    assert not reading.ended
    assert any(f.rule == "bad-block" for f in reading.findings)


@pytest.mark.parametrize("word", ["M2", "M30", "m30", "M 3 0"])
def test_nothing_runs_after_the_end(word: str) -> None:
    reading = read(f"G21 G90\nG0 X1\n{word}\nG0 X2\nrubbish\n")
    assert reading.findings == () and reading.ended
    assert [m.end[0] for m in reading.motions] == [1.0]


def test_a_program_without_an_end_is_told_apart() -> None:
    assert not read("G21 G90\nG0 X1\n").ended


# --- parameters and expressions (3.3.2) -------------------------------------------------------------


@pytest.mark.parametrize(
    ("expression", "value"),
    [
        ("[1+2*3]", 7.0),
        ("[[1+2]*3]", 9.0),
        ("[2**3*2]", 16.0),
        ("[2*3**2]", 18.0),
        ("[10-4-3]", 3.0),
        ("[2.0/3*1.5-5.5/11.0]", 0.5),  # the report's example of precedence
        ("[7 mod 4]", 3.0),
        ("sin[30]", 0.5),
        ("COS[60]", 0.5),
        ("tan[45]", 1.0),
        ("asin[1]", 90.0),
        ("acos[0.5]", 60.0),
        ("atan[1]/[1]", 45.0),
        ("atan[1]/[-1]", 135.0),
        ("sqrt[16]", 4.0),
        ("abs[-3]", 3.0),
        ("exp[0]", 1.0),
        ("ln[1]", 0.0),
        ("fix[2.8]", 2.0),
        ("fix[-2.8]", -3.0),
        ("fup[2.8]", 3.0),
        ("fup[-2.8]", -2.0),
        ("round[2.6]", 3.0),
        ("[1 or 0]", 1.0),
        ("[1 and 0]", 0.0),
        ("[1 xor 1]", 0.0),
        ("[-2+5]", 3.0),
    ],
)
def test_expressions(expression: str, value: float) -> None:
    motion = moves(f"G0 X{expression} Y1")[0]
    assert motion.end[0] == pytest.approx(value, abs=1e-12)


def test_parameters_are_set_after_the_line_is_read() -> None:
    assert [e[1][0] for e in ends("#3=15\n#3=6 G0 X#3\nG0 X#3")] == [15.0, 6.0]
    assert ends("#1=2 #2=3\nG0 X[#1*#2] Y#[#1]") == [("rapid", (6.0, 3.0, 0.0))]
    assert ends("#1=4\nG1 X#1 Y[#1/8] F[#1*100]") == [("feed", (4.0, 0.5, 0.0))]


@pytest.mark.parametrize(
    "words",
    ["G0 X[1+2", "G0 X1+2", "G0 X[1/0]", "G0 Xsqrt[-1]", "G0 Xfoo[1]", "#0=5", "#6000=1", "#1=", "G0 X[]"],
)
def test_broken_expressions_are_errors(words: str) -> None:
    bad(words)


# --- modal groups (3.4) -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    [
        "G0 G1 X1 F100",
        "G2 G3 X1 I1",
        "G81 G1 X1 Z-1 R1 F100",
        "G17 G18",
        "G90 G91",
        "G93 G94",
        "G20 G21",
        "G40 G41",
        "G43 G49",
        "G98 G99",
        "G54 G55",
        "G61 G64",
        "G61 G61.1",
        "G4 P1 G53 G0 X1",
        "M0 M2",
        "S100 M3 M4",
        "M3 M5",
        "M48 M49",
    ],
)
def test_two_of_one_group_on_a_line_are_an_error(words: str) -> None:
    bad(words)


def test_words_of_different_groups_share_a_line() -> None:
    good("G17 G21 G90 G94 G40 G49 G80 G98 G54 G61")


@pytest.mark.parametrize("words", ["G5 X1", "G77", "M17", "G1.5 X1", "M3.5", "G-1 X1"])
def test_codes_that_the_report_does_not_have_are_errors(words: str) -> None:
    bad(words)


def test_motion_modes_last() -> None:
    kinds = [e[0] for e in ends("G1 X1 F100\nX2\nG0 X3\nY4")]
    assert kinds == ["feed", "feed", "rapid", "rapid"]


def test_a_straight_move_wants_an_axis_word() -> None:
    bad("G0")
    bad("G1 F600")


def test_axis_words_need_a_motion_mode() -> None:
    bad("G80 X5")
    bad("G0 X1\nG80\nX5", line=4)


def test_relative_and_absolute_distances() -> None:
    assert [e[1] for e in ends("G0 X10 Y10 Z0\nG91 X5\nY-2 Z3\nG90 X0")] == [
        (10.0, 10.0, 0.0),
        (15.0, 10.0, 0.0),
        (15.0, 8.0, 3.0),
        (0.0, 8.0, 3.0),
    ]


def test_inches_are_read_into_mm() -> None:
    motion = moves("G1 X1 Y-0.5 F10", first="G20 G17 G90 G94\n")[0]
    assert motion.end == pytest.approx((25.4, -12.7, 0.0))
    assert motion.feed_mm_min == pytest.approx(254.0)
    arc = moves("G1 X0 Y1 F10\nG2 X1 Y0 I0 J-1", first="G20 G17 G90 G94\n")[-1]
    assert arc.centre == pytest.approx((0.0, 0.0))
    assert arc.end == pytest.approx((25.4, 0.0, 0.0))


def test_path_control() -> None:
    motions = moves("G61\nG0 X1\nG64 P0.05\nG0 X2\nG61\nG0 X3")
    assert [m.pass_over for m in motions] == pytest.approx([0.0, 0.05, 0.0])
    inch = moves("G64 P0.002\nG0 X1", first="G20 G17 G90 G94\n")
    assert inch[0].pass_over == pytest.approx(0.0508)


# --- order on a line (3.8, Table 8) -----------------------------------------------------------------


def test_spindle_and_feed_come_before_the_move_of_their_line() -> None:
    motion = moves("G1 X10 F600 M3 S18000")[0]
    assert (motion.feed_mm_min, motion.spindle_rev_min) == (600.0, 18000.0)
    motion = moves("M3 S18000\nG0 X1 M5")[0]
    assert motion.spindle_rev_min == 0.0
    assert moves("M4 S900\nG0 X1")[0].spindle_rev_min == -900.0


def test_a_cutter_change_comes_before_the_spindle_and_leaves_it_stopped() -> None:
    reading = good("T1 M6\nS1000 M3\nG0 X1\nG0 X2 M6 T2\nG0 X3 M3 M6 T4")
    cutters = [(m.cutter, m.spindle_rev_min) for m in reading.motions]
    assert cutters == [(1, 1000.0), (2, 0.0), (4, 1000.0)]
    assert [(line, number) for line, _, number in reading.changes] == [(2, 1), (5, 2), (6, 4)]
    assert [index for _, index, _ in reading.changes] == [0, 1, 2]


def test_t_alone_changes_nothing() -> None:
    motions = moves("G0 X1\nT3\nG0 X2\nM6\nG0 X3")
    assert [m.cutter for m in motions] == [None, None, 3]


def test_units_and_distance_mode_come_before_the_move() -> None:
    assert moves("G0 X1 G20")[0].end[0] == pytest.approx(25.4)
    assert [e[1][0] for e in ends("G0 X1\nX1 G91\nX1 G90")] == [1.0, 2.0, 1.0]


def test_the_program_stops_after_the_move_of_its_line() -> None:
    reading = read("G21 G90\nG0 X1 M2\n")
    assert [m.end[0] for m in reading.motions] == [1.0] and reading.ended


def test_a_feed_is_unknown_until_it_is_said() -> None:
    motions = moves("G0 X1\nG1 X2\nG1 X3 F100\nG1 X4")
    assert [m.feed_mm_min for m in motions][1:] == [None, 100.0, 100.0]


def test_a_dwell_comes_before_the_next_move_and_counts_seconds() -> None:
    reading = good("G0 X1\nG4 P2.5\nG0 X2")
    assert [(d.line, d.before, d.seconds) for d in reading.dwells] == [(3, 1, 2.5)]
    reading = good("G0 X1\nG4 P0.5 G0 X2")
    assert [(d.before, d.seconds) for d in reading.dwells] == [(1, 0.5)]
    bad("G4 P-1")


def test_cut_marks_are_read() -> None:
    reading = good("G0 Z5\n(CUT 12 PROFILE SHELF 2)\nG0 X1\n(CUT 13 HOLE SHELF 2)\nG0 X2")
    assert [(m.number, m.line, m.before) for m in reading.marks] == [(12, 3, 1), (13, 5, 2)]
    assert reading.marks[0].kind.lower() == "profile" and "SHELF 2" in reading.marks[0].name.upper()


def test_speeds_and_cutter_numbers_that_cannot_be() -> None:
    bad("S-100 M3")
    bad("T-1 M6")
    bad("T1.5 M6")
    bad("G1 X5 F-100")


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
