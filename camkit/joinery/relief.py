"""Which cutter makes a place, and which corners of it must be square. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path
from camkit.geometry.tolerance import CHAIN, RELIEF
from camkit.job.model import Cutter
from camkit.part import Part

__all__ = [
    "cutter_for",
    "dogbones_fit",
    "housing_corners",
    "largest_for",
    "milling_cutters",
]

# A cutter should leave room to move sideways in an opening (common practice, no source).
_SHARE = 0.8
# A dogbone in a square corner takes this many radii of each wall (2 cos 45 degrees).
_SQUARE_OPENING = math.sqrt(2)


def cutter_for(
    width: float, depth: float, cutters: Sequence[Cutter], *, side: float = math.inf
) -> Cutter | None:
    """The milling cutter to make an opening of that width, `depth` mm down; None when all are too large.

    The largest up to 0.8 of the width whose dogbones fit (see `dogbones_fit`; `side` is the length of its
    side walls), else the largest up to 0.8 of the width, else the largest that enters. Cutters whose edges
    are too short for the depth count only when there is no other.
    """
    reaching = milling_cutters([cutter for cutter in cutters if cutter.diameter < width], depth)
    easy = [cutter for cutter in reaching if cutter.diameter <= _SHARE * width]
    neat = [c for c in easy if dogbones_fit(c.diameter / 2 + RELIEF, width=width, depth=side)]
    return max(neat or easy or reaching, key=lambda cutter: cutter.diameter, default=None)


def milling_cutters(cutters: Sequence[Cutter], depth: float) -> list[Cutter]:
    """The cutters that mill `depth` mm deep; those with too short edges where there is no other."""
    milling = [cutter for cutter in cutters if cutter.mills]
    return [c for c in milling if c.cutting_length is None or c.cutting_length >= depth] or milling


def dogbones_fit(radius: float, *, width: float, depth: float = math.inf) -> bool:
    """Whether two dogbones stay apart on an end wall `width` long and one fits a side wall `depth` long."""
    taken = _SQUARE_OPENING * radius
    return 2 * taken <= width - CHAIN and taken <= depth - CHAIN


def housing_corners(
    part: Part, loop: Path, corners: Sequence[int], radius: float
) -> tuple[tuple[int, ...], bool]:
    """Corners of a housing that a part must fill, those inside the outline, and whether one lies at the edge.

    Open ends need no relief; a corner on the edge or nearer to it than `radius` stays uncut.
    """
    outline = as_polygon(part.outline)
    inside: list[int] = []
    at_edge = False
    for index in corners:
        corner = shapely.Point(loop.segments[index].end)
        away = outline.boundary.distance(corner)
        if outline.contains(corner) and away > CHAIN:
            inside.append(index)
        else:
            at_edge |= away < radius - RELIEF
    return tuple(inside), at_edge


def largest_for(width: float, depth: float | None = None, *, tbones: bool = False) -> float:
    """Largest cutter diameter, in whole tenths, whose dogbones fit a square end `width` by `depth`.

    With `tbones` whose T-bones into that end stay apart.
    """
    radius = min((width - CHAIN) / 2, math.inf if depth is None else depth - CHAIN) / (
        2 if tbones else _SQUARE_OPENING
    )
    return max(0.0, math.floor(20 * (radius - RELIEF) + 1e-9) / 10)
