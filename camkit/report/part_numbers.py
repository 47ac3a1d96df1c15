"""The number of each part in a picture: on its wood where it can be read there, else beside the part."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from camkit.geometry.flatten import flattened
from camkit.geometry.path import Path
from camkit.part import Part
from camkit.report.boxes import Box, Taken, around
from camkit.report.inspection_rows import has_own_name
from camkit.report.labels import label_place, text_width
from camkit.report.paper import INK, Paper
from camkit.report.part_svg import WOOD, label
from camkit.report.svg import lettering, number

__all__ = ["part_numbers"]

# Letters on paper, mm: the largest, the least that can be read at arm's length, those beside a part, and the
# narrowest part whose wood is looked at for room.
_LARGEST, _LEAST, _BESIDE, _NARROWEST = 3.6, 1.8, 2.2, 2.4
_DISTANCES = (0.7, 1.6, 2.6, 4.0, 6.0, 9.0, 13.0)
_CHORDS = 0.5


def part_numbers(parts: Sequence[Part], lines: Sequence[Path], paper: Paper, taken: Taken) -> list[str]:
    """Numbers from 1, with the names that the drawing gives; the boxes they fill are added to `taken`.

    A number beside its part keeps clear of all wood and of `lines`.
    """
    rows: list[str] = []
    beside: list[int] = []
    for index, part in enumerate(parts):
        text = str(index + 1)
        x0, y0, x1, y1 = part.bounds()
        if min(x1 - x0, y1 - y0) < _NARROWEST * paper.mm:
            beside.append(index)
            continue
        place = label_place(part)
        size = place.size_for(text, _LARGEST * paper.mm)
        if size < _LEAST * paper.mm:
            beside.append(index)
            continue
        rows.append(label(part, text, part.name if has_own_name(part, index + 1) else "", paper))
        taken.add(Box(*paper.at(place.x, place.y), text_width(text, size), size))
    return [*rows, *_beside(parts, beside, lines, paper, taken)]


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
            if box.y < paper.bottom and taken.is_free(box) and not _on_wood(box, paper, tree):
                return box
    return Box(*middle, wide, high)


def _on_wood(box: Box, paper: Paper, tree: shapely.STRtree) -> bool:
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
    size = _BESIDE * mm
    on_part = at == (box.x, box.y)
    halo = f'stroke="{WOOD}" stroke-width="{number(0.3 * size)}" stroke-linejoin="round" paint-order="stroke"'
    rows.append(
        lettering(box.x, box.y + 0.36 * size, size, text, anchor="middle", extra=halo if on_part else "")
    )
    return rows
