"""Tabs measured in the wood that a program leaves: how many, where, how long and how high."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Point, Polygon, box, get_parts
from shapely.geometry.base import BaseGeometry
from support.replayed import replay, swept
from support.router import placed, plate

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import polygon
from camkit.job.model import Cutter, Job, PartRow, Sheet, Tabs
from camkit.part import Part
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.plan import Plan, plan

SIZE = (700.0, 500.0)
THICKNESS = 18.0
CUTTER = Cutter(number=1, diameter=6.0)


def cut(part: Part, tabs: Tabs, places: tuple[tuple[float, float], ...] = ()) -> tuple[str, Plan]:
    """The part's program; the judge passes it."""
    rows = (PartRow(name=part.name, tabs=places),)
    job = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=(CUTTER,), tabs=tabs, part=rows)
    planned = plan(placed(part), job, SIZE, THICKNESS)
    text = write(planned.cuts, job, job.sheet[0], name="test", size=SIZE)
    said = judge(text, placed(part), job, sheet_size=SIZE, thickness=THICKNESS).verdict
    assert [f.message for f in said.findings if f.level != "note"] == []
    return text, planned


def left_at(text: str, part: Part, z: float) -> list[BaseGeometry]:
    """Wood over 20 mm2 (no rest in an inside corner) that stands at height z in the cut round a part."""
    kerf = (
        as_polygon(part.outline, 0.001).buffer(6.0, quad_segs=90).difference(as_polygon(part.outline, 0.001))
    )
    whole = kerf.buffer(-0.1).difference(swept(replay(text, {1: 6.0}), z))
    return [piece for piece in get_parts(whole) if piece.area > 20]


def along(piece: BaseGeometry) -> float:
    """The longer side of the upright box around a piece, in the middle of the cut: between its round ends."""
    x0, y0, x1, y1 = piece.bounds
    level = x1 - x0 > y1 - y0
    band = box(x0, (y0 + y1) / 2 - 0.01, x1, (y0 + y1) / 2 + 0.01) if level else (
        box((x0 + x1) / 2 - 0.01, y0, (x0 + x1) / 2 + 0.01, y1)
    )  # fmt: skip
    bx0, by0, bx1, by1 = piece.intersection(band).bounds
    return max(bx1 - bx0, by1 - by0)


def test_a_ramped_tab_is_as_long_at_its_top_as_asked_and_falls_at_thirty_degrees() -> None:
    """8 at the top, 3 above the underside; at 2 below its top 2 x 2 / tan 30 degrees = 6.93 longer."""
    part = plate(50, 50)
    text, _ = cut(part, Tabs())
    assert left_at(text, part, -14.99) == []
    assert [along(p) for p in left_at(text, part, -15.01)] == pytest.approx([8.0] * 3, abs=0.1)
    assert [along(p) for p in left_at(text, part, -17.0)] == pytest.approx([14.93] * 3, abs=0.1)


def test_a_square_tab_is_as_long_at_the_table_as_at_its_top() -> None:
    part = plate(50, 50)
    text, _ = cut(part, Tabs(shape="square", width=7.0, height=2.0))
    assert left_at(text, part, -15.99) == []
    for z in (-16.01, -17.0, -18.0):
        assert [along(p) for p in left_at(text, part, z)] == pytest.approx([7.0] * 3, abs=0.1)


def test_tabs_stand_where_the_part_row_gives_places_and_nowhere_else() -> None:
    part = plate(50, 50)
    wanted = ((90.0, 50.0), (210.0, 50.0), (150.0, 150.0), (250.0, 100.0))
    text, planned = cut(part, Tabs(), wanted)
    found = [piece.centroid for piece in left_at(text, part, -17.9)]
    assert len(found) == 4
    assert all(min(p.distance(Point(w)) for p in found) < 3.5 for w in wanted)
    assert [f for f in planned.findings if f.rule in ("stray-tab", "few-tabs")] == []


def test_a_place_that_is_not_at_the_outline_is_told_and_others_are_found() -> None:
    part = plate(50, 50)
    text, planned = cut(part, Tabs(), ((150.0, 100.0),))
    said = [f for f in planned.findings if f.rule == "stray-tab"]
    assert [f.level for f in said] == ["warning"] and said[0].part == "shelf"
    assert said[0].message.startswith("no tab stands at (150.0, 100.0)")
    assert len(left_at(text, part, -17.9)) == 3


def test_a_part_too_small_for_tabs_is_named_with_what_helps() -> None:
    small = plate(50, 50, 12.0, 12.0, name="knob")
    job = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=(CUTTER,))
    said = [f for f in plan(placed(small), job, SIZE, THICKNESS).findings if f.rule == "few-tabs"]
    assert [(f.level, f.part) for f in said] == [("warning", "knob")]
    assert "the outline of 12 x 12 mm" in said[0].message and "double-sided tape" in said[0].remedy


SHAPES = st.tuples(
    st.floats(120, 400), st.floats(120, 300), st.floats(0.25, 0.75), st.floats(0.25, 0.75), st.booleans()
)


@settings(derandomize=True, deadline=None, max_examples=8)
@given(SHAPES)
def test_three_tabs_or_more_stand_around_the_centre_of_area(
    shape: tuple[float, float, float, float, bool],
) -> None:
    """Rectangles and L shapes: the centre lies within the hull of the tabs, or the part would tip."""
    long, wide, u, v, bent = shape
    corners = [(50.0, 50.0), (50 + long, 50.0), (50 + long, 50 + wide), (50.0, 50 + wide)]
    if bent:
        notch = [(50 + long, 50 + wide * v), (50 + long * u, 50 + wide * v), (50 + long * u, 50 + wide)]
        corners[2:3] = notch
    part = Part("plate", polygon(corners))
    text, _ = cut(part, Tabs())
    found = [piece.centroid for piece in left_at(text, part, -17.9)]
    assert len(found) >= 3
    assert MultiPoint(found).convex_hull.covers(Polygon(corners).centroid)
    # On straight runs, and clear of the corners by the cutter's diameter at least.
    assert all(np.hypot(p.x - x, p.y - y) > 6.0 + 4.0 for p in found for x, y in corners)
