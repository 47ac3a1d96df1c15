"""Pages that drawings are printed on: their sizes, margins and title blocks, none of which is a part."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from camkit.drawing.layer_words import words_of
from camkit.drawing.nest import Nest
from camkit.drawing.sketch import Label
from camkit.geometry.measure import Bounds

__all__ = ["Titles", "has_page_margins", "page_of", "tables", "titles"]

# Trimmed sizes of ISO 216, series A, mm.
_PAGES = {"A0": (1189, 841), "A1": (841, 594), "A2": (594, 420), "A3": (420, 297), "A4": (297, 210)}
# Scales of reduction of ISO 5455 (from memory): a page drawn around full-size parts is larger by as much.
_SCALES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
_SAME_SIZE = 0.002
# ISO 5457 (from memory): the frame lies 20 mm inside the left edge for filing, 10 mm inside the others.
_FILING, _MARGIN = 20.0, 10.0
# What title blocks call their fields, after the list of ISO 7200 (from memory), without accents.
_FIELDS = frozenset(
    word
    for text in (
        "title drawn scale date rev revision checked approved dwg creator",
        "titel benennung datum massstab gez gezeichnet gepr gepruft zeichnungsnummer zeichnungsnr",
        "titre dessine echelle verifie titulo dibujado escala fecha revisado",
    )
    for word in text.split()
)
_FEWEST_FIELDS = 2
# A title block is small against the page (ISO 7200: 180 mm wide on every format).
_LARGEST_SHARE = 0.25
_TILED = 0.9
_WHOLE = 0.9999
_FEWEST_CELLS = 3
_FEWEST_IN_TABLE = 6
# Cells of a table are lower than any part with a text on it (common practice, no source).
_LOWEST_PART = 20.0


def page_of(length: float, width: float) -> tuple[str, float] | None:
    """The ISO 216 page of this size and how many times larger it is drawn; None for other sizes.

    Where several are of one size (A3 twice as large is an A1), the one drawn the least larger.
    """
    return next(iter(_pages_of(length, width)), None)


def _pages_of(length: float, width: float) -> list[tuple[str, float]]:
    long, short = max(length, width), min(length, width)
    return [
        (name, scale)
        for scale in _SCALES
        for name, (a, b) in _PAGES.items()
        if abs(long / (a * scale) - 1) <= _SAME_SIZE and abs(short / (b * scale) - 1) <= _SAME_SIZE
    ]


def has_page_margins(outer: Bounds, inner: Bounds) -> bool:
    """Whether an inner rectangle is the frame that ISO 5457 draws in a page of the outer one's size."""
    margins = (inner[0] - outer[0], inner[1] - outer[1], outer[2] - inner[2], outer[3] - inner[3])
    wanted = (_FILING, _MARGIN, _MARGIN, _MARGIN)
    return any(
        all(abs(is_ - by * scale) <= scale for is_, by in zip(margins, wanted, strict=True))
        for _, scale in _pages_of(outer[2] - outer[0], outer[3] - outer[1])
    )


@dataclass(frozen=True, slots=True)
class Titles:
    """Loops of each title block with all that lies in it; the loops that title blocks lie in or beside.

    `worded` are rectangles that only the texts of a title block lie in.
    """

    blocks: tuple[frozenset[int], ...] = ()
    titled: frozenset[int] = frozenset()
    worded: frozenset[int] = frozenset()


def tables(
    nested: Nest, labels: Sequence[Label], is_rectangle: Callable[[int], bool]
) -> tuple[frozenset[int], ...]:
    """Loops of each table of texts, such as a list of parts.

    A table is six or more low rectangles edge to edge, in two rows and two columns at least, that fill what
    they span; texts lie in half of them.
    """
    if len(labels) < _FEWEST_IN_TABLE // 2 or len(nested.touches) < _FEWEST_IN_TABLE:
        return ()
    neighbours = _neighbours(nested)
    boxes = shapely.bounds(nested.shapes)
    low = np.minimum(*(boxes[:, 2:] - boxes[:, :2]).T) < _LOWEST_PART
    tree = shapely.STRtree(nested.shapes)
    _, holding = tree.query(shapely.points([label.at for label in labels]), predicate="within")
    written = {one for one in holding.tolist() if low[one] and is_rectangle(one)}
    found: list[frozenset[int]] = []
    seen: set[int] = set()
    for first in sorted(written):
        if first in seen:
            continue
        cells, waiting = {first}, [first]
        while waiting:
            beside = neighbours.get(waiting.pop(), set()) - cells
            more = sorted(one for one in beside if low[one] and is_rectangle(one))
            cells.update(more)
            waiting += more
        seen |= cells
        span = boxes[sorted(cells)]
        rows, columns = (len(np.unique(np.round(span[:, axis], 1))) for axis in (1, 0))
        (x0, y0), (x1, y1) = span[:, :2].min(axis=0), span[:, 2:].max(axis=0)
        filled = sum(float(nested.areas[one]) for one in cells) >= _TILED * (x1 - x0) * (y1 - y0)
        grid = len(cells) >= _FEWEST_IN_TABLE and min(rows, columns) >= 2 and filled
        if grid and 2 * len(cells & written) >= len(cells):
            found.append(frozenset(_with_inside(cells, nested.children())))
    return tuple(found)


