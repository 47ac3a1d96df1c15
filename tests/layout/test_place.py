"""Parts laid on their sheets as drawn; all figures by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, circle, rectangle
from camkit.geometry.transform import Placement, moved_point
from camkit.job.model import Job
from camkit.layout.move import moved_part
from camkit.layout.place import Layout, place
from camkit.part import Hole, Part, Pocket, Source


@dataclass(frozen=True)
class Drawing:
    """As much of a drawing as layout looks at."""

    sheet_edge: Path | None = None


EDGE = rectangle(0, 0, 1000, 500)


def make_job(
    size: tuple[float, float] | None = (1000.0, 500.0), margin: float = 10.0, **tables: object
) -> Job:
    sheet: dict[str, object] = {"measured_thickness": (17.6, 17.8), "margin": margin}
    if size:
        sheet["size"] = size
    cutters = ({"number": 1, "diameter": 6.0}, {"number": 2, "diameter": 20.0, "kind": "drill"})
    return Job.model_validate({"sheet": sheet, "cutter": cutters, **tables})


def part(x: float, y: float, long: float = 200, wide: float = 100, name: str = "shelf") -> Part:
    return Part(name, rectangle(x, y, x + long, y + wide), source=Source("bench.dxf"))


def laid(*parts: Part, job: Job | None = None, edge: Path | None = None) -> Layout:
    job = job or make_job()
    return place([(0, one) for one in parts], job, list(job.sheet) * len(parts), [Drawing(edge)])


def rules(layout: Layout) -> list[tuple[str, str]]:
    return [(finding.level, finding.rule) for finding in layout.findings]


def test_parts_inside_the_sheet_stay_where_they_are_drawn():
    one = part(20, 30)
    layout = laid(one)
    (placed,) = layout.placed
    assert placed.shape is one
    assert (placed.x, placed.y, placed.turn_deg, placed.mirrored, placed.sheet, placed.copy) == (
        0,
        0,
        0,
        False,
        1,
        1,
    )
    (sheet,) = layout.sheets
    assert (sheet.number, sheet.size, sheet.thickness) == (1, (1000, 500), pytest.approx(17.7))
    assert layout.findings == ()


def test_the_drawn_edge_says_where_the_sheet_lies():
    layout = laid(part(120, 130), edge=rectangle(100, 100, 1100, 600))
    assert (layout.placed[0].x, layout.placed[0].y) == (-100, -100)
    assert bounds(layout.placed[0].shape.outline) == (20, 30, 220, 130)
    assert layout.findings == ()


def test_the_drawn_edge_gives_the_size_when_the_job_does_not():
    layout = laid(part(120, 130), job=make_job(None), edge=rectangle(100, 100, 1350, 800))
    assert layout.sheets[0].size == (1250, 700)


def test_an_edge_unlike_the_job_s_sheet_is_a_warning():
    layout = laid(part(120, 130), edge=rectangle(100, 100, 1350, 800))
    assert rules(layout) == [("warning", "sheet-edge")]
    assert "measures 1250 x 700 mm, the job's sheet 1000 x 500 mm" in layout.findings[0].message


def test_without_size_and_edge_the_sheet_is_the_parts_and_the_margin():
    layout = laid(part(-50, 300), part(250, 300), job=make_job(None))
    assert layout.sheets[0].size == (500 + 20, 100 + 20)
    assert bounds(layout.placed[0].shape.outline) == (10, 10, 210, 110)
    (note,) = layout.findings
    assert (note.level, note.rule, note.file) == ("note", "shifted", "bench.dxf")
    assert "(60.00, -290.00) mm" in note.message


def test_parts_drawn_at_the_margin_are_not_shifted():
    layout = laid(part(10, 10), job=make_job(None))
    assert (layout.placed[0].x, layout.placed[0].y, layout.findings) == (0, 0, ())


def test_parts_drawn_elsewhere_come_to_the_margin_s_corner_of_the_job_s_sheet():
    layout = laid(part(5000, -700))
    assert bounds(layout.placed[0].shape.outline) == pytest.approx((10, 10, 210, 110))
    assert rules(layout) == [("note", "shifted")]


def test_each_drawing_is_a_sheet_and_one_without_parts_is_left_out():
    parts = [(2, part(20, 20, name="c")), (0, part(20, 20, name="a")), (0, part(300, 20, name="b"))]
    job = make_job()
    layout = place(parts, job, list(job.sheet) * 3, [Drawing(), Drawing(), Drawing()])
    assert [(p.part.name, p.sheet) for p in layout.placed] == [("a", 1), ("b", 1), ("c", 2)]
    assert [sheet.number for sheet in layout.sheets] == [1, 2]


def test_parts_of_one_name_are_counted_as_copies():
    job, parts = make_job(), [(0, part(20, 20)), (0, part(300, 20)), (1, part(20, 20))]
    layout = place(parts, job, list(job.sheet) * 3, [Drawing(), Drawing()])
    assert [(p.copy, p.sheet) for p in layout.placed] == [(1, 1), (2, 1), (3, 2)]


def two_stocks() -> Job:
    """A frame's sheet of 1000 x 500 and a thinner one for the back, of another margin."""
    frame = {"name": "frame", "size": (1000, 500), "measured_thickness": (17.6,)}
    back = {"name": "back", "size": (600, 400), "measured_thickness": (11.8,), "margin": 25.0}
    return Job.model_validate({"sheet": [frame, back], "cutter": [{"number": 1, "diameter": 6.0}]})


