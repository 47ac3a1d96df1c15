"""Letters and logos drawn as closed outlines: many small loops of different shapes, near each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from camkit.drawing.candidate import SMALLEST_PART, Candidate
from camkit.drawing.ends import Groups
from camkit.geometry.many import areas, lengths, tabled

__all__ = ["letters"]

# Letters stand no farther apart than they are large, words hardly farther (common practice, no source).
_REACH = 1.5
_FEWEST = 4
# Plugs and spacers are drawn in rows too, but are all alike.
_FEWEST_SHAPES = 3
_SAME = 0.01


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
