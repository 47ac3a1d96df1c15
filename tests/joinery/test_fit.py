"""Joints fitted to the measured sheet; figures by hand from width = thickness + clearance."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.fitting import fit_one_sheet, fit_without_mates

from camkit.geometry.corner import arriving
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, Line, Path, circle, polygon, rectangle, reversed_path
from camkit.geometry.transform import Placement, moved
from camkit.joinery.fitted import Fitted
from camkit.part import Hole, Part, Pocket, Source

BOARD = rectangle(0, 0, 400, 300)


def tenoned(projection: float) -> Path:
    """A board of 400 x 300 with one tenon 89.7 wide."""
    x = 400 + projection
    return polygon([(0, 0), (400, 0), (400, 100), (x, 100), (x, 189.7), (400, 189.7), (400, 300), (0, 300)])


SHELF = Part("shelf", tenoned(18))
MORTISE = rectangle(100, 50, 190, 68)


def fitted(part: Part, job) -> Fitted:
    return fit_without_mates([part], job)


def as_drawn(result: Part, part: Part) -> bool:
    """Whether a part has its drawn shapes; joints that were found in them are no change."""
    return replace(result, joint_faces=()) == part


def rules(result: Fitted) -> list[str]:
    return [finding.rule for finding in result.findings]


def wall_distance(loop: Path) -> float:
    """Distance between the two longest parallel straight walls, measured on the figure."""
    walls = sorted(
        (s for s in loop.segments if isinstance(s, Line)), key=lambda s: -math.dist(s.start, s.end)
    )
    (ux, uy), (px, py), (qx, qy) = arriving(walls[0]), walls[0].start, walls[1].start
    return abs(ux * (qy - py) - uy * (qx - px))


@pytest.mark.parametrize(
    ("measured", "clearance", "width"),
    [(17.6, 0.15, 17.75), (18.0, 0.15, 18.15), (18.6, -0.1, 18.5), (17.2, 0.1, 17.3)],
)
@pytest.mark.parametrize("drawn", [18.0, 18.3, 17.8])
def test_a_mortise_takes_the_sheet_and_the_clearance_whatever_clearance_was_drawn(
    job, measured, clearance, width, drawn
):
    part = Part("end", BOARD, (rectangle(100, 50, 190, 50 + drawn),))
    result = fitted(part, job(clearance=clearance, measured=measured))
    (joint,) = result.joints
    assert (joint.kind, joint.parts, joint.relief) == ("mortise", ("end",), "dogbone")
    assert (joint.drawn_mm, joint.fitted_mm) == pytest.approx((drawn, width))
    assert joint.clearance_mm == clearance
    assert (joint.x, joint.y) == pytest.approx((145, 50 + drawn / 2))
    assert wall_distance(result.parts[0].openings[0]) == pytest.approx(width, abs=1e-9)


def test_the_mortise_keeps_its_middle_and_its_length_and_gains_four_dogbones(job):
    part = Part("end", BOARD, (MORTISE,))
    (opening,) = fitted(part, job()).parts[0].openings
    over = 3.05 * (1 - math.sin(math.pi / 4))  # a dogbone reaches r (1 - sin 45) behind both walls
    assert as_polygon(opening, 1e-4).bounds == pytest.approx(
        (100 - over, 59 - 8.875 - over, 190 + over, 59 + 8.875 + over), abs=1e-3
    )
    beyond = 3.05**2 * (math.pi / 2 - 1)  # 2 r2 (b - sin b cos b) at b = 45 degrees
    assert as_polygon(opening, 1e-4).area == pytest.approx(90 * 17.75 + 4 * beyond, abs=0.02)
    for x in (100, 190):
        for y in (59 - 8.875, 59 + 8.875):  # the tenon's corners are on the rim
            assert as_polygon(opening, 1e-4).exterior.distance(shapely.Point(x, y)) < 2e-4


def test_an_opening_for_two_glued_layers_takes_two_sheets(job):
    (joint,) = fitted(Part("top", BOARD, (rectangle(50, 50, 150, 86),)), job()).joints
    assert joint.fitted_mm == pytest.approx(2 * 17.6 + 0.1 + 0.15)  # a glue line of 0.1 between them


def test_a_slot_changes_width_only_and_its_bottom_corners_are_relieved(job):
    outline = polygon(
        [(0, 0), (400, 0), (400, 300), (209, 300), (209, 150), (191, 150), (191, 300), (0, 300)]
    )
    result = fitted(Part("rail", outline), job())
    (joint,) = result.joints
    assert (joint.kind, joint.relief) == ("slot", "t-bone")
    new = result.parts[0].outline
    # board less slot less the half discs of two T-bones below its bottom
    beyond = math.pi / 2 * 3.05**2
    assert as_polygon(new, 1e-4).area == pytest.approx(400 * 300 - 150 * 17.75 - 2 * beyond, abs=0.02)
    points = [segment.start for segment in new.segments]
    for mouth in ((200 - 8.875, 300), (200 + 8.875, 300)):
        assert min(math.dist(mouth, point) for point in points) < 1e-9
    arcs = [segment for segment in new.segments if isinstance(segment, Arc)]
    assert sorted(arc.centre for arc in arcs) == [
        pytest.approx((200 - 8.875 + 3.05, 150)),
        pytest.approx((200 + 8.875 - 3.05, 150)),
    ]


def test_a_slot_beside_a_curved_edge_ends_on_the_curve(job):
    foot = Path(
        (
            Line((0, 0), (400, 0)),
            Line((400, 0), (400, 200)),
            Arc((400, 200), (209, math.sqrt(250000 - 81) - 258.2576), (200, -258.2576), False),
            Line((209, math.sqrt(250000 - 81) - 258.2576), (209, 100)),
            Line((209, 100), (191, 100)),
            Line((191, 100), (191, math.sqrt(250000 - 81) - 258.2576)),
            Arc((191, math.sqrt(250000 - 81) - 258.2576), (0, 200), (200, -258.2576), False),
            Line((0, 200), (0, 0)),
        )
    )
    result = fitted(Part("foot", foot), job())
    assert len(result.joints) == 1
    mouth = math.sqrt(250000 - 8.875**2) - 258.2576
    points = [segment.start for segment in result.parts[0].outline.segments]
    assert min(math.dist((200 + 8.875, mouth), point) for point in points) < 1e-4


def test_a_stopped_housing_is_fitted_and_keeps_its_depth(job):
    part = Part("end", BOARD, (), (), (Pocket(rectangle(100, 50, 300, 68), 6.0),))
    result = fitted(part, job())
    assert result.joints[0].kind == "housing"
    assert result.parts[0].pockets[0].depth == 6.0
    assert wall_distance(result.parts[0].pockets[0].outline) == pytest.approx(17.75)


def test_open_ends_of_a_housing_are_not_relieved(job):
    through = Part("end", BOARD, (), (), (Pocket(rectangle(-5, 50, 405, 68), 6.0),))
    result = fitted(through, job())
    assert result.joints[0].relief == "none"
    assert len(result.parts[0].pockets[0].outline.segments) == 4
    half = Part("end", BOARD, (), (), (Pocket(rectangle(-5, 50, 200, 68), 6.0),))
    arcs = [s for s in fitted(half, job()).parts[0].pockets[0].outline.segments if isinstance(s, Arc)]
    assert len(arcs) == 2
    assert all(arc.centre[0] > 190 for arc in arcs)


@pytest.mark.parametrize("past", [0.0, 2.9])
def test_a_housing_that_ends_too_near_the_edge_is_told(job, past):
    part = Part("end", BOARD, (), (), (Pocket(rectangle(-past, 50, 200, 68), 6.0),))
    result = fitted(part, job())
    (said,) = [f for f in result.findings if f.rule == "housing-ends-at-edge"]
    assert said.level == "warning"
    assert "past the edge" in said.remedy


def test_a_part_without_joints_is_the_same_object(job):
    plain = Part(
        "shelf", BOARD, (circle((50, 50), 30), rectangle(100, 100, 200, 130)), (Hole((20, 20), 4.5),)
    )
    assert fitted(plain, job()).parts[0] is plain


def test_untouched_features_of_a_part_with_joints_are_the_same_objects(job):
    grip = rectangle(200, 200, 300, 240)
    part = Part("end", BOARD, (MORTISE, grip), (Hole((20, 20), 4.5),))
    new = fitted(part, job()).parts[0]
    assert new.outline is part.outline
    assert new.openings[1] is grip
    assert new.holes == part.holes


def test_fitting_what_was_fitted_changes_nothing(job):
    part = Part(
        "end",
        polygon([(0, 0), (400, 0), (400, 300), (209, 300), (209, 150), (191, 150), (191, 300), (0, 300)]),
        (MORTISE,),
        (),
        (Pocket(rectangle(20, 100, 38, 180), 6.0),),
    )
    once = fitted(part, job())
    assert len(once.joints) == 3
    again = fitted(once.parts[0], job(drawn=17.6))
    assert len(again.joints) == 3
    before, after = once.parts[0], again.parts[0]
    for old, new in (
        (before.outline, after.outline),
        (before.openings[0], after.openings[0]),
        (before.pockets[0].outline, after.pockets[0].outline),
    ):
        assert as_polygon(old, 1e-4).hausdorff_distance(as_polygon(new, 1e-4)) < 2e-4


def test_fitting_for_the_drawn_sheet_leaves_widths_that_are_right(job):
    part = Part("end", BOARD, (rectangle(100, 50, 190, 68.15),))
    (opening,) = fitted(part, job(measured=18.0)).parts[0].openings
    assert wall_distance(opening) == pytest.approx(18.15, abs=1e-12)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    turn=st.floats(0, 360),
    at=st.tuples(st.floats(-1000, 1000), st.floats(-1000, 1000)),
    drawn=st.floats(17.5, 18.5),
    measured=st.floats(17.1, 18.9),
    length=st.floats(30, 200),
    mirrored=st.booleans(),
)
def test_turning_and_mirroring_the_drawing_turns_and_mirrors_the_fit(
    job, slanted, turn, at, drawn, measured, length, mirrored
):
    placement = Placement(*at, turn_deg=turn, mirrored=mirrored)
    part = Part("end", rectangle(-300, -300, 300, 300), (slanted((0, 0), length, drawn),))
    there = Part("end", moved(part.outline, placement), tuple(moved(p, placement) for p in part.openings))
    straight, turned = (fit_without_mates([p], job(measured=measured)) for p in (part, there))
    assert turned.joints[0].fitted_mm == pytest.approx(measured + 0.15)
    assert wall_distance(turned.parts[0].openings[0]) == pytest.approx(measured + 0.15, abs=1e-6)
    same = as_polygon(moved(straight.parts[0].openings[0], placement), 1e-3)
    assert same.symmetric_difference(as_polygon(turned.parts[0].openings[0], 1e-3)).area < 0.1


def test_without_a_drawn_thickness_nothing_is_fitted_and_that_is_said(job):
    part = Part("end", BOARD, (MORTISE,))
    result = fitted(part, job(drawn=None))
    assert as_drawn(result.parts[0], part)
    assert rules(result) == ["joints-as-drawn"]
    assert result.findings[0].level == "note"
    assert "drawn_thickness" in result.findings[0].remedy


@pytest.mark.parametrize("measured", [16.9, 19.1])
def test_a_sheet_far_from_the_drawing_asks_for_another_drawing(job, measured):
    part = Part("end", BOARD, (MORTISE,))
    result = fitted(part, job(measured=measured))
    assert as_drawn(result.parts[0], part)
    (said,) = result.findings
    assert (said.level, said.rule) == ("error", "redraw")
    assert said.remedy.startswith("Redraw rather than stretch")
    assert said.amount_mm == pytest.approx(measured - 18)


def test_that_no_joint_was_found_is_said(job):
    (said,) = fitted(Part("shelf", BOARD), job()).findings
    assert (said.level, said.rule) == ("note", "joints-as-drawn")
    assert said.message.startswith("no joint with a mate was found for sheets 18 mm thick")


def test_a_flush_tenon_is_as_long_as_its_mate_is_thick_and_the_note_counts_it(job):
    result = fit_one_sheet([Part("end", BOARD, (MORTISE,)), SHELF], job())
    (joint,) = result.joints
    assert joint.parts == ("end", "shelf")
    (size,) = result.sizes
    assert (size.part, size.what) == ("shelf", "length of tenon")
    assert (size.drawn_mm, size.fitted_mm) == (18, pytest.approx(17.6))
    assert bounds(result.parts[1].outline) == pytest.approx((0, 0, 417.6, 300))
    (note,) = [f for f in result.findings if f.rule == "joints-fitted"]
    assert note.message.startswith("joints fitted from 18 to 17.60 mm: 1 mortise, 1 x length of tenon")
    (note,) = [f for f in result.findings if f.rule == "outside-sizes"]
    assert note.message.endswith("shelf 418.00 x 300.00 is now 417.60 x 300.00")


def test_a_proud_tenon_keeps_what_stands_out_and_a_stub_its_length(job):
    for drawn, length in ((30.0, 29.6), (12.0, 12.0)):
        shelf = Part("shelf", tenoned(drawn))
        result = fit_one_sheet([Part("end", BOARD, (MORTISE,)), shelf], job())
        assert bounds(result.parts[1].outline)[2] == pytest.approx(400 + length)
        assert result.joints[0].fitted_mm == pytest.approx(17.75)


def test_a_place_without_a_mate_stays_as_drawn(job):
    part = Part("end", BOARD, (MORTISE,))
    result = fit_one_sheet([part], job())
    assert as_drawn(result.parts[0], part)
    (said,) = [f for f in result.findings if f.rule == "no-mate"]
    assert (said.level, said.part) == ("warning", "end")


def test_play_drawn_up_to_half_a_millimetre_is_replaced_and_more_is_kept(job):
    for drawn, width in ((18.5, 17.75), (18.6, 18.2)):
        end = Part("end", BOARD, (rectangle(100, 50, 190, 50 + drawn),))
        result = fit_one_sheet([end, SHELF], job())
        assert wall_distance(result.parts[0].openings[0]) == pytest.approx(width)
        assert ("play-kept" in rules(result)) == (drawn > 18.5)


def test_a_leaning_plate_needs_its_slanted_thickness(job):
    """T / cos b + T' tan b: at 15 degrees 18 needs 23.458 and 17.6 needs 22.937, which is 0.521 less."""
    end = Part("end", BOARD, (rectangle(100, 50, 190, 50 + 23.458),))
    rows = ({"tenon": "shelf", "mortise": "end", "lean": 15},)
    result = fit_one_sheet([end, SHELF], job(joint=rows))
    assert wall_distance(result.parts[0].openings[0]) == pytest.approx(22.937 + 0.15, abs=1e-3)


