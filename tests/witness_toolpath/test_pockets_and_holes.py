"""Pockets, rabbets, islands, bored and drilled holes and countersinks, measured as wood that is left.

Countersinks: DIN 74-1:1980 form A, medium: d, clearance hole, rim, depth (about).
"""

from __future__ import annotations

import math
import pathlib
from typing import Any

import numpy as np
import pytest
from shapely import Polygon
from support.carved import Board
from support.signed import sign
from support.signed_features import holes, left_over, swept_to
from support.steps import Step, of_kind, steps
from support.trials import Bore, Piece, Recess, Shape, Trial, box, made, rounded, texts

MILL: dict[str, Any] = {"number": 1, "kind": "downcut spiral", "diameter": 6.0, "pass_depth": 4.0}
DRILL: dict[str, Any] = {"number": 2, "kind": "drill", "diameter": 5.0, "pass_depth": 6.0}
SINK: dict[str, Any] = {"number": 3, "kind": "v-groove", "diameter": 8.0}


def _star(x: float, y: float, wide: float, deep: float) -> Shape:
    turns = [k * math.pi / 5 for k in range(10)]
    radii = [deep if k % 2 else wide for k in range(10)]
    return Shape(
        tuple(
            (round(x + r * math.cos(t), 4), round(y + r * math.sin(t), 4), 0.0)
            for r, t in zip(radii, turns, strict=True)
        )
    )


_ELL = Shape(
    tuple(
        (float(x), float(y), 0.0) for x, y in [(30, 30), (110, 30), (110, 50), (60, 50), (60, 110), (30, 110)]
    )
)
POCKETS = {
    "ell": Recess(_ELL, 7.0),
    "star": Recess(_star(165, 70, 40, 29), 5.0),
    "slot": Recess(rounded(125, 120, 215, 129, 4.5), 6.0),
    "tilted": Recess(Shape(((232, 40, 0), (262, 60, 0), (246, 84, 0), (216, 64, 0))), 3.5),
}
BOARD = Trial(
    [Piece("board", box(20, 20, 280, 150), (24, 24), (), tuple(POCKETS.values()))], (300, 170), 12.0, [MILL]
)


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> list[Step]:
    (text,) = texts(made(BOARD, tmp_path_factory.mktemp("pockets")))
    assert sign(BOARD, [text], 0.7).complaints == {}
    return steps(text)


@pytest.mark.parametrize("name", list(POCKETS))
def test_a_pocket_keeps_nothing_that_the_cutter_reaches(run: list[Step], name: str) -> None:
    pocket = POCKETS[name]
    left, diameter = left_over(BOARD, run, pocket.shape.polygon(), -pocket.depth)
    assert diameter == 6.0
    assert left < 0.001


def test_a_large_cutter_clears_and_a_small_one_takes_only_the_rest(tmp_path: pathlib.Path) -> None:
    pocket = Recess(rounded(30, 30, 150, 110, 2.0), 6.0)
    rows = [
        {**MILL, "diameter": 12.0, "pass_depth": 6.0},
        {**MILL, "number": 2, "diameter": 3.0, "pass_depth": 3.0},
    ]
    trial = Trial([Piece("board", box(15, 15, 165, 125), (20, 20), (), (pocket,))], (180, 140), 12.0, rows)
    (text,) = texts(made(trial, tmp_path))
    its = [s for cut in of_kind(steps(text), "POCKET").values() for s in cut]
    assert list(dict.fromkeys(s.tool for s in its)) == [1, 2]
    left, diameter = left_over(trial, its, pocket.shape.polygon(), -6.0)
    assert (left < 0.001, diameter) == (True, 3.0)
    small = swept_to(trial, [s for s in its if s.tool == 2], -6.0, pocket.shape.polygon())
    # Four corners that a cutter of 12 leaves, each (1 - pi / 4) (36 - 4) = 6.9 mm2, and its own width beside.
    assert small.area < 0.1 * pocket.shape.polygon().area


