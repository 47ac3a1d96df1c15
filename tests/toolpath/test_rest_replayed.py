"""A smaller cutter after a larger one, measured in the text by a replay that knows nothing of camkit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon
from support.replayed import Move, replay, swept
from support.router import job, placed

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, Line, Path, polygon, rectangle
from camkit.job.model import Cutter, Tabs
from camkit.part import Part, Pocket
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (400.0, 300.0)


def rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Path:
    """An upright rectangle with round corners."""
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    ways = [(1, 0), (0, 1), (-1, 0), (0, -1)]
    segments: list[Line | Arc] = []
    for k, ((x, y), (u, v)) in enumerate(zip(corners, ways, strict=True)):
        p, q = ways[k - 1]
        before, after = (x - p * r, y - q * r), (x + u * r, y + v * r)
        centre = (x - p * r + u * r, y - q * r + v * r)
        segments.append(Arc(before, after, centre, False))
        x1, y1 = corners[(k + 1) % 4]
        segments.append(Line(after, (x1 - u * r, y1 - v * r)))
    return Path(tuple(segments))


KEYED = polygon(
    [(100, 100), (250, 100), (250, 140), (280, 140), (280, 147), (250, 147), (250, 200), (100, 200)]
)
SHAPES = {
    "round corners": rounded(100, 100, 250, 200, 3.2),
    "an arm too narrow for the larger": KEYED,
}


def programmed(part: Part, *diameters: float) -> tuple[str, list[Move], float]:
    """The text, judged sound, its moves below the top, and its time in seconds."""
    cutters = [Cutter(number=k, diameter=d) for k, d in enumerate(diameters, 1)]
    asked, here = job(*cutters), placed(part)
    text = write(plan(here, asked, SIZE, 18.0).cuts, asked, asked.sheet[0], name="test", size=SIZE)
    said = judge(text, here, asked, sheet_size=SIZE, thickness=18.0).verdict
    assert [f.message for f in said.findings if f.level != "note"] == []
    moves = replay(text, dict(enumerate(diameters, 1)))
    return text, [m for m in moves if m.points[:, 2].min() < 0], said.time_s


def way(moves: list[Move]) -> float:
    return sum(float(np.linalg.norm(np.diff(m.points, axis=0), axis=1).sum()) for m in moves)


def between(text: str, moves: list[Move], first: str, last: str) -> list[Move]:
    """The moves from the first cut whose heading has the one word to the next whose heading has the other."""
    rows = text.splitlines()
    begin = next(i for i, row in enumerate(rows, 1) if row.startswith("(CUT") and first in row)
    end = next(i for i, row in enumerate(rows, 1) if i > begin and row.startswith("(CUT") and last in row)
    return [m for m in moves if begin < m.line < end]


@pytest.mark.parametrize("name", SHAPES)
def test_the_smaller_cutter_takes_only_what_the_larger_leaves_of_a_pocket(name: str) -> None:
    part = Part("shelf", rectangle(50, 50, 350, 250), pockets=(Pocket(SHAPES[name], 8.0),))
    text, moves, time = programmed(part, 6.0, 12.0)
    _, alone, longer = programmed(part, 6.0)
    pocket = between(text, moves, " POCKET ", " PROFILE ")
    order = [m.diameter for m in pocket]
    assert order == sorted(order, reverse=True) and set(order) == {6.0, 12.0}
    wanted: Polygon = as_polygon(SHAPES[name], 0.0005)
    reach = wanted.buffer(-3.02, quad_segs=90).buffer(3.0, quad_segs=90)
    large, small = ([m for m in pocket if m.diameter == d] for d in (12.0, 6.0))
    floor = swept(pocket, -8.0 + 1e-3)
    assert reach.difference(floor).area < 1e-3
    assert swept(pocket, 0.0).difference(wanted).area < 1e-3
    # The smaller one takes at most a tenth of the way that it needs alone.
    assert way(small) < 0.1 * way([m for m in alone if m.points[:, 2].min() > -8.001]) and time < longer
    assert way(large) > way(small)


def test_into_a_corner_it_runs_from_cleared_ground_once_along_both_walls() -> None:
    """2 (R - r) from where the larger cutter leaves one wall to where it meets the other; 0.5 at each end."""
    part = Part("shelf", rectangle(50, 50, 350, 250), pockets=(Pocket(SHAPES["round corners"], 6.0),))
    text, moves, _ = programmed(part, 6.0, 12.0)
    small = [m for m in between(text, moves, " POCKET ", " PROFILE ") if m.diameter == 6.0]
    cleared = swept([m for m in moves if m.diameter == 12.0], -6.0 + 1e-3)
    down = [
        m for m in small if np.ptp(m.points[:, :2], axis=0).max() == 0 and m.points[-1, 2] < m.points[0, 2]
    ]
    level = [m for m in small if np.ptp(m.points[:, 2]) < 1e-6]
    assert len(down) == 4
    for m in down:
        spot = Polygon(
            [
                (m.points[0, 0] + 2.97 * math.cos(t), m.points[0, 1] + 2.97 * math.sin(t))
                for t in np.linspace(0, 6.28, 60)
            ]
        )
        assert cleared.covers(spot)
    assert 4 * 2 * (6 - 3) < way(level) < 4 * (2 * (6 - 3) + 2 * 0.5)


def test_an_opening_is_shared_too_before_the_part_is_freed() -> None:
    part = Part("shelf", rectangle(50, 50, 350, 250), openings=(rounded(100, 100, 160, 140, 3.2),))
    text, moves, time = programmed(part, 6.0, 12.0)
    assert {m.diameter for m in between(text, moves, " OPENING ", " PROFILE ")} == {6.0, 12.0}
    assert time < programmed(part, 6.0)[2]


def test_where_little_is_saved_one_cutter_makes_all() -> None:
    part = Part(
        "shelf", rectangle(50, 50, 350, 250), pockets=(Pocket(rounded(100, 100, 125, 125, 3.2), 4.0),)
    )
    text, moves, _ = programmed(part, 6.0, 12.0)
    assert {m.diameter for m in between(text, moves, " POCKET ", " PROFILE ")} == {6.0}


def test_the_rest_of_an_opening_held_by_a_skin_leaves_the_skin() -> None:
    part = Part("shelf", rectangle(50, 50, 350, 250), openings=(rounded(90, 90, 310, 210, 3.2),))
    cutters = (Cutter(number=1, diameter=3.0), Cutter(number=2, diameter=12.0))
    asked = job(*cutters).model_copy(update={"tabs": Tabs(hold="skin")})
    cuts = [c for c in plan(placed(part), asked, SIZE, 18.0).cuts if c.kind == "opening"]
    assert [c.cutter for c in cuts] == [2, 1]
    assert {round(min(m.z for m in c.moves), 6) for c in cuts} == {round(asked.tabs.skin - 18.0, 6)}
