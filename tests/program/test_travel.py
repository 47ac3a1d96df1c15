"""How high the cutter travels between cuts, measured in the program's text."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box
from support.replayed import replay
from support.router import placed, plate

from camkit.cut import Cut, Feed, Rapid
from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Hole
from camkit.program.travel import low_travel
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (600.0, 400.0)
CUTTERS = (Cutter(number=1, diameter=6.0), Cutter(number=2, diameter=4.5, kind="drill"))


def heights(**machine: object) -> list[tuple[int, float]]:
    """T number and height of every rapid over the sheet, two plates with two drilled holes each."""
    job = Job(
        sheet=Sheet(measured_thickness=(18.0,)), cutter=CUTTERS, machine=Machine.model_validate(machine)
    )
    holes = ((80.0, 80.0), (220.0, 80.0))
    parts = placed(
        plate(50, 50, name="one", holes=tuple(Hole(p, 4.5) for p in holes)),
        plate(50, 200, name="two", holes=tuple(Hole((x, y + 150), 4.5) for x, y in holes)),
    )
    text = write(plan(parts, job, SIZE, 18.0).cuts, job, job.sheet[0], name="test", size=SIZE)
    said = judge(text, parts, job, sheet_size=SIZE, thickness=18.0).verdict
    assert [f.message for f in said.findings if f.level == "error"] == []
    rows = text.splitlines()
    return [
        (int(m.diameter), float(m.points[:, 2].min()))
        for m in replay(text, {1: 6.0, 2: 4.5})
        if rows[m.line - 1].startswith("G0") and np.ptp(m.points[:, :2], axis=0).max() > 0
    ]


def test_between_cuts_of_one_cutter_it_is_low_and_high_from_one_cutter_to_the_next() -> None:
    assert heights() == [(4, 5.0)] * 3 + [(6, 15.0), (6, 5.0)]


@pytest.mark.parametrize(("machine", "low"), [({"travel_height": 8}, 8.0), ({"safe_height": 4}, 4.0)])
def test_the_machine_says_how_low(machine: dict[str, float], low: float) -> None:
    assert {height for _, height in heights(**machine)} == {low, machine.get("safe_height", 15.0)}


def test_over_what_stands_on_the_sheet_it_stays_high() -> None:
    """From (0, 0) to (100, 0) and on to (100, 100); a clamp stands at (50, 0)."""
    spots = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0)]
    cuts = [
        Cut(k, "hole", "p", 1, 1, 1, (Rapid(x, y, 15), Rapid(x, y, 2), Feed(x, y, -1, 900), Rapid(x, y, 15)))
        for k, (x, y) in enumerate(spots, 1)
    ]
    moves = [move for cut in low_travel(cuts, Machine(), (box(40, -5, 60, 5),)) for move in cut.moves]
    assert [m.z for m in moves] == [15, 2, -1, 15, 15, 2, -1, 5, 5, 2, -1, 15]
