"""Finger edges: rows of steps as deep as the sheet is thick, and which two of them interlock (mm)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.geometry.corner import arriving, turn_between
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path, Point

__all__ = ["FingerEdge", "finger_edges", "interlock", "is_deep_enough", "play_between"]

_SQUARE = math.radians(5)
# Two steps are one finger in one gap: a joint only where the ends of both edges meet too.
_FEWEST, _SURE = 2, 3
# Steps may be deeper or shallower than the sheet by this (common practice, no source).
_DEPTH = 0.6
# Fingers and their gaps differ by the play, both sides together.
_PLAY = 0.7


@dataclass(frozen=True, slots=True)
class FingerEdge:
    """A row of steps along `along`, which is the way the outline runs with the wood on its left.

    `risers` are their places along it, from 0; `out` says whether the first land after the first riser
    stands out. `walls` are the indices of the lands between risers, in `squared` the outline; `ends` are the
    lengths of the lands before the first riser and after the last, `depth` is that of the steps.
    """

    part: int
    along: Point
    middle: Point
    risers: tuple[float, ...]
    out: bool
    walls: tuple[int, ...]
    ends: tuple[float, float] = (0.0, 0.0)
    depth: float = 0.0

    @property
    def length(self) -> float:
        """From the first step to the last."""
        return self.risers[-1]


def finger_edges(index: int, outline: Path, thickness: float) -> tuple[FingerEdge, ...]:
    """All rows of two or more steps in a squared outline; they may be rows of flush tenons too."""
    walls = outline.segments
    count = len(walls)
    steps = {k for k in range(count) if _is_riser(outline, k, thickness)}
    found = []
    for first in sorted(steps):
        if (first - 2) % count in steps and _next_is_back(outline, (first - 2) % count, first):
            continue
        run = [first]
        while (after := (run[-1] + 2) % count) in steps and after != first:
            if not _next_is_back(outline, run[-1], after):
                break
            run.append(after)
        if len(run) >= _FEWEST:
            found.append(_edge(index, outline, run))
    return tuple(found)


def _is_riser(outline: Path, k: int, thickness: float) -> bool:
    walls = outline.segments
    before, riser, after = walls[k - 1], walls[k], walls[(k + 1) % len(walls)]
    if not all(isinstance(wall, Line) for wall in (before, riser, after)):
        return False
    one, other = turn_between(before, riser), turn_between(riser, after)
    square = abs(abs(one) - math.pi / 2) <= _SQUARE and abs(one + other) <= 2 * _SQUARE
    return square and abs(segment_length(riser) - thickness) <= _DEPTH


def _next_is_back(outline: Path, riser: int, following: int) -> bool:
    """Whether two risers with one land between them step out and in again."""
    (ax, ay), (bx, by) = arriving(outline.segments[riser]), arriving(outline.segments[following])
    return ax * bx + ay * by < -0.99


def _edge(index: int, outline: Path, run: Sequence[int]) -> FingerEdge:
    walls = outline.segments
    count = len(walls)
    lands = tuple((k + 1) % count for k in run[:-1])
    ux, uy = arriving(walls[lands[0]])
    x0, y0 = walls[run[0]].start
    places = [(walls[k].start[0] - x0) * ux + (walls[k].start[1] - y0) * uy for k in run]
    # Wood lies on the left: stepping out turns right first, then left.
    out = turn_between(walls[run[0] - 1], walls[run[0]]) < 0
    (ax, ay), (bx, by) = walls[run[0]].start, walls[run[-1]].end
    depth = sum(segment_length(walls[k]) for k in run) / len(run)
    ends = (segment_length(walls[run[0] - 1]), segment_length(walls[(run[-1] + 1) % count]))
    return FingerEdge(index, (ux, uy), ((ax + bx) / 2, (ay + by) / 2), tuple(places), out, lands, ends, depth)


def is_deep_enough(edge: FingerEdge, thickness: float) -> bool:
    """Whether the steps are as deep as a mate of this thickness."""
    return abs(edge.depth - thickness) <= _DEPTH


def interlock(one: FingerEdge, other: FingerEdge) -> bool:
    """Whether the fingers of one fill the gaps of the other, whichever way round they lie."""
    return next(_fitting(one, other), None) is not None


def play_between(one: FingerEdge, other: FingerEdge) -> float:
    """How much longer gaps are than their fingers, on the average; raises ValueError without `interlock`."""
    plays = next(_fitting(one, other), None)
    if plays is None:
        raise ValueError("these two finger edges do not interlock")
    return sum(plays) / len(plays)


def _fitting(one: FingerEdge, other: FingerEdge) -> Iterator[list[float]]:
    """The plays of all fingers in their gaps for each way round in which all are in band."""
    if len(one.risers) != len(other.risers):
        return
    for gaps, out, ends in _readings(other):
        if out == one.out or (len(one.risers) < _SURE and not _ends_meet(one, ends)):
            continue
        plays = _plays(one, gaps)
        # Each finger is no longer than its gap, and by the play shorter at most.
        if all(-0.05 <= play <= _PLAY for play in plays):
            yield plays


def _ends_meet(one: FingerEdge, ends: tuple[float, float]) -> bool:
    return all(abs(mine - theirs) <= _PLAY for mine, theirs in zip(one.ends, ends, strict=True))


def _gaps(edge: FingerEdge) -> list[float]:
    return [b - a for a, b in zip(edge.risers, edge.risers[1:], strict=False)]


def _readings(edge: FingerEdge) -> Iterator[tuple[list[float], bool, tuple[float, float]]]:
    """Lengths of the lands, whether the first stands out, and both ends, read from either end."""
    gaps = _gaps(edge)
    yield gaps, edge.out, edge.ends
    yield gaps[::-1], edge.out if len(gaps) % 2 else not edge.out, edge.ends[::-1]


def _plays(one: FingerEdge, gaps: Sequence[float]) -> list[float]:
    """How much shorter each finger is than its gap."""
    return [
        theirs - mine if one.out == (k % 2 == 0) else mine - theirs
        for k, (mine, theirs) in enumerate(zip(_gaps(one), gaps, strict=True))
    ]
