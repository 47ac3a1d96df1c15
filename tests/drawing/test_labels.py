"""Texts: which name parts, which say a quantity or sizes, and what is not cut beside them is counted."""

from collections.abc import Callable
from typing import Any

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.label_words import face_of, is_note, is_quantity, quantity_of
from camkit.drawing.sketch import Label
from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.part import LayerRule

Dxf = Callable[..., Drawn]


def box(space: Modelspace, x0: float, y0: float, x1: float, y1: float, **how: Any) -> None:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    space.add_lwpolyline(corners, close=True, dxfattribs=how)


def text(space: Modelspace, said: str, x: float, y: float) -> None:
    space.add_text(said).set_placement((x, y))


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


def test_a_text_beside_a_part_names_it_when_it_is_clearly_nearest(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for x in (0, 200, 400, 600):
            box(space, x, 0, x + 150, 100)
        text(space, "Shelf", 20, 110)
        text(space, "between", 372, 50)
        text(space, "far away", 420, 140)
        text(space, "Side", 620, -20)

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["Shelf", "part 2", "part 3", "Side"]
    (finding,) = told(found, "texts")
    assert finding.count == 2 and '"between", "far away"' in finding.message


def test_a_name_on_the_wood_goes_before_one_beside_it(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 150, 100)
        text(space, "Shelf", 20, 50)
        text(space, "drawn by hand", 20, 110)

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["Shelf"]
    assert told(found, "texts")[0].count == 1


def test_the_number_of_a_dimension_is_no_name(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for x, said in ((0, "150"), (400, "7"), (800, "A12")):
            box(space, x, 0, x + 150, 100)
            text(space, said, x + 70, -20)

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["part 1", "7", "A12"]
    assert told(found, "texts")[0].count == 1


def test_two_names_beside_a_part_are_none(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 150, 100)
        text(space, "Shelf", 20, 110)
        text(space, "Side", 20, 120)

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["part 1"]
    assert told(found, "texts")[0].count == 2


def test_a_quantity_is_told_and_neither_a_name_nor_used(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 150, 100)
        text(space, "Shelf", 20, 50)
        text(space, "x4", 20, 30)
        box(space, 400, 0, 550, 100)
        text(space, "Leg (2 off)", 420, 50)

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["Shelf", "Leg (2 off)"]
    assert [(f.level, f.part) for f in told(found, "quantity-offered")] == [
        ("note", "Shelf"),
        ("note", "Leg (2 off)"),
    ]
    assert "asks for 4 pieces" in told(found, "quantity-offered")[0].message
    assert told(found, "texts") == []


def test_several_lines_with_sizes_are_a_note(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        for x in (0, 400, 800):
            box(space, x, 0, x + 300, 100)
        space.add_mtext(r"Shelf\P300 x 100\Pbirch 18 mm", {"insert": (20, 50)})
        text(space, "Shelf 300x100", 420, 50)
        space.add_mtext(r"Shelf\Pleft", {"insert": (820, 50)})

    found = dxf(draw)
    assert [part.name for part in found.parts] == ["part 1", "Shelf 300x100", "Shelf left"]
    assert told(found, "texts")[0].count == 1


@pytest.mark.parametrize(
    ("said", "count", "only"),
    [
        ("x4", 4, True),
        ("2x", 2, True),
        ("\u00d73", 3, True),
        ("4 off", 4, True),
        ("qty 4", 4, True),
        ("Qty: 12", 12, True),
        ("4 Stück", 4, True),
        ("3 pièces", 3, True),
        ("2x Leg", 2, False),
        ("Shelf 400x300 x2", 2, False),
        ("400x300", None, False),
        ("3 x 400", None, False),
        ("M4x20", None, False),
        ("Side 2", None, False),
        ("x4 x2", None, False),
    ],
)
def test_quantities_are_read_as_they_are_written(said: str, count: int | None, only: bool) -> None:
    assert (quantity_of(said), is_quantity(said)) == (count, only)


def test_sizes_alone_and_long_texts_are_notes() -> None:
    assert [
        is_note(Label(said, (0, 0), "")) for said in ("400 x 300 mm", "18mm", "Shelf 18 mm", "a" * 61)
    ] == [
        True,
        True,
        False,
        True,
    ]


def test_faces_are_named_by_whole_texts() -> None:
    said = ("FRONT VIEW", "Rückseite", "side B", "back rest", "top shelf", "A", "front and back", "verso")
    assert [face_of(one) for one in said] == ["front", "back", "back", None, None, None, None, "back"]


def test_dimensions_hatches_and_points_are_counted_and_their_lines_not_cut(dxf: Dxf) -> None:
    """Dimensions keep their lines and arrows in blocks of their own."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100)
        for y in (-20, -40):
            space.add_linear_dim((0, y), (0, 0), (200, 0)).render()
        space.add_radius_dim(center=(100, 50), radius=20, angle=45).render()
        space.add_hatch().paths.add_polyline_path([(20, 20), (60, 20), (60, 60)], is_closed=True)
        for x in (10, 20, 30):
            space.add_point((x, 10))

    found = dxf(draw)
    (part,) = found.parts
    assert (part.openings, part.holes) == ((), ())
    assert "left out: 3 DIMENSION, 1 HATCH, 3 POINT" in told(found, "left-out")[0].message
    assert found.loops == 1 and not told(found, "open-lines")


def test_lines_of_dimensions_on_their_layer_are_left_aside(dxf: Dxf) -> None:
    """Exploded, they are lines, arrows and texts like any others; their layer still tells."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100, layer="cut")
        space.add_linear_dim(
            (0, -20), (0, 0), (200, 0), dxfattribs={"layer": "Bemaßung"}
        ).render().dimension.explode()
        space.add_line((0, 50), (200, 50), dxfattribs={"layer": "Construction lines"})
        box(space, 20, 20, 60, 60, layer="construction")

    found = dxf(draw)
    (part,) = found.parts
    assert part.openings == ()
    (finding,) = told(found, "left-aside")
    assert finding.level == "warning" and "construction by their layer's name" in finding.message
    assert "1 on layer Construction lines, 1 on layer construction" in finding.message
    with_rule = dxf(draw, rules=(LayerRule("construction", "opening"),))
    assert len(with_rule.parts[0].openings) == 1
    assert told(with_rule, "left-aside")[0].level == "note"


def lines(space: Modelspace, *names: str) -> None:
    """Declare line types; long dash, gap, dot or dash, gap."""
    document = space.doc
    assert document is not None
    for name in names:
        if name not in document.linetypes:
            document.linetypes.add(name, pattern=[2.0, 1.25, -0.25, 0.25, -0.25])


def test_centre_lines_are_left_aside_by_their_line_type(dxf: Dxf) -> None:
    """ISO 128: pitch circles and axes are drawn with a long-dashed dotted line."""

    def draw(space: Modelspace) -> None:
        lines(space, "CENTER2", "ACAD_ISO04W100")
        box(space, 0, 0, 200, 100)
        space.add_circle((100, 50), 30, dxfattribs={"linetype": "CENTER2"})
        space.add_line((0, 50), (200, 50), dxfattribs={"linetype": "ACAD_ISO04W100"})
        for x in (70, 130):
            space.add_circle((x, 50), 4)

    found = dxf(draw)
    (part,) = found.parts
    assert (len(part.openings), len(part.holes)) == (0, 2)
    (finding,) = told(found, "left-aside")
    assert finding.level == "warning" and "2 on layer 0" in finding.message
    assert not told(found, "open-lines")


def test_a_line_type_comes_from_the_layer_too(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        lines(space, "CENTER")
        assert space.doc is not None
        space.doc.layers.add("axes", linetype="CENTER")
        box(space, 0, 0, 200, 100)
        space.add_line((0, 50), (200, 50), dxfattribs={"layer": "axes"})

    (finding,) = told(dxf(draw), "left-aside")
    assert finding.level == "note" and "1 on layer axes" in finding.message


def test_hidden_edges_are_read_and_warned_of(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        lines(space, "HIDDEN")
        box(space, 0, 0, 200, 100)
        box(space, 20, 20, 60, 60, linetype="HIDDEN")

    found = dxf(draw)
    assert len(found.parts[0].openings) == 1
    assert [(f.level, f.count) for f in told(found, "hidden-lines")] == [("warning", 1)]


def test_an_outline_on_a_layer_of_construction_stays_an_outline(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 200, 100, layer="construction")
        box(space, 20, 20, 60, 60, layer="cut")

    found = dxf(draw)
    assert [(bounds(part.outline), len(part.openings)) for part in found.parts] == [((0, 0, 200, 100), 1)]
    assert told(found, "construction-kept")[0].layer == "construction"


@pytest.mark.parametrize("how", [{"linetype": "CENTER"}, {"layer": "construction"}])
def test_what_everything_is_drawn_in_tells_nothing_apart(dxf: Dxf, how: dict[str, str]) -> None:
    def draw(space: Modelspace) -> None:
        lines(space, "CENTER")
        box(space, 0, 0, 200, 100, **how)
        box(space, 20, 20, 60, 60, **how)

    found = dxf(draw)
    assert [bounds(part.outline) for part in found.parts] == [(0, 0, 200, 100)]
    assert len(told(found, "construction-kept")) == 1
