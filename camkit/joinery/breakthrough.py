"""Whether widened and relieved places have run into something that they were clear of as drawn."""

from __future__ import annotations

from collections.abc import Iterator

from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import circle
from camkit.part import Part

__all__ = ["breakthroughs"]

# Finer than a cutter path, coarse enough to be quick: only a clear breakthrough is wanted.
_CHORD = 0.01


def breakthroughs(drawn: Part, fitted: Part) -> tuple[Finding, ...]:
    """Findings where an opening of `fitted` meets the outline or another opening or through hole.

    What met already in `drawn` is the maker's own wish and not told. Both must hold the same openings and
    holes in the same order.
    """
    before, after = _Cuts(drawn), _Cuts(fitted)
    return tuple(
        Finding(
            "error",
            "relief-breaks-through",
            f"the opening at ({x:.1f}, {y:.1f}) breaks through into {what} once it is fitted and relieved",
            "Move them apart in the drawing, or use a smaller cutter",
            x_mm=x,
            y_mm=y,
            part=drawn.name,
            file=drawn.source.file or None,
        )
        for index, other, what in after.meetings()
        if not before.meet(index, other)
        for x, y in ((after.loops[index].centroid.x, after.loops[index].centroid.y),)
    )


class _Cuts:
    """Openings and through holes of a part as polygons; openings come first."""

    def __init__(self, part: Part) -> None:
        self.outline = as_polygon(part.outline, _CHORD)
        holes = [circle(hole.centre, hole.diameter) for hole in part.holes if hole.depth is None]
        self.loops = [as_polygon(path, _CHORD) for path in (*part.openings, *holes)]
        self.openings = len(part.openings)

    def meet(self, index: int, other: int | None) -> bool:
        """Whether a loop meets another one, or the outline when `other` is None."""
        if other is None:
            return not self.outline.contains_properly(self.loops[index])
        return bool(self.loops[index].intersects(self.loops[other]))

    def meetings(self) -> Iterator[tuple[int, int | None, str]]:
        for index in range(self.openings):
            if self.meet(index, None):
                yield index, None, "the outline"
            for other in range(index + 1, len(self.loops)):
                if self.meet(index, other):
                    yield index, other, "its neighbour"
