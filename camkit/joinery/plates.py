"""Plates: layers that are glued into one piece are one plate, with one frame for what lies in it.

The lower left corners of the layers' outlines lie together, as `glue` lays them. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.geometry.measure import bounds
from camkit.geometry.path import Point
from camkit.joinery.features import Feature
from camkit.part import Part

__all__ = ["Plates", "plates"]

# What lies in several layers at one place lies there to within this.
_ONE_PLACE = 0.5
_PARALLEL = 0.01


@dataclass(frozen=True, slots=True)
class Plates:
    """Which plate each part is a layer of; a plate is called by the index of its first layer.

    `corner` is the origin of each part's frame in the drawing; `stacks` are the layers glued, in their order.
    """

    plate: tuple[int, ...]
    corner: tuple[Point, ...]
    stacks: tuple[tuple[int, ...], ...]

    def layers(self, part: int) -> tuple[int, ...]:
        """The layers of the part's plate, first layer first; the part alone where nothing is glued to it."""
        return next((stack for stack in self.stacks if stack[0] == self.plate[part]), (part,))

    def together(self, one: Feature, other: Feature) -> bool:
        """Whether two shapes lie at one place of one plate, the same way round."""
        if self.plate[one.part] != self.plate[other.part]:
            return False
        (ax, ay), (bx, by) = self.corner[one.part], self.corner[other.part]
        dx = one.middle[0] - ax - other.middle[0] + bx
        dy = one.middle[1] - ay - other.middle[1] + by
        (ux, uy), (vx, vy) = one.along, other.along
        if one.kind in ("mortise", "slot"):
            return math.hypot(dx, dy) <= _ONE_PLACE and abs(ux * vy - uy * vx) <= _PARALLEL
        # Layers need not be equally long: a tenon may stand farther out than its twin.
        across = abs(dx * uy - dy * ux) <= max(one.length, other.length)
        same_way = abs(ux * vy - uy * vx) <= _PARALLEL and ux * vx + uy * vy > 0
        return across and same_way and abs(dx * ux + dy * uy) <= _ONE_PLACE


def plates(parts: Sequence[Part], stacks: Sequence[tuple[int, ...]]) -> Plates:
    """The plates of the parts; `stacks` are indices of layers glued together, in their order."""
    plate = list(range(len(parts)))
    for stack in stacks:
        for part in stack:
            plate[part] = stack[0]
    corners = (bounds(part.outline)[:2] for part in parts)
    return Plates(tuple(plate), tuple(corners), tuple(stacks))
