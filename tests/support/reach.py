"""What a round cutter really clears, by widening and narrowing areas; apart from how reliefs are made.

Areas are of inscribed chords, 2 um at most off their arcs, so that a mouth is narrowed by as much: the cutter
counts as 3 um smaller in radius while its places are looked for.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path, Point

CHORD = 0.002
GIVE = 0.003
BETWEEN = 0.2


def cleared_inside(opening: Path, radius: float, small: float = 0.0) -> shapely.Geometry:
    """What a cutter of `radius` clears of an opening when it enters in the middle.

    Its true radius is `small` less, while it runs where a true one would.
    """
    return _swept(as_polygon(opening, CHORD), radius, small)


def cleared_outside(outline: Path, radius: float) -> shapely.Geometry:
    """What a cutter of `radius` clears around an outline."""
    wood = as_polygon(outline, CHORD)
    x0, y0, x1, y1 = wood.bounds
    far = 6 * radius + 1
    return _swept(shapely.box(x0 - far, y0 - far, x1 + far, y1 + far).difference(wood), radius)


def _swept(free: shapely.Geometry, radius: float, small: float = 0.0) -> shapely.Geometry:
    centres = free.buffer(-(radius - GIVE), quad_segs=256)
    pieces = shapely.get_parts(centres)
    return max(pieces, key=lambda piece: piece.area).buffer(radius - small, quad_segs=256)


def missed(wanted: shapely.Geometry, cleared: shapely.Geometry) -> float:
    """How deep the wanted area reaches into what was not cleared, in mm."""
    # Along a straight wall the deepest place may lie between the corners of what was missed.
    rest = shapely.get_coordinates(shapely.segmentize(wanted.difference(cleared), BETWEEN))
    return float(shapely.distance(cleared, shapely.points(rest)).max(initial=0.0)) if len(rest) else 0.0


def slanted_opening(width: float, length: float, angle_deg: float, at: Point = (0.0, 0.0)) -> Path:
    """A four-sided opening, clockwise: long walls 0 and 2 lie `width` apart along X, ends at `angle_deg`.

    Wall 0 runs along the top, to the right; the interior angles where it ends and starts are `angle_deg` and
    180 less that.
    """
    from camkit.geometry.path import polygon

    lean = width / math.tan(math.radians(angle_deg))
    corners = np.array([(0, width), (length, width), (length - lean, 0), (-lean, 0)]) + at
    return polygon([(float(x), float(y)) for x, y in corners])
