"""The trials that joints are put to, put to the test: wood made by hand passes, spoiled wood does not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import pytest
from shapely import Polygon, box, union_all
from shapely.geometry.base import BaseGeometry
from support.closed_loop import (
    CLEARANCE,
    FITTED,
    SHELF,
    best_overlap,
    seat_about_the_middle,
    seat_with_held_walls,
    solved_seat,
)
from support.joint_trials import judged
from support.plates import Plate, Stock
from support.random_joints import KINDS, MATE, PANEL, Joint, Kind, joint, plates


@dataclass(frozen=True)
class ByHand:
    """Plates as drawn, taken for wood, with wood `added` here and there."""

    plates: Mapping[str, Plate]
    thick: Mapping[str, float]
    added: Mapping[str, BaseGeometry]

    def wood(self, name: str, level: float, *spots: tuple[float, float]) -> BaseGeometry:
        """What stays of a plate at `level`."""
        plate = self.plates[name]
        holes = [*plate.openings, *(loop for depth, loop in plate.pockets if depth > -level)]
        solid = Polygon([v[:2] for v in plate.outline])
        solid = solid.difference(union_all([Polygon([v[:2] for v in loop]) for loop in holes]))
        return solid.union(self.added[name]) if name in self.added else solid

    def through(self, name: str, *spots: tuple[float, float]) -> BaseGeometry:
        """What stays of a plate right through."""
        return self.wood(name, -1e9)

    def thickness(self, name: str) -> float:
        """Thickness of the plate."""
        return self.thick[name]


def fitted_by_hand(j: Joint, added: Mapping[str, BaseGeometry] | None = None) -> ByHand:
    """The joint as it must come out: drawn for the measured sheets, with the clearance asked for."""
    panel, mate = (Stock(s.name, s.measured, s.measured) for s in (j.panel, j.mate))
    made = plates(replace(j, panel=panel, mate=mate, play=j.clearance, relief=None))
    thick = {plate.name: panel.measured if plate.name == PANEL else mate.measured for plate in made}
    return ByHand({p.name: p for p in made}, thick, added or {})


def makeable(kind: Kind) -> list[Joint]:
    return [j for j in (joint(seed, kind) for seed in range(1, 26)) if not j.may_be_refused]


@pytest.mark.parametrize("kind", KINDS)
def test_joints_fitted_by_hand_enter(kind: Kind) -> None:
    for j in makeable(kind):
        came = judged(j, fitted_by_hand(j))
        assert came.state == "entered", (str(j), came.reasons)


@pytest.mark.parametrize("kind", KINDS)
def test_joints_as_drawn_fail_on_another_sheet(kind: Kind) -> None:
    for j in makeable(kind):
        panel, mate = (Stock(s.name, s.drawn, s.drawn * 1.03) for s in (j.panel, j.mate))
        one = replace(j, panel=panel, mate=mate, relief=None, play=j.clearance)
        made = plates(one)
        thick = {plate.name: panel.measured if plate.name == PANEL else mate.measured for plate in made}
        assert judged(one, ByHand({p.name: p for p in made}, thick, {})).state == "failed", str(j)


def corner(j: Joint, size: float) -> BaseGeometry:
    """A little wood left in one inside corner of a mortise, as a cutter leaves it."""
    x, y = (j.width + 0.3) / 2, j.opening / 2
    return Polygon([(x, y), (x - size, y), (x, y - size)])


@pytest.mark.parametrize("size, state", [(0.002, "entered"), (0.02, "failed")])
def test_a_corner_that_is_not_cut_out_is_found_by_its_depth(size: float, state: str) -> None:
    """Wood of 0.02 x 0.02 is 0.0002 mm2: nothing by its area, and 0.01 deep."""
    one = replace(joint(3, "flush tenon"), turn_deg=0.0)
    assert judged(one, fitted_by_hand(one, added={PANEL: corner(one, size)})).state == state


def test_a_root_that_stays_round_is_found() -> None:
    one = replace(joint(3, "flush tenon"), turn_deg=0.0)
    fillet = Polygon([(one.width / 2, 0), (one.width / 2 + 0.3, 0), (one.width / 2, 0.3)])
    came = judged(one, fitted_by_hand(one, added={MATE: fillet}))
    assert came.state == "failed" and "root" in came.reasons[0]


def test_a_floor_that_stays_too_high_is_found() -> None:
    """Lapped boards would not come flush."""
    one = joint(8, "cross-lap")
    came = judged(one, fitted_by_hand(one, added={PANEL: box(-50, 0.0, 50, 0.05)}))
    assert came.state == "failed" and "floor" in came.reasons[0]


@pytest.mark.parametrize(
    "uprights, middle, held", [(2, 0.2, 0.0), (3, 0.4, 0.2), (4, 0.6, 0.4), (6, 1.0, 0.8)]
)
def test_seats_jam_by_the_misfit_less_the_clearance(uprights: int, middle: float, held: float) -> None:
    """By hand: every bay is 0.4 out about the middle, every bay but one with walls held; half a side."""
    places = [i * (SHELF + FITTED) for i in range(uprights)]
    room = CLEARANCE / 2
    for seat, misfit in (
        (solved_seat(uprights), 0.0),
        (seat_with_held_walls(uprights), held),
        (seat_about_the_middle(uprights), middle),
    ):
        overlap, play = best_overlap(seat, places, uprights)
        assert overlap == pytest.approx(max(0.0, misfit - room), abs=1e-6)
        assert play == pytest.approx(2 * (room - misfit), abs=1e-6)
