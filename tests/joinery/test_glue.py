"""Alignment dowels: clear of every edge, far apart, and no layer can be laid wrongly without it showing."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.fitting import fit_one_sheet

from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, circle, polygon, rectangle
from camkit.geometry.symmetry import symmetries
from camkit.geometry.transform import Placement, moved
from camkit.job.model import Sheet
from camkit.joinery.dowels import legal_spots, pattern
from camkit.joinery.fit import fit
from camkit.joinery.fitted import Fitted
from camkit.layout.move import moved_part
from camkit.part import Hole, Part, Pocket

LONG = rectangle(0, 0, 400, 60)
SHAPES = {
    "board": rectangle(0, 0, 400, 300),
    "rail": LONG,
    "square": rectangle(0, 0, 200, 200),
    "round": circle((150, 150), 300),
    "triangle": polygon([(0, 0), (300, 0), (150, 150 * math.sqrt(3))]),
    "leg": polygon([(0, 0), (300, 0), (300, 60), (60, 60), (60, 500), (0, 500)]),
    "arch": polygon([(0, 0), (60, 0), (60, 240), (340, 240), (340, 0), (400, 0), (400, 300), (0, 300)]),
}


def stack(job, outlines: list[Path], dowel: float = 8.0, play: float = 0.1) -> Fitted:
    """Two or more layers, each drawn 700 mm to the right of the one before."""
    names = tuple(f"layer {n}" for n in range(1, len(outlines) + 1))
    parts = [
        Part(name, moved(path, Placement(700.0 * n, 3.3)))
        for n, (name, path) in enumerate(zip(names, outlines, strict=True))
    ]
    row = {"name": "stack", "layers": names, "dowel": dowel, "play": play}
    return fit_one_sheet(parts, job(glue_up=(row,)))


def in_stack(part: Part) -> np.ndarray:
    """Middles of the part's holes, lower left corner of its outline at (0, 0)."""
    x, y, _, _ = bounds(part.outline)
    return np.array([(hole.centre[0] - x, hole.centre[1] - y) for hole in part.holes])


def only(result: Fitted, rule: str):
    (said,) = [finding for finding in result.findings if finding.rule == rule]
    return said


@pytest.mark.parametrize("name", SHAPES)
def test_dowels_lie_a_diameter_from_every_edge_and_show_every_wrong_turn_and_flip(job, name):
    result = stack(job, [SHAPES[name]] * 2)
    assert len(result.glue_ups) == 1
    holes = in_stack(result.parts[0])
    x0, y0, _, _ = bounds(SHAPES[name])
    outline = as_polygon(moved(SHAPES[name], Placement(-x0, -y0)))
    for spot in holes:
        assert outline.contains(shapely.Point(spot))
        assert outline.exterior.distance(shapely.Point(spot)) >= 8 - 0.01
    for wrong in symmetries(outline, 1.0):
        landed = np.linalg.norm(wrong.applied(holes)[:, None] - holes[None], axis=2)
        assert landed.min(axis=1).max() >= 8, wrong


@pytest.mark.parametrize("name", SHAPES)
def test_holes_of_layers_laid_together_are_concentric(job, name):
    result = stack(job, [SHAPES[name]] * 3)
    first, *others = (in_stack(part) for part in result.parts)
    for other in others:
        assert np.abs(other - first).max() < 1e-9
    for layer, part in zip(result.glue_ups[0].layers, result.parts, strict=True):
        assert layer.part == part.name
        assert layer.dowels == part.holes
        assert all(hole.diameter == pytest.approx(8.1) and hole.depth is None for hole in part.holes)


def test_the_pattern_about_the_middle_is_never_chosen():
    # two spots symmetric about the middle of the board: a half turn lays each upon the other
    board = as_polygon(rectangle(0, 0, 400, 300))
    wrong = symmetries(board, 1.0)
    assert pattern(np.array([[20.0, 20.0], [380.0, 280.0]]), wrong, 8.0) is None
    # on the long middle line a flip over that line does not show, however many there are
    assert pattern(np.array([[x, 150.0] for x in (20.0, 90.0, 170.0, 300.0, 380.0)]), wrong, 8.0) is None
    shifted = np.array([[20.0, 20.0], [380.0, 271.0]])
    assert pattern(shifted, wrong, 8.0) == pytest.approx(shifted)


