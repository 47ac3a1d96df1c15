"""Groups of parts that are drawn again as a whole, shifted or mirrored: they may be views of one sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.congruent import Matrix, Motion, Shape, maps, shapes_of
from camkit.drawing.ends import Grid
from camkit.geometry.many import areas, lengths, tabled
from camkit.geometry.tolerance import CHAIN
from camkit.part import Part

__all__ = ["Repeat", "View", "apart", "repeats"]

Floats = NDArray[np.float64]
Kind = Literal["shifted", "mirrored"]
# The rarest part tells how a view may be moved; of a part drawn more often it is not worth trying.
_MOST_ALIKE = 24
_SHIFT: Matrix = ((1.0, 0.0), (0.0, 1.0))
_MIRRORS: tuple[Matrix, ...] = (((-1.0, 0.0), (0.0, 1.0)), ((1.0, 0.0), (0.0, -1.0)))


@dataclass(frozen=True, slots=True)
class View:
    """The parts of a view by number, in the order of the first view's, and how it came from that."""

    parts: tuple[int, ...]
    kind: Kind
    motion: Motion


@dataclass(frozen=True, slots=True)
class Repeat:
    """Views that show the same outlines; `different` counts the different parts in each."""

    views: tuple[View, ...]
    different: int


def repeats(parts: Sequence[Part]) -> Repeat | None:
    """The views into which all parts fall, two or more; None when they do not.

    Only outlines count, and each view lies apart from the others.
    """
    if len(parts) < 2:
        return None
    kinds = _kinds(parts)
    counts = Counter(kinds)
    if min(counts.values()) < 2 or min(counts.values()) > _MOST_ALIKE:
        return None
    rarest = min(counts, key=lambda kind: (counts[kind], kind))
    alike = [number for number, kind in enumerate(kinds) if kind == rarest]
    places = _Places(shapes_of(parts), kinds)
    fewest = len(parts) // len(alike)
    tried = ((number, matrix) for number in alike[1:] for matrix in (_SHIFT, *_MIRRORS))
    found = [places.view(alike[0], number, matrix, fewest) for number, matrix in tried]
    pairs = [pair for pair in found if pair is not None]
    for first, other in sorted(pairs, key=lambda pair: (pair[1].kind != "shifted", pair[1].parts)):
        views = _all_views(first, other, pairs, len(parts))
        if views is not None and all(places.agree(views[0], view) for view in views[1:]):
            return Repeat(views, len({kinds[number] for number in views[0].parts}))
    return None


def _all_views(
    first: View, other: View, pairs: Sequence[tuple[View, View]], count: int
) -> tuple[View, ...] | None:
    """The first view, the other and as many more as it takes to hold all parts."""
    views = [first, other]
    taken = {*first.parts, *other.parts}
    for begin, more in pairs:
        if len(taken) == count:
            break
        place = {number: at for at, number in enumerate(begin.parts)}
        if set(first.parts) <= place.keys():
            there = tuple(more.parts[place[number]] for number in first.parts)
            if not taken & set(there):
                views.append(View(there, more.kind, more.motion))
                taken |= set(there)
    return tuple(views) if len(taken) == count else None


def _kinds(parts: Sequence[Part]) -> list[int]:
    """A number for each part, equal for outlines of one area and one length."""
    table = tabled([part.outline for part in parts])
    around = lengths(table)
    measures = np.column_stack((np.abs(areas(table)) / around, around))
    kinds: list[int] = []
    grid = Grid((), 4 * CHAIN)
    for number, (x, y) in enumerate(measures.tolist()):
        near = sorted((away, other) for other, away in grid.near((x, y)))
        if near and near[0][0] <= 4 * CHAIN:
            kinds.append(kinds[near[0][1]])
            continue
        grid.add(number, (x, y))
        kinds.append(number)
    return kinds


class _Places:
    """Where parts lie, for finding those that a motion lays others on."""

    def __init__(self, shapes: Sequence[Shape], kinds: Sequence[int]) -> None:
        self._shapes = shapes
        self._kinds = np.array(kinds)
        self._boxes = np.array([shape.box for shape in shapes])
        self._corners = shapely.STRtree(shapely.points(self._boxes[:, :2]))

    def view(self, first: int, other: int, matrix: Matrix, fewest: int) -> tuple[View, View] | None:
        """Two views, one with `first` in it; the motion that lays that on `other` makes the second of it.

        None where fewer than `fewest` parts are moved onto others, or where the views are not apart.
        """
        box = _moved(self._boxes[first : first + 1], Motion(matrix))[0]
        shift = (self._boxes[other] - box).reshape(2, 2).mean(axis=0)
        motion = Motion(matrix, (float(shift[0]), float(shift[1])))
        image = self._image(motion)
        if image.get(first) != other or len(image) < fewest:
            return None
        axis = 0 if matrix[0][0] < 0 else 1
        if matrix != _SHIFT and abs(motion.shift[1 - axis]) <= CHAIN:
            # Mirrored on the spot, either view is moved onto the other: keep the one with the first part.
            middle = self._boxes[:, axis] + self._boxes[:, axis + 2] < motion.shift[axis]
            image = {a: b for a, b in image.items() if middle[a] == middle[first]}
        else:
            # In a row of three or more, the one that nothing is moved onto.
            onto = set(image.values())
            image = {a: b for a, b in image.items() if a not in onto}
        if first not in image:
            return None
        here, there = tuple(image), tuple(image.values())
        if not apart(self._around(here), self._around(there)):
            return None
        return View(here, "shifted", Motion(_SHIFT)), View(
            there, "shifted" if matrix == _SHIFT else "mirrored", motion
        )

    def _image(self, motion: Motion) -> dict[int, int]:
        """Which parts lie, by kind and extent, where others are moved to."""
        boxes = _moved(self._boxes, motion)
        number, there = self._corners.query(
            shapely.points(boxes[:, :2]), predicate="dwithin", distance=2 * CHAIN
        )
        near = np.abs(boxes[number] - self._boxes[there]).max(axis=1) <= 2 * CHAIN
        same = near & (self._kinds[number] == self._kinds[there]) & (number != there)
        return dict(sorted(zip(number[same].tolist(), there[same].tolist(), strict=True)))

    def agree(self, first: View, other: View) -> bool:
        """Whether the outlines of the other view are those of the first to within CHAIN."""
        pairs = zip(first.parts, other.parts, strict=True)
        return all(maps(self._shapes[a], self._shapes[b], other.motion, only="outline") for a, b in pairs)

    def _around(self, numbers: Sequence[int]) -> Floats:
        boxes = self._boxes[list(numbers)]
        return np.concatenate((boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)))


def _moved(boxes: Floats, motion: Motion) -> Floats:
    one, other = motion.applied(boxes[:, :2]), motion.applied(boxes[:, 2:])
    return np.hstack((np.minimum(one, other), np.maximum(one, other)))


def apart(one: Floats, other: Floats) -> bool:
    """Whether two extents do not overlap."""
    return bool((one[:2] >= other[2:] - CHAIN).any() or (other[:2] >= one[2:] - CHAIN).any())
