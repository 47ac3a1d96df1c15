"""Pockets at and over the edge of a part, with islands, over two parts or a whole one; areas by hand."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from ezdxf.layouts import Modelspace
from support.accounting import unaccounted

from camkit.drawing.drawn import Drawn
from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Arc, signed_area
from camkit.part import LayerRule, Part

Dxf = Callable[..., Drawn]
RULES = (
    LayerRule("pocket*", "pocket", 6.0),
    LayerRule("deep", "pocket", 9.0),
    LayerRule("bore", "hole", 6.0),
)


def box(space: Modelspace, x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> Any:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def ring(space: Modelspace, x: float, y: float, radius: float, layer: str) -> Any:
    return space.add_circle((x, y), radius, dxfattribs={"layer": layer})


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


def recessed(part: Part) -> list[float]:
    """Area of each pocket in the part's wood, islands left out."""
    wood = as_polygon(part.region())
    areas = []
    for pocket in part.pockets:
        deep = as_polygon(pocket.outline).intersection(wood)
        for island in pocket.islands:
            deep = deep.difference(as_polygon(island))
        areas.append(deep.area)
    return areas


def test_a_rabbet_runs_off_the_edge_with_its_line_kept(dxf: Dxf) -> None:
    """Drawn 10 mm past both ends and the edge: 300 x 12 mm of it lie on the wood."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, -10, 188, 310, 210, "pockets")

    (part,) = (found := dxf(draw, rules=RULES)).parts
    assert signed_area(part.outline) == 300 * 200 and recessed(part) == [pytest.approx(300 * 12)]
    assert signed_area(part.pockets[0].outline) == 320 * 22 and part.pockets[0].depth == 6
    assert found.findings == () and unaccounted(found) == 0


def test_a_pocket_may_share_an_edge_with_the_outline(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 0, 188, 300, 200, "pockets")
        box(space, 100, 0, 118, 200.004, "deep")

    (part,) = (found := dxf(draw, rules=RULES)).parts
    assert recessed(part) == [pytest.approx(300 * 12), pytest.approx(18 * 200)]
    assert found.findings == () and unaccounted(found) == 0


def test_islands_stay_and_may_hold_pockets_of_their_own(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 20, 20, 280, 220, "pockets")
        box(space, 50, 50, 150, 150, "pockets")
        box(space, 80, 80, 120, 120, "pockets")
        ring(space, 220, 100, 25, "pockets")

    (part,) = (found := dxf(draw, rules=RULES)).parts
    assert [len(pocket.islands) for pocket in part.pockets] == [2, 0]
    assert recessed(part) == [
        pytest.approx(260 * 180 - 100 * 100 - math.pi * 625, abs=1),
        pytest.approx(40 * 40),
    ]
    assert found.findings == () and unaccounted(found) == 0


def test_a_pocket_beside_all_parts_is_told_with_its_islands(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 100, 100)
        box(space, 100.004, 0, 200, 100, "pockets")
        box(space, 120, 20, 160, 60, "pockets")

    found = dxf(draw, rules=RULES)
    (stray,) = told(found, "stray-feature")
    assert (stray.level, stray.count, found.parts[0].pockets) == ("warning", 2, ())
    assert "the loops inside it: 1" in stray.message and unaccounted(found) == 0


def test_a_pocket_over_two_parts_goes_to_the_one_it_covers_most_of(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 100, 100)
        box(space, 106, 0, 206, 100)
        box(space, 60, 40, 120, 58, "pockets")

    left, right = (found := dxf(draw, rules=RULES)).parts
    assert recessed(left) == [pytest.approx(40 * 18)] and right.pockets == ()
    (doubt,) = told(found, "over-two-parts")
    assert doubt.level == "warning" and 106 < (doubt.x_mm or 0) < 120 and unaccounted(found) == 0


def test_a_pocket_over_a_whole_part_is_a_change_of_thickness(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 100, 100)
        box(space, 0, 0, 100, 100, "pockets")
        box(space, 200, 0, 300, 100)
        box(space, 190, -10, 310, 110, "deep")
        ring(space, 250, 50, 20, "deep")

    found = dxf(draw, rules=RULES)
    assert [recessed(part) for part in found.parts] == [
        [pytest.approx(10_000)],
        [pytest.approx(10_000 - math.pi * 400, abs=1)],
    ]
    (whole,) = told(found, "whole-face")
    assert whole.level == "warning" and "6 mm thinner" in whole.message and unaccounted(found) == 0


def test_reliefs_drawn_over_the_corners_of_a_pocket_belong_to_it(dxf: Dxf) -> None:
    """Two about corners of the pocket, one inside up against two walls."""

    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 50, 50, 110, 68, "pockets")
        ring(space, 50, 50, 3, "pockets")
        ring(space, 110, 68, 3, "bore")
        ring(space, 53, 65, 3, "pockets")

    (part,) = (found := dxf(draw, rules=RULES)).parts
    (pocket,) = part.pockets
    assert signed_area(pocket.outline) == pytest.approx(60 * 18 + 1.5 * math.pi * 9, abs=1e-6)
    assert sum(isinstance(s, Arc) for s in pocket.outline.segments) >= 2
    assert (pocket.islands, part.holes) == ((), ())
    assert told(found, "merged")[0].count == 3 and unaccounted(found) == 0


def test_pockets_of_two_depths_that_overlap_stay_apart(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 50, 50, 110, 68, "pockets")
        box(space, 100, 40, 118, 100, "deep")

    (part,) = (found := dxf(draw, rules=RULES)).parts
    assert [(pocket.depth, area) for pocket, area in zip(part.pockets, recessed(part), strict=True)] == [
        (6, pytest.approx(60 * 18)),
        (9, pytest.approx(18 * 60)),
    ]
    assert found.findings == ()


def test_a_pocket_drawn_twice_is_one_and_has_no_island(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 50, 50, 110, 68, "pockets")
        box(space, 50, 50, 110, 68, "pocket copy")

    (part,) = (found := dxf(draw, rules=RULES)).parts
    assert recessed(part) == [pytest.approx(60 * 18)] and part.pockets[0].islands == ()
    assert told(found, "duplicate-loop")[0].level == "note" and unaccounted(found) == 0


def test_a_pocket_that_crosses_itself_is_refused_and_told_with_what_it_holds(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        corners = [(50, 50), (150, 50), (50, 150), (150, 150)]
        space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "pockets"})
        ring(space, 100, 60, 8, "pockets")

    (part,) = (found := dxf(draw, rules=RULES)).parts
    (refused,) = told(found, "refused-loop")
    assert (part.pockets, refused.level, refused.count) == ((), "error", 2)
    assert (refused.x_mm, refused.y_mm) == pytest.approx((100, 100)) and unaccounted(found) == 0