def test_a_third_dowel_is_taken_when_two_far_ones_do_not_show_it():
    wrong = symmetries(as_polygon(rectangle(0, 0, 400, 300)), 1.0)
    spots = np.array(
        [[20.0, 20.0], [20.0, 280.0], [380.0, 20.0], [380.0, 280.0]]
    )  # any two map on each other
    chosen = pattern(spots, wrong, 8.0)
    assert chosen is not None
    assert len(chosen) == 3


def test_layers_of_different_shape_get_dowels_where_all_are(job):
    small = polygon([(0, 0), (250, 0), (250, 120), (0, 120)])
    result = stack(job, [SHAPES["board"], small])
    for x, y in in_stack(result.parts[0]):
        assert 8 <= x <= 242
        assert 8 <= y <= 112


def test_dowels_keep_clear_of_openings_holes_and_pockets_of_every_layer(job):
    board = SHAPES["board"]
    parts = [
        Part("a", board, (rectangle(20, 20, 120, 280),), (Hole((300, 40), 20),)),
        Part("b", moved(board, Placement(500, 0)), (), (Hole((860, 250), 30, 5.0),), ()),
        Part("c", moved(board, Placement(1000, 0)), (), (), (Pocket(rectangle(1200, 0, 1300, 300), 6.0),)),
    ]
    row = {"name": "stack", "layers": ("a", "b", "c")}
    result = fit_one_sheet(parts, job(glue_up=(row,), drawn=None))
    blocked = shapely.union_all(
        [
            shapely.box(20, 20, 120, 280),
            shapely.Point(300, 40).buffer(10),
            shapely.Point(360, 250).buffer(15),
            shapely.box(200, 0, 300, 300),
        ]
    )
    for part in result.parts:
        own = Part(part.name, part.outline, holes=part.holes[-2:])
        for spot in in_stack(own):
            assert blocked.distance(shapely.Point(spot)) >= 8 - 0.01


def test_the_play_is_twice_the_clearance_over_the_distance(job):
    result = stack(job, [LONG] * 2)
    (glued,) = result.glue_ups
    first, second = in_stack(result.parts[0])
    apart = math.dist(first, second)
    assert glued.play_deg == pytest.approx(math.degrees(2 * 0.1 / apart))
    middle = (first + second) / 2
    farthest = max(math.dist(middle, corner) for corner in ((0, 0), (400, 0), (400, 60), (0, 60)))
    assert glued.worst_shift_mm == pytest.approx(0.1 + 2 * 0.1 / apart * farthest, rel=1e-6)


def test_the_turn_of_dowels_400_apart_by_hand():
    # 2 x 0.1 / 400 rad = 0.0286 degrees
    assert math.degrees(2 * 0.1 / 400) == pytest.approx(0.0286, abs=5e-5)


@settings(derandomize=True, deadline=None, max_examples=15)
@given(turn=st.sampled_from([0.0, 90.0, 180.0, 270.0]), x=st.integers(-500, 500), y=st.integers(-500, 500))
def test_where_the_layers_are_drawn_does_not_matter(job, turn, x, y):
    part = Part("a", polygon([(0, 0), (400, 0), (400, 300), (0, 280)]))
    there = [moved_part(part, Placement(x, y, turn)), moved_part(part, Placement(x + 1000, y, turn))]
    parts = [Part("a", there[0].outline), Part("b", there[1].outline)]
    result = fit_one_sheet(parts, job(drawn=None, glue_up=({"name": "s", "layers": ("a", "b")},)))
    first, second = (in_stack(part) for part in result.parts)
    assert first == pytest.approx(second, abs=1e-9)
    assert len(first) == 2


def test_no_room_for_dowels_is_an_error_with_a_way_out(job):
    result = stack(job, [rectangle(0, 0, 400, 15)] * 2)
    said = only(result, "dowel-room")
    assert said.level == "error"
    assert 'glue-up "stack" has no room for two 8 mm dowels' in said.message
    assert said.remedy == "Take a thinner dowel, or put dowels in waste and cut it off later"
    assert result.glue_ups == ()
    assert all(part.holes == () for part in result.parts)


def test_outlines_that_share_no_area_are_an_error(job):
    bars = [rectangle(0, 0, 400, 60), rectangle(0, 0, 10, 400)]
    assert only(stack(job, bars), "dowel-room").level == "error"


def test_a_strip_too_narrow_to_tell_its_faces_is_an_error(job):
    # a flip over the long middle line moves no spot by 8 mm unless the strip is wider than 3 x 8
    assert only(stack(job, [rectangle(0, 0, 400, 22)] * 2), "dowel-pattern").level == "error"
    assert stack(job, [rectangle(0, 0, 400, 26)] * 2).glue_ups


