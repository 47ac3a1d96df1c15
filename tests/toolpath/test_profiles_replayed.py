"""Passes and the finish pass, measured in the program's text by a replay that knows nothing of camkit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point, box
from support.replayed import Move, replay, swept
from support.router import placed, plate

from camkit.geometry.path import polygon, rectangle
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Part, Pocket
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import Plan, plan

SIZE = (500.0, 400.0)
THICKNESS = 18.0


def job(cutter: Cutter, **machine: object) -> Job:
    return Job(
        sheet=Sheet(measured_thickness=(THICKNESS,)),
        machine=Machine(**machine),
        cutter=(cutter,),
    )


def written(parts: tuple[Part, ...], job: Job, *, sound: bool = True) -> tuple[str, Plan]:
    """The program of the parts as drawn; the judge passes it."""
    here = placed(*parts)
    planned = plan(here, job, SIZE, THICKNESS)
    text = write(planned.cuts, job, job.sheet[0], name="test", size=SIZE)
    if sound:
        said = judge(text, here, job, sheet_size=SIZE, thickness=THICKNESS).verdict
        assert [f.message for f in said.findings if f.level != "note"] == []
    return text, planned


def moves_of(text: str, kind: str, diameter: float = 6.0) -> list[Move]:
    """The moves of the first cut of that kind, without travel above the sheet."""
    lines = text.splitlines()
    first = next(i for i, line in enumerate(lines, 1) if line.startswith("(CUT") and f" {kind} " in line)
    last = next((i for i, row in enumerate(lines, 1) if i > first and row.startswith("(CUT")), len(lines))
    return [m for m in replay(text, {1: diameter}) if first < m.line < last]


def round_at(moves: list[Move], z: float) -> float:
    """Length of the way cut at one height."""
    level = [m.points for m in moves if np.allclose(m.points[:, 2], z, atol=1e-4)]
    return float(sum(np.linalg.norm(np.diff(points, axis=0), axis=1).sum() for points in level))


def levels(moves: list[Move]) -> list[float]:
    """Heights at which the cutter goes level for 100 mm or more in all, the highest first."""
    heights = {round(float(m.points[-1][2]), 4) for m in moves}
    return sorted((z for z in heights if z < 0 and round_at(moves, z) > 100), reverse=True)


def test_the_first_pass_of_a_compression_cutter_goes_below_its_upcut_part() -> None:
    """6 of upcut and 1 more, then 11.3 left in two even passes of 5.65 (trade figure: about d, + 1)."""
    text, _ = written((plate(50, 50),), job(Cutter(number=1, diameter=6.0, kind="compression spiral")))
    assert levels(moves_of(text, "PROFILE")) == pytest.approx([-7.0, -12.65, -18.3])


def test_its_makers_figure_counts_and_other_cutters_pass_evenly() -> None:
    eight = Cutter(number=1, diameter=6.0, kind="compression spiral", upcut_length=8.0)
    assert levels(moves_of(written((plate(50, 50),), job(eight))[0], "PROFILE"))[0] == pytest.approx(-9.0)
    even = Cutter(number=1, diameter=6.0, kind="upcut spiral")
    found = levels(moves_of(written((plate(50, 50),), job(even))[0], "PROFILE"))
    assert found == pytest.approx([-4.575, -9.15, -13.725, -18.3])


def test_a_pass_that_is_deep_enough_already_stays_even() -> None:
    deep = Cutter(number=1, diameter=6.0, kind="compression spiral", pass_depth=9.2)
    assert levels(moves_of(written((plate(50, 50),), job(deep))[0], "PROFILE")) == pytest.approx(
        [-9.15, -18.3]
    )


def test_a_pocket_shallower_than_the_upcut_part_is_told() -> None:
    pocketed = plate(50, 50, pockets=(Pocket(rectangle(80, 80, 140, 120), 6.0),))
    _, planned = written((pocketed,), job(Cutter(number=1, diameter=6.0, kind="compression spiral")))
    said = [f for f in planned.findings if f.rule == "upcut-part"]
    assert [f.level for f in said] == ["warning"] and said[0].part == "shelf"
    assert "a pocket of 60 x 40 mm, 6 mm deep" in said[0].message and "7 mm would not" in said[0].message
    _, planned = written((pocketed,), job(Cutter(number=1, diameter=6.0, kind="downcut spiral")))
    assert [f for f in planned.findings if f.rule == "upcut-part"] == []


def turning(moves: list[Move]) -> float:
    """Twice the area that the moves go round, positive when they turn counter-clockwise."""
    points = np.vstack([m.points for m in moves])
    x, y = points[:, 0], points[:, 1]
    return float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


def off(moves: list[Move], wall: tuple[float, float, float, float]) -> np.ndarray:
    """Distance of every point of the moves from the walls of an upright rectangle."""
    ring = box(*wall).exterior
    return np.array([ring.distance(Point(p)) for m in moves for p in m.points[:, :2]])


WALL = (50.0, 50.0, 250.0, 150.0)


def rough_and_finish(moves: list[Move]) -> tuple[list[Move], list[Move]]:
    """The moves before the first that ends 3.005 from the wall, and the rest, without the way up."""
    ring = box(*WALL).exterior
    first = next(i for i, m in enumerate(moves) if ring.distance(Point(m.points[-1][:2])) < 3.1)
    return moves[:first], [m for m in moves[first:] if m.points[:, 2].max() < 0]


@pytest.mark.parametrize("rough_direction", [None, "climb", "conventional"])
def test_rough_passes_leave_0_3_and_the_finish_pass_takes_it_at_full_depth(
    rough_direction: str | None,
) -> None:
    cutter = Cutter(number=1, diameter=6.0, finish_pass=0.3)
    text, planned = written((plate(50, 50),), job(cutter, rough_direction=rough_direction))
    assert [f for f in planned.findings if f.rule == "no-finish-pass"] == []
    rough, finish = rough_and_finish(moves_of(text, "PROFILE"))
    cutting = [m for m in rough if m.points[:, 2].max() < 0]
    assert off(cutting, WALL).min() == pytest.approx(3.305, abs=0.001)
    assert min(m.points[:, 2].min() for m in cutting) == pytest.approx(-18.3)
    # Clockwise round the outside is climb with the spindle turning clockwise.
    assert (turning(cutting) > 0) == (rough_direction == "conventional")
    assert turning(finish) < 0
    # Level at full depth but for the tabs, from the first touch of the wall to the last.
    at_wall = [m for m in finish if off([m], WALL).max() < 3.01]
    assert round_at(at_wall, -18.3) > 0.75 * sum(
        float(np.linalg.norm(np.diff(m.points[:, :2], axis=0), axis=1).sum()) for m in at_wall
    )
    assert {round(float(m.points[:, 2].max()), 3) for m in finish} <= {-18.3, -15.0}


def test_the_finish_pass_comes_and_goes_by_arcs_that_touch_the_wall_at_a_tangent() -> None:
    text, _ = written((plate(50, 50),), job(Cutter(number=1, diameter=6.0, finish_pass=0.3)))
    lines = text.splitlines()
    _, finish = rough_and_finish(moves_of(text, "PROFILE"))
    come, go = finish[0], finish[-1]
    for arc, touch, away in ((come, come.points[-1], come.points[0]), (go, go.points[0], go.points[-1])):
        assert lines[arc.line - 1].startswith("G3")  # the waste lies on the left of a climb cut
        ring = box(*WALL).exterior
        assert ring.distance(Point(touch[:2])) == pytest.approx(3.005, abs=0.001)
        assert ring.distance(Point(away[:2])) == pytest.approx(3.305, abs=0.001)
    into = come.points[-1] - come.points[-2]
    on = finish[1].points[1] - finish[1].points[0]
    assert abs(math.atan2(into[0] * on[1] - into[1] * on[0], float(into[:2] @ on[:2]))) < math.radians(1)
    # The wall is met twice for a millimetre where it begins and ends: no ridge is left there.
    over = np.linalg.norm(go.points[0][:2] - come.points[-1][:2])
    assert over == pytest.approx(1.0, abs=0.01)
    assert float(on[:2] @ (go.points[0][:2] - come.points[-1][:2])) > 0


def test_a_mortise_that_is_milled_away_gets_its_finish_pass_too() -> None:
    cutter = Cutter(number=1, diameter=6.0, finish_pass=0.3)
    opened = plate(50, 50, openings=(rectangle(100, 90, 160, 107.8),))
    text, planned = written((opened,), job(cutter, rough_direction="conventional"))
    assert [f for f in planned.findings if f.rule == "no-finish-pass"] == []
    moves = moves_of(text, "OPENING")
    wall = (100.0, 90.0, 160.0, 107.8)
    near = [m for m in moves if m.points[:, 2].max() < 0 and off([m], wall).min() < 3.1]
    assert {round(float(m.points[:, 2].max()), 3) for m in near} == {-18.3}
    assert turning(near) > 0  # climb is counter-clockwise in an opening
    assert swept(moves, -18.0).area == pytest.approx(60 * 17.8 - (4 - math.pi) * 3.0**2, rel=0.002)


def test_a_slot_that_the_rough_passes_cannot_enter_is_sunk_by_passes() -> None:
    """6.4 wide: rough passes 0.3 off both walls would need 6.6; nowhere is 18.3 taken at once."""
    slotted = Part("rail", polygon([(50, 50), (250, 50), (250, 150), (153.2, 150), (153.2, 120),
                                    (146.8, 120), (146.8, 150), (50, 150)]))  # fmt: skip
    text, _ = written((slotted,), job(Cutter(number=1, diameter=6.0, finish_pass=0.3)))
    moves = moves_of(text, "PROFILE")
    inside = LineString([(150, 126), (150, 145)])
    visits = [
        float(m.points[:, 2].min())
        for m in moves
        if m.points[:, 2].max() < 0 and LineString(m.points[:, :2]).distance(inside) < 0.5
    ]
    before = 0.0
    for z in visits:
        assert before - z < 6.0 + 0.51
        before = min(before, z)
    assert before == pytest.approx(-18.3)


def test_parts_without_room_between_them_for_rough_passes_are_cut_without_and_told() -> None:
    """6.2 apart: a path 0.3 farther out would cut 0.1 into the neighbour."""
    two = (plate(50, 50, name="left"), plate(256.2, 50, name="right"))
    _, planned = written(two, job(Cutter(number=1, diameter=6.0, finish_pass=0.3)), sound=False)
    said = [f for f in planned.findings if f.rule == "no-finish-pass"]
    assert [f.part for f in said] == ["left", "right"]
    assert "the outline of 200 x 100 mm is cut without a finish pass" in said[0].message
