"""Pairs where layers are glued into plates, and the choice among equal mates; outlines drawn by hand."""

from __future__ import annotations

import pytest
from support.places import DEMO

from camkit.drawing.read import read
from camkit.drawing.select import select
from camkit.geometry.path import polygon, rectangle
from camkit.job.load import load
from camkit.job.model import Job
from camkit.joinery.fit import fit
from camkit.joinery.layers import stacks
from camkit.joinery.pairs import Pairs, pairs
from camkit.part import Part


def upright(name: str, x: float, *mortises: float, tenon: float | None = None, tall: float = 800) -> Part:
    """An upright 300 wide at x, with mortises 18 x 80.3 lying at these heights; a tenon 100 wide on top."""
    top = [(x + 300, tall), (x, tall)]
    if tenon is not None:
        top[1:1] = [(x + 200, tall), (x + 200, tall + tenon), (x + 100, tall + tenon), (x + 100, tall)]
    loops = tuple(rectangle(x + 110, y, x + 190.3, y + 18) for y in mortises)
    return Part(name, polygon([(x, 0), (x + 300, 0), *top]), loops)


def shelf(name: str, between: float, reach: float = 18, y: float = 2000) -> Part:
    """A shelf 300 deep with a tenon 80 wide at both ends; its shoulders are `between` apart."""
    end = between + reach
    left = [(0, 190), (-reach, 190), (-reach, 110), (0, 110)]
    right = [(between, 110), (end, 110), (end, 190), (between, 190)]
    outline = [(0, 0), (between, 0), *right, (between, 300), (0, 300), *left]
    return Part(name, polygon([(u, v + y) for u, v in outline]))


def seat(*mortises: float, wide: float = 18.0) -> Part:
    """A seat with upright mortises 100.3 long, their middles at these places along it."""
    loops = tuple(rectangle(x - wide / 2, 3100, x + wide / 2, 3200.3) for x in mortises)
    return Part("seat", rectangle(-100, 3000, 1500, 3300), loops)


def mates(result: Pairs, parts: list[Part], name: str) -> list[tuple[str, int]]:
    """Where the tenons of the part go, and how many of them."""
    return sorted(
        (parts[pair.parts[1]].name, len(pair.takes))
        for pair in result.pairs
        if parts[pair.parts[0]].name == name
    )


def test_on_the_demo_bench_the_shelf_goes_through_both_layers_of_both_ends():
    job = load(DEMO)
    drawn = read(DEMO.with_name("bench.dxf"), rules=job.layer_rules())
    parts = [part for _, part in select([drawn], job.part).parts]
    result = pairs(parts, [18] * len(parts), (), stacks(job.glue_up, parts))
    layers = ["left end, inner", "left end, outer", "right end, inner", "right end, outer"]
    assert mates(result, parts, "shelf") == [(layer, 2) for layer in layers]
    assert mates(result, parts, "left end, inner") == [("top", 2)]
    assert (result.findings, result.lone) == ((), ())


def test_a_tenon_through_two_layers_has_both_mortises_as_mates():
    parts = [upright("inner", 0, 300), upright("outer", 400, 300), shelf("shelf", 500, 36)]
    assert mates(pairs(parts, [18] * 3, (), [(0, 1)]), parts, "shelf") == [("inner", 1), ("outer", 1)]


def test_mortises_of_one_stack_at_different_places_are_two_joints():
    parts = [upright("inner", 0, 300), upright("outer", 400, 500), shelf("shelf", 500, 36)]
    assert mates(pairs(parts, [18] * 3, (), [(0, 1)]), parts, "shelf") == [("inner", 1), ("outer", 1)]
    (one, other) = (pair.enters[0] for pair in pairs(parts, [18] * 3, (), [(0, 1)]).pairs)
    assert one != other


def test_tenons_of_two_glued_layers_enter_one_mortise_as_wide_as_both():
    parts = [upright("inner", 0, tenon=18), upright("outer", 400, tenon=18), seat(400, wide=36.2)]
    result = pairs(parts, [18] * 3, (), [(0, 1)])
    assert mates(result, parts, "inner") == [("seat", 1)]
    assert mates(result, parts, "outer") == [("seat", 1)]
    assert len({pair.takes for pair in result.pairs}) == 1


def test_layers_of_two_sheets_enter_a_mortise_as_wide_as_their_sum():
    parts = [upright("thick", 0, tenon=18), upright("thin", 400, tenon=18), seat(400, wide=30.2)]
    result = pairs(parts, [18, 12, 18], (), [(0, 1)])
    assert mates(result, parts, "thick") == mates(result, parts, "thin") == [("seat", 1)]