def titles(nested: Nest, labels: Sequence[Label], is_rectangle: Callable[[int], bool]) -> Titles:
    """Title blocks, and the rectangles around them.

    A title block is a rectangle with cells in it, or cells side by side; its texts name two or more of the
    fields that ISO 7200 lists (title, scale, date, drawn, ...). It takes up at most a quarter of what is
    around it; where nothing is, its cells must fill it. Where only lines divide it, the rectangle that they
    lie in is worded. A page whose lines end on those of its title block lacks that corner, and is titled too.
    """
    fields = [set(words_of(label.text)) & _FIELDS for label in labels]
    if len(set().union(*fields)) < _FEWEST_FIELDS or not nested.shapes:
        return Titles()
    tree = shapely.STRtree(nested.shapes)
    at, loops = tree.query(shapely.points([label.at for label in labels]), predicate="within")
    within: dict[int, list[int]] = {}
    for label, loop in sorted(zip(at.tolist(), loops.tolist(), strict=True)):
        if is_rectangle(loop):
            within.setdefault(loop, []).append(label)
    children = nested.children()
    neighbours = _neighbours(nested)
    blocks: list[frozenset[int]] = []
    titled: set[int] = set()
    worded: set[int] = set()
    taken: set[int] = set()
    for loop in sorted(within, key=lambda i: (float(nested.areas[i]), i)):
        group = _grown(loop, nested, children, neighbours, is_rectangle)
        inside = {label for one in group for label in within.get(one, ())}
        whole = _with_inside(group, children)
        if taken & whole or len(set().union(*(fields[label] for label in inside))) < _FEWEST_FIELDS:
            continue
        if _is_block(group, whole, len(inside), nested, is_rectangle):
            blocks.append(frozenset(whole))
            taken |= whole
            parent = nested.parent[min(group)]
            titled |= _lacking(whole, nested) if parent is None else {parent}
        else:
            worded.add(loop)
    return Titles(tuple(blocks), frozenset(titled), frozenset(worded))


def _lacking(block: set[int], nested: Nest) -> set[int]:
    """The loop beside a title block that would be a rectangle with it."""
    beside = {a for a, b in nested.touches if b in block} | {b for a, b in nested.touches if a in block}
    area = shapely.union_all([nested.shapes[one] for one in block])
    return {
        one
        for one in beside - block
        if (whole := nested.shapes[one].union(area)).area >= _WHOLE * whole.envelope.area
    }


def _is_block(
    group: set[int], whole: set[int], texts: int, nested: Nest, is_rectangle: Callable[[int], bool]
) -> bool:
    cells = [one for one in whole if is_rectangle(one)]
    if len(cells) < _FEWEST_CELLS and texts < _FEWEST_CELLS:
        return False
    size = sum(float(nested.areas[one]) for one in group)
    parent = nested.parent[min(group)]
    if parent is not None:
        others = (nested.areas[one] for one in whole if not is_rectangle(one))
        return size <= _LARGEST_SHARE * nested.areas[parent] and sum(map(float, others)) < size / 2
    filled = sum(float(nested.areas[one]) for one in whole - group)
    return len(whole) == len(cells) and (len(group) > 1 or not filled or filled >= _TILED * size)


def _neighbours(nested: Nest) -> dict[int, set[int]]:
    """The loops that touch each."""
    neighbours: dict[int, set[int]] = {}
    for a, b in nested.touches:
        neighbours.setdefault(a, set()).add(b)
        neighbours.setdefault(b, set()).add(a)
    return neighbours


def _grown(
    first: int,
    nested: Nest,
    children: list[list[int]],
    neighbours: Mapping[int, set[int]],
    is_rectangle: Callable[[int], bool],
) -> set[int]:
    """The loop with rectangles beside it that share an edge, or the one around it that they fill."""
    group = {first}
    parent = nested.parent[first]
    around = nested.areas[parent] if parent is not None else None
    waiting = [first]
    while waiting:
        for other in sorted(neighbours.get(waiting.pop(), ())):
            small = around is None or nested.areas[other] <= _LARGEST_SHARE * around
            if other not in group and nested.parent[other] == parent and is_rectangle(other) and small:
                group.add(other)
                waiting.append(other)
    while parent is not None and is_rectangle(parent):
        inside = children[parent]
        if not all(is_rectangle(one) for one in inside):
            break
        if sum(float(nested.areas[one]) for one in inside) < _TILED * float(nested.areas[parent]):
            break
        group, parent = {parent}, nested.parent[parent]
    return group


def _with_inside(group: set[int], children: list[list[int]]) -> set[int]:
    whole: set[int] = set()
    waiting = sorted(group)
    while waiting:
        one = waiting.pop()
        if one not in whole:
            whole.add(one)
            waiting += children[one]
    return whole
