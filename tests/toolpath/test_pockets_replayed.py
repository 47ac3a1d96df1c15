"""Pockets, measured in the program's text by a replay that knows nothing of camkit."""

from __future__ import annotations

import numpy as np
import pytest
from support.pocket_shapes import SHAPES, SLOTS, Cleared, cleared

from camkit.geometry.path import rectangle, region


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
