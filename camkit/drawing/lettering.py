"""Letters and logos drawn as closed outlines: many small loops of different shapes, near each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.candidate import SMALLEST_PART, Candidate
from camkit.drawing.ends import Groups
from camkit.errors import Finding
from camkit.geometry.many import areas, extents, lengths, tabled
from camkit.geometry.measure import Bounds

__all__ = ["Lettering", "left_out", "letters", "on_wood"]

# Letters stand no farther apart than they are large, words hardly farther (common practice, no source).
_REACH = 1.5
_FEWEST = 4
# Plugs and spacers are drawn in rows too, but are all alike.
_FEWEST_SHAPES = 3
_FEWEST_ODD = 2
_SAME = 0.01
# A rectangle fills its extent, a disc pi / 4 of it, to within this share.
_PLAIN = 0.03
# Larger letters could be parts: they are told when they stand in a row, and are read as parts.
_LARGEST_LETTER = 80.0
_EVEN = 0.05
_AS_PARTS = 'If they are parts, give their layer the meaning "profile"'


@dataclass(frozen=True, slots=True)
class Lettering:
    """Loops that are letters, by number, and what is said about them."""

    loops: frozenset[int] = frozenset()
    findings: tuple[Finding, ...] = ()


def letters(loops: Sequence[Candidate], below: float = SMALLEST_PART) -> list[list[int]]:
    """Groups of four or more loops that look like lettering, each in the order of the loops.

    The loops of a group are smaller than `below`, lie within one and a half times their size of each other,
    and have three or more shapes among them, two of which are neither rectangles nor discs.
    """
    small = [number for number, it in enumerate(loops) if it.size < below and not it.open]
    if len(small) < _FEWEST:
        return []
    boxes = shapely.box(*np.array([loops[number].bounds for number in small]).T)
    reach = np.array([_REACH * loops[number].size for number in small])
    groups = Groups(len(small))
    one, other = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=reach)
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        groups.join(a, b)
    together: dict[int, list[int]] = {}
    for index in range(len(small)):
        together.setdefault(groups.of(index), []).append(index)
    return [
        [small[index] for index in group]
        for group in together.values()
        if _are_letters([loops[small[index]] for index in group])
    ]


def _are_letters(loops: Sequence[Candidate]) -> bool:
    if len(loops) < _FEWEST:
        return False
    table = tabled([it.path for it in loops])
    size = np.abs(areas(table))
    shapes = np.column_stack((size, lengths(table)))
    x0, y0, x1, y1 = extents(table).T
    filled = size / ((x1 - x0) * (y1 - y0))
    odd = (filled < 1 - _PLAIN) & (np.abs(filled - np.pi / 4) > _PLAIN)
    return _shapes(shapes) >= _FEWEST_SHAPES and _shapes(shapes[odd]) >= _FEWEST_ODD


def _shapes(measures: NDArray[np.float64]) -> int:
    """How many different pairs of area and length there are, to within a hundredth; three is enough."""
    found: list[tuple[float, float]] = []
    for area, length in measures.tolist():
        if not any(abs(area / a - 1) <= _SAME and abs(length / b - 1) <= _SAME for a, b in found):
            found.append((area, length))
        if len(found) >= _FEWEST_SHAPES:
            break
    return len(found)


def left_out(loops: Sequence[Candidate], inside: Mapping[int, Sequence[int]], file: str) -> Lettering:
    """Lettering on bare sheet: groups of small outlines without a rule, with all that lies in them.

    `inside` gives the loops inside each outline. Where nothing but such outlines is drawn they are kept:
    then they are small parts. Letters as large as parts are kept, with a warning.
    """
    free = [number for number in inside if not loops[number].rule]
    groups = [[free[i] for i in group] for group in letters([loops[number] for number in free])]
    if sum(map(len, groups)) == len(inside):
        return Lettering()
    large = [number for number in free if loops[number].size >= SMALLEST_PART]
    findings = []
    for words in letters([loops[number] for number in large], _LARGEST_LETTER):
        line = _on_one_line([loops[large[i]] for i in words])
        if line:
            said = f"outlines in a row look like letters; they are read as parts: {len(line)}"
            remedy = 'If they are letters, give their layer the meaning "ignore"'
            told = line[0].finding("warning", "lettering-likely", said, remedy, file)
            findings.append(replace(told, count=len(line)))
    out: set[int] = set()
    for group in groups:
        whole = [*group, *(one for number in group for one in inside[number])]
        out |= set(whole)
        x0, y0, x1, y1 = _around([loops[number] for number in group])
        said = (
            f"small closed lines of different shapes close together, read as lettering and left out:"
            f" {len(whole)} within {x1 - x0:.0f} x {y1 - y0:.0f} mm"
        )
        told = loops[group[0]].finding("warning", "lettering", said, _AS_PARTS, file, (x0, y0))
        findings.append(replace(told, count=len(whole)))
    return Lettering(frozenset(out), tuple(findings))


def _on_one_line(loops: Sequence[Candidate]) -> list[Candidate]:
    """Those of one height on one base line, where there are four of three shapes; else none."""
    low, high = np.array([it.bounds for it in loops])[:, [1, 3]].T
    height = float(np.median(high - low))
    row = (np.abs(high - low - height) <= _EVEN * height) & (np.abs(low - np.median(low)) <= _EVEN * height)
    line = [it for it, is_in in zip(loops, row.tolist(), strict=True) if is_in]
    return line if _are_letters(line) else []


def on_wood(loops: Sequence[Candidate], inside: Sequence[int], file: str) -> list[Finding]:
    """Warnings about openings of one part that look like lettering; they stay openings."""
    free = [
        number
        for number in inside
        if not loops[number].rule and loops[number].size < SMALLEST_PART and not loops[number].is_small_round
    ]
    findings = []
    for group in letters([loops[number] for number in free]):
        x0, y0, x1, y1 = _around([loops[free[i]] for i in group])
        said = (
            f"small openings of different shapes close together look like lettering; they are cut through:"
            f" {len(group)} within {x1 - x0:.0f} x {y1 - y0:.0f} mm"
        )
        remedy = 'If they are letters, give their layer the meaning "ignore" or a depth'
        told = loops[free[group[0]]].finding("warning", "lettering-on-part", said, remedy, file, (x0, y0))
        findings.append(replace(told, count=len(group)))
    return findings


def _around(loops: Sequence[Candidate]) -> Bounds:
    boxes = np.array([it.bounds for it in loops])
    (x0, y0), (x1, y1) = boxes[:, :2].min(axis=0).tolist(), boxes[:, 2:].max(axis=0).tolist()
    return (x0, y0, x1, y1)
