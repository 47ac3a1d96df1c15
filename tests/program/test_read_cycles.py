"""Canned cycles after NISTIR 6556, section 3.5.16."""

import itertools

import pytest

from camkit.program.motion import Reading
from camkit.program.read import read

Move = tuple[str, float, float, float]


def program(*lines: str) -> Reading:
    return read("\n".join(["G21 G90 G94 G17 F100", *lines, "M2", ""]))


def moves(reading: Reading) -> list[Move]:
    """The motions behind the first, which goes to where the example begins."""
    return [(m.kind, *(round(v, 9) for v in m.end)) for m in reading.motions[1:]]


def sound(*lines: str) -> list[Move]:
    reading = program(*lines)
    assert reading.findings == ()
    return moves(reading)


def message(*lines: str) -> str:
    (finding,) = program(*lines).findings
    assert finding.rule == "bad-block"
    return finding.message


def test_the_reports_first_example():
    assert sound("G0 X1 Y2 Z3", "G90 G81 G98 X4 Y5 Z1.5 R2.8") == [
        ("rapid", 4, 5, 3),
        ("rapid", 4, 5, 2.8),
        ("feed", 4, 5, 1.5),
        ("rapid", 4, 5, 3),
    ]


def test_the_reports_second_example():
    assert sound("G0 X1 Y2 Z3", "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3") == [
        ("rapid", 1, 2, 4.8),
        ("rapid", 5, 7, 4.8),
        ("feed", 5, 7, 4.2),
        ("rapid", 5, 7, 4.8),
        ("rapid", 9, 12, 4.8),
        ("feed", 9, 12, 4.2),
        ("rapid", 9, 12, 4.8),
        ("rapid", 13, 17, 4.8),
        ("feed", 13, 17, 4.2),
        ("rapid", 13, 17, 4.8),
    ]


def test_g99_returns_to_the_r_plane():
    assert sound("G0 X1 Y2 Z3", "G99 G81 X4 Y5 Z1.5 R2.8")[-1] == ("rapid", 4, 5, 2.8)


def test_words_stay_while_the_cycle_is_in_force():
    assert sound("G0 X0 Y0 Z3", "G99 G81 X1 Z-2 R1", "X2", "Y3")[-3:] == [
        ("rapid", 2, 3, 1),
        ("feed", 2, 3, -2),
        ("rapid", 2, 3, 1),
    ]


def test_g82_and_g89_dwell_at_the_bottom():
    reading = program("G0 X0 Y0 Z3", "G82 X1 Z-2 R1 P0.5", "G89 X2 Z-3 R1 P1.5")
    assert [(d.seconds, reading.motions[d.before - 1].end[2]) for d in reading.dwells] == [
        (0.5, -2.0),
        (1.5, -3.0),
    ]


def test_g85_feeds_out_again():
    assert sound("G0 X0 Y0 Z3", "G85 X1 Z-2 R1")[2:] == [
        ("feed", 1, 0, -2),
        ("feed", 1, 0, 1),
        ("rapid", 1, 0, 3),
    ]


def test_g83_pecks_and_never_runs_into_wood_at_a_rapid():
    """R2 Z-18 Q6 by hand: feeds end at -4, -10, -16 and -18, each followed by a rapid out to clear Z."""
    found = sound("G0 X0 Y0 Z5", "G98 G83 X1 Y1 Z-18 R2 Q6")
    assert [z for kind, _, _, z in found if kind == "feed"] == [-4, -10, -16, -18]
    lowest = 2.0
    for before, after in itertools.pairwise(found):
        if after[0] == "feed":
            lowest = after[3]
        elif before[0] == "feed":
            assert after == ("rapid", 1, 1, 5)
        else:
            assert after[3] >= lowest


def test_a_cycle_goes_on_while_g80_ends_it():
    assert "no motion code" in message("G0 X0 Y0 Z3", "G81 X1 Z-2 R1", "G80", "X2")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("G81 X1 R1", "needs a Z word"),
        ("G81 X1 Z-1", "needs a R word"),
        ("G83 X1 Z-1 R1", "needs a Q word"),
        ("G83 X1 Z-1 R1 Q0", "Q must be above 0"),
        ("G82 X1 Z-1 R1", "needs a P word"),
        ("G82 X1 Z-1 R1 P-1", "P not below 0"),
        ("G81 X1 Z1 R-1", "R lies below Z"),
        ("G81 X1 Z-1 R1 L0", "L0 repeats nothing"),
        ("G81 X1 Z-1 R1 L1.5", "whole number"),
        ("G93 G81 X1 Z-1 R1 F1", "neither with G93"),
        ("G18 G81 X1 Z-1 R1", "outside the XY plane"),
        ("G84 X1 Z-1 R1", "G84 is not understood"),
        ("G81 X1 Z-1 R1 L1000000", "more than the 100000 that are read"),
        ("G83 X1 Z-100 R1 Q.0001", "more than the 100000 that are read"),
        ("G91 G81 X100 Z-1 R1 L15000", "holes would lie beyond any machine"),
    ],
)
def test_bad_cycles(line, said):
    assert said in message("G0 X0 Y0 Z3", line)


def test_repeats_are_bounded_over_the_whole_program():
    reading = read("G21 F100\nG0 X0 Y0 Z3\n" + "G91 G81 X.001 Z-1 R0 L19000\n" * 12 + "M2\n")
    assert len(reading.motions) < 1_000_001
    assert {f.rule for f in reading.findings} == {"bad-block"}
