"""Inside arcs are fed so that the chip at the wall stays as meant: measured in the program's text."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from camkit.geometry.path import Arc, Line, Path, circle
from camkit.job.machine import Cutter, Machine
from camkit.job.model import Job, Sheet
from camkit.part import Hole, Part, Placed, Pocket
from camkit.program.motion import Motion
from camkit.program.read import read
from camkit.program.write import write
from camkit.toolpath.arc_feed import share_of_feed
from camkit.toolpath.plan import plan

SIX = Cutter(number=1, diameter=6.0, feed=3600.0, plunge=1200.0, speed=18000.0)


def rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Path:
    """An upright rectangle with corners of radius r, against the clock."""
    return Path(
        (
            Line((x0 + r, y0), (x1 - r, y0)),
            Arc((x1 - r, y0), (x1, y0 + r), (x1 - r, y0 + r), False),
            Line((x1, y0 + r), (x1, y1 - r)),
            Arc((x1, y1 - r), (x1 - r, y1), (x1 - r, y1 - r), False),
            Line((x1 - r, y1), (x0 + r, y1)),
            Arc((x0 + r, y1), (x0, y1 - r), (x0 + r, y1 - r), False),
            Line((x0, y1 - r), (x0, y0 + r)),
            Arc((x0, y0 + r), (x0 + r, y0), (x0 + r, y0 + r), False),
        )
    )


def program(part: Part, direction: str, cutter: Cutter = SIX, rough: str | None = None) -> str:
    """The text that cuts the part from a sheet of 400 x 300."""
    job = Job(
        sheet=Sheet(measured_thickness=(18.0,)),
        machine=Machine.model_validate({"direction": direction, "rough_direction": rough}),
        cutter=(cutter,),
    )
    made = plan((Placed(part, part),), job, (400.0, 300.0), 18.0)
    assert made.cuts and not [f for f in made.findings if f.level == "error"]
    return write(made.cuts, job, job.sheet[0], name="bench-1", size=(400.0, 300.0))


def level_arcs(text: str) -> list[tuple[float, float, Motion]]:
    """Radius, feed and motion of each arc at one height in the wood."""
    return [
        (math.dist(m.start[:2], m.centre), m.feed_mm_min or 0.0, m)
        for m in read(text).motions
        if m.centre is not None and m.start[2] == m.end[2] < 0
    ]


def centred(arc: tuple[float, float, Motion], place: tuple[float, float]) -> bool:
    """Whether the arc goes round this place, as leads in and out do not."""
    return arc[2].centre is not None and math.dist(arc[2].centre, place) < 0.02


OUTLINE = rounded(40, 40, 300, 240, 20)


@pytest.mark.parametrize("direction", ["climb", "conventional"])
@pytest.mark.parametrize("wall", [5.0, 8.0, 15.0, 40.0, 70.0])
def test_the_edge_passes_an_inside_wall_as_fast_as_a_straight_one(direction: str, wall: float) -> None:
    part = Part("shelf", OUTLINE, (rounded(60, 60, 260, 220, wall),))
    corner = (60 + wall, 60 + wall)
    inner = [arc for arc in level_arcs(program(part, direction)) if centred(arc, corner)]
    assert inner
    for radius, feed, _ in inner:
        at_the_wall = feed * wall / (wall - 3)
        assert radius == pytest.approx(wall - 3, abs=0.02)
        # Whole tens of mm/min and the path's 0.005 off the wall; above 60 the fault is below 5 % and stays.
        assert at_the_wall == pytest.approx(3600, rel=0.01 if wall <= 60 else 0.05)
        assert (feed == 3600) == (wall > 60)


@pytest.mark.parametrize("rough", [None, "climb", "conventional"])
def test_rough_and_finish_passes_are_fed_by_the_wall_whichever_way_they_run(rough: str | None) -> None:
    """The rough pass leaves 0.3 of a wall of 8: its own wall has 7.7."""
    cutter = SIX.model_copy(update={"finish_pass": 0.3})
    part = Part("shelf", OUTLINE, (rounded(60, 60, 260, 220, 8.0),))
    arcs = level_arcs(program(part, "climb", cutter, rough))
    for wall in (8.0, 7.7):
        met = [(feed, m) for radius, feed, m in arcs if abs(radius - (wall - 3)) < 0.02]
        assert met and all(feed * wall / (wall - 3) == pytest.approx(3600, rel=0.01) for feed, _ in met)
        way = "climb" if wall == 8 else rough or "climb"
        assert {m.clockwise for _, m in met} == {way == "conventional"}


@pytest.mark.parametrize("direction", ["climb", "conventional"])
def test_outside_arcs_keep_the_feed(direction: str) -> None:
    arcs = [arc for arc in level_arcs(program(Part("shelf", OUTLINE), direction)) if centred(arc, (60, 60))]
    assert arcs and {round(radius, 1) for radius, _, _ in arcs} == {23.0}
    assert {feed for _, feed, _ in arcs} == {3600}


@pytest.mark.parametrize(("bore", "feed"), [(6.5, 900), (8.0, 900), (9.0, 1200), (11.0, 1640)])
def test_a_bored_hole_is_fed_by_its_wall_and_never_below_a_quarter(bore: float, feed: float) -> None:
    """3600 (D - 6) / D: 1200 at 9, 1636 at 11; 8 would be 900 and 6.5 would be 277."""
    part = Part("shelf", OUTLINE, holes=(Hole((150.0, 140.0), bore),))
    arcs = level_arcs(program(part, "climb"))
    around = [(arc[1], arc[2]) for arc in arcs if centred(arc, (150.0, 140.0))]
    assert around and all(f == pytest.approx(feed, abs=11) for f, _ in around)
    helix = [m for m in read(program(part, "climb")).motions if m.centre and m.end[2] < m.start[2]
             and math.dist(m.centre, (150.0, 140.0)) < 0.01]  # fmt: skip
    assert helix and all(m.feed_mm_min == pytest.approx(feed, abs=11) for m in helix)


def test_an_island_in_a_pocket_is_an_outside_arc_and_its_wall_an_inside_one() -> None:
    pocket = Pocket(circle((170.0, 140.0), 120.0), 5.0, (circle((170.0, 140.0), 40.0),))
    arcs = level_arcs(program(Part("shelf", OUTLINE, pockets=(pocket,)), "climb"))
    own = [(r, f, m) for r, f, m in arcs if m.centre and math.dist(m.centre, (170.0, 140.0)) < 0.05]
    assert {f for r, f, m in own if abs(r - 23) < 0.1 and m.clockwise} == {3600}
    # 3600 x 57 / 60; the path keeps 0.005 off the wall, and so just more than 5 % is at stake.
    wall = [f for r, f, m in own if abs(r - 56.995) < 0.02 and not m.clockwise]
    assert wall and all(f == pytest.approx(3420, abs=11) for f in wall)


def test_no_feed_is_written_twice_in_a_row_and_the_words_are_few() -> None:
    openings = tuple(rounded(60 + 60 * k, 60, 100 + 60 * k, 220, 4.0 + k) for k in range(4))
    text = program(Part("shelf", OUTLINE, openings), "climb")
    feeds = [line for line in text.splitlines() if re.search(r" F[\d.]+$", line)]
    assert len(" ".join(re.findall(r" F[\d.]+", text))) < 0.2 * len(text)
    for before, after in pairwise(feeds):
        assert before.split(" F")[1] != after.split(" F")[1]


@given(st.floats(0.001, 500.0), st.floats(0.25, 10.0))
def test_the_share_is_that_of_the_radii_within_its_limits(path_radius: float, cutter_radius: float) -> None:
    wall = path_radius + cutter_radius
    share, exact = share_of_feed(path_radius, cutter_radius), (wall - cutter_radius) / wall
    assert 0.25 <= share <= 1
    if 0.25 <= exact <= 0.95:
        assert share == pytest.approx(exact, rel=1e-9)
    elif exact > 0.95:
        assert share == 1
