"""Where a part's name fits best on the part, and how large it may be written."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import LineString, MultiPolygon, Polygon, intersection
from shapely.ops import polylabel

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import circle
from camkit.part import Part

__all__ = ["LabelPlace", "label_place", "text_width"]

# Chords for finding a free spot only; nothing is drawn or cut from them.
_COARSE = 0.5
# Mean width of a letter over its size, on the wide side for DejaVu Sans (measured on its own letters).
_LETTER = 0.62


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
        return min(largest, 0.92 * self.along / max(text_width(text, 1.0), 1e-9), 0.4 * self.across)


def text_width(text: str, size: float) -> float:
    """About how wide a text runs when written `size` high; never less than it does in DejaVu Sans."""
    return _LETTER * size * len(text)


def label_place(shape: Part) -> LabelPlace:
    """The roomiest spot on the wood that stays, clear of openings and holes, and of pockets if it can be."""
    wood = as_polygon(shape.region(), _COARSE)
    for hole in shape.holes:
        wood = wood.difference(as_polygon(circle(hole.centre, hole.diameter), _COARSE))
    anywhere, full = _roomiest(wood)
    for pocket in shape.pockets:
        wood = wood.difference(as_polygon(pocket.outline, _COARSE))
    if wood.is_empty:
        return anywhere
    place, _ = _roomiest(wood)
    return place if place.across > 0.5 * full else anywhere


def _roomiest(wood: Polygon | MultiPolygon) -> tuple[LabelPlace, float]:
    """The spot in the largest piece of wood, and the clearance about it."""
    piece = max(getattr(wood, "geoms", (wood,)), key=lambda area: float(area.area))
    x0, y0, x1, y1 = piece.bounds
    middle = polylabel(piece, max(1.0, min(x1 - x0, y1 - y0) / 50))
    clear = min(float(ring.distance(middle)) for ring in (piece.exterior, *piece.interiors))
    flat = _run(piece, middle.x, middle.y, clear, upright=False)
    upright = _run(piece, middle.x, middle.y, clear, upright=True)
    turned = upright[1] - upright[0] > 1.3 * (flat[1] - flat[0])
    low, high = upright if turned else flat
    x, y = (middle.x, (low + high) / 2) if turned else ((low + high) / 2, middle.y)
    return LabelPlace(x, y, high - low, 2 * clear, turned), clear


def _run(wood: Polygon, x: float, y: float, clear: float, *, upright: bool) -> tuple[float, float]:
    """The stretch about (x, y) that stays on wood over a band of height `clear`."""
    x0, y0, x1, y1 = wood.bounds
    low, high = (y0, y1) if upright else (x0, x1)
    at = y if upright else x
    for aside in (-clear / 2, 0.0, clear / 2):
        ends = ((x + aside, y0), (x + aside, y1)) if upright else ((x0, y + aside), (x1, y + aside))
        free = intersection(wood, LineString(ends))
        for piece in getattr(free, "geoms", (free,)):
            if piece.geom_type == "LineString" and not piece.is_empty:
                px0, py0, px1, py1 = piece.bounds
                a, b = (py0, py1) if upright else (px0, px1)
                if a - 1e-6 <= at <= b + 1e-6:
                    low, high = max(low, a), min(high, b)
    return low, high
