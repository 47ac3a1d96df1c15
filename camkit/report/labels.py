"""Where a part's name fits best on the part, and how large it may be written."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from shapely import MultiPolygon, Point, Polygon, box
from shapely.ops import polylabel

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import circle, region
from camkit.part import Part

__all__ = ["LabelPlace", "label_place", "text_width"]

# Chords for finding a free spot only; nothing is drawn or cut from them.
_COARSE = 0.5
# Mean width of a letter over its size, on the wide side for DejaVu Sans (measured on its own letters).
_LETTER = 0.62
# What is tried: points across and along, a name of usual length, and a size that is large enough.
_SPREAD = 7
_USUAL_NAME = "end frame 2"
_ENOUGH = 45.0


@dataclass(frozen=True, slots=True)
class LabelPlace:
    """The middle of a free spot, its free length in reading direction and its free height, in mm.

    `turned` says that the text reads from below upwards.
    """

    x: float
    y: float
    along: float
    across: float
    turned: bool

    def size_for(self, text: str, largest: float) -> float:
        """Letter height with which `text` fits, at most `largest`, in mm."""
        return min(largest, 0.92 * self.along / max(text_width(text, 1.0), 1e-9), 0.55 * self.across)


def text_width(text: str, size: float) -> float:
    """About how wide a text runs when written `size` high; never less than it does in DejaVu Sans."""
    return _LETTER * size * len(text)


@lru_cache(maxsize=512)
def label_place(shape: Part) -> LabelPlace:
    """The roomiest spot on the wood that stays, clear of openings and holes, and of pockets if it can be."""
    bored = [circle(hole.centre, hole.diameter) for hole in shape.holes]
    wood = as_polygon(region(shape.outline, shape.openings), _COARSE)
    bare = wood.difference(MultiPolygon([as_polygon(p.outline, _COARSE) for p in shape.pockets]).buffer(0))
    for loop in bored:
        wood, bare = (area.difference(as_polygon(loop, _COARSE)) for area in (wood, bare))
    places = [_best(area) for area in (bare, wood)]
    found = [place for place in places if place is not None]
    if not found:
        x0, y0, x1, y1 = as_polygon(shape.outline, _COARSE).bounds
        return LabelPlace((x0 + x1) / 2, (y0 + y1) / 2, x1 - x0, y1 - y0, False)
    return found[0] if _size(found[0]) > 0.5 * _size(found[-1]) else found[-1]


def _best(wood: Polygon | MultiPolygon) -> LabelPlace | None:
    """Of bands about points spread over the largest piece the one that takes the largest letters."""
    piece = max(getattr(wood, "geoms", (wood,)), key=lambda area: float(area.area), default=wood)
    if piece.is_empty or not isinstance(piece, Polygon):
        return None
    x0, y0, x1, y1 = piece.bounds
    middle = polylabel(piece, max(1.0, min(x1 - x0, y1 - y0) / 50))
    points = [(middle.x, middle.y)] + [
        (x0 + (x1 - x0) * (i + 0.5) / _SPREAD, y0 + (y1 - y0) * (j + 0.5) / _SPREAD)
        for i in range(_SPREAD)
        for j in range(_SPREAD)
    ]
    best: tuple[float, LabelPlace] | None = None
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    for x, y in points:
        clear = _clearance(piece, x, y)
        for across in (1.4 * clear, 0.7 * clear):
            for turned in (False, True):
                place = _band(piece, x, y, across, turned=turned)
                aside = math.dist((place.x, place.y), centre) / (x1 - x0 + y1 - y0)
                worth = _size(place) * (0.75 if turned else 1.0) * (1 - 0.4 * aside)
                if best is None or worth > best[0] + 1e-9:
                    best = (worth, place)
    return best[1] if best else None


def _clearance(piece: Polygon, x: float, y: float) -> float:
    point = Point(x, y)
    if not piece.contains(point):
        return 0.0
    return min(float(ring.distance(point)) for ring in (piece.exterior, *piece.interiors))


def _size(place: LabelPlace) -> float:
    return place.size_for(_USUAL_NAME, _ENOUGH)


def _band(wood: Polygon, x: float, y: float, across: float, *, turned: bool) -> LabelPlace:
    """The band `across` high about (x, y), as far as it runs on nothing but wood."""
    x0, y0, x1, y1 = wood.bounds
    half = across / 2
    band = box(x - half, y0, x + half, y1) if turned else box(x0, y - half, x1, y + half)
    low, high, at = (y0, y1, y) if turned else (x0, x1, x)
    gaps = band.difference(wood)
    for gap in getattr(gaps, "geoms", (gaps,)):
        if not gap.is_empty:
            a, b = (gap.bounds[1], gap.bounds[3]) if turned else (gap.bounds[0], gap.bounds[2])
            low, high = (max(low, b), high) if b <= at else (low, min(high, a))
    middle, long = (low + high) / 2, max(0.0, high - low)
    return LabelPlace(x if turned else middle, middle if turned else y, long, across, turned)
