"""Room on a page: boxes that are taken, and the first free spot beside a place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from camkit.geometry.path import Point

__all__ = ["Box", "Taken", "around"]

# Directions in which a spot beside a place is tried, the upper right first (Y runs downwards).
_SIDES = ((0.7, -0.7), (-0.7, -0.7), (0.7, 0.7), (-0.7, 0.7), (1, 0), (-1, 0), (0, -1), (0, 1))


@dataclass(frozen=True, slots=True)
class Box:
    """A box about (x, y)."""

    x: float
    y: float
    wide: float
    high: float

    def meets(self, other: Box) -> bool:
        """Whether the two share any area."""
        return (
            2 * abs(self.x - other.x) < self.wide + other.wide
            and 2 * abs(self.y - other.y) < self.high + other.high
        )


@dataclass(slots=True)
class Taken:
    """The boxes taken so far on a page, found by the square of the grid that they lie in."""

    square: float
    _boxes: dict[tuple[int, int], list[Box]] = field(default_factory=dict)

    def copy(self) -> Taken:
        """The same boxes, to try more of them."""
        return Taken(self.square, {key: list(boxes) for key, boxes in self._boxes.items()})

    def add(self, box: Box) -> None:
        """Take a box."""
        for key in self._squares(box):
            self._boxes.setdefault(key, []).append(box)

    def is_free(self, box: Box) -> bool:
        """Whether the box meets none that is taken."""
        return not any(box.meets(other) for key in self._squares(box) for other in self._boxes.get(key, ()))

    def _squares(self, box: Box) -> Iterable[tuple[int, int]]:
        columns = range(
            int((box.x - box.wide / 2) // self.square), int((box.x + box.wide / 2) // self.square) + 1
        )
        rows = range(
            int((box.y - box.high / 2) // self.square), int((box.y + box.high / 2) // self.square) + 1
        )
        return ((i, j) for i in columns for j in rows)


def around(place: Point, wide: float, high: float, distances: Iterable[float]) -> Iterator[Box]:
    """Boxes beside a place, nearest first; `distances` lie between the place and the box's rim."""
    x, y = place
    for away in distances:
        for dx, dy in _SIDES:
            sideways = (wide / 2) * (1 if dx > 0 else -1 if dx < 0 else 0)
            upwards = (high / 2) * (1 if dy > 0 else -1 if dy < 0 else 0)
            yield Box(x + away * dx + sideways, y + away * dy + upwards, wide, high)
