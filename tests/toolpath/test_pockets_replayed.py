"""Pockets, measured in the program's text by a replay that knows nothing of camkit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Point, box
from support.pocket_shapes import SHAPES, SLOTS, Cleared, cleared
from support.replayed import replay, swept
from support.router import job, placed, plate

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import polygon, rectangle, region
from camkit.job.model import Cutter
from camkit.part import Pocket
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan


@pytest.mark.parametrize("name", SHAPES)
def test_a_pocket_is_cleared_of_all_in_reach_by_a_short_way_that_stays_in_it(name: str) -> None:
    """The bound: a cutter of diameter D that runs L clears at most D L and its own circle."""
    found = cleared(SHAPES[name], 6.0, 8.0, 2)
    assert found.faults == ()
    assert found.left < 1e-3 and found.beyond < 1e-3
    assert found.floors / found.bound <= (1.42 if name in SLOTS else 1.30)
    # Down once and up once, sinking by nothing steeper than 5 degrees.
    assert found.lifts == 1 and found.steepest < 5.01


@pytest.mark.parametrize("wide", [6.3, 9.0, 12.0, 17.9, 18.1, 24.2, 30.0])
def test_slots_of_any_width_are_cleared(wide: float) -> None:
    found = cleared(region(rectangle(0, 0, 80, wide)), 6.0, 4.0, 1)
    assert found.faults == () and found.left < 1e-3 and found.beyond < 1e-3


def deepest_bite(found: Cleared, grid: float = 0.25) -> float:
    """The most wood above the cutter's end anywhere, the text replayed on a map of heights."""
    points = np.vstack([m.points for m in found.replayed])
    (x0, y0), (x1, y1) = points[:, :2].min(0) - 4, points[:, :2].max(0) + 4
    heights = np.zeros((round((x1 - x0) / grid), round((y1 - y0) / grid)))
    reach = round(2.9 / grid)
    u, v = np.mgrid[-reach : reach + 1, -reach : reach + 1] * grid
    disc = np.hypot(u, v) <= 2.9
    worst = 0.0
    for move in found.replayed:
        for a, b in zip(move.points, move.points[1:], strict=False):
            steps = max(1, int(np.linalg.norm(b - a) / (2 * grid)))
            for x, y, z in a + (b - a) * np.linspace(0, 1, steps + 1)[:, None]:
                if z >= 0:
                    continue
                i, j = round((x - x0) / grid), round((y - y0) / grid)
                part = heights[i - reach : i + reach + 1, j - reach : j + reach + 1]
                worst = max(worst, float((part - z)[disc].max()))
                part[disc] = np.minimum(part[disc], z)
    return worst


@pytest.mark.parametrize("name", ["mortise 17.75 wide", "circle", "L with an island"])
def test_no_bite_is_deeper_than_a_pass(name: str) -> None:
    assert deepest_bite(cleared(SHAPES[name], 6.0, 12.0, 3)) <= 4.0 + 0.05


def test_rabbets_run_off_their_edge_and_keep_off_islands_and_the_part_beside() -> None:
    """A rabbet round a corner, a housing from it across the shelf, a pocket with an island at the edge."""
    pockets = (
        Pocket(polygon([(50, 50), (250, 50), (250, 150), (241, 150), (241, 59), (50, 59)]), 6.0),
        Pocket(rectangle(100, 59, 118, 150), 6.0),
        Pocket(rectangle(150, 110, 220, 150), 6.0, (rectangle(180, 125, 190, 150),)),
    )
    here = placed(plate(50, 50, pockets=pockets), plate(262, 50, name="beside"))
    asked = job()
    cuts = plan(here, asked, (500.0, 300.0), 18.0).cuts
    text = write(cuts, asked, asked.sheet[0], name="test", size=(500.0, 300.0))
    said = judge(text, here, asked, sheet_size=(500.0, 300.0), thickness=18.0).verdict
    assert [f.message for f in said.findings if f.level != "note"] == []
    moves = replay(text, {1: 6.0})
    floor = swept(moves, -5.999)
    for pocket in pockets:
        wanted = as_polygon(region(pocket.outline, pocket.islands))
        # Inner corners stay round: r^2 (1 - pi / 4) each, at most six; and 5 to 13 um along the walls.
        assert wanted.difference(floor).area < 6 * 9 * (1 - math.pi / 4) + 0.013 * wanted.length
    outlines = next(i for i, row in enumerate(text.splitlines(), 1) if " PROFILE " in row)
    # The centre goes 1 beyond an open edge.
    recessed = swept([m for m in moves if m.line < outlines], -0.01)
    assert recessed.bounds == pytest.approx((46, 46, 254, 154), abs=0.02)
    assert swept(moves, -0.01).intersection(box(180.02, 125.02, 189.98, 149.98)).area == 0


def test_the_finish_pass_of_a_pocket_takes_0_3_from_its_walls_and_islands_at_full_depth() -> None:
    cutter = Cutter(number=1, diameter=6.0, finish_pass=0.3)
    pocket = Pocket(rectangle(80, 80, 180, 130), 9.0, (rectangle(110, 95, 140, 115),))
    here, asked = placed(plate(50, 50, pockets=(pocket,))), job(cutter)
    planned = plan(here, asked, (500.0, 300.0), 18.0)
    assert [f for f in planned.findings if f.rule == "no-finish-pass"] == []
    text = write(planned.cuts, asked, asked.sheet[0], name="test", size=(500.0, 300.0))
    said = judge(text, here, asked, sheet_size=(500.0, 300.0), thickness=18.0).verdict
    assert [f.message for f in said.findings if f.level != "note"] == []
    outlines = next(i for i, row in enumerate(text.splitlines(), 1) if " PROFILE " in row)
    moves = [m for m in replay(text, {1: 6.0}) if m.line < outlines and m.points[:, 2].min() < 0]
    walls = as_polygon(region(pocket.outline, pocket.islands)).boundary
    away = [min(walls.distance(Point(p)) for p in m.points[:, :2]) for m in moves]
    first = next(k for k, distance in enumerate(away) if distance < 3.2)
    assert min(away[:first]) == pytest.approx(3.305, abs=0.002)
    # Along both walls at 9 deep: the rims 2 (94 + 44) and 2 (30 + 20) + 2 pi 3 at the centre.
    at_wall = [m for m, distance in zip(moves, away, strict=True) if distance < 3.02]
    assert {round(float(z), 3) for m in at_wall for z in m.points[:, 2]} == {-9.0}
    run = sum(float(np.linalg.norm(np.diff(m.points, axis=0), axis=1).sum()) for m in at_wall)
    assert run == pytest.approx(276 + 100 + 6 * math.pi, abs=20)


def test_a_round_pocket_is_entered_by_a_helix_about_its_middle() -> None:
    """A pocket of 55 in two passes of 4: at least once round before any other way down, at 5 degrees."""
    found = cleared(SHAPES["circle"], 6.0, 8.0, 2)
    sinking = [m for m in found.replayed if m.points[-1, 2] < m.points[0, 2] and m.points[-1, 2] < 0]
    turned = 0.0
    for m in sinking:
        x, y = (m.points[:, :2] - (150.0, 120.0)).T
        if len(m.points) == 2:
            break
        assert np.ptp(np.hypot(x, y)) < 0.01
        turned += float(np.abs(np.diff(np.unwrap(np.arctan2(y, x)))).sum())
    assert turned > math.radians(350)
