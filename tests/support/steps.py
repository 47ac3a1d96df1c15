"""What a program's text makes the machine do, step by step, told without any of camkit.

Words as in NISTIR 6556: G0 to G3 (centre format), G20 and G21, X Y Z I J F S T M, the cycles G81 and G83 with
G98. Lengths come in mm, feeds in mm/min. A word that is not known stops the reading.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

__all__ = ["Mark", "Step", "levels", "steps"]

_WORD = re.compile(r"([A-Z])(-?\d*\.?\d+)")
_MARK = re.compile(r"\(CUT (\d+) ([A-Z-]+) (.*) (\d+)\)")
_NAMED = re.compile(r"\(CUTTER (\d+) ")
_SILENT = {4, 17, 20, 21, 40, 49, 54, 61, 64, 80, 81, 83, 90, 94, 98}
_CHORD = 0.0005


@dataclass(frozen=True, slots=True)
class Mark:
    """The comment before a cut: "(CUT 12 PROFILE SHELF 2)"."""

    number: int
    kind: str
    part: str
    copy: int


@dataclass(frozen=True, slots=True)
class Step:
    """One move: `word` 0 to 3, its `points` (n, 3) chord by chord, the spindle's turning, the feed."""

    word: int
    points: np.ndarray
    tool: int
    feed: float
    turning: bool
    line: int
    mark: Mark | None
    radius: float = 0.0  # of its arc

    @property
    def start(self) -> np.ndarray:
        """Where it begins."""
        return self.points[0]

    @property
    def end(self) -> np.ndarray:
        """Where it ends."""
        return self.points[-1]

    @property
    def run(self) -> float:
        """Length seen from above."""
        return float(np.hypot(*np.diff(self.points[:, :2], axis=0).T).sum())

    @property
    def drop(self) -> float:
        """How far it goes down."""
        return float(self.points[0, 2] - self.points[-1, 2])


@dataclass
class _State:
    """What holds until another word says otherwise."""

    place: dict[str, float]
    word: int = 0
    tool: int = 0
    feed: float = 0.0
    speed: float = 0.0
    turning: bool = False
    unit: float = 1.0
    mark: Mark | None = None


def steps(text: str, zero: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> list[Step]:
    """Every move once all three axes are known; `zero` is where the program's origin lies on the sheet."""
    state, found = _State({}), []
    for line, row in enumerate(text.splitlines(), 1):
        if said := _MARK.match(row):
            state.mark = Mark(int(said[1]), said[2], said[3], int(said[4]))
        if named := _NAMED.match(row):
            state.tool = int(named[1])
        words = [(a, float(b)) for a, b in _WORD.findall(re.sub(r"\(.*?\)", "", row).replace(" ", ""))]
        for points, radius in _moves(words, state, line):
            moved = points + np.array(zero)
            word = state.word
            found.append(Step(word, moved, state.tool, state.feed, state.turning, line, state.mark, radius))
    return found


def _moves(words: list[tuple[str, float]], state: _State, line: int) -> Iterator[tuple[np.ndarray, float]]:
    """Takes a line's words into the state and gives the moves that it makes."""
    gs = [value for letter, value in words if letter == "G"]
    given = {letter: value for letter, value in words if letter not in "GM"}
    if unknown := set(given) - set("XYZIJRQFSTPN"):
        raise ValueError(f"line {line}: {unknown} is not known")
    state.unit = 25.4 if 20 in gs else 1.0 if 21 in gs else state.unit
    for value in gs:
        if value in (0, 1, 2, 3):
            state.word = int(value)
        elif value not in _SILENT:
            raise ValueError(f"line {line}: G{value} is not known")
    state.feed = given["F"] * state.unit if "F" in given else state.feed
    state.tool = int(given.get("T", state.tool))
    for letter, value in words:
        if letter == "M" and value in (3, 5, 6, 30, 2):
            state.turning = value == 3
    if not given.keys() & set("XYZ"):
        return
    before = dict(state.place)
    state.place |= {axis: given[axis] * state.unit for axis in "XYZ" if axis in given}
    if len(state.place) < 3:
        return
    start = np.array([before.get(axis, state.place[axis]) for axis in "XYZ"])
    end = np.array([state.place[axis] for axis in "XYZ"])
    if 81 in gs or 83 in gs:
        yield from _cycle(start, end, given["R"] * state.unit, given.get("Q", math.inf) * state.unit, state)
    elif state.word < 2:
        yield np.stack((start, end)), 0.0
    else:
        i, j = given.get("I", 0.0) * state.unit, given.get("J", 0.0) * state.unit
        yield _arc(start, end, i, j, clockwise=state.word == 2), math.hypot(i, j)


def _cycle(
    start: np.ndarray, end: np.ndarray, retract: float, peck: float, state: _State
) -> Iterator[tuple[np.ndarray, float]]:
    """G81 and G83 after NISTIR 6556 3.5.16; the way back down to the last depth is left out."""
    x, y, bottom = end

    def go(word: int, a: float, b: float) -> tuple[np.ndarray, float]:
        state.word = word
        return np.array([[x, y, a], [x, y, b]]), 0.0

    state.word = 0
    yield np.array([start, (x, y, start[2])]), 0.0
    yield go(0, start[2], retract)
    depth = retract
    while depth > bottom + 1e-9:
        deeper = max(bottom, depth - peck)
        yield go(1, depth, deeper)
        yield go(0, deeper, retract)
        depth = deeper
    yield go(0, retract, max(start[2], retract))
    state.place["Z"] = max(start[2], retract)


def _arc(start: np.ndarray, end: np.ndarray, i: float, j: float, *, clockwise: bool) -> np.ndarray:
    cx, cy, radius = start[0] + i, start[1] + j, math.hypot(i, j)
    if abs(math.hypot(end[0] - cx, end[1] - cy) - radius) > 0.002:
        raise ValueError(f"the arc from {start} to {end} has two radii")
    first, last = math.atan2(-j, -i), math.atan2(end[1] - cy, end[0] - cx)
    sweep = (first - last if clockwise else last - first) % (2 * math.pi)
    sweep = sweep if sweep > 1e-9 else 2 * math.pi
    count = max(2, math.ceil(sweep / (2 * math.acos(max(0.0, 1 - _CHORD / max(radius, _CHORD))))))
    share = np.linspace(0, 1, count + 1)
    angle = first + (-sweep if clockwise else sweep) * share
    points = np.stack(
        (cx + radius * np.cos(angle), cy + radius * np.sin(angle), start[2] + (end[2] - start[2]) * share), 1
    )
    points[0], points[-1] = start, end
    return points


def levels(run: list[Step], least: float) -> list[float]:
    """Heights at which at least `least` mm of the way is fed level, from the top down."""
    found: dict[float, float] = {}
    for step in run:
        if step.word and abs(step.drop) < 1e-6 and step.run:
            height = round(float(step.end[2]), 3)
            found[height] = found.get(height, 0.0) + step.run
    return sorted((z for z, length in found.items() if length >= least), reverse=True)


def of_kind(run: list[Step], kind: str) -> Mapping[Mark, list[Step]]:
    """The steps of each cut of one kind, by its mark."""
    found: dict[Mark, list[Step]] = {}
    for step in run:
        if step.mark is not None and step.mark.kind == kind:
            found.setdefault(step.mark, []).append(step)
    return found
