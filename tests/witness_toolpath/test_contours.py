"""How outlines and openings are cut, measured in the replayed text: side, line, ramps, passes, bites, ridges.

Climb and conventional by geometry: with the spindle clockwise (M3) a climb cut keeps the wood that stays on
its right. Ramps, passes and tabs are what the job asks for; helix and ramp geometry from closed formulas.
"""

from __future__ import annotations

import math
import pathlib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.signed import Signed, sign
from support.signed_paths import carved
from support.steps import Step, levels, of_kind, steps
from support.trials import Bore, Piece, Recess, Shape, Trial, box, disc, made, rounded, texts

_L = Shape(tuple((x, y, 0.0) for x, y in [(20, 20), (170, 20), (170, 75), (105, 75), (105, 125), (20, 125)]))
_BLOB = Shape(((200, 60, 0.3), (260, 24, 0.0), (300, 70, -0.25), (290, 120, 0.0), (225, 118, 0.2)))
PIECES = (
    Piece("ell", _L, (24, 24), (rounded(35, 35, 75, 65, 8), box(120, 35, 150, 60)), (), (Bore(60, 95, 14),)),
    Piece("blob", _BLOB, (215, 70), (disc(250, 85, 12),), (Recess(box(235, 45, 255, 62), 5.0),)),
)
SIZE = (325, 150)
TRIALS: dict[str, Trial] = {
    "climb": Trial(
        PIECES, SIZE, 11.8, [{"number": 1, "kind": "upcut spiral", "diameter": 6.0, "pass_depth": 5.0}]
    ),
    "conventional": Trial(
        PIECES,
        SIZE,
        17.6,
        [
            {
                "number": 1,
                "kind": "compression spiral",
                "diameter": 5.0,
                "upcut_length": 6.0,
                "ramp_angle": 4.5,
            }
        ],
        {"direction": "conventional", "zero": "table", "xy_zero": "centre", "program_unit": "inch"},
        {"shape": "square", "height": 2.5},
    ),
    "finished": Trial(
        (
            replace(PIECES[0], openings=(box(35, 35, 75, 65), box(120, 35, 150, 60)), holes=()),
            replace(PIECES[1], openings=()),
        ),
        SIZE,
        9.0,
        [{"number": 1, "kind": "straight", "diameter": 4.0, "pass_depth": 3.5, "finish_pass": 0.3}],
        {"rough_direction": "conventional", "arcs": "lines"},
        {"width": 7, "height": 2},
    ),
}
Made = tuple[Trial, list[Step], Signed]


