"""What holds the pieces, measured as wood in the kerf: tabs by number, size and place; skins; nothing loose.

Tabs after common practice (no source): three or more, 5 to 8 wide, on straight runs, off corners and joints.
"""

from __future__ import annotations

import math
import pathlib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely import LineString, Point
from support.carved import Board
from support.signed import sign
from support.signed_holding import Held, held, loose, tab_faults
from support.signed_paths import carved, centre_line
from support.steps import Step, steps
from support.trials import Piece, Shape, Trial, box, disc, faults, made, rounded, texts

CUTTER: dict[str, Any] = {"number": 1, "kind": "upcut spiral", "diameter": 6.0, "pass_depth": 4.0}


def _tabs(trial: Trial, folder: pathlib.Path) -> dict[str, list[Held]]:
    run = _run(trial, folder)
    return {p.name: held(trial, run, p.outline.polygon(), 3.0, p.outline.corners()) for p in trial.pieces}


def _run(trial: Trial, folder: pathlib.Path) -> list[Step]:
    return [s for text in texts(made(trial, folder)) for s in steps(text, trial.origin())]


SHAPES = {
    "board": box(0, 0, 380, 150),
    "disc": disc(60, 60, 55),
    "long": rounded(0, 0, 420, 40, 6),
    "tee": Shape(
        tuple(
            (float(x), float(y), 0.0)
            for x, y in [(60, 0), (100, 0), (100, 90), (160, 90), (160, 130), (0, 130), (0, 90), (60, 90)]
        )
    ),
}


@pytest.mark.parametrize(
    ("name", "shape"), [("board", "square"), ("disc", "ramped"), ("long", "ramped"), ("tee", "square")]
)
def test_tabs_are_as_many_as_wide_and_as_high_as_asked_around_the_centre(
    tmp_path: pathlib.Path, name: str, shape: str
) -> None:
    outline = Shape(tuple((x + 20, y + 20, b) for x, y, b in SHAPES[name].loop))
    spot = outline.polygon().centroid
    piece = Piece(name, outline, (round(spot.x, 2), round(spot.y, 2)))
    tabs = {"width": 7.0, "height": 2.2, "shape": shape, "spacing": 180}
    trial = Trial([piece], (460, 190), 11.9, [CUTTER], {}, tabs)
    found = _tabs(trial, tmp_path)[name]
    assert tab_faults(trial, piece, found, 6.0) == []
    length = outline.polygon().length
    assert len(found) >= max(3, math.floor(length / 180))
    assert len(found) <= max(3, math.ceil(length / 150))
    along = LineString(centre_line(outline.polygon(), 3.0, outside=True).geoms[0].coords)
    places = sorted(along.project(Point(t.x, t.y)) for t in found)
    gaps = np.diff([*places, places[0] + along.length])
    assert gaps.max() <= 0.6 * length if len(found) == 3 else gaps.max() <= 2 * 180
    if name != "disc":
        assert all(tab.straight for tab in found)
        if name in ("board", "tee"):
            assert min(tab.corner for tab in found) >= 3 * 6.0 - 1e-6


def test_tabs_stand_where_the_job_puts_them(tmp_path: pathlib.Path) -> None:
    places = ((120.0, 20.0), (230.0, 20.0), (300.0, 95.0), (160.0, 170.0))
    piece = Piece("board", box(20, 20, 300, 170), (30, 30), tabs=places)
    found = _tabs(Trial([piece], (320, 190), 11.9, [CUTTER]), tmp_path)["board"]
    assert len(found) == len(places)
    for x, y in places:
        assert min(math.hypot(t.x - x, t.y - y) for t in found) == pytest.approx(3.005, abs=0.1)


