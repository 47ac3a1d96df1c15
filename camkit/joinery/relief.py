"""Which cutter makes a place, and how its square corners are relieved for that cutter. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from camkit.geometry.corner_relief import CornerRelief, Past
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path
from camkit.geometry.tolerance import CHAIN, RELIEF
from camkit.job.model import Cutter, ReliefWish
from camkit.joinery.fitted import Relief
from camkit.joinery.relief_choice import cut_over, mortise_relief
from camkit.part import Part

__all__ = [
    "cutter_for",
    "dogbones_fit",
    "gap_relief",
    "housing_corners",
    "largest_for",
    "relieve_rectangle",
    "slot_relief",
    "tbones_fit",
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
    milling = [cutter for cutter in cutters if cutter.kind != "drill" and cutter.diameter < width]
    reaching = [c for c in milling if c.cutting_length is None or c.cutting_length >= depth] or milling
    easy = [cutter for cutter in reaching if cutter.diameter <= _SHARE * width]
    neat = [c for c in easy if dogbones_fit(c.diameter / 2 + RELIEF, width=width, depth=side)]
    return max(neat or easy or reaching, key=lambda cutter: cutter.diameter, default=None)


def dogbones_fit(radius: float, *, width: float, depth: float = math.inf) -> bool:
    """Whether two dogbones stay apart on an end wall `width` long and one fits a side wall `depth` long."""
    taken = _SQUARE_OPENING * radius
    return 2 * taken <= width - CHAIN and taken <= depth - CHAIN


def tbones_fit(radius: float, *, width: float) -> bool:
    """Whether two T-bones into a wall `width` long stay apart: each takes 2 r of it."""
    return 4 * radius <= width - CHAIN


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


def gap_relief(
    corners: Sequence[int], radius: float, *, width: float, depth: float, wish: ReliefWish
) -> tuple[dict[int, CornerRelief], Relief] | None:
    """Reliefs of a finger gap's bottom corners, one where the gap is open at the end; None without room.

    By rule the first that fits: dogbones, which reach least behind the bottom, where no partner covers them;
    T-bones into the bottom.
    """
    if wish == "none":
        return {}, "none"
    # A gap that is open at one end has twice the room.
    room = width if len(corners) == 2 else 2 * width
    if wish != "t-bone" and dogbones_fit(radius, width=room, depth=depth):
        return dict.fromkeys(corners, CornerRelief(radius)), "dogbone"
    if wish != "dogbone" and len(corners) == 2:
        return slot_relief(corners, radius, width=width, depth=depth, wish="t-bone")
    return None


def slot_relief(
    corners: Sequence[int], radius: float, *, width: float, depth: float, wish: ReliefWish
) -> tuple[dict[int, CornerRelief], Relief] | None:
    """Reliefs of a slot's two bottom corners by `wish`, by the index of the corner; None without room.

    By rule the first that fits: T-bones into the bottom, which the partner covers; dogbones; T-bones into
    the walls, which show. The bottom is never cut over whole, because the partner seats on it.
    """
    if wish == "none":
        return {}, "none"
    if wish != "dogbone" and tbones_fit(radius, width=width):
        return _each(corners, radius, ("after", "before")), "t-bone"
    if wish != "t-bone" and dogbones_fit(radius, width=width, depth=depth):
        return _each(corners, radius, ("both", "both")), "dogbone"
    if wish != "dogbone" and 2 * radius <= depth - CHAIN:
        return _each(corners, radius, ("before", "after")), "t-bone"
    return None


def _each(corners: Sequence[int], radius: float, past: tuple[Past, Past]) -> dict[int, CornerRelief]:
    return {corner: CornerRelief(radius, side) for corner, side in zip(corners, past, strict=True)}


def largest_for(width: float, depth: float | None = None, *, tbones: bool = False) -> float:
    """Largest cutter diameter, in whole tenths, whose dogbones fit a square end `width` by `depth`.

    With `tbones` whose T-bones into that end stay apart.
    """
    radius = min((width - CHAIN) / 2, math.inf if depth is None else depth - CHAIN) / (
        2 if tbones else _SQUARE_OPENING
    )
    return max(0.0, math.floor(20 * (radius - RELIEF) + 1e-9) / 10)


def relieve_rectangle(
    loop: Path,
    broad: tuple[int, int],
    radius: float,
    corners: Sequence[int],
    wish: ReliefWish = "by rule",
) -> tuple[Path, Relief]:
    """A rectangular opening relieved at `corners`: by dogbones or T-bones, or by cutting its ends over whole.

    `loop` has its material on the left and `broad` are its long walls. Ends shorter than 2 sqrt(2) r have no
    room for two dogbones, below 4 r none for two T-bones, which pass the ends only: such ends move out by the
    relief radius, and the long walls stay whole.
    """
    chosen = mortise_relief(loop, broad, radius, corners=corners, wish=wish)
    return cut_over(loop, chosen, radius), chosen.word
