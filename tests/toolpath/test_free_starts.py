"""Starts chosen with the order: the best for an order by trying all, and what they spare in a program."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, box
from support.replayed import Move, replay
from support.router import placed, plate

from camkit.job.model import Cutter, Job, Machine, Sheet
from camkit.part import Part
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.free_starts import Stops, chosen_along, free_way
from camkit.toolpath.plan import plan

SIZE = (900.0, 600.0)
SPOT = st.tuples(st.integers(0, 99), st.integers(0, 99))
STOPS = st.lists(st.tuples(SPOT, SPOT), min_size=1, max_size=3)


def stops(pairs: list[tuple[tuple[int, int], tuple[int, int]]]) -> Stops:
    enters, leaves = zip(*pairs, strict=True)
    return Stops(np.array(enters, dtype=float), np.array(leaves, dtype=float))


def travelled(cuts: list[Stops], order: tuple[int, ...], chosen: tuple[int, ...]) -> float:
    at, total = (0.0, 0.0), 0.0
    for i in order:
        total += math.dist(at, cuts[i].enters[chosen[i]])
        at = tuple(cuts[i].leaves[chosen[i]])
    return total


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(STOPS, min_size=1, max_size=5))
def test_for_one_order_no_other_choice_of_starts_is_shorter(
    pairs: list[list[tuple[tuple[int, int], tuple[int, int]]]],
) -> None:
    cuts = [stops(one) for one in pairs]
    order = tuple(range(len(cuts)))
    last = [np.zeros(len(cut.enters)) for cut in cuts]
    way = chosen_along(cuts, order, np.zeros(2), last)
    every = itertools.product(*(range(len(cut.enters)) for cut in cuts))
    best = min(travelled(cuts, order, chosen) for chosen in every)
    assert way.length == pytest.approx(best)
    assert travelled(cuts, way.order, way.chosen) == pytest.approx(best)


def test_rings_in_a_row_are_begun_where_they_face_each_other() -> None:
    """Circles of radius 40 about (100 k, 0), 24 places each, from (0, 0): 40 to the first, then 20 and twice
    a diameter's chord is spared by none: a cut ends where it began, so each ring is met at one place."""
    turn = np.arange(24) * 2 * math.pi / 24
    rim = 40 * np.stack((np.cos(turn), np.sin(turn)), 1)
    cuts = [Stops(rim + np.array((100.0 * k, 0.0)), rim + np.array((100.0 * k, 0.0))) for k in range(1, 6)]
    way = free_way(cuts, np.zeros(2))
    assert way.order == (0, 1, 2, 3, 4)
    # From (0, 0) straight to the near side of the last ring, meeting every ring on the way: 500 - 40.
    assert way.length == pytest.approx(460.0)


def programmed(*parts: Part, **machine: object) -> tuple[str, list[Move]]:
    """The program of the parts as drawn, which the judge passes, and its moves."""
    job = Job(
        sheet=Sheet(measured_thickness=(18.0,)),
        cutter=(Cutter(number=1, diameter=6.0),),
        machine=Machine.model_validate(machine),
    )
    text = write(plan(placed(*parts), job, SIZE, 18.0).cuts, job, job.sheet[0], name="test", size=SIZE)
    said = judge(text, placed(*parts), job, sheet_size=SIZE, thickness=18.0).verdict
    assert [f.message for f in said.findings if f.level == "error"] == []
    return text, replay(text, {1: 6.0})


def test_the_way_between_plates_is_shorter_than_from_middle_to_middle() -> None:
    """Four plates of 300 x 100 in a row of columns; begun in the middles of long sides it is 3 x 120 more."""
    parts = [plate(100, 60 + 120 * k, 300, 100, name=f"plate {k}") for k in range(4)]
    text, moves = programmed(*parts)
    rows = text.splitlines()
    ways = [
        float(np.linalg.norm(m.points[1] - m.points[0]))
        for m in moves
        if rows[m.line - 1].startswith("G0") and np.ptp(m.points[:, :2], axis=0).max() > 0
    ]
    assert len(ways) == 3
    assert sum(ways) < 0.75 * 3 * 120


def test_no_cut_begins_or_ends_at_a_joint_face_while_there_is_another_wall() -> None:
    """Both long sides and one short side bear on other parts: only the other short side is left."""
    faces = (
        ((100.0, 100.0), (400.0, 100.0)),
        ((100.0, 200.0), (400.0, 200.0)),
        ((100.0, 100.0), (100.0, 200.0)),
    )
    part = Part("rail", plate(100, 100, 300, 100).outline, joint_faces=faces)
    _, moves = programmed(part)
    walls = MultiLineString(list(faces))
    first = next(m.points[0, :2] for m in moves if m.points[:, 2].min() < -1e-6)
    assert walls.distance(Point(first)) > 3 + 1
    # By an arc a diameter wide, over wood that goes: off the part all the way, and tangent to the free side.
    assert box(100, 100, 400, 200).distance(Point(first)) >= 3
    last = max(k for k, m in enumerate(moves) if m.points[:, 2].min() < -18)
    assert walls.distance(LineString(moves[last].points[:, :2])) > 3 + 1
