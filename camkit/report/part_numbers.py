"""The number of each part in a picture: on its wood where it can be read there, else beside the part."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.path import Path, circle, region
from camkit.part import Part
from camkit.report.boxes import Box, Taken, around
from camkit.report.inspection_rows import has_own_name
from camkit.report.labels import LabelPlace, label_place, text_width
from camkit.report.paper import INK, Paper
from camkit.report.part_svg import WOOD, label
from camkit.report.svg import lettering, number

__all__ = ["part_numbers"]

# Letters on paper, mm: the largest, the least that can be read at arm's length, those beside a part, and the
# narrowest part whose wood is looked at for room.
_LARGEST, _LEAST, _BESIDE, _NARROWEST = 3.6, 1.8, 2.2, 2.4
_DISTANCES = (0.7, 1.6, 2.6, 4.0, 6.0, 9.0, 13.0)
_CHORDS = 0.5
# Finding room for a name takes its time; of more names than this only the list tells them.
_MOST_NAMES = 60


def part_numbers(parts: Sequence[Part], lines: Sequence[Path], paper: Paper, taken: Taken) -> list[str]:
    """Numbers from 1, with the names that the drawing gives; the boxes they fill are added to `taken`.

    A number beside its part keeps clear of all wood and of `lines`.
    """
    rows: list[str] = []
    beside: list[int] = []
    named = sum(has_own_name(part, number) for number, part in enumerate(parts, start=1))
    for index, part in enumerate(parts):
        text = str(index + 1)
        x, y, size = _roomiest(part, text, paper)
        if size < _LEAST * paper.mm:
            beside.append(index)
            continue
        if has_own_name(part, index + 1) and named <= _MOST_NAMES:
            place = label_place(part)
            x, y, size = place.x, place.y, place.size_for(text, _LARGEST * paper.mm)
            rows.append(label(part, text, part.name, paper))
            taken.add(_below(part.name, place, size, paper))
        else:
            rows.append(_on_wood(x, y, size, text, paper))
        taken.add(Box(*paper.at(x, y), text_width(text, size), size))
    return [*rows, *_beside(parts, beside, lines, paper, taken)]


def _below(name: str, place: LabelPlace, size: float, paper: Paper) -> Box:
    """The box of a name below its number, or beside it where both are turned."""
    (x, y), wide = paper.at(place.x, place.y), min(text_width(name, 0.72 * size), 0.92 * place.along)
    away = 0.8 * size
    return Box(x + away, y, size, wide) if place.turned else Box(x, y + away, wide, size)


def _roomiest(part: Part, text: str, paper: Paper) -> tuple[float, float, float]:
    """The middle of the largest circle on bare wood, and how high the text may be written in it."""
    x0, y0, x1, y1 = part.bounds()
    if min(x1 - x0, y1 - y0) < _NARROWEST * paper.mm:
        return (x0, y0, 0.0)
    bored = [circle(hole.centre, hole.diameter) for hole in part.holes]
    coarse = as_polygon(region(part.outline, (*part.openings, *bored)), _CHORDS)
    # Chords this coarse may cross where wood is thin; lines that are left of it are no room.
    wood = shapely.buffer(shapely.make_valid(coarse), 0)
    if wood.is_empty:
        return (x0, y0, 0.0)
    radius = shapely.maximum_inscribed_circle(wood, tolerance=0.2 * paper.mm)
    x, y = radius.coords[0]
    largest = 0.8 * float(radius.length) / math.hypot(text_width(text, 1.0) / 2, 0.4)
    return (float(x), float(y), min(_LARGEST * paper.mm, largest))


def _on_wood(x: float, y: float, size: float, text: str, paper: Paper) -> str:
    px, py = paper.at(x, y)
    return lettering(px, py + 0.36 * size, size, text, anchor="middle", extra=_halo(size))


def _halo(size: float) -> str:
    return f'stroke="{WOOD}" stroke-width="{number(0.3 * size)}" stroke-linejoin="round" paint-order="stroke"'


def _beside(
    parts: Sequence[Part], which: Sequence[int], lines: Sequence[Path], paper: Paper, taken: Taken
) -> list[str]:
    if not which:
        return []
    tree = shapely.STRtree(
        [shapely.make_valid(shapely.Polygon(flattened(part.outline, _CHORDS))) for part in parts]
        + [_line(path) for path in lines]
    )
    rows = []
    for index in which:
        box = _spot(parts[index], str(index + 1), paper, taken, tree)
        taken.add(box)
        rows += _written(parts[index], str(index + 1), box, paper)
    return rows


def _line(path: Path) -> shapely.LineString:
    points = flattened(path, _CHORDS)
    return shapely.LinearRing(points) if path.closed and len(points) > 2 else shapely.LineString(points)


def _spot(part: Part, text: str, paper: Paper, taken: Taken, tree: shapely.STRtree) -> Box:
    """A free box beside the part, on no other part's wood; the part's own middle where there is none."""
    mm = paper.mm
    x0, y0, x1, y1 = part.bounds()
    (left, top), (right, bottom) = paper.at(x0, y1), paper.at(x1, y0)
    middle = ((left + right) / 2, (top + bottom) / 2)
    wide, high = text_width(text, _BESIDE * mm) + 0.4 * mm, 1.1 * _BESIDE * mm
    for away in _DISTANCES:
        for box in (
            Box(right + away * mm + wide / 2, middle[1], wide, high),
            Box(left - away * mm - wide / 2, middle[1], wide, high),
            Box(middle[0], top - away * mm - high / 2, wide, high),
            Box(middle[0], bottom + away * mm + high / 2, wide, high),
            *around((right, top), wide, high, (away * mm,)),
        ):
            if not (wide / 2 < box.x < paper.width - wide / 2 and paper.top - 3 * mm < box.y):
                continue
            if box.y < paper.bottom and taken.is_free(box) and not _is_covered(box, paper, tree):
                return box
    return Box(*middle, wide, high)


def _is_covered(box: Box, paper: Paper, tree: shapely.STRtree) -> bool:
    (x0, y0), (x1, y1) = (
        paper.workpiece(box.x - box.wide / 2, box.y + box.high / 2),
        paper.workpiece(box.x + box.wide / 2, box.y - box.high / 2),
    )
    return bool(tree.query(shapely.box(x0, y0, x1, y1), predicate="intersects").size)


def _written(part: Part, text: str, box: Box, paper: Paper) -> list[str]:
    mm = paper.mm
    x0, y0, x1, y1 = part.bounds()
    (left, top), (right, bottom) = paper.at(x0, y1), paper.at(x1, y0)
    # The leader runs from the nearest point of the part's extent to the rim of the number.
    at = (min(max(box.x, left), right), min(max(box.y, top), bottom))
    rim = (
        min(max(at[0], box.x - box.wide / 2), box.x + box.wide / 2),
        min(max(at[1], box.y - box.high / 2), box.y + box.high / 2),
    )
    rows = []
    if max(abs(rim[0] - at[0]), abs(rim[1] - at[1])) > 1.2 * mm:
        rows.append(
            f'<path d="M{number(at[0])} {number(at[1])}L{number(rim[0])} {number(rim[1])}" '
            f'stroke="{INK}" stroke-width="{number(0.12 * mm)}"/>'
        )
    size, on_part = _BESIDE * mm, at == (box.x, box.y)
    if on_part:
        size = min(size, 0.9 * (right - left) / text_width(text, 1.0), 0.9 * (bottom - top))
    halo = _halo(size) if on_part else ""
    rows.append(lettering(box.x, box.y + 0.36 * size, size, text, anchor="middle", extra=halo))
    return rows
