"""What the keys of [fit] and [[joint]] promise about sizes, measured on what the written program leaves."""

from __future__ import annotations

import math
import pathlib
from dataclasses import replace

import pytest
from support.closed_loop import (
    CLEARANCE,
    DRAWN,
    FITTED,
    SHELF,
    bench,
    best_overlap,
    shoulders,
    standing,
)
from support.measured import gaps_across, gaps_along, level, runs, top
from support.plates import Cleared, Plate, Refused, Stock, cut
from support.random_joints import MATE, PANEL, Joint, Kind, joint, plates

OFF = 0.02
SHEET = Stock("sheet", 18.0, 17.6)


def made(folder: pathlib.Path, drawn: list[Plate], fit: str = "", more: str = "") -> Cleared:
    """The plates cut from 17.6 with a cutter of 6 and a clearance of 0.15."""
    came = cut(folder, drawn, [SHEET], [6.0], f"clearance = {CLEARANCE}\n{fit}", more)
    assert not isinstance(came, Refused), [str(f) for f in came.findings]
    return came


def plain(kind: Kind, count: int = 2) -> Joint:
    """A joint of 18.0 with a tenon of 80 in a mortise of 80.3."""
    some = replace(joint(1, kind), panel=SHEET, mate=SHEET, play=0.0, cutter=6.0, width=80.0, depth=9.0)
    return replace(some, turn_deg=0.0, turns=(0.0, 0.0), shoulders=2, relief=None, count=count, proud=25.0)


def opening(cleared: Cleared) -> float:
    """Width of the panel's mortise."""
    low, high = gaps_across(cleared.through(PANEL), [0.0], 80.0)[0]
    return high - low


def tenon(cleared: Cleared, name: str = MATE) -> tuple[float, float]:
    """Width and length of the mate's tenon."""
    wood = cleared.through(name)
    ((begin, end),) = [run for run in runs(wood, top(wood, 0.0) - 0.5) if run[0] < 0 < run[1]]
    return end - begin, top(wood, 0.0) - level(wood, 50.0, 55.0, 5)


def test_outside_sizes_stay_where_the_job_keeps_them(tmp_path: pathlib.Path) -> None:
    """Two ends of 17.6 over 336 leave 300.8 between their shoulders; the seat still goes over both."""
    cleared = made(tmp_path, bench(2), 'keep = "outside"')
    outside = SHELF + 2 * DRAWN
    shelf = cleared.through("shelf 1")
    assert shoulders(shelf) == pytest.approx(outside - 2 * FITTED, abs=OFF)
    assert shelf.bounds[2] - shelf.bounds[0] == pytest.approx(outside, abs=2 * OFF)
    overlap, play = best_overlap(cleared.through("seat"), standing(cleared, 2), 2)
    assert overlap <= 0.002 and play == pytest.approx(CLEARANCE, abs=0.03)


def test_glued_tenons_grow_to_a_fifth_of_a_millimetre_less_than_their_mortise(tmp_path: pathlib.Path) -> None:
    drawn = plates(plain("flush tenon"))
    cleared = made(tmp_path, drawn, "glue = true")
    begin, end = gaps_along(cleared.through(PANEL), [0.0], 80.0)[0]
    assert end - begin == pytest.approx(80.3, abs=OFF)
    assert tenon(cleared)[0] == pytest.approx(80.1, abs=OFF)


def test_knock_down_tenons_stay_as_wide_as_drawn(tmp_path: pathlib.Path) -> None:
    cleared = made(tmp_path, plates(plain("flush tenon")))
    assert tenon(cleared) == pytest.approx((80.0, 17.6), abs=OFF)


def test_flush_tenons_stand_out_by_what_is_sanded_off(tmp_path: pathlib.Path) -> None:
    cleared = made(tmp_path, plates(plain("flush tenon")), "trim = 0.3")
    assert tenon(cleared)[1] == pytest.approx(17.9, abs=OFF)


@pytest.mark.parametrize("line", [0.0, 0.05, 0.1])
@pytest.mark.parametrize("layers", [2, 3])
def test_openings_for_layers_take_the_glue_lines_of_the_job(
    layers: int, line: float, tmp_path: pathlib.Path
) -> None:
    drawn = plates(plain("glued layers", layers))
    names = ", ".join(f'"{plate.name}"' for plate in drawn[1:])
    glue_up = f'[[glue_up]]\nname = "post"\nlayers = [{names}]\ndowel = 8'
    cleared = made(tmp_path, drawn, f"glue_line = {line}", glue_up)
    assert opening(cleared) == pytest.approx(layers * 17.6 + (layers - 1) * line + CLEARANCE, abs=OFF)


@pytest.mark.parametrize("lean", [5.0, 15.0])
def test_a_plate_that_leans_needs_more_room(lean: float, tmp_path: pathlib.Path) -> None:
    """T / cos b + T' tan b: the slanted plate's own thickness, and what it moves on through the other's."""
    b = math.radians(lean)
    drawn_for, asked = (t / math.cos(b) + t * math.tan(b) for t in (18.0, 17.6))
    one = plain("flush tenon")
    panel, mate = plates(one)
    half = (one.width + 0.3) / 2
    hole = [(u, v * drawn_for / 18.0, 0.0) for u, v, _ in panel.openings[0]]
    assert max(u for u, _, _ in hole) == half
    row = f'[[joint]]\ntenon = "{MATE}"\nmortise = "{PANEL}"\nlean = {lean}'
    cleared = made(tmp_path, [replace(panel, openings=[hole]), mate], more=row)
    assert opening(cleared) == pytest.approx(asked + CLEARANCE, abs=OFF)


def test_a_row_of_its_own_clearance_overrules_the_job(tmp_path: pathlib.Path) -> None:
    row = f'[[joint]]\ntenon = "{MATE}"\nmortise = "{PANEL}"\nclearance = 0.3'
    assert opening(made(tmp_path, plates(plain("flush tenon")), more=row)) == pytest.approx(17.9, abs=OFF)


def test_a_film_on_coated_walls_is_added_to_the_opening(tmp_path: pathlib.Path) -> None:
    """2 coats of 0.02 on the two walls of the mortise: 0.08 (check values, section 9)."""
    fit = 'finish = { coats = 2, film = 0.02, on = "mortises" }'
    cleared = made(tmp_path, plates(plain("flush tenon")), fit)
    assert opening(cleared) == pytest.approx(17.6 + CLEARANCE + 0.08, abs=OFF)
