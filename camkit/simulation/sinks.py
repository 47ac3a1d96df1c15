"""Rule `uncut` for countersinks: cones that the cutter must have made as wide as drawn. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable

from shapely import Point

from camkit.errors import Finding
from camkit.geometry.tolerance import UNCUT
from camkit.simulation.swept import Swept
from camkit.simulation.wanted import Cone, Wanted

__all__ = ["find_unsunk"]


def find_unsunk(part: Wanted, swept_below: Callable[[float], Swept]) -> list[Finding]:
    """Countersinks narrower than drawn by 0.05 mm of radius or more, near the top or half-way down."""
    return [found for cone in part.sinks if (found := _unsunk(part, cone, swept_below)) is not None]


def _unsunk(part: Wanted, cone: Cone, swept_below: Callable[[float], Swept]) -> Finding | None:
    for depth in (UNCUT, max(UNCUT, cone.bottom / 2)):
        rim = Point(cone.centre).buffer(cone.radius_at(depth) - UNCUT, quad_segs=32).exterior
        left = rim.difference(swept_below(depth).near(rim))
        if left.length > UNCUT:
            place = left.interpolate(0.5, normalized=True)
            return Finding(
                "error",
                "uncut",
                f"the countersink of {2 * cone.radius:g} mm at ({cone.centre[0]:.2f}, {cone.centre[1]:.2f}) "
                f"is not cut to its width {depth:.2f} mm below the top",
                "Cut it with a v-groove cutter of its angle, as wide as drawn",
                x_mm=round(place.x, 4),
                y_mm=round(place.y, 4),
                amount_mm=round(left.length, 4),
                part=part.name,
            )
    return None
