"""Around a joint everything stays as drawn: only walls that meet a mate move, and what hangs on them follows.

Outlines of the report, in the drawing's own coordinates, are held against the drawing as areas.
"""

from __future__ import annotations

import math
import pathlib
from dataclasses import replace
from functools import partial
from typing import Any

import pytest
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry
from support.plates import Loop, Plate, Stock, box_loop, turned_loop, write_job

from camkit.job.load import load
from camkit.pipeline import make
from camkit.report.json_report import report

SHEET = Stock("sheet", 18.0, 17.6)
TURNS = (0.0, 90.0, 31.7)
CHORDS = 0.0055  # mm: arcs are reported as chords within 0.005


def chamfered(leg: float) -> Plate:
    """A rail whose tenon has chamfered ends, with a curved lower edge, a round end, a handhold and holes."""
    tip: Loop = [(40.0, 0, 0), (40.0, 18 - leg, 0), (40 - leg, 18.0, 0)]
    tip += [(leg - 40, 18.0, 0), (-40.0, 18 - leg, 0), (-40.0, 0, 0)]
    outline: Loop = [
        (-90.0, -100.0, 0.25),
        (90.0, -100.0, 0),
        (110.0, -80.0, 0),
        (110.0, -20.0, math.sqrt(2) - 1),
    ]
    outline += [(90.0, 0.0, 0.0), *tip, (-90.0, 0.0, 0.0)]
    handhold: Loop = [(-30, -70, 0), (30, -70, 1.0), (30, -45, 0), (-30, -45, 1.0)]
    return Plate("rail", outline, (0.0, -20.0), openings=[handhold])


def panel() -> Plate:
    """A board with the mortise, a window that is no joint, a slanted opening and a rounded corner."""
    outline: Loop = [(-120, -90, 0), (120, -90, 0), (120, 70, math.sqrt(2) - 1), (100, 90, 0), (-120, 90, 0)]
    holes = [box_loop(-40.15, -9.0, 40.15, 9.0), box_loop(-100, -70, -40, -30)]
    holes.append([(20, -70, 0), (90, -60, 0), (70, -35, 0), (25, -40, 0)])
    return Plate("panel", outline, (-110.0, 80.0), openings=holes)


def areas(folder: pathlib.Path, plates: list[Plate]) -> dict[str, tuple[BaseGeometry, BaseGeometry]]:
    """Every part as drawn and as fitted, in its plate's frame; reliefs are left out."""
    frames = write_job(folder, plates, [SHEET], [6.0], 'clearance = 0.15\nrelief = "none"')
    rows: Any = report(make(load(folder / "job.toml"), folder, "joint"))["parts"]
    found = {}
    for plate in plates:
        (row,) = [row for row in rows if row["name"] == plate.name]
        outline = row["outline"]
        back = partial(taken_back, frame=frames[plate.name])
        fitted = Polygon(back(outline["exterior"]), [back(loop) for loop in outline["interiors"]])
        drawn = Polygon(flat(plate.outline), [flat(loop) for loop in plate.openings])
        found[plate.name] = (drawn, fitted)
    return found


def taken_back(loop: list[list[float]], frame: tuple[float, float, float]) -> list[tuple[float, ...]]:
    """A loop of the drawing in the frame of its plate."""
    turn, x, y = frame
    return [corner[:2] for corner in turned_loop([(u - x, v - y, 0.0) for u, v in loop], -turn)]


def flat(loop: Loop) -> list[tuple[float, float]]:
    """Corners of a loop, its arcs as fine chords."""
    made: list[tuple[float, float]] = []
    for (x, y, bulge), (u, v, _) in zip(loop, loop[1:] + loop[:1], strict=True):
        made.append((x, y))
        if bulge:
            sweep = 4 * math.atan(bulge)
            cx = (x + u) / 2 - (v - y) / 2 / math.tan(sweep / 2)
            cy = (y + v) / 2 + (u - x) / 2 / math.tan(sweep / 2)
            steps = 2000
            first, r = math.atan2(y - cy, x - cx), math.hypot(x - cx, y - cy)
            turns = (first + sweep * k / steps for k in range(1, steps))
            made += [(cx + r * math.cos(t), cy + r * math.sin(t)) for t in turns]
    return made


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("leg", [0.3, 2.0])
def test_a_chamfered_tenon_moves_with_its_chamfers_and_nothing_else(
    leg: float, turn: float, tmp_path: pathlib.Path
) -> None:
    """The end comes back by 0.4, chamfers and all; curves, handhold and shoulders stay."""
    drawn, fitted = areas(tmp_path, [panel(), replace(chamfered(leg), turn_deg=turn)])["rail"]
    body = box(-200, -200, 200, 15)  # below the chamfers, wherever they are
    assert drawn.intersection(body).hausdorff_distance(fitted.intersection(body)) < CHORDS
    assert fitted.bounds[3] == pytest.approx(17.6, abs=0.001)
    tip = fitted.intersection(box(-50, 17.6 - leg - 0.5, 50, 18))
    low = 17.1 - leg
    expected = box(-40, low, 40, 17.6).difference(Polygon([(40, 17.6 - leg), (40, 17.6), (40 - leg, 17.6)]))
    expected = expected.difference(Polygon([(-40, 17.6 - leg), (-40, 17.6), (leg - 40, 17.6)]))
    assert tip.symmetric_difference(expected).area < 0.01


@pytest.mark.parametrize("turn", TURNS)
def test_only_the_mortise_of_a_panel_changes(turn: float, tmp_path: pathlib.Path) -> None:
    drawn, fitted = areas(tmp_path, [replace(panel(), turn_deg=turn), chamfered(2.0)])["panel"]
    mortise = box(-41, -10, 41, 10)
    assert drawn.difference(mortise).hausdorff_distance(fitted.difference(mortise)) < CHORDS
    hole = mortise.difference(fitted)
    assert hole.area == pytest.approx(80.3 * 17.75, abs=0.01)
    assert hole.bounds[3] - hole.bounds[1] == pytest.approx(17.75, abs=0.001)
    assert hole.bounds[2] - hole.bounds[0] == pytest.approx(80.3, abs=0.001)
