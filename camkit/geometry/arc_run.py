"""Which runs of vertices in a row of short chords lie on one arc. Lengths in mm.

A run is found greedily, as long as it stays near one arc, and then has to show that it was an arc: a curve
that bends ever more (an ellipse, a spline) also stays near an arc for a while, and is no arc.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.arc import circle_through
from camkit.geometry.path import Point
from camkit.geometry.tolerance import ARC_AGAIN

__all__ = ["FEWEST", "LARGEST_RADIUS", "Run", "full_circle", "runs_in_ring", "runs_in_row"]

# Two chords say nothing: a circle goes through any three points.
FEWEST = 3
# A bow this high can be told from a straight line that wavers by ARC_AGAIN.
_LEAST_BOW = 3 * ARC_AGAIN
# No router turns a smaller arc, no furniture needs a larger one (common practice, no source).
_SMALLEST_RADIUS = 0.1
LARGEST_RADIUS = 5000.0
# Nearer to a full turn, in radians, the two ends no longer tell the centre's direction.
_MOST_TURN = 6.2
# Where the next vertex stands off by this much, the arc has ended and was not merely left by degrees.
_LEFT = 6 * ARC_AGAIN
# A run that is part of a smooth row needs this many chords; more where its arc is not exact.
_SOME = 5
_MANY = 10
# Share by which the curvature may change along such a run as far as its strays can tell.
_STEADY = 0.25
_EXACT = 0.002
# Rounding strays as much like a smooth wave once in a thousand runs; what does more is a changing curvature.
_CHANCE = 0.001
# Ends that stray over three times as much as the middle, and this much besides, belong to something else.
_SPILL = 1e-4

Points = NDArray[np.complex128]
Sizes = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Run:
    """Vertices `first` to `last` lie on one arc."""

    first: int
    last: int
    centre: Point
    clockwise: bool


@dataclass(frozen=True, slots=True)
class _Fit:
    """The arc through both ends of a run that strays least from its vertices."""

    centre: complex
    radius: float
    turned: float
    near: bool


def runs_in_row(points: Points) -> list[Run]:
    """The runs in an open row of vertices (x + y j), in order; they share at most their end vertices."""
    return _Row(points).runs(0, len(points) - 1)


def runs_in_ring(points: Points) -> list[Run]:
    """The runs in a smooth ring of vertices, of which the first is not repeated, in order.

    They begin below the number of vertices and may end beyond it, past the ring's start.
    """
    count = len(points)
    seam = next(_Row(np.concatenate((points, points))).found(0, 2 * count - 1, count, ()), None)
    if seam is None:
        return []
    # The end of a run is the same vertex wherever the ring begins; a vertex picked by number is not.
    turned = np.roll(points, -seam.last)
    runs = _Row(np.append(turned, turned[:1])).runs(0, count)
    moved = []
    for run in runs:
        shift = seam.last % count - (count if run.first + seam.last % count >= count else 0)
        moved.append(Run(run.first + shift, run.last + shift, run.centre, run.clockwise))
    return sorted(moved, key=lambda run: run.first)


def full_circle(points: Points) -> tuple[Point, float] | None:
    """Centre and radius of the circle that a ring of vertices runs once around; None when there is none."""
    found = circle_through(points)
    if found is None or not _SMALLEST_RADIUS <= found[1] <= LARGEST_RADIUS:
        return None
    centre, radius = found
    away = np.append(points, points[:1]) - centre
    if not _near(away, np.abs(np.diff(away)), radius):
        return None
    turns = np.angle(away[1:] / away[:-1])
    around = abs(abs(float(turns.sum())) - 2 * math.pi) < 1e-6
    return ((centre.real, centre.imag), radius) if around else None


def _near(away: Points, chords: Sizes, radius: float) -> bool:
    """Whether vertices (from the centre) and the chords between them keep within ARC_AGAIN of the circle."""
    stray = np.abs(np.abs(away) - radius)
    if np.maximum.reduce(stray) > ARC_AGAIN:
        return False
    half = np.minimum(chords / 2, radius)
    sagitta = radius - np.sqrt(radius * radius - half * half)
    return bool(np.maximum.reduce(np.maximum(stray[1:], stray[:-1]) + sagitta) <= ARC_AGAIN)


def _bow(radius: float, turned: float) -> float:
    return radius * (1 - math.cos(min(abs(turned), math.pi) / 2))


class _Row:
    """An open row of vertices, the lengths of the chords between them, and the way to each vertex."""

    def __init__(self, points: Points) -> None:
        self.points = points
        self.chords = np.abs(np.diff(points))
        self.walked = [0.0, *np.cumsum(self.chords).tolist()]

    def runs(self, begin: int, end: int) -> list[Run]:
        """Runs between two vertices where the curve ends."""
        if end - begin < FEWEST:
            return []
        whole = self._run(begin, end) if self._holds(begin, end) else None
        if whole is not None:
            return [whole]
        return list(self.found(begin, end, end, (begin, end))) if end - begin >= _SOME else []

    def found(self, begin: int, end: int, stop: int, ends: tuple[int, ...]) -> Iterator[Run]:
        """Runs between two vertices that begin before `stop`; `ends` are vertices where the curve ends."""
        begins = self._begins()
        low, at, guess = begin, begin, 0
        while at + _SOME <= end and at < stop:
            if not begins[at]:
                at += 1
                continue
            last = self._grown(at, end, guess)
            guess = last - at
            run = self._shown(*self._trimmed(at, last), ends)
            first = self._grown(last, low, guess) if run is not None and run.first > low else at
            if first < at:
                run = self._shown(*self._trimmed(first, last), ends)
            if run is None:
                at = last
                continue
            yield run
            low = at = run.last

    def _fit(self, first: int, last: int) -> _Fit | None:
        points = self.points[first : last + 1]
        chord = complex(points[-1] - points[0])
        size = abs(chord)
        if size < 1e-9:
            return None
        # In a frame whose axis is the chord, every circle through both ends has its centre at size / 2 + q j.
        along = (points - points[0]) * (chord.conjugate() / size)
        across = along.imag
        height = float(np.maximum.reduce(np.abs(across)))
        if height < 1e-9:
            return None
        # On such a circle power = 2 q across. A flat arc's strays are in `across`, a deep one's in `power`.
        power = along.real * (along.real - size) + across * across
        both = float(across @ power)
        if height > size / 4:
            q = both / (2 * float(across @ across))
            side = 1.0 if float(np.add.reduce(across)) > 0 else -1.0
        elif abs(both) > 1e-12 * float(power @ power):
            q = float(power @ power) / (2 * both)
            side = 1.0 if q < 0 else -1.0
        else:
            return None
        middle = complex(size / 2, q)
        radius = abs(middle)
        sweep = 2 * math.atan2(size / 2, -q * side)
        # Vertices that go back and forth have longer chords than the arc.
        walked = self.walked[last] - self.walked[first]
        forward = abs(walked - radius * sweep) <= 0.05 * walked and walked <= _MOST_TURN * radius
        near = forward and _near(along - middle, self.chords[first:last], radius)
        return _Fit(complex(points[0]) + middle * chord / size, radius, -side * sweep, near)

    def _holds(self, first: int, last: int) -> bool:
        """Whether one arc or a straight line goes along these vertices."""
        fit = self._fit(first, last)
        if fit is None:
            return bool(abs(self.points[last] - self.points[first]) > ARC_AGAIN)
        return fit.near

    def _begins(self) -> list[bool]:
        """At which vertices begin chords enough for a run that `_holds`; for all of them in one go."""
        window = np.lib.stride_tricks.sliding_window_view
        points = window(self.points, _SOME + 1)
        start, chord = points[:, :1], points[:, -1:] - points[:, :1]
        size = np.maximum(np.abs(chord), 1e-9)
        along = (points - start) * (chord.conj() / size)
        across = along.imag
        power = along.real * (along.real - size) + across * across
        both = (across * power).sum(axis=1, keepdims=True)
        deep = np.abs(across).max(axis=1, keepdims=True) > size / 4
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            square = np.where(
                deep, (across**2).sum(axis=1, keepdims=True), (power**2).sum(axis=1, keepdims=True)
            )
            q = np.where(deep, both / square, square / both) / 2
            middle = size / 2 + 1j * q
            radius = np.abs(middle)
            stray = np.abs(np.abs(along - middle) - radius)
            half = np.minimum(window(self.chords, _SOME) / 2, radius)
            off = np.maximum(stray[:, 1:], stray[:, :-1]) + radius - np.sqrt(radius**2 - half**2)
            held: list[bool] = (~(off.max(axis=1) > 1.001 * ARC_AGAIN)).tolist()
        return held

    def _grown(self, start: int, limit: int, guess: int) -> int:
        """The farthest vertex towards `limit` to which the run from `start` holds; `guess` is in chords."""
        way, most = (1, limit - start) if limit > start else (-1, start - limit)

        def holds(count: int) -> bool:
            end = start + way * count
            return self._holds(min(start, end), max(start, end))

        good, further, step = _SOME, min(most, max(guess, 2 * _SOME)), _SOME
        while holds(further):
            if further == most:
                return limit
            good, further, step = further, min(most, further + max(step, further // 4)), 2 * step
        while further - good > 1:
            middle = (good + further) // 2
            if holds(middle):
                good = middle
            else:
                further = middle
        return start + way * good

    def _trimmed(self, first: int, last: int) -> tuple[int, int]:
        """The run without the ends that its middle does not account for."""
        inset = (last - first) // 5
        core = self.points[first + inset : last - inset + 1]
        found = circle_through(core)
        if inset == 0 or found is None:
            return first, last
        stray = np.abs(np.abs(self.points[first : last + 1] - found[0]) - found[1])
        noise = stray[inset : len(stray) - inset].max()
        wrong = np.flatnonzero(stray > 3 * noise + _SPILL)
        before, after = wrong[wrong < inset], wrong[wrong >= inset]
        return (
            first + int(before[-1]) + 1 if len(before) else first,
            first + int(after[0]) - 1 if len(after) else last,
        )

    def _run(self, first: int, last: int) -> Run | None:
        fit = self._fit(first, last) if last - first >= FEWEST else None
        if fit is None or not fit.near or _bow(fit.radius, fit.turned) < _LEAST_BOW:
            return None
        if not _SMALLEST_RADIUS <= fit.radius <= LARGEST_RADIUS:
            return None
        return Run(first, last, (fit.centre.real, fit.centre.imag), fit.turned < 0)

    def _shown(self, first: int, last: int, ends: tuple[int, ...]) -> Run | None:
        """The run if it was an arc: it ends sharply at both ends, or its curvature is seen not to change."""
        run = self._run(first, last)
        if run is None:
            return None
        points = self.points[first : last + 1]
        found = circle_through(points)
        if found is None:
            return None
        centre, radius = found[0], found[1]

        def sharp(end: int, beyond: int) -> bool:
            return end in ends or abs(abs(self.points[beyond % len(self.points)] - centre) - radius) > _LEFT

        if sharp(first, first - 1) and sharp(last, last + 1):
            return run
        away = points - centre
        turns = np.concatenate(([0.0], np.cumsum(np.angle(away[1:] / away[:-1]))))
        stray = np.abs(away) - radius
        # Where the curvature changes by a share p along an arc of bow b, it strays by p b / 24.
        change = 24 * float(np.abs(stray).max()) / _bow(radius, float(turns[-1]))
        count = last - first
        if change <= _EXACT:
            return run
        steady = count >= _MANY and change <= _STEADY and _wave(turns, stray) > _CHANCE
        return run if steady else None


def _wave(turns: Sizes, stray: Sizes) -> float:
    """How likely strays without any order are as near to a cubic and a quartic wave as these.

    The share that two of n - 3 free directions explain follows the beta distribution (1, (n - 5) / 2).
    """
    place = 2 * turns / turns[-1] - 1
    basis = np.linalg.qr(np.vander(place, 5, increasing=True))[0]
    rest = stray - basis[:, :3] @ (basis[:, :3].T @ stray)
    total = float(rest @ rest)
    if total == 0:
        return 1.0
    share = min(1.0, float(((basis[:, 3:].T @ rest) ** 2).sum()) / total)
    return math.pow(1 - share, (len(stray) - 5) / 2)
