"""A plan of moves put into the words of RS-274, in one of several dialects."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .witness_moves import Plan, Step


@dataclass(frozen=True)
class Dialect:
    """How a program is spelled."""

    inch: bool = False
    relative: bool = False
    radius_arcs: bool = False
    numbered: bool = False
    airy: bool = False  # lower case, with spaces inside the numbers
    formulas: bool = False  # parameters and expressions
    terse: bool = False  # words that say nothing new are left out
    percent: bool = False
    z_up: float = 0.0  # Z0 lies so far below the sheet's top


@dataclass(frozen=True)
class Program:
    """The text, and the lines (counted from 1) that carry each tag."""

    text: str
    lines: dict[str, tuple[int, ...]]

    def tagged(self, *starts: str) -> set[int]:
        """Lines whose tag begins with one of these."""
        found = {n for tag, lines in self.lines.items() if tag.startswith(starts) for n in lines}
        assert found, f"no line is tagged {starts}"
        return found


def spelled(
    plan: Plan,
    dialect: Dialect = Dialect(),
    *,
    start: Sequence[str] = ("T1 M6", "S18000 M3"),
    end: Sequence[str] = ("M5", "M2"),
) -> Program:
    scale = 25.4 if dialect.inch else 1.0
    places = 5 if dialect.inch else 4
    lines: list[str] = []
    tags: dict[str, list[int]] = {}

    def say(words: str, tag: str = "") -> None:
        if words[:1] not in "(%" and dialect.airy:
            words = "".join(c + " " if c.isdigit() else c for c in words.lower())
        if words[:1] not in "(%" and dialect.numbered:
            words = f"N{10 * len(lines) % 100000} {words}"
        lines.append(words)
        if tag:
            tags.setdefault(tag, []).append(len(lines))

    def number(value: float) -> str:
        return f"{value:.{places}f}".rstrip("0").rstrip(".") if value else "0"

    def grid(value: float) -> float:
        return round(value / scale, places) + 0.0

    def coordinate(value: float) -> str:
        return f"[#1+[{number(round(value - 1.5, places))}]]" if dialect.formulas else number(value)

    if dialect.percent:
        say("%")
    say("(PANEL, WRITTEN BY HAND)")
    if dialect.formulas:
        say("#1=[6/4] #2=[2*cos[60]]")
    say(f"{'G20' if dialect.inch else 'G21'} G17 G90 G94 G61")
    for line in start:
        say(line)
    now: tuple[float, ...] | None = None
    last_code, last_feed, relative = "", 0.0, False
    for step in plan.steps:
        if not step.code.startswith("G") or " " in step.code:
            say(step.code, step.tag)
            continue
        if dialect.relative and now is not None and not relative:
            say("G91")
            relative = True
        target = (grid(step.end[0]), grid(step.end[1]), grid(step.end[2] + dialect.z_up))
        words = [] if dialect.terse and step.code == last_code else [step.code]
        for letter, axis in (("X", 0), ("Y", 1), ("Z", 2)):
            same = now is not None and target[axis] == now[axis]
            if same and not (step.centre and axis < 2):
                continue
            value = target[axis] - now[axis] if relative and now is not None else target[axis]
            words.append(letter + coordinate(value))
        if len(words) == (0 if dialect.terse and step.code == last_code else 1):
            continue  # nothing moves
        if step.centre is not None:
            assert now is not None
            cx, cy = grid(step.centre[0]), grid(step.centre[1])
            if dialect.radius_arcs and target[:2] != now[:2]:
                words.append("R" + number(_signed_radius(step, now, target, (cx, cy))))
            else:
                words += ["I" + number(round(cx - now[0], places)), "J" + number(round(cy - now[1], places))]
        if step.code != "G0" and not (dialect.terse and step.feed == last_feed):
            words.append("F" + number(round(step.feed / scale, 3)))
            last_feed = step.feed
        last_code, now = step.code, target
        say(" ".join(words), step.tag)
    if relative:
        say("G90")
    for line in end:
        say(line)
    if dialect.percent:
        say("%")
    return Program("\n".join(lines) + "\n", {tag: tuple(at) for tag, at in tags.items()})


def _signed_radius(
    step: Step, now: Sequence[float], target: Sequence[float], centre: tuple[float, float]
) -> float:
    first = math.atan2(now[1] - centre[1], now[0] - centre[0])
    last = math.atan2(target[1] - centre[1], target[0] - centre[0])
    sweep = (first - last if step.code == "G2" else last - first) % (2 * math.pi)
    r = math.dist(centre, (now[0], now[1]))
    return -r if sweep > math.pi else r