def test_an_unknown_layer_offers_the_nearest_name(job):
    row = {"name": "end", "layers": ("inner", "outter")}
    result = fit_one_sheet([Part("inner", LONG), Part("outer", LONG)], job(glue_up=(row,)))
    said = only(result, "glue-up-layers")
    assert said.message == 'glue-up "end" names the layer "outter", but no part is called so'
    assert said.remedy == 'Write "outer"'


def test_one_part_cannot_be_two_layers(job):
    parts = [Part("inner", LONG), Part("outer", LONG)]
    twice = {"name": "end", "layers": ("inner", "inner")}
    assert (
        "a layer of this glue-up already"
        in only(fit_one_sheet(parts, job(glue_up=(twice,))), "glue-up-layers").message
    )
    rows = ({"name": "left", "layers": ("inner", "outer")}, {"name": "right", "layers": ("outer", "inner")})
    said = only(fit_one_sheet(parts, job(glue_up=rows)), "glue-up-layers")
    assert 'a layer of glue-up "left" already' in said.message


def test_parts_of_one_name_serve_as_several_layers(job):
    parts = [Part("rail", LONG), Part("rail", moved(LONG, Placement(0, 100)))]
    for layers in (("rail", "rail"), ("rail:2", "rail:1")):
        result = fit_one_sheet(parts, job(glue_up=({"name": "beam", "layers": layers},)))
        assert all(len(part.holes) == 2 for part in result.parts)
    third = {"name": "beam", "layers": ("rail:1", "rail:3")}
    assert (
        "no part is called so" in only(fit_one_sheet(parts, job(glue_up=(third,))), "glue-up-layers").message
    )


@pytest.mark.parametrize(("dowel", "told"), [(5.0, True), (6.0, False), (8.0, False), (9.0, True)])
def test_a_dowel_outside_a_third_to_a_half_of_the_sheet_is_a_warning(job, dowel, told):
    # rule of thirds and half, jorbins.com: 17.6 / 3 = 5.87 to 17.6 / 2 = 8.8
    result = stack(job, [SHAPES["board"]] * 2, dowel=dowel)
    assert [f.level for f in result.findings if f.rule == "dowel-size"] == ["warning"] * told
    assert len(result.glue_ups) == 1


def test_dowels_close_together_are_told(job):
    result = stack(job, [rectangle(0, 0, 60, 60), rectangle(0, 0, 600, 400)], play=0.3)
    assert only(result, "dowel-play").level == "warning"


def test_the_note_says_that_dowel_ends_show(job):
    assert "show on both faces" in only(stack(job, [LONG] * 2), "dowel-ends").message


def test_spots_are_whole_tenths_inside_and_sorted():
    spots = legal_spots(as_polygon(rectangle(0, 0, 100, 50)), 8.0)
    assert len(spots) > 50
    assert np.allclose(spots, np.round(spots, 1))
    assert spots.tolist() == sorted(spots.tolist())
    assert legal_spots(as_polygon(rectangle(0, 0, 100, 15)), 8.0).shape == (0, 2)


def test_layers_of_several_thicknesses_add_up_and_the_thinnest_sets_the_dowel(job):
    """17.6 + 11.8 + 17.6 = 47.0 of dowel; a third to a half of 11.8 is 3.9 to 5.9."""
    frame, core = (
        Sheet(name="frame", measured_thickness=(17.6,)),
        Sheet(name="core", measured_thickness=(11.8,)),
    )
    parts = [Part(name, SHAPES["board"]) for name in ("outer", "core", "inner")]
    row = {"name": "end", "layers": ("outer", "core", "inner"), "dowel": 8.0}
    result = fit(parts, job(glue_up=(row,)), [frame, core, frame])
    assert result.glue_ups[0].thickness_mm == pytest.approx(47.0)
    assert only(result, "dowel-ends").remedy.startswith("Cut dowels 47.0 mm long")
    said = only(result, "dowel-size")
    assert 'glue-up "end" has dowels of 8 mm in layers of 11.8 to 17.6 mm' in said.message
    assert said.remedy.endswith("a third and a half of the thinnest layer: 3.9 to 5.9 mm")
    thin = fit(parts, job(glue_up=({**row, "dowel": 5.0},)), [frame, core, frame])
    assert [f for f in thin.findings if f.rule == "dowel-size"] == []