def test_an_opening_too_narrow_for_every_cutter_is_an_error_that_names_one_that_serves(job):
    part = Part("end", rectangle(0, 0, 100, 100), (rectangle(20, 20, 60, 23),), source=Source("end.dxf"))
    result = fit_without_mates([part], job(drawn=3.0, measured=3.0, cutters=(6.0,)))
    (said,) = [f for f in result.findings if f.rule == "no-cutter"]
    assert (said.level, said.part, said.file) == ("error", "end", "end.dxf")
    assert (
        said.message
        == "mortise of 3.15 x 40.00 mm at (40.0, 21.5) is too narrow for every milling cutter of the job"
    )
    assert said.remedy == "Add a milling cutter of at most 2.1 mm"  # 3.15 / sqrt(2) - 0.1 = 2.13
    assert result.joints[0].relief == "none"


def test_ends_too_short_for_dogbones_are_told(job):
    part = Part("end", rectangle(0, 0, 100, 100), (rectangle(20, 20, 60, 26),))
    result = fit_without_mates([part], job(drawn=6.0, measured=6.0))
    assert result.joints[0].relief == "overcut"
    (said,) = [f for f in result.findings if f.rule == "end-overcut"]
    assert (said.level, said.part) == ("warning", "end")
    assert "at most 4.2 mm" in said.remedy  # 6.15 / sqrt(2) - 0.1 = 4.24


