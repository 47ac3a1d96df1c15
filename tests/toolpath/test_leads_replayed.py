"""How a cutter comes to an outline and leaves it, measured in the program's text."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point, box
from support.replayed import Move, replay, swept
from support.router import placed, plate

from camkit.geometry.path import rectangle
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Part
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (600.0, 400.0)
THICKNESS = 18.0
WALL = box(50, 50, 250, 150).exterior


def programmed(*parts: Part, machine: Machine | None = None, **cutter: float) -> str:
    """The program of the parts as drawn, which the judge passes."""
    own = Cutter.model_validate({"number": 1, "diameter": 6.0, **cutter})
    job = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=(own,), machine=machine or Machine())
    text = write(plan(placed(*parts), job, SIZE, THICKNESS).cuts, job, job.sheet[0], name="test", size=SIZE)
    said = judge(text, placed(*parts), job, sheet_size=SIZE, thickness=THICKNESS).verdict
    assert [f.message for f in said.findings if f.level == "error"] == []
    return text


def profile(text: str, part: str) -> list[Move]:
    """The fed moves of a part's outline, from the first that is no plain way down."""
    lines = text.splitlines()
    first = next(i for i, row in enumerate(lines, 1) if f"PROFILE {part.upper()} " in row)
    last = next((i for i, row in enumerate(lines, 1) if i > first and row.startswith("(CUT")), len(lines))
    moves = [m for m in replay(text, {1: 6.0}) if first < m.line < last]
    return [m for m in moves if np.ptp(m.points[:, :2], axis=0).max() > 0 and m.points[:, 2].max() < 1]


def heading(a: np.ndarray, b: np.ndarray) -> float:
    return math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))


@pytest.mark.parametrize(("direction", "word"), [("climb", "G3"), ("conventional", "G2")])
def test_the_cutter_comes_from_the_waste_by_an_arc_and_leaves_by_one(direction: str, word: str) -> None:
    """A quarter turn of the cutter's diameter, over the wood; out until 0.5 beside the path, and no ridge."""
    text = programmed(plate(50, 50), machine=Machine.model_validate({"direction": direction}))
    lines, moves = text.splitlines(), profile(text, "shelf")
    come, go = moves[0], moves[-1]
    assert lines[come.line - 1].startswith(word) and lines[go.line - 1].startswith(word)
    assert WALL.distance(Point(come.points[0][:2])) == pytest.approx(9.005, abs=0.001)
    assert WALL.distance(Point(come.points[-1][:2])) == pytest.approx(3.005, abs=0.001)
    assert come.points[:, 2].min() >= 0
    assert WALL.distance(Point(go.points[-1][:2])) == pytest.approx(3.505, abs=0.001)
    assert go.points[:, 2] == pytest.approx(-18.3)
    for one, two in ((come, moves[1]), (moves[-2], go)):
        turn = heading(*two.points[:2]) - heading(*one.points[-2:])
        assert abs((turn + 180) % 360 - 180) < 2.5
    # At full depth once round and a millimetre more: rim 2 x (200 + 100) + 2 pi 3.005.
    level = [m.points for m in moves[:-1] if np.allclose(m.points[:, 2], -18.3) or m.points[:, 2].min() < -14]
    whole = sum(float(np.linalg.norm(np.diff(p[:, :2], axis=0), axis=1).sum()) for p in level)
    assert whole > 600 + 2 * math.pi * 3.005 + 1


@pytest.mark.parametrize("angle", [2.0, 3.0, 5.0])
def test_it_sinks_by_the_ramp_angle_and_by_nothing_steeper_but_the_flanks_of_tabs(angle: float) -> None:
    moves = profile(programmed(plate(50, 50), ramp_angle=angle), "shelf")
    slopes = set()
    for m in moves:
        run = float(np.linalg.norm(np.diff(m.points[:, :2], axis=0), axis=1).sum())
        drop = float(m.points[0][2] - m.points[-1][2])
        if drop > 0.01 and m.points[0][2] <= 0:
            slopes.add(round(math.degrees(math.atan(drop / run)), 1))
    assert slopes - {30.0} <= {angle, round(angle - 0.1, 1), round(angle + 0.1, 1)}
    assert slopes & {angle, round(angle - 0.1, 1), round(angle + 0.1, 1)}


def test_arcs_keep_off_other_parts_and_the_cuts_round_them() -> None:
    """12 apart, the wide sides facing each other: each begins at an outer side."""
    left, right = plate(50, 50, 100, 200, name="left"), plate(162, 50, 100, 200, name="right")
    text = programmed(left, right)
    for name, other in (("left", box(162, 50, 262, 250)), ("right", box(50, 50, 150, 250))):
        moves = profile(text, name)
        for arc in (moves[0], moves[-1]):
            assert len(arc.points) > 2
            assert LineString(arc.points[:, :2]).distance(other) >= 3 + 6


def test_where_there_is_no_room_the_path_begins_and_ends_at_the_wall_as_before() -> None:
    """A lid in an opening 10 wider all round: an arc of 6 and the cutter would reach the frame."""
    frame = plate(50, 50, 300, 250, name="frame", openings=(rectangle(100, 100, 300, 250),))
    lid = Part("lid", rectangle(110, 110, 290, 240))
    text = programmed(frame, lid)
    moves = profile(text, "lid")
    around = box(110, 110, 290, 240).exterior
    for spot in (moves[0].points[0], moves[-1].points[-1]):
        assert around.distance(Point(spot[:2])) == pytest.approx(3.005, abs=0.001)
    assert swept(replay(text, {1: 6.0}), -18.0).intersection(box(110, 110, 290, 240)).area < 0.01
