"""Places where a rule is broken, and the few findings that many such places make."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from camkit.errors import Finding, Level
from camkit.program.motion import Reading

__all__ = ["Hit", "fold"]

# Without cut marks in the text, moves this close in the program have one cause.
NEIGHBOURS = 25


@dataclass(frozen=True, slots=True)
class Hit:
    """One motion (by index) that breaks a rule: where in sheet coordinates, and by how much, in mm."""

    motion: int
    x: float
    y: float
    z: float
    amount: float | None = None
    part: str | None = None


def fold(
    rule: str,
    hits: Iterable[Hit],
    reading: Reading,
    message: Callable[[Hit], str],
    remedy: str,
    level: Level = "error",
) -> list[Finding]:
    """One finding for the hits of one part and one cut, with the line, place and size of the worst.

    `message` words the worst hit; the first of equals counts as the worst.
    """
    begins = [mark.before for mark in reading.marks]
    groups: list[list[Hit]] = []
    newest: dict[tuple[str | None, int], list[Hit]] = {}
    for hit in sorted(hits, key=lambda h: h.motion):
        key = (hit.part, bisect_right(begins, hit.motion))
        group = newest.get(key)
        if group is None or (not begins and hit.motion - group[-1].motion > NEIGHBOURS):
            newest[key] = group = []
            groups.append(group)
        group.append(hit)
    return [_finding(rule, group, reading, message, remedy, level) for group in groups]


def _finding(
    rule: str,
    group: list[Hit],
    reading: Reading,
    message: Callable[[Hit], str],
    remedy: str,
    level: Level,
) -> Finding:
    worst = max(group, key=lambda hit: (round(hit.amount or 0.0, 3), -hit.motion))
    lines = sorted({reading.motions[hit.motion].line for hit in group})
    words = message(worst)
    if len(lines) > 1:
        words += f"; {len(lines)} lines from {lines[0]} to {lines[-1]} do so, this is the worst"
    return Finding(
        level,
        rule,
        words,
        remedy,
        line=reading.motions[worst.motion].line,
        x_mm=round(worst.x, 4),
        y_mm=round(worst.y, 4),
        z_mm=round(worst.z, 4),
        amount_mm=None if worst.amount is None else round(worst.amount, 4),
        part=worst.part,
    )