def test_no_tab_stands_on_a_joint_while_there_is_other_room(tmp_path: pathlib.Path) -> None:
    t = 12.0
    half = [(40, 30), (240, 30), (240, 55), (252, 55), (252, 95), (240, 95), (240, 120), (40, 120)]
    tenoned = [*half, (40, 95), (28, 95), (28, 55), (40, 55)]
    shelf = Piece("shelf", Shape(tuple((float(x), float(y), 0.0) for x, y in tenoned)), (100, 60))
    side = [box(x + 30, y, x + 30 + t, y + 40.3) for x, y in ((290.0, 55.0), (400.0, 55.0))]
    sides = [
        Piece(f"side {k + 1}", box(x, 30, x + 90, 150), (x + 5, 35), (side[k],))
        for k, x in enumerate((290.0, 400.0))
    ]
    cutter = {**CUTTER, "diameter": 4.0}
    trial = Trial([shelf, *sides], (520, 180), t, [cutter], {}, {"spacing": 60, "width": 6}, "", t)
    run = _run(trial, tmp_path)
    found = held(trial, run, shelf.outline.polygon(), 2.0, shelf.outline.corners())
    assert len(found) >= 3
    for tab in found:  # tenons and their shoulders lie at both ends, beyond x = 40 and 240
        assert 40 + 3 < tab.x < 240 - 3
    assert not list(held(trial, run, side[0].polygon(), 2.0, side[0].corners(), outside=False))


@pytest.mark.parametrize("hold", ["skin", "vacuum"])
def test_a_skin_is_as_thick_as_asked_and_vacuum_leaves_nothing(tmp_path: pathlib.Path, hold: str) -> None:
    piece = Piece("board", rounded(20, 20, 200, 150, 10), (30, 60), (box(60, 60, 100, 100),))
    trial = Trial(
        [piece], (220, 170), 11.9, [CUTTER], {}, {"hold": hold, **({"skin": 0.6} if hold == "skin" else {})}
    )
    run = _run(trial, tmp_path)
    at = np.array([(x, y) for line in centre_line(piece.outline.polygon(), 3.0, outside=True).geoms
                   for x, y in line.segmentize(0.7).coords])  # fmt: skip
    board = Board(at)
    bites = board.carve(run, trial.tools())
    floor = -11.9 + 0.6 if hold == "skin" else trial.bottom
    assert board.height.min() == pytest.approx(floor, abs=1e-3)
    assert board.height.max() == pytest.approx(floor, abs=1e-3)
    last = max(b.step.line for b in bites)
    grid, all_bites = carved(trial, run, 0.6)
    inner = piece.outline.polygon().buffer(-0.3)
    assert not any(
        inner.contains(Point(grid.points[k])) for b in all_bites if b.step.line > last for k in b.points[::9]
    )
    if hold == "skin":
        assert loose(trial, grid, 0.6) == []


def test_a_piece_too_small_for_vacuum_gets_tabs_too(tmp_path: pathlib.Path) -> None:
    # 120 N / (0.3 x 30 kPa) = 133 cm2: a square of 115 mm holds, one of 90 does not (worked by hand).
    pieces = [
        Piece("large", box(20, 20, 140, 140), (30, 30)),
        Piece("small", box(160, 20, 250, 110), (170, 30)),
    ]
    found = _tabs(Trial(pieces, (270, 160), 11.9, [CUTTER], {}, {"hold": "vacuum"}), tmp_path)
    assert found["large"] == []
    assert len(found["small"]) >= 3


def test_no_slug_lies_loose_whatever_its_size(tmp_path: pathlib.Path) -> None:
    openings = (disc(60, 60, 7), disc(110, 60, 11), box(140, 40, 170, 75), rounded(40, 90, 180, 170, 12))
    piece = Piece("board", box(20, 20, 200, 190), (25, 25), openings)
    trial = Trial([piece], (220, 210), 8.0, [CUTTER])
    found = texts(made(trial, tmp_path))
    assert sign(trial, found, 0.5).complaints.get("loose") is None


def test_a_piece_without_any_fit_place_for_a_tab_is_told(tmp_path: pathlib.Path) -> None:
    peg = Piece("peg", rounded(20, 20, 36, 30, 4.9), (28, 25))
    result = made(replace(Trial([peg], (60, 50), 11.9, [CUTTER])), tmp_path)
    said = list(result if isinstance(result, tuple) else result.findings)
    assert faults(result) or any("peg" in str(f) and "tab" in str(f).lower() for f in said)
