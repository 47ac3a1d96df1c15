"""Lines, words, comments and modal groups after NISTIR 6556, sections 3.1 to 3.4."""

import itertools
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.program.motion import CutMark, Reading
from camkit.program.read import read


def program(*lines: str) -> Reading:
    return read("\n".join(["G21 G90 G94 G17", *lines, "M2", ""]))


def errors(reading: Reading) -> list[str]:
    return [f.message for f in reading.findings if f.level == "error"]


def fault(*lines: str) -> str:
    """The one message that the lines bring about, after checking that it stands on the last of them."""
    reading = program(*lines)
    (finding,) = [f for f in reading.findings if f.level == "error"]
    assert finding.rule == "bad-block"
    assert finding.line == len(lines) + 1
    assert finding.remedy
    return finding.message


def test_blanks_and_letter_case_mean_nothing():
    """The example of 3.3: "g0x +0. 12 34y 7" is "g0 x+0.1234 y7"."""
    odd, plain = program("g0x +0. 12 34y 7"), program("g0 x+0.1234 y7")
    assert odd.motions == plain.motions
    assert odd.motions[0].end[:2] == (0.1234, 7.0)
    assert odd.findings == ()


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_line_end_counts_one_line(end):
    reading = read(end.join(["G21 G90", "G0 X1 Z5", "", "(hello)", "G0 X2", "M2"]))
    assert [m.line for m in reading.motions] == [2, 5]
    assert reading.last_line == 6


def test_line_numbers_may_repeat_and_run_backwards():
    assert program("N99999 G0 X1", "N3 X2", "N3 X3").findings == ()


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("N000009 G0 X1", "one to 5 digits, not 6"),
        ("N G0 X1", "one to 5 digits, not 0"),
        ("G0 X1 N5", "behind another word"),
        ("G0 X1 E2", "letter E begins no word"),
        ("G0 X1 U2", "letter U begins no word"),
        ("G0 X1 ; over there", "no comment that begins with ;"),
        ("G0 X1 (open", "not closed"),
        ("G0 X1 (a (b) c)", "inside a comment"),
        ("G0 X1 X2", "two X words"),
        ("G0 G1 X1 F100", "G0 and G1 belong to one modal group"),
        ("G90 G91 G0 X1", "G90 and G91 belong to one modal group"),
        ("M3 M5", "M3 and M5 belong to one modal group"),
        ("M7 M9", "M7 and M9 belong to one modal group"),
        ("M3 M6 M7 M8 M48", "5 M words"),
        ("G5 X1", "G5 is no code"),
        ("G1.5 X1", "G1.5 is no code"),
        ("M99", "M99 is no code"),
        ("M3.5", "whole number"),
        ("G0 X1.2.3", r"\. stands where a word should begin"),
        ("G0 X", "missing before the end of the line"),
        ("G0 XY1", "missing before Y"),
        ("G0 X1e3", "missing before the end|letter E|no word"),
        ("G0 X1 é", "belongs to no word"),
        ("G0", "G0 stands without an axis word"),
        ("G1 F100", "G1 stands without an axis word"),
        ("G0 X1 A90", "A turns a rotary axis"),
        ("G0 X1 P3", "P word is used by no code"),
        ("G0 X1 I3", "I word is used by no code"),
        ("X1", "no motion code is in force"),
        ("G80 X1", "while G80 is in force"),
        ("G92 G1 X1 F100", "both use axis words"),
        ("G92", "G92 stands without an axis word"),
        ("G53 G80", "G53 goes only with"),
        ("G4", "G4 needs a P word"),
        ("G4 P-1", "G4 needs a P word"),
        ("G43", "G43 needs an H word"),
        ("S-1", "S-1 is below 0"),
        ("F-1", "F-1 is below 0"),
        ("T-1", "T-1 is below 0"),
        ("T1.5", "whole number"),
        ("M6", "no T word has named one"),
        ("G41 D1", "not judged"),
        ("G42 D1", "not judged"),
        ("G55", "G55 works with offsets stored in the control"),
        ("G59.1", "G59.1 works with offsets stored in the control"),
        ("G10 L2 P1 X5", "G10 works with offsets stored in the control"),
        ("G38.2 X5 F100", "probing"),
        ("#5221=3", "holds an offset of the control"),
        ("G0 X2000000", "beyond any machine"),
        ("% 5", "% stands where a word should begin"),
        ("G0 X" + "1" * 260, "more than 256"),
    ],
)
def test_a_broken_rule_is_a_finding_on_its_line(line, message):
    messages = [
        f.message
        for f in program(line).findings
        if f.rule == "bad-block" and f.level == "error" and f.line == 2
    ]
    assert any(re.search(message, met) for met in messages), messages


def test_a_line_of_256_characters_is_not_too_long():
    line = "(" + "a" * 254 + ")"
    assert program(line).findings == ()
    assert "more than 256" in fault(line + " ")


def test_mist_and_flood_may_be_switched_on_together():
    assert program("M7 M8").findings == ()


def test_four_m_words_are_allowed():
    assert errors(program("T1", "M6 M3 M7 M48 S100")) == []


