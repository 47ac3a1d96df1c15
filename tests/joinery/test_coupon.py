"""What a coupon holds, how its marks are to be read, and what it refuses."""

from __future__ import annotations

import re

import pytest
import shapely

from camkit.errors import CannotBeMadeError
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import circle, signed_area
from camkit.job.fixtures import HoldDown
from camkit.job.model import Job
from camkit.joinery.coupon import Coupon
from camkit.joinery.coupon import coupon as coupon_of
from camkit.joinery.coupon_marks import Pen, letter, step_marks, step_text
from camkit.joinery.coupon_pieces import STEPS


def coupon(job: Job) -> Coupon:
    return coupon_of(job, job.sheet[0])


DOWEL = {"name": "end", "layers": ("a", "b"), "dowel": 8.0, "play": 0.1}


def test_steps_go_from_a_tenth_tight_to_four_tenths_loose_by_a_twentieth():
    assert STEPS == (-0.1, -0.05, 0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4)


@pytest.mark.parametrize(
    ("step", "dots", "dashes"),
    [
        (-0.1, 1, 0),
        (-0.05, 0, 1),
        (0.0, 0, 0),
        (0.05, 0, 1),
        (0.1, 1, 0),
        (0.25, 2, 1),
        (0.35, 3, 1),
        (0.4, 4, 0),
    ],
)
def test_a_mark_has_a_dot_for_each_tenth_and_a_dash_for_the_half(step, dots, dashes):
    marks = step_marks(step, (0.0, 0.0), Pen(7.5, 1.5), 2)
    assert (len(marks.dots), len(marks.strokes)) == (dots, dashes)
    heights = [dot.centre[1] for dot in marks.dots]
    assert all(height < 0 for height in heights) if step < 0 else all(height > 0 for height in heights)


def test_steps_are_spoken_of_with_their_sign():
    assert [step_text(step) for step in (-0.05, 0.0, 0.15)] == ["\N{MINUS SIGN}0.05", "0.00", "+0.15"]


def test_letters_are_strokes_of_their_size():
    """Strokes 4 wide that fill their box of 20 x 30, and leave most of its area."""
    for which in ("X", "Y"):
        shape = as_polygon(letter(which, (5.0, 5.0), (20.0, 30.0), Pen(4.0, 1.0)).outline)
        assert shape.is_valid
        assert shape.bounds == pytest.approx((-5, -10, 15, 20), abs=0.02)
        assert 0.2 < shape.area / 600 < 0.6


@pytest.mark.parametrize(("thickness", "diameter"), [(3.0, 2.0), (9.0, 8.0), (17.6, 6.0), (30.0, 2.0)])
def test_nothing_of_a_coupon_touches_anything_else(job, thickness, diameter):
    """Slots, marks and holes lie apart by 2.9 or more and inside their plates; plates leave wood for tabs."""
    piece = coupon(job(measured=thickness, cutters=(diameter,), glue_up=(DOWEL,)))
    for part in piece.parts:
        loops = [*part.openings, *(p.outline for p in part.pockets)]
        loops += [circle(hole.centre, hole.diameter) for hole in part.holes]
        areas = [as_polygon(loop) for loop in loops]
        rim = as_polygon(part.outline).exterior
        for k, area in enumerate(areas):
            assert shapely.distance(area, rim) > 2.9
            assert min((shapely.distance(area, other) for other in areas[:k]), default=9) > 2.9
    plates = [as_polygon(part.outline) for part in piece.parts]
    for k, plate in enumerate(plates):
        gaps = [shapely.distance(plate, other) for other in plates[:k]]
        assert min(gaps, default=99) >= 2 * diameter + 4.9
        x0, y0, x1, y1 = plate.bounds
        assert min(x0, y0, piece.size[0] - x1, piece.size[1] - y1) >= diameter + 4.9


