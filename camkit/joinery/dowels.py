"""Where alignment dowels may go through a stack of layers, and at which places a wrongly laid layer shows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from camkit.geometry.symmetry import Symmetry

__all__ = ["farthest_apart", "legal_spots", "pattern"]

Points = NDArray[np.float64]

# Spots are rounded to whole tenths, which moves them by up to 0.071.
_ROUNDED = 0.08
# About so many spots along the rim of the legal area and so many across it: plenty to choose two or three.
_ALONG, _ACROSS = 120, 14
# Two dowels that no layer can be mistaken for, if they lie at least this share of the farthest pair apart.
_SHARE = 0.6


def legal_spots(common: BaseGeometry, wall: float) -> Points:
    """Spots inside the common area at least `wall` from its rim, whole tenths, sorted; shape (n, 2).

    They lie along the rim of what is allowed, where far pairs are, and on a coarse grid inside.
    """
    area = shapely.buffer(common, -(wall + _ROUNDED))
    if area.is_empty:
        return np.empty((0, 2))
    step = max(1.0, area.length / _ALONG)
    rim = shapely.get_coordinates(shapely.segmentize(shapely.simplify(area.boundary, 0.05), step))
    x0, y0, x1, y1 = area.bounds
    across = max(x1 - x0, y1 - y0, 1.0) / _ACROSS
    xs, ys = np.meshgrid(np.arange(x0, x1 + across, across), np.arange(y0, y1 + across, across))
    spots = np.unique(np.round(np.vstack((rim, np.column_stack((xs.ravel(), ys.ravel())))), 1), axis=0)
    points = shapely.points(spots)
    legal = shapely.contains(common, points) & (shapely.distance(common.boundary, points) >= wall)
    chosen: Points = spots[legal]
    return chosen


def pattern(spots: Points, symmetries: Sequence[Symmetry], dowel: float) -> Points | None:
    """Two or three of the spots, as far apart as may be, that show every wrong turn or flip of a layer.

    For each symmetry of a layer's outline some hole must land at least one dowel diameter from every hole.
    None when no two or three of the spots do; spots must be at least two diameters apart.
    """
    apart = _distances(spots, spots)
    farthest = float(apart.max(initial=0.0))
    if farthest < 2 * dowel:
        return None
    telling = apart >= 2 * dowel
    landings = [_distances(symmetry.applied(spots), spots) for symmetry in symmetries]
    for landed in landings:
        alone = np.diag(landed) >= dowel
        first_tells = alone[:, None] & (landed >= dowel)
        telling &= first_tells | first_tells.T
    pair = _best(apart, telling)
    if pair and apart[pair] >= _SHARE * farthest:
        return spots[list(pair)]
    three = _with_third(_best(apart, apart >= 2 * dowel), apart, landings, dowel)
    chosen = three or pair
    return None if chosen is None else spots[list(chosen)]


def farthest_apart(holes: Points) -> float:
    """The largest distance between two of the holes, mm."""
    return float(_distances(holes, holes).max(initial=0.0))


def _distances(a: Points, b: Points) -> Points:
    distances: Points = np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])
    return distances


def _best(apart: Points, allowed: NDArray[np.bool_]) -> tuple[int, int] | None:
    """The allowed pair farthest apart; of equals within a micrometre the first."""
    if not allowed.any():
        return None
    ranked = np.where(allowed, np.round(apart, 3), -1.0)
    first, second = divmod(int(ranked.argmax()), len(apart))
    return first, second


def _with_third(
    pair: tuple[int, int] | None, apart: Points, landings: Sequence[Points], dowel: float
) -> tuple[int, int, int] | None:
    """The pair and a third spot, as far as may be from both, that together show every symmetry."""
    if pair is None:
        return None
    order = np.argsort(-np.round(np.minimum(apart[pair[0]], apart[pair[1]]), 3), kind="stable")
    for third in order:
        chosen = [*pair, int(third)]
        if min(apart[pair[0], third], apart[pair[1], third]) < 2 * dowel:
            return None
        if all((landed[np.ix_(chosen, chosen)] >= dowel).all(axis=1).any() for landed in landings):
            return chosen[0], chosen[1], chosen[2]
    return None
