"""Reliefs of a whole part: each place minds the others, and what stays too thin is told by both names."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from camkit.geometry.path import Path, circle, polygon, rectangle, reversed_path
from camkit.joinery.relief_plan import Seat, plan_reliefs
from camkit.joinery.tenon_roots import roots_of


def board(*features: tuple[float, float, float]) -> Path:
    """A board whose upper edge, at 100, has a notch (negative) or tenon of each (begin, end, height)."""
    corners = [(0.0, 0.0), (300.0, 0.0), (300.0, 100.0)]
    for begin, end, high in reversed(features):
        corners += [(end, 100.0), (end, 100.0 + high), (begin, 100.0 + high), (begin, 100.0)]
    return polygon([*corners, (0.0, 100.0)])


def floors(path: Path, high: float) -> list[int]:
    return [k for k, wall in enumerate(path.segments) if wall.start[1] == wall.end[1] == 100 + high]


def gap(path: Path, bottom: int, kind: str = "finger gap") -> Seat:
    x = path.segments[bottom].end[0]
    return Seat(kind, 0, (bottom,), 3.0, f"the gap at {x:g}", corners=(bottom - 1, bottom))


def mortise(x: float, y: float) -> Path:
    return reversed_path(rectangle(x, y, x + 60, y + 17.75))


def broad(loop: Path) -> tuple[int, int]:
    first, second = (k for k, wall in enumerate(loop.segments) if abs(wall.end[0] - wall.start[0]) > 20)
    return first, second


def seat(loops: list[Path], index: int, **how: float) -> Seat:
    return Seat("mortise", index, broad(loops[index]), 3.0, f"mortise {index}", (0, 1, 2, 3), **how)


def test_the_second_of_two_mortises_in_line_gives_way_to_the_first():
    # 8 mm of wood between their ends: T-bones from either side would leave 2, and the last 1.5 must stay
    for wood, words in ((8.0, ["t-bone", "t-bone"]), (7.0, ["t-bone", "dogbone"]), (4.4, ["dogbone"] * 2)):
        loops = [rectangle(0, 0, 300, 100), mortise(50, 40), mortise(110 + wood, 40)]
        planned = plan_reliefs(loops, [seat(loops, 1, cover=9.0), seat(loops, 2, cover=9.0)])
        assert [choice.word for choice in planned.choices] == words
        assert planned.thin == ()


def test_fingers_too_thin_for_reliefs_from_both_sides_are_told_by_both_gaps():
    # gaps of 8 hold neither dogbones nor T-bones on their bottom; T-bones into a finger of 7 from both sides
    # leave 1 of it
    path = board((50, 58, -18), (65, 73, -18))
    planned = plan_reliefs([path], [gap(path, k) for k in floors(path, -18)])
    assert [choice.word for choice in planned.choices] == ["t-bone", "t-bone"]
    (thin,) = planned.thin
    assert {thin.one, thin.other} == {"the gap at 50", "the gap at 65"}
    assert (thin.left, thin.loops) == (pytest.approx(1.0, abs=0.01), (0, 0))
    wide = board((50, 58, -18), (66, 74, -18))
    assert plan_reliefs([wide], [gap(wide, k) for k in floors(wide, -18)]).thin == ()


def test_fingers_that_would_be_cut_off_are_refused():
    path = board((50, 58, -18), (61, 69, -18))
    planned = plan_reliefs([path], [gap(path, k) for k in floors(path, -18)])
    assert [said.rule for choice in planned.choices for said in choice.said] == ["relief-breaks-through"] * 2


def test_a_slot_beside_a_mortise_and_a_hole_is_told_by_name():
    path = board((100, 117.75, -50))
    (bottom,) = floors(path, -50)
    slot = gap(path, bottom, "slot")
    near = mortise(80, 28)  # its upper wall at 45.75: T-bones into the slot's bottom come down to 47
    loops = [path, near]
    planned = plan_reliefs(loops, [slot, seat(loops, 1, cover=9.0)])
    assert planned.choices[0].word == "dogbone"  # down to 49.12, which leaves 3.37
    assert planned.thin == ()
    # a hole 1.5 below the bottom: a T-bone down there would run into it, a dogbone leaves 0.68
    hole = circle((103, 45.5), 6)
    aside = plan_reliefs([path], [slot], [hole])
    assert [aside.choices[0].reliefs[c].past for c in sorted(slot.corners)] == ["before", "after"]
    assert aside.thin == ()
    (thin,) = plan_reliefs([path], [replace(slot, wish="dogbone")], [hole]).thin
    assert {thin.one, thin.other} == {"the gap at 100", "a hole"}
    assert thin.left == pytest.approx(math.hypot(0.879, 6.621) - 6, abs=0.01)  # between two circles of 3


def test_tenons_in_a_row_share_their_shoulders_and_both_are_relieved():
    for between, word in ((14.0, "t-bone"), (12.0, "dogbone")):
        path = board((50, 100, 18), (100 + between, 150 + between, 18))
        seats = [
            Seat("tenon", 0, (), 3.0, f"tenon {k}", roots=roots_of(path, tip), width=50.0)
            for k, tip in enumerate(floors(path, 18))
        ]
        planned = plan_reliefs([path], seats)
        assert [choice.word for choice in planned.choices] == [word, word]
        assert sum(len(choice.reliefs) for choice in planned.choices) == 4
        assert planned.thin == ()


def test_a_part_without_places_is_planned_to_nothing():
    planned = plan_reliefs([rectangle(0, 0, 10, 10)], [])
    assert (planned.choices, planned.thin) == ((), ())
