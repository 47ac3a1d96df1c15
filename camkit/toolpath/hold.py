"""How each piece on a sheet is held: the job's rule for it, and what surrounds it."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Point
from camkit.geometry.transform import Placement, moved_point
from camkit.job.model import Job
from camkit.part import JointFace, Placed
from camkit.toolpath.lead import Wood
from camkit.toolpath.tab_ground import Ground

__all__ = ["given_tabs", "ground_of"]

# A recess that leaves this much less than a tab's height weakens the tab that hangs on it (common practice).
_ABOVE_TAB = 1.0
_GRAINS: dict[str, Point] = {"length": (1.0, 0.0), "width": (0.0, 1.0)}


def ground_of(
    home: Placed,
    placed: Sequence[Placed],
    job: Job,
    wood: Wood,
    size: tuple[float, float],
    thickness: float,
) -> Ground:
    """What surrounds the cuts along one of the pieces `placed` on a sheet of `size` (length, width).

    `wood` holds the pieces in the order of `placed`.
    """
    part = home.shape
    region = as_polygon(part.region())
    least = job.tabs.height + _ABOVE_TAB
    thin = [as_polygon(pocket.outline) for pocket in part.pockets if thickness - pocket.depth < least]
    return Ground(
        (0.0, 0.0, *size),
        wood,
        (home.part.name, home.copy),
        _lines(part.joint_faces),
        _lines(_near(home, placed, wood, 3 * max(cutter.diameter for cutter in job.cutter))),
        shapely.union_all(thin) if thin else None,
        _GRAINS.get(_grain(home.part.name, job)),
        (region.centroid.x, region.centroid.y),
    )


def _lines(faces: Sequence[JointFace]) -> shapely.MultiLineString | None:
    return shapely.MultiLineString(list(faces)) if faces else None


def _near(home: Placed, placed: Sequence[Placed], wood: Wood, reach: float) -> list[JointFace]:
    """Joint faces of other pieces whose extents come within `reach` mm."""
    x0, y0, x1, y1 = home.shape.bounds()
    around = shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    own = (home.part.name, home.copy)
    others = [placed[k] for k in sorted(wood.tree.query(around)) if wood.names[k] != own]
    return [face for other in others for face in other.shape.joint_faces]


def _grain(name: str, job: Job) -> str:
    row = next((row for row in job.part if row.name == name), None)
    return (job.sheet[0] if row is None else job.sheet_of(row)).grain


def given_tabs(home: Placed, job: Job) -> tuple[Point, ...]:
    """Where the job wants the tabs of the piece's outline, on the sheet."""
    points = next((row.tabs for row in job.part if row.name == home.part.name), ())
    where = Placement(home.x, home.y, home.turn_deg, home.mirrored)
    return tuple(moved_point(point, where) for point in points)
