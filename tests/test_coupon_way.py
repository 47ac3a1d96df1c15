"""The coupon goes the whole way: judged sound, and as wide as it says when its text is replayed elsewhere."""

from __future__ import annotations

import functools

import pytest
from shapely import LineString, box
from support.replayed import Move, replay, swept

from camkit.job.model import Job
from camkit.joinery.coupon import Coupon, coupon
from camkit.joinery.coupon_pieces import STEPS, Slot
from camkit.pipeline import Result, make_coupon

# Paths run 0.005 off either wall, and four decimals round.
WIDTH_OFF = 0.0102
WAYS = [
    (3.0, 2.0),
    (3.0, 2.5),
    (9.0, 2.0),
    (9.0, 3.175),
    (9.0, 6.0),
    (9.0, 8.0),
    (17.6, 4.0),
    (17.6, 6.0),
    (17.6, 8.0),
    (30.0, 3.0),
    (30.0, 6.0),
    (30.0, 8.0),
]


def job_for(thickness: float, *diameters: float, **tables: object) -> Job:
    """Fast enough for a chip that no rule doubts, tabs no higher than half the sheet."""
    rows = tuple({"number": n, "diameter": d, "feed": 400.0 * d + 600} for n, d in enumerate(diameters, 1))
    sheet = {"measured_thickness": (thickness,)}
    tabs = {"height": min(3.0, thickness / 2)}
    return Job.model_validate({"sheet": sheet, "cutter": rows, "tabs": tabs, **tables})


@functools.cache
def made(thickness: float, diameter: float) -> tuple[Coupon, Result]:
    job = job_for(thickness, diameter)
    piece = coupon(job, job.sheet[0])
    return piece, make_coupon(piece, "coupon")


def width_across(slot: Slot, moves: list[Move], thickness: float) -> float:
    """How wide the slot is cleared through the sheet, across its middle."""
    half = slot.width / 2 + 2
    line = LineString([(slot.x - half, slot.y), (slot.x + half, slot.y)])
    if slot.axis == "Y":
        line = LineString([(slot.x, slot.y - half), (slot.x, slot.y + half)])
    cleared = swept(moves, -thickness, box(*line.buffer(1).bounds))
    return float(line.intersection(cleared).length)


@pytest.mark.parametrize(("thickness", "diameter"), WAYS)
def test_the_coupon_is_judged_sound(thickness: float, diameter: float) -> None:
    _, result = made(thickness, diameter)
    findings = [*result.findings, *(f for p in result.programs for f in p.verdict.findings)]
    assert [str(f) for f in findings if f.level == "error"] == []
    assert {f.rule for f in findings} <= {"chip-load", "sheet-band"}


@pytest.mark.parametrize(("thickness", "diameter"), [(3.0, 2.0), (9.0, 8.0), (17.6, 6.0), (30.0, 8.0)])
def test_slots_of_the_replayed_program_are_the_sheet_and_their_step_wide(
    thickness: float, diameter: float
) -> None:
    piece, result = made(thickness, diameter)
    moves = replay(result.programs[0].text, {1: diameter})
    for axis in ("X", "Y"):
        slots = [slot for slot in piece.slots if slot.axis == axis]
        assert [slot.step for slot in slots] == list(STEPS)
        for slot in slots:
            width = width_across(slot, moves, thickness)
            assert width == pytest.approx(thickness + slot.step, abs=WIDTH_OFF), (axis, slot.step)


def test_block_and_tongue_of_the_replayed_program_have_their_sizes() -> None:
    """Between tabs, near the upper face: 50.00 along X and Y, the tongue 30 wide."""
    piece, result = made(17.6, 6.0)
    moves = replay(result.programs[0].text, {1: 6.0})
    for name, size in (("block", (50.0, 50.0)), ("tongue", (110.0, 30.0))):
        (part,) = [part for part in piece.parts if part.name == name]
        x0, y0, x1, y1 = part.bounds()
        cleared = swept(moves, -10.0, box(x0 - 3, y0 - 3, x1 + 3, y1 + 3))
        for k, (a, b) in enumerate(
            (((x0 - 2, y0 + 9), (x1 + 2, y0 + 9)), ((x0 + 9, y0 - 2), (x0 + 9, y1 + 2)))
        ):
            left = LineString([a, b]).difference(cleared)
            assert left.length == pytest.approx(size[k], abs=WIDTH_OFF)


def test_every_slot_takes_the_tongue_without_touching_its_ends() -> None:
    """The tongue 30 wide, in the middle of the slot, clears the round corners at any thickness it enters."""
    piece, result = made(17.6, 6.0)
    moves = replay(result.programs[0].text, {1: 6.0})
    for slot in piece.slots:
        thin = slot.width / 2 - 0.02
        along = (15.0, thin) if slot.axis == "Y" else (thin, 15.0)
        section = box(slot.x - along[0], slot.y - along[1], slot.x + along[0], slot.y + along[1])
        assert section.difference(swept(moves, -17.6, section)).area == pytest.approx(0, abs=1e-6)


def test_the_coupon_is_cut_as_its_job_is() -> None:
    """Pass depth, direction, tabs and how far into the table are the job's own."""
    table = {"direction": "conventional", "into_table": 0.2}
    base = job_for(17.6, 6.0, machine=table)
    cutter = base.cutter[0].model_copy(update={"pass_depth": 2.0})
    piece = coupon(base.model_copy(update={"cutter": (cutter,)}), base.sheet[0])
    assert piece.job.machine == base.machine and piece.job.tabs == base.tabs
    result = make_coupon(piece, "coupon")
    assert result.ok
    deepest = [m.end[2] for m in result.programs[0].reading.motions]
    assert min(deepest) == pytest.approx(-17.8)
    outlines = [cut for cut in result.cuts if cut.kind == "profile"]
    assert all(len(cut.tabs) >= 3 for cut in outlines)
