"""What is to be cut on a sheet: one feature after another, taken from the placed parts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from camkit.cut import CutKind
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, Region, circle, region
from camkit.part import Hole, Part, Placed, Pocket

__all__ = ["Feature", "features"]


# Chords for looking, not for cutting.
_LOOK = 0.05


# Extents that come this close may meet, mm.
_MEETS = 0.05


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing to cut. `outline` is its edge in sheet coordinates; `depth` None cuts through.

    `islands` stay standing in a pocket, which may run off the edge of its part (`home`), and into what is cut
    beside it as deep or `deeper`. `hole` is set for round holes and their countersinks. `nested` counts the
    openings of other parts that its part lies in; `holds_parts` tells that other parts lie inside it (an
    opening).
    """

    kind: CutKind
    part: str
    copy: int
    outline: Path
    depth: float | None = None
    islands: tuple[Path, ...] = ()
    home: Path | None = None
    deeper: tuple[Region, ...] = ()
    hole: Hole | None = None
    nested: int = 0
    holds_parts: bool = False


def features(placed: Sequence[Placed]) -> tuple[Feature, ...]:
    """Every feature of the parts of one sheet, in the order of the parts."""
    spots = [as_polygon(p.shape.outline, _LOOK).representative_point() for p in placed]
    within = _opening_around(spots, placed)
    nesting = Counter(spot for spot, _ in within)
    holding = {opening for _, opening in within}
    found: list[Feature] = []
    for i, piece in enumerate(placed):
        part, name, copy, nested = piece.shape, piece.part.name, piece.copy, nesting[i]
        found += [
            Feature(
                "pocket",
                name,
                copy,
                pocket.outline,
                pocket.depth,
                pocket.islands,
                part.outline,
                _deeper(part, pocket),
                nested=nested,
            )
            for pocket in part.pockets
        ]
        found += [
            Feature(
                "hole", name, copy, circle(hole.centre, hole.diameter), hole.depth, hole=hole, nested=nested
            )
            for hole in part.holes
        ]
        found += [
            Feature(
                "countersink",
                name,
                copy,
                circle(hole.centre, hole.countersink.diameter),
                hole.sink_depth(),
                hole=hole,
                nested=nested,
            )
            for hole in part.holes
            if hole.countersink is not None
        ]
        found += [
            Feature("opening", name, copy, opening, nested=nested, holds_parts=(i, k) in holding)
            for k, opening in enumerate(part.openings)
        ]
        found.append(Feature("profile", name, copy, part.outline, nested=nested))
    return tuple(found)


def _opening_around(
    spots: Sequence[shapely.Point], placed: Sequence[Placed]
) -> set[tuple[int, tuple[int, int]]]:
    """Which parts' spots lie in which openings (part, number) of other parts."""
    owners = [(i, k) for i, piece in enumerate(placed) for k in range(len(piece.shape.openings))]
    areas = [as_polygon(placed[i].shape.openings[k], _LOOK) for i, k in owners]
    if not areas:
        return set()
    opening, spot = shapely.STRtree(spots).query(areas, "contains")
    pairs = zip(spot.tolist(), opening.tolist(), strict=True)
    return {(s, owners[o]) for s, o in pairs if s != owners[o][0]}


def _deeper(part: Part, pocket: Pocket) -> tuple[Region, ...]:
    """What of the part meets the pocket's extent and is cut at least as deep: other pockets, and openings."""
    beside = [
        region(other.outline, other.islands)
        for other in part.pockets
        if other is not pocket and other.depth >= pocket.depth - 1e-9
    ]
    x0, y0, x1, y1 = bounds(pocket.outline)
    found = []
    for area in (*beside, *map(region, part.openings)):
        u0, v0, u1, v1 = bounds(area.exterior)
        if max(x0, u0) <= min(x1, u1) + _MEETS and max(y0, v0) <= min(y1, v1) + _MEETS:
            found.append(area)
    return tuple(found)