def narrow_slot(job, depth: float, relief: str = "by rule") -> Fitted:
    """A slot for a sheet of 6 whose bottom is too short for two reliefs of a 5.5 cutter."""
    floor = 80 - depth
    outline = polygon([(0, 0), (100, 0), (100, 80), (56, 80), (56, floor), (50, floor), (50, 80), (0, 80)])
    wish = {"clearance": 0.15, "relief": relief}
    return fit_without_mates([Part("rail", outline)], job(drawn=6.0, measured=6.0, cutters=(5.5,), fit=wish))


def test_a_slot_too_narrow_for_reliefs_in_its_bottom_gets_t_bones_into_its_walls(job):
    result = narrow_slot(job, 40)
    assert result.joints[0].relief == "t-bone"
    x0, y0, x1, _ = shapely.box(40, 30, 66, 79).difference(as_polygon(result.parts[0].outline, 1e-4)).bounds
    assert (x0, y0, x1) == pytest.approx((53 - 3.075 - 2.8, 40, 53 + 3.075 + 2.8), abs=1e-3)


@pytest.mark.parametrize(("depth", "relief"), [(5.0, "by rule"), (5.0, "t-bone"), (40.0, "dogbone")])
def test_a_slot_without_room_for_reliefs_is_an_error(job, depth, relief):
    result = narrow_slot(job, depth, relief)
    assert result.joints[0].relief == "none"
    (said,) = [f for f in result.findings if f.rule == "relief-room"]
    assert (said.level, said.part) == ("error", "rail")
    assert "at most 4.2 mm" in said.remedy


