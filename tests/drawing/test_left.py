"""What is read and not cut is kept, so that a picture can show it."""

from __future__ import annotations

from collections.abc import Callable

import shapely
from ezdxf.layouts import Modelspace
from support.places import published

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.geometry.flatten import flattened
from camkit.geometry.measure import bounds, length, point_along
from camkit.part import LayerRule

Dxf = Callable[..., Drawn]


def square(space: Modelspace, x: float, y: float, side: float, layer: str = "0") -> None:
    corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def boxes(drawn: Drawn) -> set[tuple[float, ...]]:
    return {tuple(round(side, 3) for side in bounds(path)) for path in drawn.left}


def test_a_sound_drawing_leaves_nothing(dxf: Dxf) -> None:
    assert dxf(lambda space: square(space, 0, 0, 100)).left == ()


def test_outlines_that_stay_open_and_strokes_are_kept_line_by_line(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        space.add_lwpolyline([(200, 0), (300, 0), (300, 80), (200, 80), (200, 7)])
        space.add_line((10, 200), (60, 200))

    found = dxf(draw)
    assert boxes(found) == {(200, 0, 300, 80), (10, 200, 60, 200)}
    assert sum(map(length, found.left)) == 100 + 80 + 100 + 73 + 50  # the gap is not drawn shut


def test_features_that_lie_on_no_part_are_kept(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        square(space, 300, 0, 20, "opening")
        square(space, 400, 0, 20, "pocket")

    rules = (LayerRule("opening", "opening"), LayerRule("pocket", "pocket", 6.0))
    assert boxes(dxf(draw, rules=rules)) == {(300, 0, 320, 20), (400, 0, 420, 20)}


def test_what_hidden_layers_draw_is_kept_until_a_job_gives_them_a_meaning(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        square(space, 20, 20, 30, "spare")
        space.doc.layers.add("spare").off()

    assert boxes(dxf(draw)) == {(20, 20, 50, 50)}
    assert dxf(draw, rules=(LayerRule("spare", "opening"),)).left == ()


def test_what_a_job_ignores_and_what_is_drawn_twice_is_not_kept(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        square(space, 0, 0, 100)
        square(space, 0, 0, 100)
        square(space, 300, 0, 20, "notes")

    assert dxf(draw, rules=(LayerRule("notes", "ignore"),)).left == ()


def test_a_step_line_of_a_published_case_is_kept() -> None:
    """The line about 4 mm inside the outline marks a step; it is not cut, but the maker must see it."""
    drawn = read(published("case-mirrored.dxf"))
    (line,) = drawn.left
    outline = shapely.LinearRing(flattened(drawn.parts[0].outline))
    middles = [point_along(segment, 0.5) for segment in line.segments]
    away = [outline.distance(shapely.Point(middle)) for middle in middles]
    assert len(away) == 16 and min(away) > 3.99 and max(away) < 5.1
