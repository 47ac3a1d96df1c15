"""Asking the reader of programs: what moves, where to, and which line is at fault."""

from __future__ import annotations

import math

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