def test_a_slot_too_shallow_for_a_dogbone_takes_t_bones(job):
    outline = polygon([(0, 0), (100, 0), (100, 80), (68, 80), (68, 76), (50, 76), (50, 80), (0, 80)])
    assert fitted(Part("rail", outline), job()).joints[0].relief == "t-bone"
    wish = job(fit={"clearance": 0.15, "relief": "dogbone"})
    assert "relief-room" in rules(fitted(Part("rail", outline), wish))


@pytest.mark.parametrize(("wish", "arcs"), [("dogbone", 4), ("t-bone", 4), ("none", 0), ("by rule", 4)])
def test_the_job_and_the_joint_overrule_the_relief_of_a_mortise(job, wish, arcs):
    part = Part("end", BOARD, (MORTISE,))
    row = {"tenon": "shelf", "mortise": "end", "relief": wish}
    by_job = fitted(part, job(fit={"clearance": 0.15, "relief": wish}))
    by_row = fit_one_sheet([part, SHELF], job(joint=(row,), fit={"relief": "none"}))
    for result, rule in ((by_job, "dogbone"), (by_row, "t-bone")):  # the mate's shoulders hide it
        assert result.joints[0].relief == {"by rule": rule}.get(wish, wish)
        opening = result.parts[0].openings[0]
        assert sum(isinstance(segment, Arc) for segment in opening.segments) == arcs
        x0, y0, x1, y1 = as_polygon(opening, 1e-4).bounds
        if (
            result.joints[0].relief == "t-bone"
        ):  # the broad walls stay whole, each end is passed by the radius
            assert (x0, y0, x1, y1) == pytest.approx((96.95, 50.125, 193.05, 67.875), abs=1e-3)


