"""DXF entities become parts of the right size; areas by closed formula."""

import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, signed_area
from camkit.part import LayerRule

Dxf = Callable[..., Drawn]


def rules(found: Drawn) -> list[str]:
    return [finding.rule for finding in found.findings]


def square(space: Modelspace, x: float, y: float, side: float, layer: str = "0") -> None:
    corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def test_bulges_are_true_arcs(dxf: Dxf) -> None:
    """A stadium of length 200 between centres and width 60: 200 x 60 + pi 30^2."""

    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0, 0), (200, 0, 1), (200, 60, 0), (0, 60, 1)], format="xyb", close=True)

    part = dxf(draw).parts[0]
    assert signed_area(part.outline) == pytest.approx(200 * 60 + math.pi * 900, rel=1e-12)
    arcs = [s for s in part.outline.segments if isinstance(s, Arc)]
    assert [arc.radius for arc in arcs] == pytest.approx([30, 30])
    assert bounds(part.outline) == pytest.approx((-30, 0, 230, 60))


def test_a_negative_bulge_bows_inward(dxf: Dxf) -> None:
    """A square of 100 with a half circle of radius 50 cut from its right side."""

    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(0, 0, 0), (100, 0, -1), (100, 100, 0), (0, 100, 0)], format="xyb", close=True)

    assert signed_area(dxf(draw).parts[0].outline) == pytest.approx(10_000 - math.pi * 2500 / 2)