def test_slots_are_drawn_as_wide_as_they_say_along_their_axis(job):
    piece = coupon(job())
    plates = {part.name: part for part in piece.parts}
    for slot in piece.slots:
        (own,) = [
            box
            for loop in plates[f"slots {slot.axis}"].openings
            if as_polygon(loop).contains(shapely.Point(slot.x, slot.y))
            for box in [as_polygon(loop).bounds]
        ]
        wide, high = own[2] - own[0], own[3] - own[1]
        assert (wide if slot.axis == "X" else high) == pytest.approx(17.6 + slot.step)
        assert (high if slot.axis == "X" else wide) == pytest.approx(30 + 1 + 6 + 0.1)


def test_the_block_is_fifty_square(job):
    (block,) = [part for part in coupon(job()).parts if part.name == "block"]
    assert signed_area(block.outline) == pytest.approx(2500)


def test_dowel_holes_go_by_a_tenth_where_the_cutter_makes_them(job):
    piece = coupon(job(glue_up=(DOWEL,)))
    assert [round(bore.diameter, 2) for bore in piece.bores] == [7.9, 8.0, 8.1, 8.2, 8.3]
    bored = {round(h.diameter, 2) for h in piece.parts[0].holes if h.depth is None}
    assert bored == {7.9, 8.0, 8.1, 8.2, 8.3}
    assert coupon(job()).bores == ()


def test_dowel_holes_that_the_job_drills_come_in_one_size(job):
    drill = {"number": 2, "kind": "drill", "diameter": 8.1}
    wanted = job(cutter=({"number": 1, "diameter": 6.0}, drill), glue_up=(DOWEL,))
    piece = coupon(wanted)
    assert [(round(b.diameter, 2), b.drilled) for b in piece.bores] == [(8.1, True)]
    assert [c.number for c in piece.job.cutter] == [1, 2]


def test_dowels_finer_than_the_cutter_are_left_out_and_told(job):
    piece = coupon(job(cutters=(8.0,), glue_up=(DOWEL,)))
    assert piece.bores == ()
    assert "no holes for dowels of 8 mm: cutter 1" in piece.findings[0].message


def test_the_cutter_is_the_one_that_joints_get(job):
    """The largest up to 0.8 of the narrowest slot, 17.5; one alone, so that nothing is changed by hand."""
    piece = coupon(job(cutters=(3.0, 6.0, 12.0, 16.0)))
    assert piece.cutter.diameter == 12.0
    assert piece.job.cutter == (piece.cutter,)


REFUSED = {
    "a cutter as wide as the slot": (
        {"measured": 3.0, "cutters": (3.0,)},
        "no milling cutter of the job makes the coupon's narrowest slot of 2.90 mm: the smallest is 3 mm",
    ),
    "drills only": (
        {"cutter": ({"number": 1, "kind": "drill", "diameter": 4.0},)},
        "narrowest slot of 17.50 mm: the job has none",
    ),
    "too short": (
        {"cutter": ({"number": 4, "diameter": 6.0, "cutting_length": 12.0},)},
        "cutter 4 is too short for the coupon: its edges are 12 mm long, a cut through takes 17.90",
    ),
    "no room": (
        {"sheet": {"measured_thickness": (17.6,), "size": (300.0, 200.0)}},
        "the sheet is 300 x 200",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_cut_is_refused_by_name(job, name):
    tables, words = REFUSED[name]
    with pytest.raises(CannotBeMadeError, match=re.escape(words)):
        coupon(job(**tables))


def test_the_jobs_hold_down_screws_are_not_for_the_coupon(job):
    held = job(cutter=[{"number": 1, "diameter": 6}]).model_copy(update={"hold_down": HoldDown()})
    assert coupon(held).job.hold_down is None


def test_no_drill_takes_the_marks_for_holes_of_its_own(job):
    """A cutter of 8 would mark with dots of 10.0, and a drill of 10.1 serves holes of 10.0 to 10.2."""
    cutters = ({"number": 1, "diameter": 8.0}, {"number": 2, "kind": "drill", "diameter": 10.1})
    piece = coupon(job(cutter=cutters, glue_up=({**DOWEL, "dowel": 10.0},)))
    dots = {hole.diameter for part in piece.parts for hole in part.holes if hole.depth is not None}
    assert dots and min(abs(dot - 10.1) for dot in dots) > 0.1
    assert [c.number for c in piece.job.cutter] == [1, 2]
