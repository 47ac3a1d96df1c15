"""Sheet sizes on the market, and outlines that are the border of a sheet rather than a part."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from camkit.drawing.nest import Nest
from camkit.geometry.measure import bounds
from camkit.geometry.path import Line, Path

__all__ = ["SHEETS", "borders", "fits_a_sheet", "is_a_sheet", "may_be_border"]

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


def _is_rectangle(path: Path, area: float) -> bool:
    x0, y0, x1, y1 = bounds(path)
    straight = all(isinstance(s, Line) for s in path.segments)
    return straight and area >= 0.9999 * (x1 - x0) * (y1 - y0)


def borders(
    paths: Sequence[Path],
    nested: Nest,
    *,
    is_part_sized: Callable[[int], bool],
    is_profile: Callable[[int], bool],
    has_rule: Callable[[int], bool],
) -> set[int]:
    """Outermost rectangles (and margins just inside them) that frame parts.

    A frame holds at least two loops of the size of parts, of which one holds loops itself or is a profile by
    its layer; where none does, it must have the size of a sheet on the market. Every outermost loop that
    holds anything must be such a frame; otherwise all of them are parts.
    """
    children = nested.children()

    def frames(number: int) -> set[int]:
        outer: set[int] = set()
        while not has_rule(number) and _is_rectangle(paths[number], nested.areas[number]):
            outer.add(number)
            large = [c for c in children[number] if is_part_sized(c)]
            if len(large) == 1 and nested.areas[large[0]] >= _MARGIN_SHARE * nested.areas[number]:
                number = large[0]
                continue
            x0, y0, x1, y1 = bounds(paths[number])
            holds = any(children[c] or is_profile(c) for c in large)
            return outer if len(large) >= 2 and (holds or is_a_sheet(x1 - x0, y1 - y0)) else set()
        return set()

    found: set[int] = set()
    for number, parent in enumerate(nested.parent):
        if parent is None and children[number]:
            frame = frames(number)
            if not frame:
                return set()
            found |= frame
    return found


def may_be_border(number: int, paths: Sequence[Path], nested: Nest, large: Sequence[int]) -> bool:
    """Whether a rectangle taken for a part could also be a border: two or more large loops fill it."""
    filled = sum(float(nested.areas[c]) for c in large)
    return (
        len(large) >= 2
        and _is_rectangle(paths[number], nested.areas[number])
        and filled >= _DOUBTFUL_SHARE * float(nested.areas[number])
    )
