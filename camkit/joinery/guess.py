"""For which sheet joints may have been drawn, where nobody says so. Only ever offered. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.geometry.corner import turn_between
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line
from camkit.joinery.features import oblongs, sharpened
from camkit.joinery.pairs import Pairs, pairs
from camkit.part import Part

__all__ = ["Guess", "guessed_thickness"]

# Widths within this are drawn for one sheet.
_BIN = 0.6
# Openings about as wide as long are for wedges and cables.
_ASPECT = 1.5
_FEWEST = 2
_SQUARE = math.radians(5)
# More widths than these are not tried, the commonest first.
_MOST_TRIED = 12


@dataclass(frozen=True, slots=True)
class Guess:
    """So many paired mortises and slots are about `width` wide: the sheet, and the play drawn with it."""

    width: float
    votes: int


def guessed_thickness(parts: Sequence[Part]) -> Guess | None:
    """The width that most mortises and slots with mates share; None where fewer than two have mates.

    What it finds is the thickness plus the clearance that was drawn: 22.0 where 21 was meant.
    """
    best: Guess | None = None
    for width in _common(sorted(width for part in parts for width in _widths(part))):
        votes = _votes(pairs(parts, [width] * len(parts)), width)
        if votes and len(votes) >= _FEWEST and (best is None or len(votes) > best.votes):
            best = Guess(votes[len(votes) // 2], len(votes))
    return best


def _votes(found: Pairs, width: float) -> list[float]:
    """Widths of the mortises and slots that have mates and lie in the bin about `width`, sorted."""
    shapes = {
        shape
        for pair in found.pairs
        if pair.kind in ("mortise and tenon", "cross-lap")
        for shape in (*pair.enters, *pair.takes)
        if shape.kind in ("mortise", "slot")
    }
    return sorted(
        shape.width
        for shape in shapes
        if shape.length >= _ASPECT * shape.width and abs(shape.width - width) <= _BIN / 2
    )


def _common(widths: Sequence[float]) -> list[float]:
    """The middle of each heap of widths, the largest heaps first."""
    heaps: list[list[float]] = []
    for width in widths:
        if heaps and width - heaps[-1][0] <= _BIN:
            heaps[-1].append(width)
        else:
            heaps.append([width])
    heaps = [heap for heap in heaps if len(heap) >= _FEWEST]
    heaps.sort(key=lambda heap: -len(heap))
    return [heap[len(heap) // 2] for heap in heaps[:_MOST_TRIED]]


def _widths(part: Part) -> Iterator[float]:
    """Widths of oblong openings and of the square bottoms of notches."""
    yield from (one.width for one in oblongs(0, part) if one.length >= _ASPECT * one.width)
    walls = sharpened(part).outline.segments
    for k, wall in enumerate(walls):
        before, after = walls[k - 1], walls[(k + 1) % len(walls)]
        turns = (turn_between(before, wall), turn_between(wall, after))
        if isinstance(wall, Line) and all(abs(turn + math.pi / 2) <= _SQUARE for turn in turns):
            yield segment_length(wall)
