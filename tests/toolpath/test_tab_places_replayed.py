"""Where tabs stand, measured in the wood that a program leaves: off joints and thin webs, along the grain,
spread, and between pieces so near that their cuts meet.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from shapely import LineString, MultiLineString, MultiPoint, Polygon, box, get_parts, union_all
from shapely.geometry.base import BaseGeometry
from support.replayed import replay, swept

from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import circle, polygon, rectangle
from camkit.job.model import Cutter, Job, Sheet
from camkit.joinery.fit import fit
from camkit.part import Part, Placed, Pocket
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import plan

SIZE = (900.0, 600.0)
THICKNESS = 18.0
WIDE = 6.0


def told(parts: Sequence[Part], grain: str = "none", finish: float = 0.0) -> tuple[str, list[Finding]]:
    """The program of some parts, which the judge passes, and what the planner says about their tabs."""
    sheet = Sheet.model_validate({"measured_thickness": (THICKNESS,), "grain": grain})
    cutter = Cutter(number=1, diameter=WIDE, finish_pass=finish)
    job = Job(sheet=(sheet,), cutter=(cutter,))
    lying = [Placed(part, part) for part in parts]
    planned = plan(lying, job, SIZE, THICKNESS)
    text = write(planned.cuts, job, sheet, name="test", size=SIZE)
    said = judge(text, lying, job, sheet_size=SIZE, thickness=THICKNESS).verdict
    assert [f.message for f in said.findings if f.level == "error"] == []
    return text, [f for f in planned.findings if f.rule in ("tab-place", "no-legal-tab", "few-tabs")]


def cleared(text: str, z: float) -> BaseGeometry:
    return swept(replay(text, {1: WIDE}), z)


def tabs_of(part: Part, gone: BaseGeometry) -> list[BaseGeometry]:
    """Wood in the cut round a part, over 20 mm2: no rest in an inside corner."""
    solid = as_polygon(part.outline, 0.001)
    kerf = solid.buffer(WIDE, quad_segs=90).difference(solid)
    return [piece for piece in get_parts(kerf.buffer(-0.1).difference(gone)) if piece.area > 20]


def tenoned() -> list[Part]:
    """Two uprights with two mortises, and a shelf between them with two tenons at either end; 18 thick."""
    uprights = [
        Part(f"upright {k}", rectangle(x, 20, x + 140, 320), tuple(
            rectangle(x + 61, y, x + 79, y + 70) for y in (70, 200)
        ))
        for k, x in enumerate((20, 680))
    ]  # fmt: skip
    corners: list[tuple[float, float]] = [(240, 20), (600, 20)]
    for y in (70, 200):
        corners += [(600, y), (618, y), (618, y + 69.7), (600, y + 69.7)]
    corners += [(600, 320), (240, 320)]
    for y in (200, 70):
        corners += [(240, y + 69.7), (222, y + 69.7), (222, y), (240, y)]
    return [*uprights, Part("shelf", polygon(corners))]


def test_no_tab_stands_on_the_sides_ends_or_shoulders_of_tenons() -> None:
    job = Job.model_validate({"sheet": {"drawn_thickness": 18, "measured_thickness": (THICKNESS,)},
                              "cutter": ({"number": 1, "diameter": WIDE},)})  # fmt: skip
    parts = fit(tenoned(), job, list(job.sheet) * 3).parts
    assert len(parts[2].joint_faces) == 18  # at either end three shoulders, two tips and four sides
    text, said = told(parts)
    assert said == []
    gone = cleared(text, -THICKNESS + 0.1)
    stand = tabs_of(parts[2], gone)
    assert len(stand) >= 5
    faces = MultiLineString(list(parts[2].joint_faces))
    # 0.1 of the wall is left out of the wood looked at, so that a tab on a face would be 0.1 from it.
    assert all(piece.distance(faces) > WIDE for piece in stand)


def test_a_part_that_is_all_joint_faces_keeps_its_tabs_and_is_named_with_the_place() -> None:
    corners = [(300.0, 200.0), (500.0, 200.0), (500.0, 320.0), (300.0, 320.0)]
    ring = [(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    _, (said,) = told([Part("key", polygon(corners), joint_faces=tuple(ring))])
    assert (said.level, said.rule, said.part) == ("warning", "no-legal-tab", "key")
    assert said.message.startswith(
        "no place along the outline of 200 x 120 mm is fit for a tab: of 3, 3 stand"
    )
    assert LineString([*corners, corners[0]]).distance(MultiPoint([(said.x_mm, said.y_mm)])) < WIDE

    # Three walls of four: held along the free one alone it would tip.
    _, (said,) = told([Part("wide", rectangle(200, 200, 600, 320), joint_faces=(
        ((600, 200), (600, 320)), ((600, 320), (200, 320)), ((200, 320), (200, 200))
    ))])  # fmt: skip
    assert (said.rule, said.part) == ("tab-place", "wide")
    assert "stand on a joint face, the first at (" in said.message


@pytest.mark.parametrize(("gap", "finish"), [(6.5, 0.0), (9.0, 0.0), (9.0, 0.3), (13.0, 0.0)])
def test_pieces_whose_cuts_meet_share_tabs_and_all_hang_together(gap: float, finish: float) -> None:
    """Cuts of 6 with 9 between the pieces overlap: what one of them left alone the other would mill off."""
    parts = [
        Part(f"slat {i}{j}", rectangle(x, y, x + 150, y + 100))
        for i in range(3)
        for j in range(3)
        for x, y in [(30 + i * (150 + gap), 30 + j * (100 + gap))]
    ]
    text, said = told(parts, finish=finish)
    assert said == []
    left = box(0, 0, *SIZE).difference(cleared(text, -THICKNESS))
    solids = [as_polygon(part.outline).buffer(-1) for part in parts]
    (sheet,) = [piece for piece in get_parts(left) if piece.bounds[0] == 0]
    assert all(sheet.contains(solid) for solid in solids)
    # At the tabs' top, 3 above the table, nothing is left of them.
    above = get_parts(box(0, 0, *SIZE).difference(cleared(text, -THICKNESS + 3.01)))
    assert sum(piece.intersects(union_all(solids)) for piece in above) == 9
    # Each is held at three places or more, around its middle, by wood of 7 at least.
    for part, solid in zip(parts, solids, strict=True):
        stand = tabs_of(part, cleared(text, -THICKNESS + 2.99))
        assert len(stand) >= 3
        assert MultiPoint([piece.centroid for piece in stand]).convex_hull.covers(solid.centroid)


def test_tabs_of_a_wide_cutter_are_no_longer_than_what_counts_as_left_uncut() -> None:
    """Cutter 24, tabs of 24 and their flanks: over the 30 mm that an outline may keep in one piece."""
    sheet, cutter = Sheet(measured_thickness=(29.0,)), Cutter(number=1, diameter=24.0)
    job = Job(sheet=(sheet,), cutter=(cutter,))
    lying = [Placed(part, part) for part in (Part("seat", rectangle(100, 100, 700, 500)),)]
    text = write(plan(lying, job, SIZE, 29.0).cuts, job, sheet, name="test", size=SIZE)
    assert judge(text, lying, job, sheet_size=SIZE, thickness=29.0).verdict.ok


def test_tabs_stand_along_the_grain_and_at_the_other_edges_only_where_those_are_long() -> None:
    square = Part("square", rectangle(300, 200, 500, 400))
    for grain, along in (("length", 0), ("width", 1)):
        text, said = told([square], grain)
        stand = [piece.centroid for piece in tabs_of(square, cleared(text, -THICKNESS + 0.1))]
        beside = [
            min(abs((p.y, p.x)[along] - edge) for edge in ((200, 400), (300, 500))[along]) for p in stand
        ]
        assert len(stand) >= 4 and sum(distance < WIDE for distance in beside) >= 3
        assert said == []


def test_no_tab_stands_where_the_piece_behind_it_is_a_thin_web_or_thinned_by_a_recess() -> None:
    """A window 4 from the lower edge; above, a recess that leaves 2 of the thickness."""
    part = Part(
        "frame",
        rectangle(200, 150, 600, 400),
        (rectangle(260, 154, 540, 250),),
        pockets=(Pocket(rectangle(260, 340, 540, 410), depth=16.0),),
    )
    text, said = told([part])
    stand = tabs_of(part, cleared(text, -THICKNESS + 2.9))  # at the tabs' top; their flanks may reach there
    assert len(stand) >= 4 and said == []
    weak = union_all([box(260, 140, 540, 150), box(260, 400, 540, 410)])
    assert all(not piece.intersects(weak) for piece in stand)


def test_tabs_of_a_piece_with_short_straight_runs_are_spread_and_stand_straight() -> None:
    """A rack of thirteen teeth: only the tips, roots and two ends are straight for more than a tab."""
    corners = [(100.0, 100.0), (750.0, 100.0), (750.0, 180.0)]
    for k in range(13):
        x = 750 - 50 * k
        corners += [(x, 230.0), (x - 25, 230.0), (x - 25, 180.0), (x - 50, 180.0)]
    rack = Part("rack", polygon(corners))
    text, said = told([rack])
    stand = tabs_of(rack, cleared(text, -THICKNESS + 0.1))
    outline = as_polygon(rack.outline)
    ring = outline.exterior
    places = sorted(ring.project(piece.centroid) for piece in stand)
    spans = [b - a for a, b in zip(places, [*places[1:], places[0] + ring.length], strict=True)]
    assert said == []
    assert len(stand) == round(outline.buffer(WIDE / 2).exterior.length / 220)
    assert max(spans) < 1.7 * ring.length / len(stand)
    assert min(spans) > 0.5 * ring.length / len(stand)


def test_waste_that_fills_a_joint_is_milled_away_and_other_waste_is_held() -> None:
    """54 x 90 for three layers of 18: larger than what is milled away as a rule."""
    hole = rectangle(300, 200, 390, 254)
    corners = [(300.0, 200.0), (390.0, 200.0), (390.0, 254.0), (300.0, 254.0)]
    faces = tuple((corners[k], corners[(k + 1) % 4]) for k in range(4))
    for joint in (faces, ()):
        text, _ = told([Part("end", rectangle(100, 100, 600, 400), (hole,), joint_faces=joint)])
        waste = Polygon(corners).buffer(-0.1).difference(cleared(text, -THICKNESS))
        assert (waste.area > 1000) == (not joint)


def test_a_disc_too_small_for_straight_tabs_is_told() -> None:
    _, (said,) = told([Part("knob", circle((300, 300), 34))])
    assert said.part == "knob" and said.rule == "no-legal-tab" and "round a corner" in said.message
    assert "double-sided tape" in (said.remedy or "")


def test_no_tab_stands_in_slots_little_wider_than_the_cutter_and_they_are_cut_through() -> None:
    slots = [(60.0 + 40 * k, 6.0 + wide) for k, wide in enumerate((0.1, 0.2, 0.5, 1.0, 4.0, 6.2))]
    part = Part("grille", rectangle(20, 20, 360, 320), tuple(rectangle(x, 80, x + w, 260) for x, w in slots))
    text, said = told([part])
    gone = cleared(text, -THICKNESS)
    assert said == []
    assert all(gone.contains(box(x + 0.05, 80 + 3, x + w - 0.05, 260 - 3)) for x, w in slots)


def test_tabs_that_are_lower_than_asked_are_told() -> None:
    """A disc of 40 has no room for three tabs of 3: each would take 21 mm of its 126, with both flanks."""
    sheet, cutter = Sheet(measured_thickness=(THICKNESS,)), Cutter(number=1, diameter=WIDE)
    lying = [Placed(part, part) for part in (Part("knob", circle((200, 200), 40)),)]
    planned = plan(lying, Job(sheet=(sheet,), cutter=(cutter,)), SIZE, THICKNESS)
    (said,) = [f for f in planned.findings if f.rule == "low-tabs"]
    assert said.level == "note" and "tabs of knob are " in said.message and "not 3" in said.message
