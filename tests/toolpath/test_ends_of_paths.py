"""Where closed cuts begin and end: nothing gouged, no bite deeper than a pass, no tab cut from the side."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point, Polygon
from support.replayed import replay
from support.router import placed, plate

from camkit.geometry.path import Path, circle, polygon
from camkit.job.model import Cutter, Job, PartRow, Sheet
from camkit.part import Hole, Part
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.heights import ramped
from camkit.toolpath.plan import plan

SIZE = (600.0, 400.0)
THICKNESS = 18.0


def programmed(part: Part, cutter: dict[str, object], row: dict[str, object] | None = None) -> str:
    """The part's program, which the judge passes."""
    own = Cutter.model_validate({"number": 1, "diameter": 6.0, **cutter})
    rows = (PartRow.model_validate({"name": part.name, **row}),) if row else ()
    job = Job(sheet=(Sheet(measured_thickness=(THICKNESS,)),), cutter=(own,), part=rows)
    here = placed(part)
    text = write(plan(here, job, SIZE, THICKNESS).cuts, job, job.sheet[0], name="test", size=SIZE)
    said = judge(text, here, job, sheet_size=SIZE, thickness=THICKNESS).verdict
    assert [f.message for f in said.findings if f.level == "error"] == []
    return text


NARROW_L = polygon([(100, 100), (160, 100), (160, 105), (107, 105), (107, 150), (100, 150)])


@pytest.mark.parametrize(
    ("opening", "diameter", "leave"),
    [
        (circle((150.0, 120.0), 18.324), 4.0, 0.2),
        (circle((150.0, 120.0), 11.564), 4.0, 0.2),
        (NARROW_L, 3.175, 0.3),
    ],
)
def test_a_finish_pass_in_a_tight_opening_keeps_off_its_wall(
    opening: Path, diameter: float, leave: float
) -> None:
    text = programmed(plate(50, 50, openings=(opening,)), {"diameter": diameter, "finish_pass": leave})
    lines = text.splitlines()
    first = next(i for i, row in enumerate(lines, 1) if row.startswith("(CUT") and "OPENING" in row)
    last = next(i for i, row in enumerate(lines, 1) if i > first and row.startswith("(CUT"))
    inside = [m.points for m in replay(text, {1: diameter}) if first < m.line < last]
    moves = [points[:, :2] for points in inside if points[:, 2].min() < 0]
    if opening is NARROW_L:
        wall = Polygon([segment.start for segment in opening.segments])
    else:
        wall = Point(150, 120).buffer(math.dist(opening.segments[0].start, (150, 120)), quad_segs=2048)
    for points in (p for p in moves if np.ptp(p, axis=0).max() > 0):
        assert wall.exterior.distance(LineString(points)) >= diameter / 2 - 0.001


def test_before_a_finish_pass_the_cutter_goes_down_where_the_rough_passes_have_been() -> None:
    """A hole of 14 by a cutter of 4 that leaves 0.3: 4.695 from its middle, the last pass 4.995."""
    part = plate(50, 50, holes=(Hole((150, 100), 14.0),))
    text = programmed(part, {"diameter": 4.0, "finish_pass": 0.3})
    lines = text.splitlines()
    first = next(i for i, row in enumerate(lines, 1) if row.startswith("(CUT") and "HOLE" in row)
    last = next(i for i, row in enumerate(lines, 1) if i > first and row.startswith("(CUT"))
    down = [
        m.points[0]
        for m in replay(text, {1: 4.0})
        if first < m.line < last and np.ptp(m.points[:, :2], axis=0).max() == 0 and m.points[-1][2] < -18
    ]
    assert down and all(math.hypot(x - 150, y - 100) < 4.74 for x, y, _ in down if (x, y) != (150, 100))


@pytest.mark.parametrize("from_z", [0.5, 0.0])
@pytest.mark.parametrize("depths", [(3.0, 6.0, 9.0), (2.0, 4.0)])
def test_no_bite_is_deeper_than_a_pass(from_z: float, depths: tuple[float, ...]) -> None:
    """Floor under each place of a path of 200 mm, 0.1 apart, before and after the cutter goes over it."""
    heights = ramped(200.0, depths, from_z, 3.0)
    along, z = np.array(heights).T
    where = np.arange(0.0, along[-1], 0.1)
    tip = np.interp(where, along, z)
    floor = np.zeros(2000)
    for place, height in zip(np.round(where / 0.1).astype(int) % 2000, tip, strict=True):
        assert floor[place] - height <= depths[0] + 0.011
        floor[place] = min(floor[place], height)
    assert floor.max() == pytest.approx(-depths[-1])


def test_the_cutter_leaves_no_tab_cut_into_from_the_side() -> None:
    """It leaves by its arc on the flank of a tab, which falls to the table 12.7 mm from the tab's middle."""
    part = plate(50, 50)
    text = programmed(part, {}, {"tabs": [[50, 90], [250, 90], [50, 110]]})
    go = [m.points for m in replay(text, {1: 6.0}) if m.points[0, 2] == m.points[-1, 2] == -18.3][-1]
    (x, y), wall = go[0, :2], LineString([(50, 50), (250, 50), (250, 150), (50, 150), (50, 50)])
    assert wall.distance(Point(go[-1, :2])) > 3.3
    spot = wall.interpolate(wall.project(Point(x, y)))
    along = (1, 0) if abs(spot.x - 50) > 1e-6 and abs(spot.x - 250) > 1e-6 else (0, 1)
    for shift in (-12.7, -12.2, -11.7, 11.7, 12.2, 12.7):
        place = [spot.x + shift * along[0], spot.y + shift * along[1]]
        programmed(part, {}, {"tabs": [[50, 90], [250, 90], place]})
