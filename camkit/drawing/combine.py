"""Closed lines put together: the union of several, one less others, one without the lobes beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import shapely

from camkit.drawing.arrangement import Arrangement, arranged
from camkit.drawing.heal import fault_of
from camkit.geometry.flatten import flattened
from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, signed_area
from camkit.geometry.tolerance import CHAIN

__all__ = ["LARGEST_RELIEF", "less", "united", "without_lobes"]

# Half an inch is the largest cutter for which reliefs are drawn in wood (common practice, no source).
LARGEST_RELIEF = 12.7
# Lobes that cross an edge are small beside the whole; a figure of eight is not (common practice, no source).
_LOBES_SHARE = 0.25
# Loops are drawn together at their crossings as little as serves: first as chains are, then less.
_REACHES = (CHAIN, 1e-3, 1e-5)


def united(paths: Sequence[Path]) -> Path | None:
    """The line around all that sound closed paths enclose together, counter-clockwise, arcs kept.

    Crumbs of at most LARGEST_RELIEF that they enclose between them go with it. None when the union falls
    apart, touches itself, or leaves a larger piece in its middle.
    """
    wanted = shapely.union_all([_polygon(path) for path in paths])
    return _first(paths, lambda a: _one(a.outlines(any)), _without_crumbs(wanted))


def less(outline: Path, others: Sequence[Path]) -> Path | None:
    """What the outline keeps of its area when the others are cut from it, counter-clockwise, arcs kept.

    Crumbs of at most LARGEST_RELIEF that this cuts off go too. None when it would fall into larger pieces.
    """

    def rest(arrangement: Arrangement) -> Path | None:
        return _one(arrangement.outlines(lambda winding: winding[0] != 0 and not any(winding[1:])))

    cut = shapely.difference(_polygon(outline), shapely.union_all([_polygon(path) for path in others]))
    wanted = max(shapely.get_parts(cut), key=lambda part: part.area, default=cut)
    return _first([outline, *others], rest, wanted)


def without_lobes(path: Path, *, keep: bool) -> tuple[Path, float] | None:
    """A line that crosses itself made sound, and the size of the largest lobe beside its main area.

    The result goes around the main area; with `keep` it takes in the lobes that share a stretch of line with
    it, but none that hangs on a point, which no cutter passes. None when a lobe is larger than
    LARGEST_RELIEF, all together are more than a quarter of the main area, or the main area touches itself.
    """
    ring = shapely.LinearRing(flattened(path))
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all([ring])]))
    joined = shapely.get_parts(shapely.union_all(faces)) if keep else faces
    wanted = max(joined, key=lambda face: face.area, default=None)
    for reach in _REACHES if wanted is not None else ():
        arrangement = arranged([path], reach)
        areas = arrangement.areas()
        if len(areas) < 2:
            continue
        main, *lobes = areas
        largest = max(_size(areas[lobe]) for lobe in lobes)
        share = sum(signed_area(areas[lobe]) for lobe in lobes) / signed_area(areas[main])
        if largest > LARGEST_RELIEF or share > _LOBES_SHARE:
            continue
        result = _one(arrangement.around(arrangement.reached(main, areas) if keep else {main}))
        if result is not None and _encloses(result, wanted):
            return result, largest
    return None


def _first(paths: Sequence[Path], chosen: Callable[[Arrangement], Path | None], wanted: Any) -> Path | None:
    """The first result that encloses what the flattened areas say."""
    for reach in _REACHES:
        found = chosen(arranged(paths, reach))
        if found is not None and _encloses(found, wanted):
            return found
    return None


def _encloses(path: Path, wanted: Any) -> bool:
    """Whether the path is sound and its area is the wanted one, to within slivers."""
    shape = _polygon(path)
    if fault_of(shape) is not None:
        return False
    astray = shape.symmetric_difference(wanted)
    return bool(astray.area < CHAIN**2 or astray.buffer(-CHAIN).is_empty)


def _one(loops: Sequence[Path]) -> Path | None:
    """The largest of the loops where the others are crumbs."""
    ordered = sorted(loops, key=lambda loop: -signed_area(loop))
    if not ordered or signed_area(ordered[0]) <= 0:
        return None
    return ordered[0] if all(_size(loop) <= LARGEST_RELIEF for loop in ordered[1:]) else None


def _size(path: Path) -> float:
    x0, y0, x1, y1 = bounds(path)
    return max(x1 - x0, y1 - y0)


def _polygon(path: Path) -> Any:
    return shapely.Polygon(flattened(path))


def _without_crumbs(shape: Any) -> Any:
    """The areas with their interiors filled; larger ones were refused before."""
    return shapely.union_all([shapely.Polygon(part.exterior) for part in shapely.get_parts(shape)])