@pytest.fixture(scope="module", params=list(TRIALS))
def made_one(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    trial = TRIALS[request.param]
    found = texts(made(trial, tmp_path_factory.mktemp("contours")))
    return trial, [s for text in found for s in steps(text, trial.origin())], sign(trial, found, 0.7)


@pytest.mark.parametrize(
    "measure",
    [
        "line",
        "side",
        "passes",
        "descents",
        "bites",
        "bites by ramps",
        "rapids",
        "feeds",
        "ridges",
        "gouges",
        "profile",
        "opening",
    ],
)
def test_a_contour_is_cut_as_the_trade_has_it(made_one: Made, measure: str) -> None:
    assert made_one[2].complaints.get(measure) is None


def test_steps_are_even_and_as_few_as_the_pass_depth_allows(made_one: Made) -> None:
    trial, run, _ = made_one
    (row,) = trial.cutters
    for steps_of in of_kind(run, "PROFILE").values():
        tab = -trial.thickness + trial.tabs.get("height", 3.0)
        found = [z for z in levels(steps_of, 60) if abs(z - tab) > 1e-3]
        depths = -np.diff([0.0, *found])
        first = row.get("upcut_length", -1.0) + 1.0
        if first:
            assert depths[0] == pytest.approx(first, abs=2e-3)
            depths = depths[1:]
        most = row.get("pass_depth", row["diameter"])
        assert len(depths) == math.ceil((-trial.bottom - first) / most)
        assert np.ptp(depths) < 2e-3


def test_the_finish_pass_takes_what_the_others_leave_at_full_depth(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    trial = TRIALS["finished"]
    (text,) = texts(made(trial, tmp_path_factory.mktemp("finished")))
    run = steps(text, trial.origin())
    wall = PIECES[0].outline.polygon()
    for mark, its in of_kind(run, "PROFILE").items():
        if mark.part != "ELL":
            continue
        away: dict[float, set[float]] = {}
        for step in its:  # along the long lower side
            a, b = step.points[0], step.points[-1]
            if (
                step.word == 1
                and step.run > 20
                and abs(a[1] - b[1]) < 1e-6
                and a[1] < 20
                and step.drop < 1e-6
            ):
                away.setdefault(round(float(a[2]), 2), set()).add(round(wall.bounds[1] - float(a[1]) - 2, 2))
        bottom = round(trial.bottom, 2)
        assert {gap for z, gaps in away.items() if z > bottom for gap in gaps} <= {0.3, 0.31}
        assert min(away[bottom]) == pytest.approx(0.0, abs=0.012)


@pytest.mark.parametrize(
    ("hole", "angle", "pitch"), [(8.0, 5.0, 0.5498), (12.0, 3.0, 0.9879), (12.0, 4.0, 1.3181)]
)
def test_a_helix_sinks_by_pi_times_the_rest_of_the_hole_times_the_tangent(
    tmp_path: pathlib.Path, hole: float, angle: float, pitch: float
) -> None:
    # pi (D - d) tan a: 0.55 for a hole of 8, a cutter of 6 and 5 degrees (worked by hand).
    assert pitch == pytest.approx(math.pi * (hole - 6) * math.tan(math.radians(angle)), abs=1e-4)
    piece = Piece("plate", box(20, 20, 80, 70), (25, 25), holes=(Bore(50, 45, hole),))
    row: dict[str, Any] = {"number": 1, "kind": "upcut spiral", "diameter": 6.0, "ramp_angle": angle}
    trial = Trial([piece], (100, 90), 9.0, [row])
    (text,) = texts(made(trial, tmp_path))
    (its,) = of_kind(steps(text), "HOLE").values()
    turns = [s for s in its if s.word > 1 and s.drop > 1e-4]
    assert sum(s.drop for s in turns) == pytest.approx(-trial.bottom, abs=0.51)
    for step in turns:  # the path runs 5 to 11 um off the wall, and ends where a turn does
        assert step.drop / step.run * math.pi * (hole - 6) == pytest.approx(pitch, rel=0.01)
    board, _ = carved(trial, its, 0.4)
    inside = np.hypot(*(board.points - (50, 45)).T) < hole / 2 - 0.02
    assert board.height[inside].max() == pytest.approx(trial.bottom, abs=1e-3)


def test_inside_arcs_are_fed_so_that_the_chip_at_the_wall_is_that_of_a_straight_cut(
    tmp_path: pathlib.Path,
) -> None:
    # The edge moves (R - r) / R as fast at the cutter's middle as at a wall of radius R; at least a quarter.
    opening = rounded(40, 40, 120, 100, 10)
    piece = Piece("plate", rounded(20, 20, 140, 120, 15), (25, 60), (opening,), (), (Bore(30, 30, 7.0),))
    row = {"number": 1, "kind": "upcut spiral", "diameter": 6.0, "feed": 3000, "plunge": 900, "speed": 18000}
    trial = Trial([piece], (160, 140), 5.0, [row])
    (text,) = texts(made(trial, tmp_path))
    run = steps(text)
    level = [s for s in run if s.word > 1 and abs(s.drop) < 1e-6 and s.end[2] < -1]
    walls = [s for s in level if s.mark and s.mark.kind == "OPENING" and abs(s.radius - 6.995) < 0.007]
    assert walls
    assert [s.feed for s in walls] == pytest.approx([2100] * len(walls), abs=10)
    outside = [s for s in level if s.mark and s.mark.kind == "PROFILE" and abs(s.radius - 18.005) < 0.007]
    assert outside
    assert {s.feed for s in outside} == {3000}
    bored = [s for s in run if s.mark and s.mark.kind == "HOLE" and s.word > 1]
    assert min(s.feed for s in bored) == pytest.approx(750)
