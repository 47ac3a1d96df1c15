"""Blocks in blocks, stretched and turned, against the same maps multiplied with numpy."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.layouts import BaseLayout, Modelspace
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import LinearRing, Polygon
from support.bulged import loop_polygon, path_polygon

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.geometry.path import circle
from camkit.part import Part

ReadDxf = Callable[..., Drawn]
Points = NDArray[np.float64]
# Scales along X and Y, turn in degrees, place, whether the insert looks down (extrusion 0, 0, -1).
Insert = tuple[float, float, float, tuple[float, float], bool]

QUARTER = math.tan(math.pi / 8)
ROUNDED = (
    (10.0, 0.0, 0.0),
    (90.0, 0.0, QUARTER),
    (100.0, 10.0, 0.0),
    (100.0, 50.0, QUARTER),
    (90.0, 60.0, 0.0),
    (10.0, 60.0, QUARTER),
    (0.0, 50.0, 0.0),
    (0.0, 10.0, QUARTER),
)
WITHIN = 0.0025  # mm; curves are flattened to 0.002


def placed(points: Points, insert: Insert, base: tuple[float, float] = (0.0, 0.0)) -> Points:
    """Where an insert puts points: scaled about the base point, turned, moved (DXF reference, INSERT).

    Seen from below the X axis runs the other way (DXF reference, arbitrary axis algorithm).
    """
    sx, sy, turn, place, down = insert
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    moved = (points - base) * (sx, sy) @ np.array(((cos, sin), (-sin, cos))) + place
    return np.asarray(moved * (-1.0 if down else 1.0, 1.0))


def put(layout: BaseLayout, block: str, insert: Insert, **more: Any) -> Any:
    sx, sy, turn, place, down = insert
    attributes = {"xscale": sx, "yscale": sy, "rotation": turn, **more}
    if down:
        attributes["extrusion"] = (0, 0, -1)
    return layout.add_blockref(block, place, attributes)


def nested(space: Modelspace, fill: Callable[[BaseLayout], object], inserts: Sequence[Insert]) -> None:
    fill(space.doc.blocks.new("B0"))
    for number, insert in enumerate(inserts):
        last = number == len(inserts) - 1
        layout: BaseLayout = space if last else space.doc.blocks.new(f"B{number + 1}")
        put(layout, f"B{number}", insert)


def farthest(part: Part, rings: Sequence[Points]) -> float:
    """How far the part's lines stray from the rings, each ring with the line nearest to it."""
    drawn = [part.outline, *part.openings, *(circle(hole.centre, hole.diameter) for hole in part.holes)]
    lines = [path_polygon(path, 1e-4).exterior for path in drawn]
    assert len(lines) == len(rings)
    return float(max(min(line.hausdorff_distance(LinearRing(ring)) for line in lines) for ring in rings))


@pytest.mark.parametrize(
    "inserts",
    [
        ((1, 1, 90, (0, 0), False), (2, 1, 0, (0, 0), False)),
        ((1, 1, 45, (0, 0), False), (2, 1, 0, (0, 0), False)),
        ((1, 2, 90, (0, 0), False), (-2, 1, 30, (0, 0), False)),
        (
            (1.5, 1.0, 20.0, (5.0, 3.0), False),
            (1.0, 0.8, -35.0, (40.0, -10.0), False),
            (2.0, 1.2, 70.0, (100.0, 50.0), False),
        ),
    ],
)
def test_blocks_in_blocks_with_unequal_scales_keep_within_two_micrometres(
    read_dxf: ReadDxf, inserts: tuple[Insert, ...]
) -> None:
    points = np.array(loop_polygon(ROUNDED, 1e-5).exterior.coords)[:-1]
    for insert in inserts:
        points = placed(points, insert)

    def fill(block: BaseLayout) -> None:
        block.add_lwpolyline(ROUNDED, format="xyb", close=True)

    (part,) = read_dxf(lambda space: nested(space, fill, inserts)).parts
    line = path_polygon(part.outline, 1e-5).exterior
    assert line.hausdorff_distance(Polygon(points).exterior) <= WITHIN


def turned(centre: tuple[float, float], a: float, b: float, turn: float, last: float = math.tau) -> Points:
    t = np.linspace(0.0, last, 1500)
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = a * np.cos(t), b * np.sin(t)
    return np.column_stack((centre[0] + x * cos - y * sin, centre[1] + x * sin + y * cos))


def every_kind(block: BaseLayout) -> None:
    """A plate with a round opening, an ellipse, half an ellipse with its chord, an arc with its chord."""
    block.add_lwpolyline(ROUNDED, format="xyb", close=True)
    block.add_circle((20, 20), 8)
    major = (12 * math.cos(0.5), 12 * math.sin(0.5))
    block.add_ellipse((50, 15), major, ratio=0.5)
    block.add_ellipse((70, 35), major, ratio=0.5, start_param=0, end_param=math.pi)
    block.add_line((70 + major[0], 35 + major[1]), (70 - major[0], 35 - major[1]))
    block.add_arc((-30, 40), 10, 0, 90, dxfattribs={"extrusion": (0, 0, -1)})
    block.add_line((20, 40), (30, 50))
    # A parabola as a spline of degree 2, and its chord.
    block.add_open_spline([(45, 45), (55, 65), (65, 45)], degree=2)
    block.add_line((45, 45), (65, 45))


