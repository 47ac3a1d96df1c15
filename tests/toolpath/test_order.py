"""The order of cuts: tiers and cutters, small before large, short travel, the same bytes every time."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence

import pytest

from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, Point, circle, rectangle
from camkit.job.model import Cutter
from camkit.part import Hole, Part, Placed, Pocket
from camkit.toolpath.feature import Feature, features
from camkit.toolpath.order import Task, in_order
from camkit.toolpath.reach import Choice

SIX = Cutter(number=1, diameter=6.0, kind="upcut spiral")
DRILL = Cutter(number=3, diameter=4.5, kind="drill")


def middle(path: Path) -> Point:
    x0, y0, x1, y1 = bounds(path)
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def ordered(tasks: Sequence[Task]) -> list[Task]:
    """The tasks in order, each taken to be entered and left in its middle."""
    middles = [middle(task.feature.outline) for task in tasks]
    order = in_order(tasks, [(m, m) for m in middles])
    assert sorted(order) == list(range(len(tasks)))
    return [tasks[i] for i in order]


def profile(name: str, x: float, y: float, wide: float, high: float) -> Task:
    return Task(Feature("profile", name, 1, rectangle(x, y, x + wide, y + high)), Choice(SIX, 0.0))


def test_cuts_go_pockets_holes_openings_profiles_with_inner_parts_first() -> None:
    outer = Part(
        "frame",
        rectangle(0, 0, 300, 300),
        openings=(rectangle(50, 50, 250, 250),),
        holes=(Hole((20, 20), 10),),
        pockets=(Pocket(rectangle(10, 100, 30, 200), 6),),
    )
    inner = Part("lid", rectangle(100, 100, 200, 200), holes=(Hole((150, 150), 10),))
    tasks = [Task(f, Choice(SIX, 0.0)) for f in features([Placed(outer, outer), Placed(inner, inner)])]
    assert [(t.feature.kind, t.feature.part) for t in ordered(tasks)] == [
        ("pocket", "frame"),
        ("hole", "frame"),
        ("hole", "lid"),
        ("profile", "lid"),
        ("opening", "frame"),
        ("profile", "frame"),
    ]


def test_within_a_tier_the_cutter_that_the_next_tier_needs_comes_last() -> None:
    part = Part(
        "top", rectangle(0, 0, 300, 300), holes=(Hole((20, 20), 10), Hole((50, 20), 4.5), Hole((80, 20), 10))
    )
    tasks = [
        Task(f, Choice(DRILL if f.hole and f.hole.diameter == 4.5 else SIX, 0.0))
        for f in features([Placed(part, part)])
    ]
    assert [t.choice.cutter.number for t in ordered(tasks)] == [3, 1, 1, 1]


def test_nothing_to_cut_has_an_order() -> None:
    assert in_order([], []) == ()


def test_a_cutter_is_fitted_once_for_two_tiers_that_use_it() -> None:
    """Holes by cutters 1 and 3, openings by 3 only: 1 first, so that 3 can stay."""
    other = Cutter(number=3, diameter=3.0)
    tasks = [
        Task(Feature("hole", "top", 1, circle((9.0 * k, 0), 8), hole=Hole((9.0 * k, 0), 8)), Choice(c, 0.0))
        for k, c in enumerate((other, SIX, other, SIX))
    ]
    tasks.append(Task(Feature("opening", "top", 1, rectangle(0, 50, 90, 90)), Choice(other, 0.0)))
    assert [t.choice.cutter.number for t in ordered(tasks)] == [1, 1, 3, 3, 3]


def test_cutters_of_a_tier_are_ordered_for_all_tiers_that_follow() -> None:
    """Holes by 1 and 3, openings by 1, outlines by 3: two changes when 3 begins."""
    three, where = Cutter(number=3, diameter=3.0), rectangle(0, 50, 90, 90)
    tasks = [
        Task(Feature("hole", "top", 1, circle((9.0 * k, 0), 8), hole=Hole((9.0 * k, 0), 8)), Choice(c, 0.0))
        for k, c in enumerate((SIX, three, SIX))
    ]
    tasks += [Task(Feature("opening", "top", 1, where), Choice(SIX, 0.0))]
    tasks += [Task(Feature("profile", "top", 1, where), Choice(three, 0.0))]
    assert [t.choice.cutter.number for t in ordered(tasks)] == [3, 1, 1, 1, 3]


@pytest.mark.parametrize("where", [(12.0, 0.0), (-62.0, 0.0), (0.0, 210.0), (310.0, 100.0)])
def test_a_small_part_is_cut_before_a_large_one_beside_it(where: tuple[float, float]) -> None:
    tasks = [
        profile("large", 0, 0, 300, 200),
        profile("small", *where, 50, 40),
        profile("far off", 2000, 900, 50, 40),
    ]
    names = [t.feature.part for t in ordered(tasks)]
    assert names.index("small") < names.index("large")


def test_a_row_of_ever_larger_parts_is_cut_from_the_smallest_on_whichever_lies_nearest() -> None:
    """Each is a quarter of the next one or less: 40 x 40, 80 x 80, 160 x 160, the largest at X0."""
    tasks = [
        profile("third", 0, 0, 160, 160),
        profile("second", 170, 0, 80, 80),
        profile("first", 260, 0, 40, 40),
    ]
    assert [t.feature.part for t in ordered(tasks)] == ["first", "second", "third"]


def test_travel_counts_from_where_the_last_cut_was_left() -> None:
    """A is left at B's entry; entered from A, B is left at C's entry: no travel but the first."""
    tasks = [profile(name, 400.0 * k, 0, 90, 90) for k, name in enumerate("CBA")]
    ends: list[tuple[Point, Point]] = [((900, 0), (0, 0)), ((500, 500), (900, 0)), ((0, 10), (500, 500))]
    assert in_order(tasks, ends) == (2, 1, 0)


@pytest.mark.parametrize(("goal", "order"), [(-120.0, (1, 0, 2)), (130.0, (0, 1, 2))])
def test_a_tier_ends_near_where_the_next_one_begins(goal: float, order: tuple[int, ...]) -> None:
    """Holes at X-100 and X110; from X0 it is 10 shorter to take X-100 first, which may cost 210 later."""
    spots = [(-100.0, 0.0), (110.0, 0.0)]
    tasks = [Task(Feature("hole", "top", 1, circle(p, 8), hole=Hole(p, 8)), Choice(SIX, 0.0)) for p in spots]
    tasks.append(Task(Feature("opening", "top", 1, circle((goal, 0), 20)), Choice(SIX, 0.0)))
    assert in_order(tasks, [(p, p) for p in (*spots, (goal, 0.0))]) == order


_PROBE = """
import random
from camkit.geometry.path import rectangle
from camkit.job.model import Cutter
from camkit.toolpath.feature import Feature
from camkit.toolpath.order import Task, in_order
from camkit.toolpath.reach import Choice
chance = random.Random(5)
tasks, ends = [], []
for k in range(60):
    x, y = 50 * chance.randrange(20), 50 * chance.randrange(20)
    kind = chance.choice(("opening", "profile"))
    cutter = Cutter(number=chance.randint(1, 2), diameter=6.0)
    tasks.append(Task(Feature(kind, f"p{k}", 1, rectangle(x, y, x + 40, y + 40)), Choice(cutter, 0.0)))
    ends.append(((x, y), (x + 20.0, y)))
print(in_order(tasks, ends))
"""


def test_the_order_does_not_hang_on_the_seed_of_hashes() -> None:
    """Sixty cuts, many at one spot and at equal distances."""
    said = {
        subprocess.run(
            [sys.executable, "-c", _PROBE],
            check=True,
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("0", "1", "77")
    }
    assert len(said) == 1 and len(said.pop().split(",")) == 60