def test_t_bones_that_would_merge_cut_the_end_over_whole(job):
    part = Part("end", BOARD, (MORTISE,))
    wish = job(cutters=(10.0,), fit={"clearance": 0.15, "relief": "t-bone"})  # 4 x 5.05 is above 17.75
    result = fitted(part, wish)
    assert result.joints[0].relief == "overcut"
    (said,) = [f for f in result.findings if f.rule == "end-overcut"]
    assert "two T-bones of the 10 mm cutter" in said.message
    assert said.remedy == "Use a milling cutter of at most 8.7 mm to keep them"  # (17.75 - 0.01) / 2 - 0.1


def test_a_relief_that_breaks_through_the_edge_is_an_error(job):
    part = Part("end", BOARD, (rectangle(0.5, 50, 18.5, 140),))
    result = fitted(part, job())
    (said,) = [f for f in result.findings if f.rule == "relief-breaks-through"]
    assert (said.level, said.part) == ("error", "end")
    assert "into the outline" in said.message


def test_a_relief_that_breaks_into_a_hole_is_an_error(job):
    hole = Hole((187.8, 70.65), 4.5)  # 0.4 above the drawn wall, where a dogbone reaches 0.89 behind it
    result = fitted(Part("end", BOARD, (MORTISE,), (hole,)), job())
    (said,) = [f for f in result.findings if f.rule == "relief-breaks-through"]
    assert "into its neighbour" in said.message