def test_a_mortise_for_layers_of_two_sheets_becomes_their_sum_a_glue_line_and_the_clearance():
    parts = [upright("thick", 0, tenon=18), upright("thin", 400, tenon=18), seat(400, wide=30.2)]
    sheets = [
        {"name": name, "drawn_thickness": drawn, "measured_thickness": (measured,)}
        for name, drawn, measured in (("birch 18", 18, 17.6), ("birch 12", 12, 11.8))
    ]
    job = Job.model_validate(
        {
            "sheet": tuple(sheets),
            "cutter": ({"number": 1, "diameter": 6.0},),
            "fit": {"clearance": 0.15},
            "glue_up": ({"name": "end", "layers": ("thick", "thin")},),
        }
    )
    thick, thin = job.sheet
    (joint,) = [one for one in fit(parts, job, [thick, thin, thick]).joints if one.parts[0] == "seat"]
    assert joint.fitted_mm == pytest.approx(17.6 + 11.8 + 0.1 + 0.15)


def test_a_single_tenon_does_not_enter_a_mortise_for_two_sheets():
    parts = [upright("upright", 0, tenon=18), seat(400, wide=36.2)]
    assert pairs(parts, [18] * 2).pairs == ()


def test_layers_of_a_stack_do_not_take_tenons_of_each_other():
    parts = [upright("inner", 0, tenon=18), Part("outer", seat(400).outline, seat(400).openings)]
    assert pairs(parts, [18] * 2, (), [(0, 1)]).pairs == ()


def test_layers_are_one_mate_and_equal_stacks_are_interchangeable():
    parts = [
        *(upright("left inner", 0, 300, tenon=18), upright("left outer", 400, 300)),
        *(upright("right inner", 800, 300, tenon=18), upright("right outer", 1200, 300)),
        shelf("shelf", 500, 36),
    ]
    result = pairs(parts, [18] * 5, (), [(0, 1), (2, 3)])
    assert {said.part for said in result.findings} == {"left inner", "right inner"}  # no seat is drawn
    assert len(mates(result, parts, "shelf")) == 4


def test_the_ends_of_a_part_go_to_two_plates_where_there_are_two():
    parts = [upright("left", 0, 300, 500), upright("right", 400, 300, 500)]
    parts += [shelf("lower", 500), shelf("upper", 500, y=2400)]
    result = pairs(parts, [18] * 4)
    for name in ("lower", "upper"):
        assert mates(result, parts, name) == [("left", 1), ("right", 1)]


def test_shoulders_choose_the_uprights_that_stand_so_far_apart():
    # Middles at 0, 300 and 900: between the faces of sheets of 18 that is 282, 582 and 882.
    parts = [upright(name, k * 400, 300, 500, tenon=18) for k, name in enumerate(("one", "two", "three"))]
    parts += [seat(0, 300, 900), shelf("long", 582), shelf("short", 282, y=2400)]
    result = pairs(parts, [18] * len(parts))
    at = {
        parts[pair.parts[0]].name: pair.takes[0].middle[0]
        for pair in result.pairs
        if parts[pair.parts[1]].name == "seat"
    }
    for name, apart in (("long", 600), ("short", 300)):
        (one, _), (other, _) = mates(result, parts, name)
        assert abs(at[one] - at[other]) == apart


def test_a_row_of_the_job_that_names_one_layer_means_the_plate():
    parts = [
        *(upright("left inner", 0, 300), upright("left outer", 400, 300)),
        *(upright("right inner", 800, 300), upright("right outer", 1200, 300)),
        Part("shelf", polygon([(0, 3000), (500, 3000), (500, 3110), (536, 3110), (536, 3190), (500, 3190),
                               (500, 3300), (0, 3300)])),
    ]  # fmt: skip
    result = pairs(parts, [18] * 5, [("shelf", "right outer")], [(0, 1), (2, 3)])
    assert mates(result, parts, "shelf") == [("right inner", 1), ("right outer", 1)]


def crossing(name: str, x: float, wide: float, *, below: bool) -> Part:
    """A board 400 x 100 on edge, half its height slotted this wide in the middle."""
    a, b = x + 200 - wide / 2, x + 200 + wide / 2
    if below:
        slot = [(a, 0), (a, 50), (b, 50), (b, 0)]
        return Part(name, polygon([(x, 0), *slot, (x + 400, 0), (x + 400, 100), (x, 100)]))
    slot = [(b, 100), (b, 50), (a, 50), (a, 100)]
    return Part(name, polygon([(x, 0), (x + 400, 0), (x + 400, 100), *slot, (x, 100)]))


def test_a_slot_as_wide_as_two_sheets_laps_both_layers_of_a_board():
    double = [crossing(name, x, 18, below=True) for name, x in (("front layer", 0), ("back layer", 500))]
    parts = [*double, crossing("rail", 1000, 36.1, below=False)]
    glued = pairs(parts, [18] * 3, (), [(0, 1)])
    assert [(pair.kind, pair.parts) for pair in glued.pairs] == [("cross-lap", (0, 2)), ("cross-lap", (1, 2))]
    assert glued.lone == ()
    assert not any(2 in pair.parts for pair in pairs(parts, [18] * 3).pairs)


def test_slots_are_as_wide_as_the_other_board_is_thick():
    parts = [crossing("thick", 0, 12, below=True), crossing("thin", 500, 18, below=False)]
    assert [pair.kind for pair in pairs(parts, [18, 12]).pairs] == ["cross-lap"]
    assert pairs(parts, [12, 18]).pairs == ()