def test_a_rabbet_runs_off_the_edge_and_a_bar_in_a_pocket_stays(tmp_path: pathlib.Path) -> None:
    rabbet, ring = Recess(box(30, 100, 170, 120), 5.0), Recess(box(50, 35, 150, 85), 4.0)
    piece = Piece(
        "board", box(30, 20, 170, 120), (35, 25), (), (rabbet, ring, Recess(box(80, 50, 110, 65), 4.0))
    )
    trial = Trial([piece], (200, 140), 12.0, [MILL])
    (text,) = texts(made(trial, tmp_path))
    run = steps(text)
    pockets = [s for s in run if s.mark and s.mark.kind == "POCKET"]
    floor = swept_to(trial, pockets, -5.0, rabbet.shape.polygon())
    assert box(30, 100.012, 170, 120).polygon().difference(floor).area < 0.001
    island = Board(np.array([(x, y) for x in np.arange(81, 110, 1.7) for y in np.arange(51, 65, 1.3)]))
    island.carve(run, trial.tools())
    assert island.height.min() == 0.0
    ground = Polygon(ring.shape.polygon().exterior, [box(80, 50, 110, 65).polygon().exterior])
    assert left_over(trial, run, ground, -4.0)[0] < 0.001


def test_holes_are_as_wide_and_as_deep_as_drawn(tmp_path: pathlib.Path) -> None:
    bores = (
        Bore(40, 40, 5.0),
        Bore(60, 40, 5.0, 7.0),
        Bore(85, 40, 7.5),
        Bore(115, 40, 11.0, 6.0),
        Bore(60, 75, 26.0),
    )
    trial = Trial(
        [Piece("board", box(20, 20, 150, 100), (24, 24), (), (), bores)], (170, 120), 11.7, [MILL, DRILL]
    )
    (text,) = texts(made(trial, tmp_path))
    run = steps(text)
    assert [said for bore in bores for said in holes(trial, run, bore)] == []
    drilled = [s for s in run if s.tool == 2 and s.word]
    assert {tuple(np.round(s.end[:2], 3)) for s in drilled} == {(40.0, 40.0), (60.0, 40.0)}
    for x in (40.0, 60.0):
        lows = np.minimum.accumulate([0.0, *(s.end[2] for s in drilled if abs(s.end[0] - x) < 1e-3)])
        assert -np.diff(lows).min() <= 6.0 + 1e-6
    for step in run:
        assert not (step.word == 0 and step.end[2] < -1e-6)


@pytest.mark.parametrize(
    ("screw", "hole", "rim", "depth"),
    [(3.5, 3.9, 7.6, 1.9), (4.0, 4.5, 8.6, 2.1), (4.5, 5.0, 9.5, 2.3), (5.0, 5.5, 10.4, 2.5)],
)
def test_a_countersink_is_the_cone_of_din_74(
    tmp_path: pathlib.Path, screw: float, hole: float, rim: float, depth: float
) -> None:
    assert (rim - hole) / 2 == pytest.approx(depth, abs=0.051)  # the rows' own depth, at 90 degrees
    piece = Piece("board", box(20, 20, 90, 70), (24, 24), (), (), (Bore(55, 45, hole, sink=rim),))
    trial = Trial(
        [piece],
        (110, 90),
        12.0,
        [{**MILL, "diameter": 3.0, "pass_depth": 3.0}, {**DRILL, "diameter": hole}, SINK],
    )
    (text,) = texts(made(trial, tmp_path))
    run = steps(text)
    turns = np.arange(0, 2 * math.pi, 0.2)
    for r in np.linspace(hole / 2 + 0.05, rim / 2 + 0.5, 9):
        board = Board(np.stack((55 + r * np.cos(turns), 45 + r * np.sin(turns)), 1))
        board.carve(run, trial.tools())
        wanted = min(0.0, r - rim / 2)
        assert board.height.min() == pytest.approx(wanted, abs=0.02)
        assert board.height.max() == pytest.approx(wanted, abs=0.02)
