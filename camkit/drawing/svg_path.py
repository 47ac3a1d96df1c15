"""Path data (SVG 1.1, section 8.3) read number by number and drawn with a pen in user units."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Protocol

from camkit.geometry.path import Point

__all__ = ["Pen", "draw_path"]

_COMMAND = re.compile(r"[MmZzLlHhVvCcSsQqTtAa]")
_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?")
_GAP = re.compile(r"\s*(?:,\s*)?")
_BLANK = re.compile(r"\s*")
_COUNTS = {"M": 2, "Z": 0, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}
_FLAGS = (3, 4)


class Pen(Protocol):
    """What receives a path: subpaths begin with `move` and end with `close` or `stop`."""

    def move(self, point: Point) -> None:
        """Begin a subpath."""

    def line(self, point: Point) -> None:
        """Draw straight."""

    def curve(self, *controls: Point) -> None:
        """Draw a Bézier curve, quadratic with two points or cubic with three."""

    def arc(self, rx: float, ry: float, turn_deg: float, large: bool, sweep: bool, end: Point) -> None:
        """Draw an elliptical arc."""

    def close(self) -> None:
        """Draw straight to where the subpath began, and end it."""

    def stop(self) -> None:
        """End the subpath where it is."""


def draw_path(data: str, pen: Pen) -> None:
    """Draw path data; raises ValueError that says at which character it cannot be read."""
    at = first = (0.0, 0.0)
    before: tuple[str, Point] = ("", at)  # the last curve's letter and control point, for S and T
    is_open = False
    for letter, given in _commands(data):
        kind = letter.upper()
        x0, y0 = at if letter.islower() else (0.0, 0.0)
        if kind == "Z":
            if is_open:
                pen.close()
            at, is_open, before = first, False, ("", first)
            continue
        if kind == "M":
            if is_open:
                pen.stop()
            at = first = (x0 + given[0], y0 + given[1])
            pen.move(at)
            is_open, before = True, ("", at)
            continue
        if not is_open:  # a subpath after Z begins where the last one did (SVG 1.1, 8.3.3)
            pen.move(first)
            is_open = True
        if kind == "A":
            end = (x0 + given[5], y0 + given[6])
            pen.arc(abs(given[0]), abs(given[1]), given[2], given[3] != 0, given[4] != 0, end)
            at, before = end, ("", end)
        elif kind in "HVL":
            across = given[0] + x0 if kind == "H" else at[0]
            along = given[0] + y0 if kind == "V" else at[1]
            at = (x0 + given[0], y0 + given[1]) if kind == "L" else (across, along)
            pen.line(at)
            before = ("", at)
        else:
            points = [(x0 + x, y0 + y) for x, y in zip(given[::2], given[1::2], strict=True)]
            if kind in "ST":  # the first control point mirrors the last one of a curve of the same family
                mirrored = before[1] if before[0] in ("CS" if kind == "S" else "QT") and before[0] else at
                points.insert(0, (2 * at[0] - mirrored[0], 2 * at[1] - mirrored[1]))
            pen.curve(*points)
            at, before = points[-1], (kind, points[-2])
    if is_open:
        pen.stop()


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    """Each command with its numbers; repeated ones come with their letter, those after M as L."""
    position, is_first = _skip(data, 0, _BLANK), True
    while position < len(data):
        letter = data[position]
        if not _COMMAND.match(letter):
            raise ValueError(f'path data holds "{letter}" at character {position + 1}')
        if is_first and letter not in "Mm":
            raise ValueError("path data must start with a moveto")
        is_first = False
        position = _skip(data, position + 1, _BLANK)
        count = _COUNTS[letter.upper()]
        if not count:
            yield letter, []
            continue
        while True:
            given, position = _numbers(data, position, letter, count)
            yield letter, given
            letter = {"M": "L", "m": "l"}.get(letter, letter)
            after = _skip(data, position, _GAP)
            if after >= len(data) or _COMMAND.match(data[after]):
                position = _skip(data, position, _BLANK)
                break
            position = after


def _skip(data: str, position: int, pattern: re.Pattern[str]) -> int:
    match = pattern.match(data, position)
    return match.end() if match else position


def _numbers(data: str, position: int, letter: str, count: int) -> tuple[list[float], int]:
    given: list[float] = []
    for index in range(count):
        if index:
            position = _skip(data, position, _GAP)
        if letter in "Aa" and index in _FLAGS:  # one digit, which the next number may follow at once
            if data[position : position + 1] not in ("0", "1"):
                raise ValueError(f'a flag of "{letter}" is not 0 or 1 at character {position + 1}')
            given.append(float(data[position]))
            position += 1
            continue
        match = _NUMBER.match(data, position)
        if match is None:
            if position >= len(data):
                raise ValueError(f'path data ends in the middle of "{letter}"')
            said = data[position]
            if _COMMAND.match(said):
                raise ValueError(f'"{letter}" has too few numbers at character {position + 1}')
            raise ValueError(f'path data holds "{said}" at character {position + 1}')
        given.append(float(match[0]))
        position = match.end()
    return given, position
