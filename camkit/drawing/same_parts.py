"""Several drawings of one part: which parts are alike, and how often each is drawn."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from camkit.drawing.congruent import Shape, congruent, is_copy, shapes_of
from camkit.errors import Finding
from camkit.geometry.many import areas, lengths, tabled
from camkit.geometry.measure import bounds
from camkit.geometry.tolerance import CHAIN
from camkit.part import Part

__all__ = ["same_parts", "told_same_parts"]

Floats = NDArray[np.float64]
# Parts of one size but of so many shapes are not compared any further: the note is not worth the time.
_MOST_SHAPES = 16
_TOLD_ONE_BY_ONE = 12
_NAMED_AT_MOST = 8


def same_parts(parts: Sequence[Part]) -> list[list[int]]:
    """Groups of two or more parts that lie on each other when moved, turned or, flat, turned over.

    Numbers in order. Outlines and features agree to within CHAIN. Parts are first sorted by size, so that
    only those of one area, one length of outline and equal features are laid on each other.
    """
    groups = []
    for alike in _of_one_size(parts):
        # Each with the ways in which it was met, so that plain copies of any of them are quickly told.
        met: list[tuple[list[Shape], list[int]]] = []
        for number, shape in zip(alike, shapes_of([parts[i] for i in alike]), strict=True):
            found = next((group for ways, group in met if any(is_copy(way, shape) for way in ways)), None)
            if found is None:
                ways, found = next(((w, g) for w, g in met if congruent(w[0], shape)), ([], None))
                if len(ways) < _MOST_SHAPES:
                    ways.append(shape)
            if found is not None:
                found.append(number)
            elif len(met) < _MOST_SHAPES:
                met.append(([shape], [number]))
        groups += [group for _, group in met if len(group) > 1]
    return sorted(groups)


def _of_one_size(parts: Sequence[Part]) -> list[list[int]]:
    """Parts by number whose outlines have one area and length, and features one count and size."""
    if len(parts) < 2:
        return []
    table = tabled([part.outline for part in parts])
    size, around = np.abs(areas(table)), lengths(table)
    by_features: dict[tuple[object, ...], list[int]] = {}
    for number, part in enumerate(parts):
        holes = sorted((round(h.diameter, 1), round(h.depth or 0.0, 1)) for h in part.holes)
        depths = sorted(round(pocket.depth, 1) for pocket in part.pockets)
        key = (len(part.openings), tuple(holes), tuple(depths))
        by_features.setdefault(key, []).append(number)
    found = []
    for numbers in by_features.values():
        for of_area in _runs(numbers, size, CHAIN * around):
            found += _runs(of_area, around, np.full(len(parts), 0.001 * around.max() + 8 * CHAIN))
    return [sorted(group) for group in found if len(group) > 1]


def _runs(numbers: Sequence[int], values: Floats, gap: Floats) -> list[list[int]]:
    """The numbers in the order of their values, parted where the next one is larger by more than `gap`."""
    order = sorted(numbers, key=lambda i: (values[i], i))
    runs: list[list[int]] = []
    for number in order:
        if runs and values[number] - values[runs[-1][-1]] <= gap[number]:
            runs[-1].append(number)
        else:
            runs.append([number])
    return runs


def told_same_parts(parts: Sequence[Part], file: str) -> list[Finding]:
    """One note for each part that is drawn several times."""
    groups = same_parts(parts)
    told = []
    for group in groups[:_TOLD_ONE_BY_ONE]:
        names = [parts[number].name for number in group]
        if len(names) > _NAMED_AT_MOST:
            names = [*names[: _NAMED_AT_MOST - 1], f"{len(names) - _NAMED_AT_MOST + 1} more"]
        first = parts[group[0]]
        x, y, *_ = bounds(first.outline)
        said = f"{', '.join(names[:-1])} and {names[-1]} are one part, drawn {len(group)} times"
        told.append(
            Finding(
                "note",
                "same-part",
                f"{said}; the first at ({x:.2f}, {y:.2f})",
                x_mm=x,
                y_mm=y,
                part=first.name,
                file=file,
                layer=first.source.layer or None,
                entity=first.source.entity or None,
                count=len(group),
            )
        )
    if len(groups) > _TOLD_ONE_BY_ONE:
        more = sum(len(group) for group in groups[_TOLD_ONE_BY_ONE:])
        said = (
            f"parts drawn several times in all: {len(groups)}; the {len(groups) - _TOLD_ONE_BY_ONE} not named"
        )
        told.append(Finding("note", "same-part", f"{said} are drawn {more} times together", file=file))
    return told
