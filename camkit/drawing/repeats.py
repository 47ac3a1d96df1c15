"""Pieces without length, and pieces drawn twice: left out and counted."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from camkit.drawing.ends import Grid, crowded
from camkit.drawing.sketch import Piece
from camkit.errors import Finding
from camkit.geometry.many import SegmentTable, lengths, tabled
from camkit.geometry.tolerance import CHAIN

__all__ = ["without_repeats"]

# Shorter than a tenth of a micrometre a piece is no line: projected solids leave hundreds of them.
_NO_LENGTH = 1e-4


def without_repeats(pieces: Sequence[Piece], file: str) -> tuple[list[Piece], list[Finding]]:
    """The pieces but those without length and those that repeat an earlier one of their layer.

    A repeat lies within CHAIN of the other at its ends and its middle, walked either way. Pieces of
    different layers are never repeats: what a layer means is not known here.
    """
    if not pieces:
        return [], []
    table = tabled([piece.path for piece in pieces])
    sizes, middles = lengths(table), _middles(table, pieces)
    short: Counter[str] = Counter()
    double: Counter[str] = Counter()
    kept: list[Piece] = []
    grid = Grid((), CHAIN)
    crowd = crowded(middles, CHAIN).tolist()
    places, known = middles.tolist(), sizes.tolist()
    for number, piece in enumerate(pieces):
        size = known[number]
        if size <= _NO_LENGTH:
            short[piece.layer] += 1
            continue
        if crowd[number]:
            middle = (places[number][0], places[number][1])
            # Two neighbours in a fine row of chords are not one piece drawn twice.
            reach = min(CHAIN, size / 10)
            if any(
                distance <= reach
                and abs(known[other] - size) <= reach
                and _same_ends(pieces[other], piece, reach)
                for other, distance in grid.near(middle)
            ):
                double[piece.layer] += 1
                continue
            grid.add(number, middle)
        kept.append(piece)
    findings = []
    for counts, rule, said in (
        (double, "duplicate", "drawn twice or more, counted once"),
        (short, "no-length", "without length in plan, left out"),
    ):
        if counts:
            where = ", ".join(
                f"{count} on layer {layer or '(none)'}" for layer, count in sorted(counts.items())
            )
            findings.append(Finding("note", rule, f"pieces {said}: {where}", file=file))
    return kept, findings


def _middles(table: SegmentTable, pieces: Sequence[Piece]) -> NDArray[np.float64]:
    """A point of each piece that does not depend on where it begins or which way it runs."""
    halfway = (table.start + table.end) / 2
    rows = np.flatnonzero(table.bent)
    if len(rows):
        away = table.start[rows] - table.centre[rows]
        angle = np.arctan2(away[:, 1], away[:, 0]) + table.turned[rows] / 2
        halfway[rows] = table.centre[rows] + table.radius[rows, None] * np.column_stack(
            (np.cos(angle), np.sin(angle))
        )
    first = table.first[:-1]
    counts = np.diff(table.first)
    middle = first + counts // 2
    result: NDArray[np.float64] = np.where(
        (counts % 2 == 0)[:, None], table.start[np.minimum(middle, len(halfway) - 1)], halfway[middle]
    )
    closed = np.array([piece.path.closed for piece in pieces], dtype=np.bool_)
    if closed.any():
        means = np.add.reduceat(halfway, first) / counts[:, None]
        result[closed] = means[closed]
    return result


def _same_ends(a: Piece, b: Piece, reach: float) -> bool:
    if a.layer != b.layer or a.path.closed != b.path.closed:
        return False
    if a.path.closed:
        return len(a.path.segments) == len(b.path.segments)
    straight = math.dist(a.path.start, b.path.start) <= reach and math.dist(a.path.end, b.path.end) <= reach
    return straight or (
        math.dist(a.path.start, b.path.end) <= reach and math.dist(a.path.end, b.path.start) <= reach
    )
