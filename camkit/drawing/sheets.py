"""Sheet sizes on the market, and outlines that are the border of a sheet rather than a part."""

from __future__ import annotations

from collections.abc import Callable, Sequence, Set
from dataclasses import dataclass
from typing import Literal

import shapely

from camkit.drawing.nest import Nest
from camkit.drawing.pages import has_page_margins, page_of
from camkit.geometry.measure import Bounds, bounds
from camkit.geometry.path import Line, Path

__all__ = ["SHEETS", "Frame", "fits_a_sheet", "frames", "is_a_sheet", "is_rectangle", "may_be_border"]

# Plywood and boards as sold, mm (common practice, no source).
SHEETS = (
    (1220, 610),
    (1250, 625),
    (1250, 1250),
    (1500, 1500),
    (1525, 1525),
    (2440, 1220),
    (2500, 1250),
    (2500, 1500),
    (2800, 2070),
    (3000, 1500),
    (3050, 1525),
)
_SAME_SIZE = 0.01
# A margin drawn inside the border leaves at least this share of the sheet.
_MARGIN_SHARE = 0.8
_DOUBTFUL_SHARE = 0.4
_LOOSEST_SHARE, _LOOSE_SHARE = 0.1, 0.5
# Two shapes this different are not mirrored.
_UNEVEN_SHARE = 0.02
# A drawn margin is even, and narrow against the sheet: wider, the ring between could be a part's wood.
_EVEN = 0.5
_WIDEST_MARGIN = 0.04
_WIDEST_KNOWN = 0.1
# A page, its margin, a sheet's border, its margin, and some to spare.
_DEEPEST = 8


def is_a_sheet(length: float, width: float) -> tuple[int, int] | None:
    """The sheet on the market that has this size to within 1 %."""
    long, short = max(length, width), min(length, width)
    for sheet in SHEETS:
        if abs(long / sheet[0] - 1) <= _SAME_SIZE and abs(short / sheet[1] - 1) <= _SAME_SIZE:
            return sheet
    return None


def fits_a_sheet(length: float, width: float) -> tuple[int, int] | None:
    """The sheet on the market that a drawing of this extent fills, but for narrow margins."""
    long, short = max(length, width), min(length, width)
    for sheet in SHEETS:
        if 0.94 <= long / sheet[0] <= 1.002 and 0.94 <= short / sheet[1] <= 1.002:
            return sheet
    return None