def test_whole_numbers_may_be_off_by_a_ten_thousandth():
    assert errors(program("G1.00005 X1 F100")) == []
    assert errors(program("G0.9999 X1 F100")) == []


def test_a_group_1_code_in_force_is_suspended_for_one_line_by_g92():
    reading = program("G0 X10 Y0 Z5", "G92 X0", "X5")
    assert [m.end[0] for m in reading.motions] == [10.0, 15.0]
    assert errors(reading) == []


def test_reading_goes_on_after_a_word_that_is_not_understood():
    reading = program("G0 X5 E3 Z5", "X7 ; there")
    assert [m.end for m in reading.motions] == [(5.0, 0.0, 5.0), (7.0, 0.0, 5.0)]
    assert len(errors(reading)) == 2


def test_the_last_comment_of_a_line_counts():
    assert program("(CUT 1 HOLE A) (CUT 2 POCKET SHELF 1)").marks == (CutMark(2, "POCKET", "SHELF 1", 2, 0),)


def test_marks_know_their_first_motion():
    reading = program("(CUT 12 PROFILE SHELF 2)", "G0 X1 Z5", "(cut 13 hole end frame, outer)", "G0 X2")
    assert reading.marks == (
        CutMark(12, "PROFILE", "SHELF 2", 2, 0),
        CutMark(13, "hole", "end frame, outer", 4, 1),
    )


@pytest.mark.parametrize(
    "comment", ["(CUT SHELF)", "(CUT 1 PROFILE)", "(RECUT 1 PROFILE A)", "(MSG, cut 1 b c)"]
)
def test_other_comments_are_no_marks(comment):
    reading = program(comment)
    assert reading.marks == ()
    assert reading.findings == ()


def test_a_line_that_may_be_deleted_is_carried_out_and_said():
    reading = program("/G0 X1 Z5", "/G0 X2")
    assert len(reading.motions) == 2
    (note,) = reading.findings
    assert note.level == "note"
    assert "block delete" in note.message


def test_no_unit_is_a_note():
    (note,) = read("G0 X1 Z5\nM2\n").findings
    assert (note.level, note.line) == ("note", 1)
    assert "read as mm" in note.message


def test_percent_lines_need_no_m2():
    reading = read("\n%\nG21 G0 X1 Z5\n % \nG0 X2 nonsense\n")
    assert (reading.findings, reading.ended, len(reading.motions)) == ((), True, 1)


def test_nothing_after_m30_is_carried_out():
    reading = read("G21 G0 X1 Z5\nM30\nG0 X2 nonsense\n")
    assert (reading.findings, reading.ended, len(reading.motions)) == ((), True, 1)


def test_m2_moves_first():
    assert len(read("G21 G0 X1 Z5 M2\n").motions) == 1


def test_an_end_is_missing():
    reading = read("G21 G0 X1 Z5\n")
    assert not reading.ended
    assert "ends without M2, M30 or %" in errors(reading)[0]


def test_the_second_percent_is_missing():
    (finding,) = read("%\nG21 G0 X1 Z5\nM2\n").findings
    assert finding.line == 1
    assert "no second % closes it" in finding.message


def test_a_percent_closes_behind_m2():
    assert read("%\nG21 G0 X1 Z5\nM2\n%\n").findings == ()


def test_a_percent_closes_what_none_opened():
    (finding,) = read("G21 G0 X1 Z5\n%\nG0 X2\n").findings
    assert "no % opened" in finding.message


@pytest.mark.parametrize("text", ["", "\n", " \n\t\n", "%", "%\n%", "(", "\x00", "\ufeffG21"])
def test_almost_nothing_is_no_traceback(text):
    assert read(text).motions == ()


_LETTERS = "GXYZIJKRFSTMPQLHNDABCEO#[]()*/+-=.%; 0123456789\t\x00é"


@settings(derandomize=True, deadline=None, max_examples=50)
@given(st.lists(st.text(_LETTERS, max_size=40), max_size=12))
def test_no_text_is_a_traceback(lines):
    reading = read("\n".join(lines))
    assert all(f.line is None or 1 <= f.line <= max(len(lines), 1) for f in reading.findings)


_WORDS = (
    "G0 G1 G2 G3 G4 G10 G17 G18 G19 G20 G21 G28 G38.2 G41 G43 G53 G61.1 G64 G80 G81 G82 G83 G85 G89 G90 G91 "
    "G92 G92.1 G92.3 G93 G94 G98 G99 X1 X-2.5 Y3 Z-4 Z0 I1 J0 K2 R5 R-1 F100 F0 S9 T1 M2 M3 M5 M6 M0 P1 Q0.5 "
    "L2 L99999999 #1=2 X#1 X[1/0] (CUT_1) E1"
)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(st.lists(st.lists(st.sampled_from(_WORDS.split()), max_size=6), max_size=25))
def test_words_in_any_order_are_no_traceback(lines):
    reading = read("\n".join(" ".join(line) for line in lines))
    for motion in reading.motions:
        assert all(abs(v) <= 1e6 for v in (*motion.start, *motion.end))
    for before, after in itertools.pairwise(reading.motions):
        assert before.end[:2] == after.start[:2] or before.line < after.line
