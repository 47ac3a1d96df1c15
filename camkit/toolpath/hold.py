"""How each piece on a sheet is held: the job's rule for it, and what surrounds it."""

from __future__ import annotations

import shapely

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Point
from camkit.geometry.transform import Placement, moved_point
from camkit.job.model import Job
from camkit.part import Placed
from camkit.toolpath.lead import Wood
from camkit.toolpath.tab_ground import Ground

__all__ = ["given_tabs", "ground_of"]

# A recess that leaves this much less than a tab's height weakens the tab that hangs on it (common practice).
_ABOVE_TAB = 1.0
_GRAINS: dict[str, Point] = {"length": (1.0, 0.0), "width": (0.0, 1.0)}


def ground_of(home: Placed, job: Job, wood: Wood, size: tuple[float, float], thickness: float) -> Ground:
    """What surrounds the cuts along a piece that lies on a sheet of `size` (length, width)."""
    part = home.shape
    region = as_polygon(part.region())
    least = job.tabs.height + _ABOVE_TAB
    thin = [as_polygon(pocket.outline) for pocket in part.pockets if thickness - pocket.depth < least]
    return Ground(
        (0.0, 0.0, *size),
        wood,
        (home.part.name, home.copy),
        shapely.MultiLineString(list(part.joint_faces)) if part.joint_faces else None,
        shapely.union_all(thin) if thin else None,
        _GRAINS.get(_grain(home.part.name, job)),
        (region.centroid.x, region.centroid.y),
    )


def _grain(name: str, job: Job) -> str:
    row = next((row for row in job.part if row.name == name), None)
    return (job.sheet[0] if row is None else job.sheet_of(row)).grain


def given_tabs(home: Placed, job: Job) -> tuple[Point, ...]:
    """Where the job wants the tabs of the piece's outline, on the sheet."""
    points = next((row.tabs for row in job.part if row.name == home.part.name), ())
    where = Placement(home.x, home.y, home.turn_deg, home.mirrored)
    return tuple(moved_point(point, where) for point in points)
