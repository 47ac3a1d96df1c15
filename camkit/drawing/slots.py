"""Widths that several openings share and that a sheet may have: hints at the thickness a drawing is for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.geometry.flatten import flattened
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path, Point, Segment, signed_area
from camkit.geometry.walls import walls_of
from camkit.part import Part

__all__ = ["LikelySlots", "likely_slots", "opening_width"]

# Plywood and boards as sold, mm, the inch sizes among them (common practice, no source).
_SHEETS = (3, 4, 5, 6, 6.5, 8, 9, 9.5, 10, 12, 12.7, 15, 16, 18, 19, 20, 21, 22, 24, 25, 27, 28, 30, 36, 40)
# A slot is drawn for the sheet as sold or as measured, with or without play: this much off, and more for
# thick ones (common practice, no source).
_NEAR, _NEAR_SHARE = 0.4, 0.03
# Widths that differ by less are one width: drawings round to hundredths.
_SAME = 0.05
_FEWEST = 2
# Two sides are parallel when they lean together by no more than this over their length.
_PARALLEL = 0.02
# Reliefs in the corners make a slot a little larger or smaller than width times length.
_LEAST_FILL, _MOST_FILL = 0.75, 1.3
# In the outline a slot's bottom is one wall with at most two reliefs, each drawn in a few pieces.
_BOTTOM = 9
_CHORDS = 0.05


@dataclass(frozen=True, slots=True)
class LikelySlots:
    """Slots of one width: how many there are, and the numbers (from 0) of the parts that have them."""

    width: float
    count: int
    parts: tuple[int, ...]


def likely_slots(parts: Sequence[Part]) -> tuple[LikelySlots, ...]:
    """Widths near a sheet's thickness that two slots or more share, the commonest first.

    Slots are straight openings and notches of the outline that are longer than wide. What counts is the
    distance of their long sides, so that reliefs in the corners do not widen them. Only a hint: a slot may be
    for a cable.
    """
    found = sorted((width, number) for number, part in enumerate(parts) for width in _widths(part))
    groups: list[list[tuple[float, int]]] = []
    for row in found:
        if groups and row[0] - groups[-1][0][0] <= _SAME:
            groups[-1].append(row)
        else:
            groups.append([row])
    likely = [
        LikelySlots(_middle(group), len(group), tuple(sorted({number for _, number in group})))
        for group in groups
        if len(group) >= _FEWEST
    ]
    return tuple(sorted(likely, key=lambda slots: (-slots.count, slots.width)))


def _middle(group: list[tuple[float, int]]) -> float:
    return group[len(group) // 2][0]


def _widths(part: Part) -> Iterator[float]:
    for opening in part.openings:
        width = opening_width(opening)
        if width is not None and _is_a_sheet(width):
            yield width
    yield from (width for width in _of_notches(part.outline) if _is_a_sheet(width))


def _is_a_sheet(width: float) -> bool:
    return any(abs(width - sheet) <= max(_NEAR, _NEAR_SHARE * sheet) for sheet in _SHEETS)


def opening_width(opening: Path) -> float | None:
    """The width of a straight opening; None for any other shape, and for one about as wide as long."""
    walls = walls_of(opening, hollow=True).segments
    lines = sorted((w for w in walls if isinstance(w, Line)), key=segment_length, reverse=True)[:2]
    if len(lines) < 2:
        return None
    width = _between(*lines)
    if width is None or min(map(segment_length, lines)) < width:
        return None
    (ax, ay), (bx, by) = lines[0].start, lines[0].end
    size = math.dist((ax, ay), (bx, by))
    along = flattened(opening, _CHORDS) @ ((bx - ax) / size, (by - ay) / size)
    fill = abs(signed_area(opening)) / (width * float(along.max() - along.min()))
    return width if _LEAST_FILL <= fill <= _MOST_FILL else None


def _between(one: Line, other: Line) -> float | None:
    """The distance of two parallel walls with nothing but air between; None when they do not face so.

    Material lies on the left of both.
    """
    (ax, ay), (bx, by) = one.start, one.end
    size = math.dist((ax, ay), (bx, by))
    ux, uy = (bx - ax) / size, (by - ay) / size

    def seen(point: Point) -> Point:
        dx, dy = point[0] - ax, point[1] - ay
        return (dx * ux + dy * uy, dx * uy - dy * ux)  # along the wall, and away from it into the air

    (s0, t0), (s1, t1) = seen(other.start), seen(other.end)
    if s1 >= s0 or abs(t0 - t1) > _PARALLEL or min(t0, t1) <= 0:
        return None
    shared = min(size, s0) - max(0.0, s1)
    return (t0 + t1) / 2 if shared >= (t0 + t1) / 2 else None


def _of_notches(outline: Path) -> Iterator[float]:
    """Widths of square-bottomed notches that are deeper than wide, reliefs at the bottom or none."""
    walls = walls_of(outline, hollow=False).segments
    count = len(walls)
    first = 0
    while first < count:
        wall, step = walls[first], 1
        if isinstance(wall, Line):
            found = _notch_from(wall, [walls[(first + k) % count] for k in range(1, min(_BOTTOM, count))])
            if found is not None:
                width, step = found
                yield width
        first += step


def _notch_from(wall: Line, following: Sequence[Segment]) -> tuple[float, int] | None:
    """The width of the notch that goes down this wall, and how many segments later it comes up again."""
    bottom = 0.0
    for step, segment in enumerate(following, start=1):
        if isinstance(segment, Line):
            width = _between(wall, segment)
            # A bottom with reliefs is no longer than three times the slot's width.
            if width is not None and step > 1 and bottom <= 3 * width:
                return width, step
        bottom += segment_length(segment)
        if bottom > 3 * segment_length(wall):
            return None
    return None
