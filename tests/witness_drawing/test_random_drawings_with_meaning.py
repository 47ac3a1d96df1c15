"""Random drawings with a border round them, names on their parts, or depths given by their layers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import ezdxf
from ezdxf.layouts import Modelspace
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon
from support.bulged import Drawing, Loop, assert_same_parts, exact_area, loop_polygon
from support.random_drawings import random_drawing

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.part import LayerRule

seeds = st.integers(0, 2**32 - 1)


def polyline(space: Modelspace, loop: Loop, layer: str) -> None:
    space.add_lwpolyline(loop, format="xyb", close=True, dxfattribs={"layer": layer})


def draw(space: Modelspace, drawing: Drawing, outline: str, opening: str, hole: str) -> None:
    """Outlines, openings and holes on layers of their own."""
    for piece in drawing:
        polyline(space, piece.outline, outline)
        for loop in piece.openings:
            polyline(space, loop, opening)
        for x, y, diameter in piece.holes:
            space.add_circle((x, y), diameter / 2, dxfattribs={"layer": hole})


def reading(fill: Callable[[Modelspace], None], rules: tuple[LayerRule, ...] = ()) -> Drawn:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    fill(document.modelspace())
    with TemporaryDirectory() as folder:
        path = Path(folder) / "random.dxf"
        document.saveas(path)
        return read(path, rules=rules)


@settings(derandomize=True, deadline=None, max_examples=15)
@given(seed=seeds, with_margin=st.booleans())
def test_a_border_round_three_parts_and_more_is_not_cut(seed: int, with_margin: bool) -> None:
    drawing = random_drawing(seed)
    assume(len(drawing) >= 3)
    x0, y0, x1, y1 = MultiPolygon([loop_polygon(piece.outline, 0.1) for piece in drawing]).bounds

    def fill(space: Modelspace) -> None:
        draw(space, drawing, "0", "0", "0")
        for m in (40, 30) if with_margin else (40,):
            frame = ((x0 - m, y0 - m), (x1 + m, y0 - m), (x1 + m, y1 + m), (x0 - m, y1 + m))
            space.add_lwpolyline(frame, close=True)

    drawn = reading(fill)
    assert_same_parts(drawn.parts, drawing)
    assert drawn.sheet_edge is not None
    assert abs(exact_area(drawn.sheet_edge) - (x1 - x0 + 80) * (y1 - y0 + 80)) < 1
    told = " ".join(str(finding) for finding in drawn.findings)
    assert "border" in told


@settings(derandomize=True, deadline=None, max_examples=15)
@given(seed=seeds)
def test_a_text_in_the_wood_names_the_part(seed: int) -> None:
    drawing = tuple(replace(piece, holes=()) for piece in random_drawing(seed))
    names = [f"piece {chr(ord('A') + i)}" for i in range(len(drawing))]
    places = []
    for piece in drawing:
        wood = loop_polygon(piece.outline, 0.1)
        for loop in piece.openings:
            wood = wood.difference(loop_polygon(loop, 0.1))
        places.append(wood.representative_point())

    def fill(space: Modelspace) -> None:
        draw(space, drawing, "0", "0", "0")
        for name, place in zip(names, places, strict=True):
            space.add_text(name, height=3).set_placement((place.x, place.y))

    drawn = reading(fill)
    assert_same_parts(drawn.parts, drawing)
    for piece, name in zip(drawing, names, strict=True):
        (named,) = (part for part in drawn.parts if part.name == name)
        assert_same_parts([named], (piece,))


@settings(derandomize=True, deadline=None, max_examples=15)
@given(seed=seeds, depth=st.floats(0.5, 17.5))
def test_rules_make_pockets_and_blind_holes_of_what_lies_on_their_layers(seed: int, depth: float) -> None:
    drawing = random_drawing(seed)
    rules = (
        LayerRule("edge", "profile"),
        LayerRule("recess*", "pocket", depth),
        LayerRule("dowel", "hole", depth / 2),
    )
    drawn = reading(lambda space: draw(space, drawing, "Edge", "Recess 9mm", "DOWEL"), rules)
    pocketed = [replace(p, openings=tuple(pocket.outline for pocket in p.pockets)) for p in drawn.parts]
    bored = [replace(p, pockets=(), holes=tuple(replace(h, depth=None) for h in p.holes)) for p in pocketed]
    assert_same_parts(bored, drawing)
    assert all(not part.openings for part in drawn.parts)
    assert {pocket.depth for part in drawn.parts for pocket in part.pockets} <= {depth}
    assert {hole.depth for part in drawn.parts for hole in part.holes} <= {depth / 2}