def is_rectangle(path: Path, area: float) -> bool:
    """Whether a closed path of this area is an upright rectangle of straight lines."""
    x0, y0, x1, y1 = bounds(path)
    straight = all(isinstance(s, Line) for s in path.segments)
    return straight and area >= 0.9999 * (x1 - x0) * (y1 - y0)


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle that frames parts: the number of its loop, what it is, and whether that is only likely."""

    number: int
    kind: Literal["border", "page"]
    likely: bool = False


def frames(
    paths: Sequence[Path],
    nested: Nest,
    titled: Set[int],
    worded: Set[int],
    *,
    is_part_sized: Callable[[int], bool],
    is_profile: Callable[[int], bool],
    has_rule: Callable[[int], bool],
) -> tuple[Frame, ...]:
    """Outermost rectangles (and margins just inside them) that frame parts; those `titled` are pages.

    A rectangle is a frame for sure when
    - it is titled: a title block lies in it, or its texts do (worded) and it has the size of a page or a loop
      in it holds loops; then it is the frame of a page;
    - it has a margin: a rectangle inside at one distance from all its sides, or as ISO 5457 has it in a
      page, thinner than any part, around loops of the size of parts only;
    - it has the size of a sheet on the market and holds two loops of the size of parts, or one that holds
      loops itself and nothing beside it.
    Where every outermost loop that holds anything is a frame, two loops of the size of parts suffice of which
    one holds loops itself or is a profile by its layer.
    """
    children = nested.children()

    def plain(number: int) -> bool:
        return not has_rule(number) and is_rectangle(paths[number], nested.areas[number])

    def margin_of(number: int, inner: int) -> list[Frame]:
        """A rectangle and the margin in it, if that is one."""
        box, margin, within = bounds(paths[number]), bounds(paths[inner]), children[inner]
        known = is_a_sheet(box[2] - box[0], box[3] - box[1]) is not None
        page = has_page_margins(box, margin)
        if not plain(inner) or not (page or _has_margin(box, margin, known)):
            return []
        # Rings one in another, all evenly spaced, are no margins; a part is drilled, a margin is not.
        rings = len(within) == 1 and plain(within[0]) and _is_even(margin, bounds(paths[within[0]]))
        if rings or not within or not all(map(is_part_sized, within)):
            return []
        kind: Literal["border", "page"] = "page" if page else "border"
        likely = not (known or page) or not any(children[c] for c in within)
        return [Frame(number, kind, likely), Frame(inner, kind)]

    def look(number: int, around: int = 0) -> tuple[list[Frame], bool]:
        """Frames from here inwards, and whether they are sure; `around` counts those that it lies in."""
        if not (plain(number) or number in titled) or around >= _DEEPEST:
            return [], False
        box = bounds(paths[number])
        large = [c for c in children[number] if is_part_sized(c)]
        known = is_a_sheet(box[2] - box[0], box[3] - box[1]) is not None
        page = page_of(box[2] - box[0], box[3] - box[1]) is not None
        spoken_for = number in worded and (page or any(children[c] for c in large))
        if number in titled or spoken_for:
            inner = [frame for c in large for frame in look(c, around + 1)[0]] if len(large) == 1 else []
            return [Frame(number, "page"), *inner], True
        if len(large) == 1 and nested.areas[large[0]] >= _MARGIN_SHARE * nested.areas[number]:
            margin = margin_of(number, large[0]) if large[0] not in titled | worded else []
            if margin:
                within = children[large[0]]
                inner = look(within[0], around + 2)[0] if len(within) == 1 else []
                return [*margin, *inner], True
            inner, sure = look(large[0], around + 1)
            if inner:
                return [Frame(number, inner[0].kind), *inner], sure
            alone = bool(children[large[0]]) and len(children[number]) == 1
            kind: Literal["border", "page"] = "border" if known else "page"
            return ([Frame(number, kind, True)], True) if alone and (known or page) else ([], False)
        holding = [c for c in large if children[c]]
        if known and len(large) == 1 and holding and len(children[number]) == 1:
            return [Frame(number, "border", True)], True
        if len(large) >= 2 and (known or holding or any(is_profile(c) for c in large)):
            return [Frame(number, "border")], known
        return [], False

    sure: list[Frame] = []
    likely: list[Frame] = []
    bare = False
    for number, parent in enumerate(nested.parent):
        if parent is None and (children[number] or number in titled):
            found, certain = look(number)
            (sure if certain else likely).extend(found)
            bare |= not found
    return tuple(sorted((*sure, *(() if bare else likely)), key=lambda frame: frame.number))


def _has_margin(outer: Bounds, inner: Bounds, known: bool) -> bool:
    """Whether the inner rectangle lies at one distance inside the outer, too near to leave a ring of wood."""
    widest = (_WIDEST_KNOWN if known else _WIDEST_MARGIN) * min(outer[2] - outer[0], outer[3] - outer[1])
    return _is_even(outer, inner) and outer[2] - inner[2] <= widest


def _is_even(outer: Bounds, inner: Bounds) -> bool:
    gaps = [inner[0] - outer[0], inner[1] - outer[1], outer[2] - inner[2], outer[3] - inner[3]]
    return max(gaps) - min(gaps) <= _EVEN and max(gaps) > 0


def may_be_border(
    number: int, paths: Sequence[Path], nested: Nest, large: Sequence[int], *, alone: bool
) -> bool:
    """Whether a rectangle taken for a part could also be a border.

    Two or more large loops fill it, or it has the size of a sheet on the market and holds a large loop. Or
    what it holds is `alone` in it, fills a tenth to a half of it, and is lopsided: windows, handles and the
    insides of rings are even to at least one axis.
    """
    if not large or not is_rectangle(paths[number], nested.areas[number]):
        return False
    x0, y0, x1, y1 = bounds(paths[number])
    filled = sum(float(nested.areas[c]) for c in large)
    full = len(large) >= 2 and filled >= _DOUBTFUL_SHARE * float(nested.areas[number])
    if full or is_a_sheet(x1 - x0, y1 - y0) is not None:
        return True
    loose = _LOOSEST_SHARE <= filled / float(nested.areas[number]) < _LOOSE_SHARE
    return alone and len(large) == 1 and loose and not _is_even_shape(nested.shapes[large[0]])


def _is_even_shape(shape: shapely.Geometry) -> bool:
    """Whether an upright mirror line, a level one or a half turn leaves the shape as it is."""
    x0, y0, x1, y1 = shape.bounds
    for u, v in ((-1, 1), (1, -1), (-1, -1)):
        shift = ((x0 + x1) if u < 0 else 0.0, (y0 + y1) if v < 0 else 0.0)
        image = shapely.transform(shape, lambda at, u=u, v=v, shift=shift: at * (u, v) + shift)
        if shape.symmetric_difference(image).area <= _UNEVEN_SHARE * shape.area:
            return True
    return False