def rings_of_every_kind() -> list[Points]:
    arc = turned((30, 40), 10, 10, math.pi / 2, math.pi / 2)  # seen from below: from 180 down to 90 degrees
    t = np.linspace(0.0, 1.0, 2000)
    parabola = np.column_stack((45 + 20 * t, 45 + 40 * t * (1 - t)))
    return [
        np.array(loop_polygon(ROUNDED, 1e-5).exterior.coords)[:-1],
        turned((20, 20), 8, 8, 0)[:-1],
        turned((50, 15), 12, 6, 0.5)[:-1],
        turned((70, 35), 12, 6, 0.5, math.pi),
        arc,
        parabola,
    ]


def inserts_strategy() -> st.SearchStrategy[list[Insert]]:
    scale = st.floats(0.5, 2.0) | st.floats(-2.0, -0.5) | st.sampled_from([1.0, -1.0, 2.0])
    turn = st.floats(-180, 180) | st.sampled_from([0.0, 45.0, 90.0, -135.0, 180.0])
    place = st.tuples(st.floats(-300, 300), st.floats(-300, 300))
    return st.lists(st.tuples(scale, scale, turn, place, st.booleans()), min_size=1, max_size=4)


@settings(derandomize=True, deadline=None, max_examples=20)
@given(inserts_strategy(), st.tuples(st.floats(-50, 50), st.floats(-50, 50)))
def test_every_kind_of_curve_follows_the_product_of_all_inserts(
    inserts: list[Insert], base: tuple[float, float]
) -> None:
    rings = [placed(ring, inserts[0], base) for ring in rings_of_every_kind()]
    for insert in inserts[1:]:
        rings = [placed(ring, insert) for ring in rings]
    document = ezdxf.new("R2010", units=4)
    nested(document.modelspace(), every_kind, inserts)
    head = document.blocks["B0"].block
    assert head is not None
    head.dxf.base_point = base
    with tempfile.TemporaryDirectory() as folder:
        document.saveas(path := Path(folder) / "nested.dxf")
        drawn = read(path, unit="mm")
    (part,) = drawn.parts
    assert farthest(part, rings) <= WITHIN


def test_arcs_stay_arcs_where_all_scales_together_are_equal(read_dxf: ReadDxf) -> None:
    """Stretched 2 to 1 and then 1 to 2: in the end everything is twice as large, and round."""
    inserts = ((2.0, 1.0, 0.0, (0.0, 0.0), False), (1.0, 2.0, 0.0, (7.0, 9.0), False))

    def fill(block: BaseLayout) -> None:
        block.add_lwpolyline(ROUNDED, format="xyb", close=True)
        block.add_circle((20, 20), 5)

    (part,) = read_dxf(lambda space: nested(space, fill, inserts)).parts
    assert len(part.outline.segments) == 8
    (hole,) = part.holes
    assert hole.centre == pytest.approx((47, 49)) and hole.diameter == pytest.approx(20)


def test_rows_of_a_block_in_a_stretched_block_stand_where_the_product_puts_them(read_dxf: ReadDxf) -> None:
    """Spacings turn with the insert and are not scaled by it (DXF reference, INSERT), but by those around."""
    outer: Insert = (2.0, 1.0, 30.0, (40.0, 20.0), False)

    def draw(space: Modelspace) -> None:
        space.doc.blocks.new("TILE").add_lwpolyline(ROUNDED, format="xyb", close=True)
        rows = {"row_count": 2, "column_count": 3, "row_spacing": 150.0, "column_spacing": 200.0}
        put(space.doc.blocks.new("ROWS"), "TILE", (0.5, 1.5, 90.0, (0.0, 0.0), False), **rows)
        put(space, "ROWS", outer)

    ring = np.array(loop_polygon(ROUNDED, 1e-5).exterior.coords)[:-1]
    expected = [
        Polygon(placed(placed(ring, (0.5, 1.5, 90.0, (-150.0 * row, 200.0 * column), False)), outer))
        for row in range(2)
        for column in range(3)
    ]
    parts = read_dxf(draw).parts
    assert len(parts) == 6
    lines = [path_polygon(part.outline, 1e-5).exterior for part in parts]
    for polygon in expected:
        assert min(polygon.exterior.hausdorff_distance(line) for line in lines) <= WITHIN


def test_texts_and_layers_go_through_stretched_blocks(read_dxf: ReadDxf) -> None:
    """The label of an inner insert lies on the part only when it is turned and stretched with it."""

    def draw(space: Modelspace) -> None:
        block = space.doc.blocks.new("PLATE")
        block.add_lwpolyline([(0, 0), (100, 0), (100, 20), (0, 20)], close=True)
        inner = put(space.doc.blocks.new("TURNED"), "PLATE", (1.0, 1.0, 90.0, (0.0, 0.0), False))
        inner.dxf.layer = "SIDES"
        inner.add_attrib("NAME", "bench side", (-10, 80), dxfattribs={"height": 3})
        put(space, "TURNED", (1.0, 4.0, 0.0, (500.0, 0.0), False))

    (part,) = read_dxf(draw).parts
    assert (part.name, part.source.layer) == ("bench side", "SIDES")
    x, y = path_polygon(part.outline, 1e-3).centroid.coords[0]
    assert (x, y) == pytest.approx((490, 200))