def test_what_met_already_in_the_drawing_is_not_told(job):
    part = Part("end", BOARD, (MORTISE,), (Hole((190, 68), 4.5),))
    assert "relief-breaks-through" not in rules(fitted(part, job()))


def test_a_slot_whose_land_would_vanish_is_an_error_and_stays_as_drawn(job):
    corners = [(0, 0), (200, 0), (200, 80), (68.5, 80), (68.5, 30), (50.5, 30), (50.5, 80)]
    corners += [(50, 80), (50, 30), (32, 30), (32, 80), (0, 80)]  # two slots, 0.5 of wood between them
    part = Part("rail", polygon(corners))
    result = fitted(part, job(measured=18.9))  # each wall would move by 0.525
    assert as_drawn(result.parts[0], part)
    said = [f for f in result.findings if f.rule == "cannot-refit"]
    assert [(f.level, f.part) for f in said] == [("error", "rail")] * 2
    assert "would vanish" in said[0].message


def test_clearance_and_glue_of_one_joint_overrule_the_job(job):
    row = {"tenon": "shelf", "mortise": "end", "clearance": 0.05, "glue": True}
    (joint,) = fit_one_sheet([Part("end", BOARD, (MORTISE,)), SHELF], job(joint=(row,))).joints
    assert joint.fitted_mm == pytest.approx(17.65)
    assert joint.why == "17.60 sheet + 0.05 glued"


def test_the_clearance_of_a_row_is_weighed_too_and_its_row_named(job):
    row = {"tenon": "shelf", "mortise": "end", "clearance": 0.8}
    result = fit_one_sheet([Part("end", BOARD, (MORTISE,)), SHELF], job(joint=(row,)))
    (said,) = [f for f in result.findings if f.rule == "joints-may-rattle"]
    assert said.remedy.startswith('Lower clearance in the [[joint]] row with mortise = "end" to ')


def test_a_glued_tenon_grows_to_a_fifth_of_a_millimetre_less_than_its_mortise(job):
    shelf = fit_one_sheet([Part("end", BOARD, (MORTISE,)), SHELF], job(fit={"glue": True})).parts[1]
    ends = [s for s in shelf.outline.segments if isinstance(s, Line) and s.start[0] == s.end[0] == 417.6]
    assert [math.dist(s.start, s.end) for s in ends] == [pytest.approx(89.8)]


def test_a_joint_row_with_an_unknown_part_offers_the_nearest_name(job):
    rows = ({"tenon": "shelv", "mortise": "end"},)
    result = fit_one_sheet([Part("end", BOARD, (MORTISE,)), Part("shelf", BOARD)], job(joint=rows))
    (said,) = [f for f in result.findings if f.rule == "unknown-part"]
    assert said.message == 'a [[joint]] row names "shelv", but no part is called so'
    assert said.remedy == 'Write "shelf"'


def test_roots_of_tenons_and_finger_edges_are_told(job):
    tenoned = polygon(
        [(0, 0), (400, 0), (400, 100), (418, 100), (418, 200), (400, 200), (400, 300), (0, 300)]
    )
    (said,) = [f for f in fitted(Part("shelf", tenoned), job()).findings if f.rule == "tenon-roots"]
    assert (said.level, said.part) == ("warning", "shelf")
    assert said.message.startswith("2 corners at the roots of tenons")


def test_no_two_runs_differ(job):
    part = Part("end", BOARD, (MORTISE, reversed_path(rectangle(250, 20, 268, 90))))
    assert fitted(part, job()) == fitted(part, job())
