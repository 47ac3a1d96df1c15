"""Places where a rule is broken, and the few findings that many such places make."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from camkit.errors import Finding, Level
from camkit.program.motion import Reading

__all__ = ["Hit", "fold", "told_apart"]

# Without cut marks in the text, moves this close in the program have one cause.
NEIGHBOURS = 25
# Bites have one cause when they follow on one another, or lie about this close together.
TOGETHER = 10.0
NEXT = 2


@dataclass(frozen=True, slots=True)
class Hit:
    """One motion (by index) that breaks a rule: where in sheet coordinates, and by how much, in mm.

    Hits with different `cause` are never folded into one finding.
    """

    motion: int
    x: float
    y: float
    z: float
    amount: float | None = None
    part: str | None = None
    cause: int = 0


def told_apart(hits: Iterable[Hit]) -> list[Hit]:
    """The hits with a cause each, one for those of a part that follow on one another or lie close."""
    ordered = sorted(hits, key=lambda hit: (hit.part or "", hit.motion))
    group = list(range(len(ordered)))

    def first(n: int) -> int:
        while group[n] != n:
            group[n] = n = group[group[n]]
        return n

    cells: dict[tuple[str | None, int, int], int] = {}
    for n, hit in enumerate(ordered):
        if n and hit.part == ordered[n - 1].part and hit.motion - ordered[n - 1].motion <= NEXT:
            group[first(n)] = first(n - 1)
        column, row = math.floor(hit.x / TOGETHER), math.floor(hit.y / TOGETHER)
        for near in ((hit.part, column + dx, row + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)):
            if near in cells:
                group[first(n)] = first(cells[near])
        cells[hit.part, column, row] = n
    return [replace(hit, cause=first(n)) for n, hit in enumerate(ordered)]


def fold(
    rule: str,
    hits: Iterable[Hit],
    reading: Reading,
    message: Callable[[Hit], str],
    remedy: str,
    level: Level = "error",
) -> list[Finding]:
    """One finding for the hits of one part, cause and cut, with the line, place and size of the worst.

    `message` words the worst hit; the first of equals counts as the worst.
    """
    begins = [mark.before for mark in reading.marks]
    groups: list[list[Hit]] = []
    newest: dict[tuple[str | None, int, int], list[Hit]] = {}
    for hit in sorted(hits, key=lambda h: h.motion):
        key = (hit.part, hit.cause, bisect_right(begins, hit.motion))
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
