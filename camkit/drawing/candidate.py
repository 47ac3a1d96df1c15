"""A closed loop that is about to get its meaning, and the rules that layers have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from functools import cached_property

from camkit.drawing.chain import Loop
from camkit.drawing.rounds import LARGEST_HOLE, as_circle
from camkit.errors import Finding, Level
from camkit.geometry.many import extents, tabled
from camkit.geometry.measure import Bounds, bounds
from camkit.geometry.path import Path, Point
from camkit.part import LayerRule

__all__ = ["SMALLEST_PART", "Candidate", "candidates_of", "rule_for"]

# No part of a piece of furniture is smaller in both directions (common practice, no source).
SMALLEST_PART = 15.0


def rule_for(layer: str, rules: Sequence[LayerRule]) -> LayerRule | None:
    """The first rule whose pattern matches the layer, letter case ignored."""
    name = layer.casefold()
    return next((rule for rule in rules if fnmatchcase(name, rule.pattern.casefold())), None)


@dataclass(frozen=True)
class Candidate:
    """A closed loop with its layer's rule and its extent.

    `open` marks an outline that is closed only by assumption.
    """

    loop: Loop
    rule: LayerRule | None
    bounds: Bounds
    open: bool = False

    @cached_property
    def circle(self) -> tuple[Point, float] | None:
        """Centre and diameter when the loop is round."""
        return as_circle(self.loop.path)

    @property
    def path(self) -> Path:
        """The loop itself."""
        return self.loop.path

    @property
    def meaning(self) -> str:
        """The rule's meaning, or an empty text."""
        return self.rule.meaning if self.rule else ""

    @property
    def depth(self) -> float | None:
        """The depth of a pocket or blind hole; None for what is cut through."""
        return self.rule.depth if self.rule and self.rule.meaning in ("pocket", "hole") else None

    @property
    def size(self) -> float:
        """The larger side of its extent."""
        x0, y0, x1, y1 = self.bounds
        return max(x1 - x0, y1 - y0)

    @property
    def is_small_round(self) -> bool:
        """Whether it is a hole by its size and shape."""
        return self.size <= LARGEST_HOLE + 0.1 and self.circle is not None and self.circle[1] <= LARGEST_HOLE

    @property
    def is_part_sized(self) -> bool:
        """Whether it could be the outline of a part or a large opening."""
        return self.size >= SMALLEST_PART and not self.is_small_round

    def redrawn(self, path: Path) -> Candidate:
        """The same loop with another line."""
        return Candidate(replace(self.loop, path=path), self.rule, bounds(path), self.open)

    def finding(
        self, level: Level, rule: str, message: str, remedy: str, file: str, at: Point | None = None
    ) -> Finding:
        """A finding about this loop, at its corner nearest the lower left unless a place is given."""
        # The corner of its extent may lie far from the line itself, and the mark would point at nothing.
        x, y = at or min((s.start for s in self.path.segments), key=lambda p: (p[0] + p[1], p))
        return Finding(
            level,
            rule,
            f"{message}, at ({x:.2f}, {y:.2f})",
            remedy,
            x_mm=x,
            y_mm=y,
            file=file,
            layer=self.loop.layer or None,
            entity=self.loop.entity,
        )


def candidates_of(
    loops: Sequence[Loop], rules: Sequence[LayerRule], *, open: bool = False
) -> list[Candidate]:
    """The loops as candidates, each with the rule of its layer."""
    of_layer = {layer: rule_for(layer, rules) for layer in {loop.layer for loop in loops}}
    boxes = extents(tabled([loop.path for loop in loops])).tolist()
    return [
        Candidate(loop, of_layer[loop.layer], (x0, y0, x1, y1), open)
        for loop, (x0, y0, x1, y1) in zip(loops, boxes, strict=True)
    ]
