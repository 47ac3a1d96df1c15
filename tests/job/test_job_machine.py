"""What [machine] says of the control: words left out, unit, zero, endings; and what contradicts itself."""

from __future__ import annotations

import pytest

from camkit.errors import InputError
from camkit.job.load import parse

TOP = "[sheet]\nmeasured_thickness = 17.6\n[[cutter]]\nnumber = 1\ndiameter = 6\n"
TWO = TOP + "[[cutter]]\nnumber = 2\ndiameter = 5\nkind = 'drill'\n"


def told(machine: str, top: str = TOP) -> str:
    with pytest.raises(InputError) as refusal:
        parse(f"{top}[machine]\n{machine}\n", "job.toml")
    (finding,) = refusal.value.findings
    assert finding.line == top.count("\n") + 1 + machine.count("\n") + 1
    return str(finding)


def test_words_left_out_are_read_in_any_letters() -> None:
    machine = parse(TOP + '[machine]\nomit = ["m06", "t", "G61"]\n', "job.toml").machine
    assert machine.omit == ("M6", "T", "G61")
    assert not machine.takes("M6") and machine.takes("G54")


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('omit = ["M5"]', 'machine.omit: "M5" cannot be left out: without it the spindle would turn while'),
        ('omit = ["M03"]', '"M03" cannot be left out: without it the cutter would be fed into wood'),
        ('omit = ["M0"]', "nobody is waited for"),
        ('omit = ["G1"]', "a program without it would move otherwise than it was judged"),
        ('omit = ["G90"]', "what can be is T, M6, G17, G40, G49, G54, G61, G80, G94"),
        ('omit = ["G2"]', 'write arcs = "lines"'),
        ('omit = ["S"]', "write speed_by_hand = true"),
        ('omit = "M6"', "is not a list of words in quotes"),
        ('drilling_cycles = true\nomit = ["G80"]', "a drilling cycle is ended by G80"),
        ('omit = ["T"]', "machine.omit: M6 changes to no cutter when T is left out. Leave out M6 too."),
        ('program_unit = "in"', 'is not "mm" or "inch"'),
        ('xy_zero = "lower-left"', 'Did you mean "lower left"?'),
        ('with_spindle = ["M3"]', 'is not "M7" or "M8"'),
        ("start_dwell = 90", "too much for a time from 0 to 60, in seconds"),
        ('extension = "nc"', 'is not a file ending such as ".nc"'),
        ('extension = ".json"', "is the ending of other files that are written"),
        (
            'cutter_change = "automatic"\ntouch_off = [30, 30]',
            "no meaning where cutters change by themselves",
        ),
        ("travel = [500, 400, 120]\ntouch_off = [30, 410]", "[30, 410] lies beyond what the machine reaches"),
        ("path_deviation = 0.02", 'has no meaning for an exact path. Write path = "blended"'),
    ],
)
def test_what_a_control_cannot_be_is_said_with_its_line(line: str, words: str) -> None:
    assert words in told(line)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('cutter_change = "automatic"\nomit = ["T", "M6"]', "nothing changes the 2 cutters by itself"),
        ('cutter_change = "automatic"\nspeed_by_hand = true', "cutters of 6000 and 18000 rev/min change by"),
    ],
)
def test_a_change_by_itself_needs_its_words_and_its_speeds(line: str, words: str) -> None:
    assert words in told(line, TWO)
    parse(f"{TOP}[machine]\n{line}\n", "job.toml")  # one cutter is never changed
