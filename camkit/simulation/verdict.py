"""What the judge says of one program."""

from __future__ import annotations

from dataclasses import dataclass

from camkit.errors import Finding, has_error
from camkit.program.motion import Reading

__all__ = ["CutTime", "CutterTime", "Judgement", "TimedMotion", "Verdict"]


@dataclass(frozen=True, slots=True)
class CutterTime:
    """Time with one cutter in the spindle, seconds."""

    number: int
    diameter_mm: float | None
    time_s: float


@dataclass(frozen=True, slots=True)
class CutTime:
    """Lines and time of one numbered cut; `kind` and `name` as in its comment."""

    number: int
    kind: str
    name: str
    first_line: int
    last_line: int
    time_s: float


@dataclass(frozen=True, slots=True)
class TimedMotion:
    """When a motion of the reading (by index) begins and ends, in seconds from the start."""

    begins_s: float
    ends_s: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judgement of one program; lengths in mm, times in seconds.

    `feed_mm` and `rapid_mm` are path lengths in space. `timing` has one entry a motion of the reading.
    """

    time_s: float
    feed_mm: float
    rapid_mm: float
    cutters: tuple[CutterTime, ...]
    cuts: tuple[CutTime, ...]
    timing: tuple[TimedMotion, ...]
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether no finding of level error stands."""
        return not has_error(self.findings)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a program's text says, and what the judge makes of it."""

    reading: Reading
    verdict: Verdict
