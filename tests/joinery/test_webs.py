"""The wood that reliefs leave between joints that stand close, by hand."""

from __future__ import annotations

import math

import pytest
import shapely

from camkit.geometry.corner_relief import CornerRelief
from camkit.geometry.path import Path, rectangle, reversed_path
from camkit.joinery.relief_choice import mortise_relief, opened_places
from camkit.joinery.webs import Thin, least_web, neighbours, opened_by, thin_webs, web_left

BROAD_AND_DEEP = 0.878680  # r (1 - sin 45) for r 3: how far a dogbone passes a wall


def opening(x: float, y: float, length: float = 60.0, width: float = 17.75) -> Path:
    return reversed_path(rectangle(x, y, x + length, y + width))


def broad(loop: Path) -> tuple[int, int]:
    first, second = (k for k, wall in enumerate(loop.segments) if abs(wall.end[0] - wall.start[0]) > 20)
    return first, second


def told(board: Path, *openings: Path, cover: float = 0.0) -> tuple[Thin, ...]:
    loops = (board, *openings)
    opened = [
        one
        for k, loop in enumerate(openings, 1)
        for one in opened_places(
            loop, mortise_relief(loop, broad(loop), 3.0, cover=cover), 3.0, loop=k, place=f"mortise {k}"
        )
    ]
    names = {(k, wall): f"mortise {k}" for k in range(1, len(loops)) for wall in range(4)}
    return thin_webs(opened, loops, names)


def test_the_least_web_is_half_the_radius_and_a_millimetre_at_least():
    assert (least_web(1.0), least_web(3.0)) == (1.0, 1.5)


def test_what_a_relief_opens_is_by_hand():
    loop = opening(0, 0)
    area = opened_by(loop, 0, CornerRelief(3.0)).area
    assert area == pytest.approx(5.137167, abs=0.04)  # 2 r2 (pi/4 - 1/2)
    assert opened_by(loop, 0, CornerRelief(3.0, "after")).area == pytest.approx(math.pi * 9 / 2, abs=0.04)


def test_two_mortises_side_by_side_are_told_by_both_names():
    board = rectangle(-50, -50, 200, 200)
    # 3 mm of wood between broad walls, dogbones from either side: 3 - 2 x 0.879 = 1.243
    (thin,) = told(board, opening(0, 0), opening(0, 20.75))
    assert (thin.one, thin.other) == ("mortise 1", "mortise 2")
    assert thin.left == pytest.approx(3 - 2 * BROAD_AND_DEEP, abs=0.01)
    assert told(board, opening(0, 0), opening(0, 21.1)) == ()  # 3.35 - 1.757 = 1.59


def test_a_mortise_near_the_edge_is_told_and_one_broken_through_has_nothing_left():
    board = rectangle(-2, -50, 200, 200)
    (thin,) = told(board, opening(0, 0))
    assert (thin.one, thin.other) == ("mortise 1", "the edge")
    assert thin.left == pytest.approx(2 - BROAD_AND_DEEP, abs=0.01)
    assert thin.x == pytest.approx(-BROAD_AND_DEEP, abs=0.01)
    (through,) = told(rectangle(-0.5, -50, 200, 200), opening(0, 0))
    assert through.left == 0


def test_a_web_that_the_relief_makes_no_thinner_is_not_told():
    # T-bones along the length come no nearer to the lower edge than the broad wall does
    assert told(rectangle(-50, -1.2, 200, 200), opening(0, 0), cover=9) == ()
    assert told(rectangle(-50, -1.2, 200, 200), opening(0, 0)) != ()


def test_the_web_left_counts_only_what_lies_beyond_the_reliefs_own_walls():
    loop = opening(0, 0)
    board = rectangle(-5, -50, 200, 200)
    others = neighbours([board, loop], 1, range(4))
    tbones = mortise_relief(loop, broad(loop), 3.0, cover=9).reliefs
    assert web_left(loop, tbones, others) == pytest.approx(2.0, abs=0.01)
    assert web_left(loop, tbones, None) == math.inf
    assert web_left(loop, tbones, shapely.GeometryCollection()) == math.inf
    assert web_left(loop, {}, others) == math.inf
