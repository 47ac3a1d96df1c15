"""Letters and logos drawn as closed outlines: many small loops of different shapes, near each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from camkit.drawing.candidate import SMALLEST_PART, Candidate
from camkit.drawing.ends import Groups
from camkit.errors import Finding
from camkit.geometry.many import areas, lengths, tabled
from camkit.geometry.measure import Bounds

__all__ = ["Lettering", "left_out", "letters", "on_wood"]

# Letters stand no farther apart than they are large, words hardly farther (common practice, no source).
_REACH = 1.5
_FEWEST = 4
# Plugs and spacers are drawn in rows too, but are all alike.
_FEWEST_SHAPES = 3
_SAME = 0.01
_AS_PARTS = 'If they are parts, give their layer the meaning "profile"'


@dataclass(frozen=True, slots=True)
class Lettering:
    """Loops that are letters, by number, and what is said about them."""

    loops: frozenset[int] = frozenset()
    findings: tuple[Finding, ...] = ()


def letters(loops: Sequence[Candidate]) -> list[list[int]]:
    """Groups of four or more loops that look like lettering, each in the order of the loops.

    The loops of a group are smaller than SMALLEST_PART, lie within one and a half times their size of each
    other, and have three or more shapes among them.
    """
    small = [number for number, it in enumerate(loops) if it.size < SMALLEST_PART and not it.open]
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
    table = tabled([loops[number].path for number in small])
    shapes = np.column_stack((np.abs(areas(table)), lengths(table)))
    return [
        [small[index] for index in group]
        for group in together.values()
        if len(group) >= _FEWEST and _shapes(shapes[group]) >= _FEWEST_SHAPES
    ]


def _shapes(measures: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> int:
    """How many different pairs of area and length there are, to within a hundredth."""
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
    then they are small parts.
    """
    free = [number for number in inside if not loops[number].rule]
    groups = [[free[i] for i in group] for group in letters([loops[number] for number in free])]
    if sum(map(len, groups)) == len(inside):
        return Lettering()
    findings = []
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
