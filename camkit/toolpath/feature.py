"""What is to be cut on a sheet: one feature after another, taken from the placed parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from camkit.cut import CutKind
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path, circle
from camkit.part import Hole, Placed

__all__ = ["Feature", "features"]


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing to cut. `outline` is its edge in sheet coordinates; `depth` None cuts through.

    `islands` stay standing in a pocket, which may run off the edge of its part (`home`). `hole` is set for
    round holes. `nested` counts the openings of other parts that its part lies in; `holds_parts` tells that
    other parts lie inside it (an opening).
    """

    kind: CutKind
    part: str
    copy: int
    outline: Path
    depth: float | None = None
    islands: tuple[Path, ...] = ()
    home: Path | None = None
    hole: Hole | None = None
    nested: int = 0
    holds_parts: bool = False


def features(placed: Sequence[Placed]) -> tuple[Feature, ...]:
    """Every feature of the parts of one sheet, in the order of the parts."""
    outlines = [as_polygon(p.shape.outline, 0.05) for p in placed]
    spots = [outline.representative_point() for outline in outlines]
    found: list[Feature] = []
    for i, piece in enumerate(placed):
        part, name, copy = piece.shape, piece.part.name, piece.copy
        nested = sum(
            _inside_an_opening(spots[i], other.shape.openings) for j, other in enumerate(placed) if j != i
        )
        found += [
            Feature(
                "pocket",
                name,
                copy,
                pocket.outline,
                pocket.depth,
                pocket.islands,
                part.outline,
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
        for opening in part.openings:
            area = as_polygon(opening, 0.05)
            holds = any(area.contains(spot) for j, spot in enumerate(spots) if j != i)
            found.append(Feature("opening", name, copy, opening, nested=nested, holds_parts=holds))
        found.append(Feature("profile", name, copy, part.outline, nested=nested))
    return tuple(found)


def _inside_an_opening(spot: shapely.Point, openings: Sequence[Path]) -> bool:
    return any(as_polygon(opening, 0.05).contains(spot) for opening in openings)
