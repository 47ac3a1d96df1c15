"""Path data by the grammar of SVG 1.1, section 8.3, held against a second reader (fontTools)."""

from dataclasses import dataclass, field
from functools import partialmethod
from typing import Any

import pytest
from fontTools.svgLib.path import parse_path
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.drawing.svg_path import draw_path


@dataclass
class Recorder:
    """Writes down what a pen is asked to do; understands the calls of both readers."""

    calls: list[tuple[str, tuple[float, ...]]] = field(default_factory=list)

    def _note(self, name: str, *given: Any) -> None:
        flat = [v for value in given for v in (value if isinstance(value, tuple) else (value,))]
        self.calls.append((name, tuple(float(v) for v in flat)))

    move = moveTo = partialmethod(_note, "move")  # noqa: N815  (names that the other reader calls)
    line = lineTo = partialmethod(_note, "line")  # noqa: N815  (names that the other reader calls)
    curve = curveTo = qCurveTo = partialmethod(_note, "curve")  # noqa: N815  (names that the other reader calls)
    arc = arcTo = partialmethod(_note, "arc")  # noqa: N815  (names that the other reader calls)
    close = closePath = partialmethod(_note, "close")  # noqa: N815  (names that the other reader calls)
    stop = endPath = partialmethod(_note, "stop")  # noqa: N815  (names that the other reader calls)


def drawn(data: str) -> list[tuple[str, tuple[float, ...]]]:
    pen = Recorder()
    draw_path(data, pen)
    return pen.calls


def by_the_other(data: str) -> list[tuple[str, tuple[float, ...]]]:
    pen = Recorder()
    parse_path(data, pen)
    # It draws a line before it closes; this reader leaves that to the pen.
    closes = [call[0] == "close" for call in pen.calls[1:]] + [False]
    return [call for call, last in zip(pen.calls, closes, strict=True) if not (call[0] == "line" and last)]


number = st.integers(-999, 999).map(lambda v: f"{v / 8:g}")
ARGUMENTS = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


@st.composite
def path_data(draw: st.DrawFn) -> str:
    words = [f"M{draw(number)},{draw(number)}"]
    for _ in range(draw(st.integers(1, 8))):
        letter = draw(st.sampled_from("LlHhVvCcSsQqTtAaMm"))
        if letter in "Aa":
            size, end = st.integers(1, 99), f"{draw(number)} {draw(number)}"
            flags = f"{draw(st.integers(0, 1))} {draw(st.integers(0, 1))}"
            words.append(f"{letter}{draw(size)} {draw(size)} {draw(number)} {flags} {end}")
        else:
            count = ARGUMENTS.get(letter.upper(), 2)
            words.append(letter + " ".join(draw(number) for _ in range(count)))
    return " ".join(words)


@given(path_data())
@settings(derandomize=True, deadline=None, max_examples=50)
def test_both_readers_draw_the_same(data: str) -> None:
    ours, theirs = drawn(data), by_the_other(data)
    assert [name for name, _ in ours] == [name for name, _ in theirs]
    for (_, a), (_, b) in zip(ours, theirs, strict=True):
        assert a == pytest.approx(b)


@pytest.mark.parametrize(
    ("data", "calls"),
    [
        ("M0 0a1 1 0 0110 10", [("arc", (1, 1, 0, 0, 1, 10, 10))]),  # flags run into the next number
        ("M0 0a1 1 0 01.5.5", [("arc", (1, 1, 0, 0, 1, 0.5, 0.5))]),
        ("M0 0l1.5.5-2-.5", [("line", (1.5, 0.5)), ("line", (-0.5, 0))]),
        ("M0 0L1e2-1E-1", [("line", (100, -0.1))]),
        ("M0 0L1.,2.e1", [("line", (1, 20))]),
        ("M0,0L007 08", [("line", (7, 8))]),
        ("M1 1 2 2 3 3", [("line", (2, 2)), ("line", (3, 3))]),
        ("m1 1 2 2 3 3", [("line", (3, 3)), ("line", (6, 6))]),
        ("\n\tM 0 0\r\n L\t5\n5 ", [("line", (5, 5))]),
        ("M0 0h5v6H1V2", [("line", (5, 0)), ("line", (5, 6)), ("line", (1, 6)), ("line", (1, 2))]),
        ("M0 0T5 5", [("curve", (0, 0, 5, 5))]),  # nothing to mirror: the control point is where it stands
        ("M0 0Q1 2 4 4t2 2", [("curve", (1, 2, 4, 4)), ("curve", (7, 6, 6, 6))]),
        ("M0 0C0 1 3 3 4 4s1 1 2 2", [("curve", (0, 1, 3, 3, 4, 4)), ("curve", (5, 5, 5, 5, 6, 6))]),
    ],
)
def test_numbers_and_letters_as_the_grammar_has_them(data: str, calls: list[Any]) -> None:
    assert [call for call in drawn(data) if call[0] not in ("move", "stop")] == calls


def test_a_subpath_after_closing_begins_where_the_last_did() -> None:
    names = [(name, values) for name, values in drawn("M5 5h10v10zl1 1zm2 2h1")]
    assert [values for name, values in names if name == "move"] == [(5, 5), (5, 5), (7, 7)]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ("L5 5", "must start with a moveto"),
        ("M0 0L5", 'ends in the middle of "L"'),
        ("M0 0L5Z", '"L" has too few numbers at character 7'),
        ("M0 0L5,x", 'holds "x" at character 8'),
        ("M0 0A5 5 0 2 0 5 5", 'a flag of "A" is not 0 or 1 at character 12'),
        ("M0 0Lnan 5", 'holds "n" at character 6'),
        ("M0 0L1,,2", 'holds "," at character 8'),
        ("M0 0z5 5", 'holds "5" at character 6'),
    ],
)
def test_what_is_no_path_data_is_named_by_its_character(data: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        drawn(data)