def test_a_drawing_of_two_stocks_is_two_sheets_numbered_on_through_the_drawings():
    job = two_stocks()
    frame, back = job.sheet
    parts = [(0, part(30, 30, name="back")), (0, part(300, 30, name="end")), (1, part(30, 30, name="lid"))]
    layout = place(parts, job, [back, frame, back], [Drawing(), Drawing()])
    assert [(p.part.name, p.sheet, p.x, p.y) for p in layout.placed] == [
        ("end", 1, 0, 0),
        ("back", 2, 0, 0),
        ("lid", 3, 0, 0),
    ]
    assert [(s.number, s.size, s.thickness, s.stock.name) for s in layout.sheets] == [
        (1, (1000, 500), 17.6, "frame"),
        (2, (600, 400), 11.8, "back"),
        (3, (600, 400), 11.8, "back"),
    ]
    assert layout.findings == ()


def test_the_margin_and_the_size_are_those_of_the_parts_own_stock():
    job = two_stocks()
    frame, back = job.sheet
    near = place([(0, part(12, 30)), (0, part(12, 200))], job, [frame, back], [Drawing()])
    (said,) = near.findings
    assert (said.rule, said.level) == ("margin", "warning")
    assert said.message == "sheet 2: the part lies 12.0 mm from the sheet's edge, the margin is 25 mm"
    assert said.remedy == 'Move it inwards, or lower margin in sheet "back"'
    edged = place([(0, part(30, 30)), (0, part(30, 200))], job, [frame, back], [Drawing(EDGE)])
    (said,) = edged.findings
    assert (said.rule, said.remedy) == ("sheet-edge", 'Correct the drawn edge or size in sheet "back"')
    assert "measures 1000 x 500 mm, the job's sheet 600 x 400 mm" in said.message


def test_parts_of_a_stock_that_lie_beyond_its_sheet_come_to_its_margin_s_corner():
    job = two_stocks()
    frame, back = job.sheet
    layout = place([(0, part(30, 30)), (0, part(700, 300))], job, [frame, back], [Drawing()])
    assert bounds(layout.placed[1].shape.outline) == pytest.approx((25, 25, 225, 125))
    assert rules(layout) == [("note", "shifted")]
    assert layout.findings[0].message.startswith("sheet 2: all parts are shifted by (-675.00, -275.00) mm")


def test_a_part_larger_than_the_sheet_is_an_error_with_both_sizes():
    layout = laid(part(10, 10, 1100, 100))
    (said,) = [f for f in layout.findings if f.level == "error"]
    assert (said.rule, said.part, said.file) == ("part-too-large", "shelf", "bench.dxf")
    assert "it measures 1100.0 x 100.0 mm, the sheet 1000 x 500 mm" in said.message
    assert said.amount_mm == pytest.approx(100)


def test_a_part_off_the_drawn_sheet_is_an_error():
    layout = laid(part(950, 30), edge=rectangle(0, 0, 1000, 500))
    assert rules(layout) == [("error", "part-off-sheet")]
    assert "150.0 mm off the sheet" in layout.findings[0].message


def test_a_part_in_the_margin_is_a_warning_and_one_right_at_it_is_not():
    assert rules(laid(part(6, 30))) == [("warning", "margin")]
    assert "6.0 mm from the sheet's edge, the margin is 10 mm" in laid(part(6, 30)).findings[0].message
    assert laid(part(10, 10)).findings == ()
    assert laid(part(0, 0), job=make_job(margin=0.0)).findings == ()