def test_old_polylines_are_read_like_new_ones(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_polyline2d([(0, 0, 0), (200, 0, 1), (200, 60, 0), (0, 60, 1)], format="xyb", close=True)
        space.add_polyline3d([(300, 0, 5), (400, 0, 5), (400, 50, 5), (300, 50, 5)], close=True)

    stadium, rectangle = dxf(draw).parts
    assert signed_area(stadium.outline) == pytest.approx(200 * 60 + math.pi * 900)
    assert signed_area(rectangle.outline) == pytest.approx(5000)


def test_circles_become_holes_up_to_50_mm(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 300)
        space.add_circle((50, 50), 4)
        space.add_circle((150, 150), 25)
        space.add_circle((240, 100), 25.01)

    part = dxf(draw).parts[0]
    assert [(hole.centre, hole.diameter, hole.depth) for hole in part.holes] == [
        ((50, 50), 8, None),
        ((150, 150), 50, None),
    ]
    assert [signed_area(opening) for opening in part.openings] == pytest.approx([-math.pi * 25.01**2])


def test_a_block_turned_mirrored_and_scaled_keeps_its_arcs(dxf: Dxf) -> None:
    """The D of a 40 x 60 rectangle and a half disc, doubled, mirrored and turned by 30 degrees."""

    def draw(space: Modelspace) -> None:
        block = space.doc.blocks.new("D")
        block.add_lwpolyline([(0, 0, 0), (40, 0, 1), (40, 60, 0), (0, 60, 0)], format="xyb", close=True)
        block.add_circle((20, 30), 5)
        outer = space.doc.blocks.new("OUTER")
        outer.add_blockref("D", (10, 0), {"xscale": -2, "yscale": 2})
        space.add_blockref("OUTER", (500, 500), {"rotation": 30, "layer": "SIDE"})

    part = dxf(draw).parts[0]
    assert signed_area(part.outline) == pytest.approx(4 * (2400 + math.pi * 900 / 2))
    assert part.source.layer == "SIDE"
    assert "INSERT" in part.source.entity and "LWPOLYLINE" in part.source.entity
    (hole,) = part.holes
    # (20, 30) doubled and mirrored is (-40, 60), shifted (-30, 60), turned by 30 degrees about the insert
    turned = (500 - 30 * math.cos(math.pi / 6) - 60 * 0.5, 500 - 30 * 0.5 + 60 * math.cos(math.pi / 6))
    assert hole.centre == pytest.approx(turned)
    assert hole.diameter == pytest.approx(20)


def test_a_circle_scaled_unevenly_is_an_ellipse(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        block = space.doc.blocks.new("ROUND")
        block.add_circle((0, 0), 10)
        space.add_blockref("ROUND", (0, 0), {"xscale": 5, "yscale": 3})

    part = dxf(draw).parts[0]
    assert signed_area(part.outline) == pytest.approx(math.pi * 50 * 30, rel=1e-4)
    assert bounds(part.outline) == pytest.approx((-50, -30, 50, 30), abs=0.002)


def test_rows_of_a_block_are_all_drawn(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        block = space.doc.blocks.new("TILE")
        square(block, 0, 0, 50)
        grid = {"row_count": 2, "column_count": 3, "row_spacing": 80, "column_spacing": 90}
        space.add_blockref("TILE", (0, 0), grid)

    corners = [bounds(part.outline)[:2] for part in dxf(draw).parts]
    assert corners == [(0, 0), (90, 0), (180, 0), (0, 80), (90, 80), (180, 80)]


def test_extrusion_downwards_mirrors_x(dxf: Dxf) -> None:
    """With the normal (0, 0, -1) the OCS X axis is the WCS -X axis (DXF reference, arbitrary axis)."""
    down = {"extrusion": (0, 0, -1)}

    def draw(space: Modelspace) -> None:
        space.add_lwpolyline(
            [(0, 0, 0), (200, 0, 1), (200, 60, 0), (0, 60, 0)], format="xyb", close=True, dxfattribs=down
        )
        space.add_circle((50, 30), 4, dxfattribs=down)

    part = dxf(draw).parts[0]
    assert bounds(part.outline) == pytest.approx((-230, 0, 0, 60))
    assert signed_area(part.outline) == pytest.approx(200 * 60 + math.pi * 450)
    assert part.holes[0].centre == pytest.approx((-50, 30))


def test_a_flipped_arc_closes_with_lines_drawn_upright(dxf: Dxf) -> None:
    """A half disc of radius 40: the arc in a mirrored OCS, the chord in WCS."""

    def draw(space: Modelspace) -> None:
        space.add_arc((-100, 0), 40, 0, 180, dxfattribs={"extrusion": (0, 0, -1)})
        space.add_line((60, 0), (140, 0))

    part = dxf(draw).parts[0]
    assert signed_area(part.outline) == pytest.approx(math.pi * 800)
    assert bounds(part.outline) == pytest.approx((60, 0, 140, 40))


def test_ellipses_and_splines_are_flattened_finely(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_ellipse((0, 0), (100, 0), 0.4)
        spline = space.add_spline(degree=3)
        spline.set_closed([(300 + 100 * math.cos(t), 100 * math.sin(t), 0) for t in hexagon])

    hexagon = [k * math.pi / 3 for k in range(6)]
    ellipse, spline = sorted(dxf(draw).parts, key=lambda part: bounds(part.outline)[0])
    assert signed_area(ellipse.outline) == pytest.approx(math.pi * 100 * 40, rel=1e-4)
    x0, y0, x1, y1 = bounds(spline.outline)
    # A uniform cubic B-spline passes (before + 4 at + after) / 6 at its knots: 100 (4 + 2 cos 60) / 6.
    reach = 100 * (4 + 2 * 0.5) / 6
    assert (x0, x1) == pytest.approx((300 - reach, 300 + reach), abs=0.003)
    # ... and halfway between knots through (1, 23, 23, 1) / 48: highest between 60 and 120 degrees.
    assert y1 - y0 == pytest.approx(2 * 100 * 46 / 48 * math.sin(math.pi / 3), abs=0.003)


def test_a_circle_drawn_as_a_rational_spline_is_a_hole(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        from ezdxf.entities import Circle, Spline

        ring = Circle.new(dxfattribs={"center": (40, 60), "radius": 6})
        space.add_entity(Spline.from_arc(ring))

    (hole,) = dxf(draw).parts[0].holes
    assert hole.centre == pytest.approx((40, 60), abs=1e-4)
    assert hole.diameter == pytest.approx(12, abs=1e-3)


def test_a_hexagon_is_an_opening_and_a_fine_polygon_a_hole(dxf: Dxf) -> None:
    """40 corners on a circle of 6 mm keep within 0.01 mm of it: 3 (1 - cos(180/40 degrees)) = 0.009."""

    def ring(count: int, x: float) -> list[tuple[float, float]]:
        return [
            (x + 3 * math.cos(k * math.tau / count), 50 + 3 * math.sin(k * math.tau / count))
            for k in range(count)
        ]

    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        space.add_lwpolyline(ring(6, 30), close=True)
        space.add_lwpolyline(ring(40, 70), close=True)

    part = dxf(draw).parts[0]
    assert [hole.diameter for hole in part.holes] == pytest.approx([6])
    assert len(part.openings) == 1


def test_paper_space_is_no_part_and_texts_are_counted(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        space.add_text("a").set_placement((500, 500))
        space.add_point((5, 5))
        space.doc.layout("Layout1").add_circle((0, 0), 300)

    found = dxf(draw)
    assert len(found.parts) == 1
    (note,) = [f for f in found.findings if f.rule == "left-out"]
    assert note.message == "left out: 1 POINT"
    (note,) = [f for f in found.findings if f.rule == "texts"]
    assert note.message == 'texts that name no part, left out: 1 ("a")'


def test_hidden_layers_are_left_out_unless_a_rule_names_them(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        space.doc.layers.add("OLD").off()
        square(space, 200, 0, 100, "OLD")

    found = dxf(draw)
    assert len(found.parts) == 1
    assert "left-aside" in rules(found)
    assert len(dxf(draw, rules=(LayerRule("old", "profile"),)).parts) == 2


def test_finding_and_source_name_layer_and_handle(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline(
            [(0, 0), (100, 100), (100, 0), (0, 100)], close=True, dxfattribs={"layer": "CUT"}
        )
        square(space, 200, 0, 100, "CUT")

    found = dxf(draw)
    (bow,) = [f for f in found.findings if f.level == "error"]
    assert (bow.rule, bow.layer) == ("refused-loop", "CUT")
    assert bow.entity is not None and bow.entity.startswith("LWPOLYLINE ")
    assert (bow.x_mm, bow.y_mm) == pytest.approx((50, 50))
    assert found.parts[0].source.file == found.path == bow.file


def test_a_file_without_handles_counts_its_entities(tmp_path: Path) -> None:
    document = ezdxf.new("R12")
    document.header["$HANDLING"] = 0
    square_lines = [(0, 0), (100, 0), (100, 50), (0, 50), (0, 0)]
    for a, b in pairwise(square_lines):
        document.modelspace().add_line(a, b)
    path = tmp_path / "old.dxf"
    document.saveas(path)
    assert read(path).parts[0].source.entity == "LINE no. 1"


def test_binary_dxf_is_read(tmp_path: Path) -> None:
    document = ezdxf.new("R2010", units=4)
    square(document.modelspace(), 0, 0, 120)
    path = tmp_path / "binary.dxf"
    document.saveas(path, fmt="bin")
    assert signed_area(read(path).parts[0].outline) == 14_400


def test_a_truncated_file_is_repaired_and_said(tmp_path: Path) -> None:
    document = ezdxf.new("R2010")
    square(document.modelspace(), 0, 0, 120)
    path = tmp_path / "whole.dxf"
    document.saveas(path)
    text = path.read_text()
    cut = tmp_path / "cut.dxf"
    cut.write_text(text[: text.rindex("ENDSEC")])
    found = read(cut, unit="mm")
    assert [signed_area(part.outline) for part in found.parts] == [14_400]
    (told,) = [f for f in found.findings if f.rule == "cut-off-file"]
    assert told.level == "warning" and "its ENTITIES are whole" in told.message


def test_the_same_file_gives_the_same_parts(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for k in range(5):
            square(space, 150 * k, 0, 100)
            space.add_circle((150 * k + 50, 50), 5 + k)

    assert dxf(draw) == dxf(draw)
