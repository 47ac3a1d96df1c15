"""Reading RS-274 as NISTIR 6556 says (Kramer, Proctor, Messina, 17 August 2000); sections beside the checks.

Expectations come from the report's rules and worked examples, and from arithmetic by hand.
"""

from __future__ import annotations

import pytest

from camkit.program.read import read

from .witness_reading import bad, ends, good, moves

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
