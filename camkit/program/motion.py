"""What the reader of RS-274 text gives: every motion with its line, resolved to absolute mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from camkit.errors import Finding

__all__ = ["CutMark", "Dwell", "Motion", "Point3", "Reading"]

Point3 = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Motion:
    """One motion of the machine, in absolute program coordinates, mm and mm/min whatever the text's units.

    `centre` is absolute (XY) and set only for `kind == "arc"`; arcs lie in the XY plane and may rise
    (a helix); `turns` counts whole turns beyond the first partial one (0 for an ordinary arc; end equal to
    start is one full circle, with turns 0). Arcs of other planes arrive as short straight feeds.
    `feed_mm_min` is None while no feed has been set (G93 is already turned into mm/min);
    `spindle_rev_min` is 0 while stopped, negative for M4; `cutter` is the number in the spindle, None
    before the first M6; `pass_over` is the deviation of G64 P in mm, 0 for exact path (G61); `stop` tells
    that the machine comes to rest at the end (G61.1). `turning` is 1 after M3, -1 after M4, 0 while the
    spindle stands, whatever its speed.
    """

    line: int
    kind: Literal["rapid", "feed", "arc"]
    start: Point3
    end: Point3
    centre: tuple[float, float] | None = None
    clockwise: bool = False
    turns: int = 0
    feed_mm_min: float | None = None
    spindle_rev_min: float = 0.0
    cutter: int | None = None
    pass_over: float = 0.0
    stop: bool = False
    turning: int = 0


@dataclass(frozen=True, slots=True)
class Dwell:
    """A pause (G4), in seconds, before the motion with index `before`; 0 where M0 waits for the operator."""

    line: int
    before: int
    seconds: float


@dataclass(frozen=True, slots=True)
class CutMark:
    """A comment line "(CUT 12 PROFILE SHELF 2)": from here the moves belong to that cut.

    `before` is the index of the first motion after it.
    """

    number: int
    kind: str
    name: str
    line: int
    before: int


@dataclass(frozen=True, slots=True)
class Reading:
    """All that a program's text says.

    `changes` are (line, index of the next motion, cutter number) of each M6, `named` the same of each comment
    "(CUTTER 2 drill)"; `stops` are (line, index of the next motion, turning) of each M0; `last_line` counts
    the lines read; `findings` are the text's own faults (rule `bad-block`, `arc-mismatch`). `ended` tells
    whether M2, M30 or a second % closed it.
    """

    motions: tuple[Motion, ...]
    dwells: tuple[Dwell, ...] = ()
    marks: tuple[CutMark, ...] = ()
    changes: tuple[tuple[int, int, int], ...] = ()
    findings: tuple[Finding, ...] = ()
    last_line: int = 0
    ended: bool = False
    named: tuple[tuple[int, int, int], ...] = ()
    stops: tuple[tuple[int, int, int], ...] = ()