@pytest.mark.parametrize(("gap", "told"), [(0.0, True), (5.9, True), (6.0, False), (9.0, False)])
def test_parts_closer_than_the_largest_milling_cutter_are_a_warning(gap, told):
    layout = laid(part(20, 20), part(220 + gap, 20, name="rail"))
    assert rules(layout) == [("warning", "gap")] * told
    if told:
        assert layout.findings[0].amount_mm == pytest.approx(gap)
        assert f'{gap:.1f} mm from part "rail"' in layout.findings[0].message


def test_of_many_close_neighbours_the_nearest_is_told():
    layout = laid(
        part(20, 20), part(224, 20, name="rail"), part(20, 122, name="top"), part(300, 300, name="far")
    )
    assert rules(layout) == [("warning", "gap"), ("warning", "gap")]
    assert '2.0 mm from part "top"' in layout.findings[0].message


def test_parts_upon_each_other_are_an_error():
    layout = laid(part(20, 20), part(210, 20, name="rail"))
    assert rules(layout) == [("error", "parts-overlap")]
    assert layout.findings[0].message == 'sheet 1: the part lies upon part "rail", 1000.0 mm2 of it'


def test_a_part_in_the_opening_of_another_is_not_upon_it():
    frame = Part("frame", rectangle(20, 20, 420, 420), (rectangle(60, 60, 380, 380),))
    assert laid(frame, part(100, 100)).findings == ()
    assert rules(laid(frame, part(63, 100))) == [("warning", "gap")]


def test_parts_out_of_the_machine_s_reach_are_errors():
    job = make_job(machine={"travel": (220.0, 400.0, 120.0)})
    layout = laid(part(20, 20), part(20, 300, 150, name="rail"), job=job)
    # the cutter's middle goes 3 mm around the part: 220 + 3 and 400 + 3
    assert rules(layout) == [
        ("note", "sheet-beyond-travel"),
        ("error", "out-of-travel"),
        ("error", "out-of-travel"),
    ]
    assert layout.findings[1].amount_mm == pytest.approx(3)
    assert "X 0 to 220, Y 0 to 400" in layout.findings[1].message


def test_a_sheet_beyond_the_travel_is_only_noted_while_its_parts_are_reached():
    layout = laid(part(20, 20), job=make_job(machine={"travel": (900.0, 600.0, 120.0)}))
    assert rules(layout) == [("note", "sheet-beyond-travel")]
    assert laid(part(20, 20), job=make_job(machine={"travel": (1000.0, 500.0, 120.0)})).findings == ()


def test_a_part_on_the_touch_off_spot_is_named():
    """The widest tip is 20 across: 10 beside the part it stands on the waste alone."""
    for x in (60.0, 20.1):
        job = make_job(machine={"touch_off": (x, 50.0)})
        (finding,) = laid(part(30, 20), job=job).findings
        assert (finding.level, finding.rule, finding.part) == ("error", "touch-off", "shelf")
        assert finding.message == f"sheet 1: the part lies on the touch-off spot at ({x:g}, 50)"
    assert laid(part(30, 20), job=make_job(machine={"touch_off": (20.0, 50.0)})).findings == ()


@settings(derandomize=True, deadline=None, max_examples=30)
@given(
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
    turn=st.sampled_from([0.0, 33.0, 90.0, 180.0]),
    flip=st.booleans(),
)
def test_a_moved_part_keeps_its_sizes_and_takes_every_feature_along(x, y, turn, flip):
    one = Part(
        "end",
        rectangle(0, 0, 200, 100),
        (rectangle(20, 20, 80, 38),),
        (Hole((150, 50), 4.5), Hole((170, 50), 8.0, 10.0)),
        (Pocket(rectangle(100, 20, 140, 80), 6.0, (circle((120, 50), 10),)),),
    )
    placement = Placement(x, y, turn, flip)
    there = moved_part(one, placement)
    assert as_polygon(there.region()).area == pytest.approx(as_polygon(one.region()).area, rel=1e-9)
    assert [hole.diameter for hole in there.holes] == [4.5, 8.0]
    assert [hole.depth for hole in there.holes] == [None, 10.0]
    assert math.dist(there.holes[0].centre, moved_point((150, 50), placement)) < 1e-9
    assert math.dist(there.pockets[0].islands[0].segments[0].centre, moved_point((120, 50), placement)) < 1e-9
    assert as_polygon(there.outline).contains(as_polygon(there.openings[0]))


def test_a_part_is_never_scaled():
    with pytest.raises(ValueError, match="never scaled"):
        moved_part(part(0, 0), Placement(scale=25.4))
