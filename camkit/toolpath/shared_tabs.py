"""Tabs that stand in the cut round another piece: where two cuts meet, both leave the same wood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from camkit.cut import Tab
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path
from camkit.toolpath.along import Along
from camkit.toolpath.heights import Rise
from camkit.toolpath.tab_ground import WOOD

__all__ = ["ALONE", "Others", "Standing", "rises_over", "standing"]


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """A tab of another piece, and the wood that must stay for it: across the cut, and what it hangs on."""

    tab: Tab
    wood: shapely.Polygon


@dataclass(frozen=True, slots=True)
class Others:
    """Tabs of other pieces near a cut: those known `beside` it, and those that came `later`.

    Once these are known, its own tabs are `settled`.
    """

    beside: tuple[Standing, ...] = ()
    later: tuple[Standing, ...] = ()
    settled: tuple[Tab, ...] | None = None


# Over a tab that would stand in the cut by less than this the cutter does not rise: it leaves a splinter.
_LEAST = 2.0

# No other piece near.
ALONE = Others()


def standing(tabs: Sequence[Tab], outline: Path, radius: float) -> tuple[Standing, ...]:
    """The tabs in the cut along an outline or opening, made by a cutter of `radius` mm."""
    if not tabs:
        return ()
    wall = as_polygon(outline, 0.02).exterior
    found = []
    for tab in tabs:
        at = np.array((tab.x, tab.y))
        foot = shapely.get_coordinates(wall.interpolate(wall.project(shapely.Point(at))))[0]
        out = (at - foot) / max(float(np.hypot(*(at - foot))), 1e-9)
        ahead = np.array((-out[1], out[0])) * tab.width / 2
        far = at + out * (radius + WOOD)
        found.append(Standing(tab, shapely.Polygon([foot - ahead, foot + ahead, far + ahead, far - ahead])))
    return tuple(found)


def rises_over(
    path: Along, others: Sequence[Standing], radius: float, thickness: float, slope_deg: float
) -> list[tuple[Rise, Tab]]:
    """Where a cutter of `radius` mm rises along the path to leave others' tabs standing, and those tabs.

    What their places lack is told with their own piece.
    """
    found: list[tuple[Rise, Tab]] = []
    ring = path.ring
    chords = np.append(0.0, np.cumsum(np.hypot(*np.diff(path.points, axis=0).T)))
    for one in others:
        near = one.wood.buffer(radius, quad_segs=32)
        if not ring.intersects(near):
            continue
        crossed = ring.intersection(near)
        lines = shapely.line_merge(crossed) if crossed.geom_type == "MultiLineString" else crossed
        for piece in shapely.get_parts(lines):
            if piece.length < 2 * radius + _LEAST:
                continue
            middle = ring.project(piece.interpolate(0.5, normalized=True))
            place = float(np.interp(middle, chords, path.marks))
            half = piece.length / 2
            z = one.tab.height - thickness
            found.append((Rise(place - half, place + half, z, slope_deg), replace(one.tab, fault="")))
    return found
