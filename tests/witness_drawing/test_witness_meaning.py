"""What drawn things mean: depth of nesting, border and margin, labels, layers, SVG's own rules."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from ezdxf.layouts import Modelspace
from support.bulged import exact_area

from camkit.drawing.drawn import Drawn
from camkit.part import LayerRule

ReadDxf = Callable[..., Drawn]
ReadSvg = Callable[..., Drawn]


def box(layout: Modelspace, x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> None:
    layout.add_lwpolyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs={"layer": layer})


def bent(layout: Modelspace, x: float, y: float, size: float) -> None:
    """An angle, so that nobody takes it for a border."""
    s = size
    layout.add_lwpolyline(
        [(x, y), (x + s, y), (x + s, y + s / 2), (x + s / 2, y + s), (x, y + s)], close=True
    )


def bent_area(size: float) -> float:
    return size**2 - (size / 2) ** 2 / 2


def said(drawn: Drawn) -> str:
    return "\n".join(map(str, drawn.findings))


def test_six_loops_in_each_other_are_three_parts_with_an_opening_each(read_dxf: ReadDxf) -> None:
    sizes = (600, 500, 400, 300, 200, 100)

    def draw(space: Modelspace) -> None:
        for i, size in enumerate(sizes):
            bent(space, 20 * i, 20 * i, size)

    drawn = read_dxf(draw)
    net = sorted(exact_area(part.outline) - sum(map(exact_area, part.openings)) for part in drawn.parts)
    pairs = ((600, 500), (400, 300), (200, 100))
    assert [len(part.openings) for part in drawn.parts] == [1, 1, 1]
    assert net == pytest.approx(sorted(bent_area(a) - bent_area(b) for a, b in pairs))


def test_a_border_and_a_margin_are_said_and_not_cut(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 2440, 1220)
        box(space, 10, 10, 2430, 1210)
        for x in (100, 900, 1700):
            bent(space, x, 100, 600)
            space.add_circle((x + 100, 200), 5)

    drawn = read_dxf(draw)
    assert len(drawn.parts) == 3
    assert [len(part.holes) for part in drawn.parts] == [1, 1, 1]
    assert drawn.sheet_edge is not None
    assert exact_area(drawn.sheet_edge) == pytest.approx(2440 * 1220)
    assert "border" in said(drawn) and "margin" in said(drawn)


def test_a_plate_with_openings_is_no_sheet(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 500, 300)
        for x in (40, 200, 360):
            box(space, x, 50, x + 100, 110)
            space.add_circle((x + 50, 200), 6)

    (part,) = read_dxf(draw).parts
    assert len(part.openings) == 3 and len(part.holes) == 3


def test_words_dimensions_hatches_and_points_are_left_out_and_counted(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 500, 300)
        space.add_text("keep dry", height=10).set_placement((600, 0))
        space.add_mtext("birch", dxfattribs={"insert": (600, 50), "char_height": 10})
        for x in (10, 20, 30):
            space.add_point((x, 10))
        hatch = space.add_hatch()
        hatch.paths.add_polyline_path([(10, 10), (100, 10), (100, 100), (10, 100)], is_closed=True)
        space.add_linear_dim(base=(0, -50), p1=(0, 0), p2=(500, 0)).render()

    drawn = read_dxf(draw)
    (part,) = drawn.parts
    assert not part.openings and not part.holes
    told = " ".join(str(f) for f in drawn.findings if "left" in f.rule or "left out" in f.message)
    for word in ("text", "POINT", "HATCH", "DIMENSION"):
        assert word.lower() in told.lower(), word
    assert "keep dry" in told and "birch" in told
    assert "3 point" in told.lower() or "point: 3" in told.lower()


def test_a_text_on_a_part_names_it(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 400, 0, 700, 200)
        space.add_text("shelf", height=12).set_placement((50, 90))
        space.add_mtext("end frame", dxfattribs={"insert": (450, 100), "char_height": 12})

    by_name = {part.name: part.bounds()[0] for part in read_dxf(draw).parts}
    assert by_name == {"shelf": 0.0, "end frame": 400.0}


def test_a_text_beside_a_part_names_it(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200)
        box(space, 400, 0, 700, 200)
        space.add_text("shelf", height=12).set_placement((100, -16))
        space.add_text("end frame", height=12).set_placement((480, -16))

    by_name = {part.name: part.bounds()[0] for part in read_dxf(draw).parts}
    assert by_name == {"shelf": 0.0, "end frame": 400.0}


def test_an_svg_text_on_a_part_names_it(read_svg: ReadSvg) -> None:
    drawn = read_svg(
        '<rect x="10" y="10" width="80" height="60" fill="none" stroke="black"/>'
        '<text x="30" y="40" font-size="6">shelf</text>'
    )
    assert [part.name for part in drawn.parts] == ["shelf"]


@pytest.mark.parametrize("layer", ("POCKET 6MM", "pocket_6.0", "T-6", "depth6", "6"))
def test_a_number_in_a_layers_name_is_not_used_unasked(read_dxf: ReadDxf, layer: str) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200, "outline")
        box(space, 50, 50, 120, 120, layer)
        space.add_circle((200, 100), 5, dxfattribs={"layer": layer})

    drawn = read_dxf(draw)
    (part,) = drawn.parts
    assert not part.pockets
    assert all(hole.depth is None for hole in part.holes)


def test_a_rule_gives_the_depth(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200, "outline")
        box(space, 50, 50, 120, 120, "Pocket 6MM")
        space.add_circle((200, 100), 5, dxfattribs={"layer": "blind"})

    rules = (LayerRule("pocket*", "pocket", 4.5), LayerRule("BLIND", "hole", 10.0))
    (part,) = read_dxf(draw, rules=rules).parts
    assert [pocket.depth for pocket in part.pockets] == [4.5]
    assert [hole.depth for hole in part.holes] == [10.0]
    assert not part.openings


def test_a_pocket_may_run_off_the_edge(read_dxf: ReadDxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 300, 200, "outline")
        box(space, -10, 80, 60, 98, "groove")

    drawn = read_dxf(draw, rules=(LayerRule("groove", "pocket", 6.0),))
    (part,) = drawn.parts
    assert part.bounds() == pytest.approx((0, 0, 300, 200))
    (pocket,) = part.pockets
    assert exact_area(pocket.outline) == pytest.approx(70 * 18)
    assert not [f for f in drawn.findings if f.level == "error"]


FRAME = '<path d="M0 0H200V100H0Z" fill="none" stroke="black"/>'


def svg_holes(drawn: Drawn) -> list[tuple[float, float, float]]:
    (part,) = drawn.parts
    return sorted((round(h.centre[0], 6), round(h.centre[1], 6), round(h.diameter, 6)) for h in part.holes)


@pytest.mark.parametrize(
    "hidden",
    (
        '<circle cx="50" cy="50" r="5" display="none" stroke="black" fill="none"/>',
        '<circle cx="50" cy="50" r="5" style="display:none;stroke:black;fill:none"/>',
        '<g display="none"><g><circle cx="50" cy="50" r="5" stroke="black" fill="none"/></g></g>',
        '<g style="display: none"><circle cx="50" cy="50" r="5" stroke="black" fill="none"/></g>',
        '<defs><circle cx="50" cy="50" r="5" stroke="black" fill="none"/></defs>',
        '<symbol><circle cx="50" cy="50" r="5" stroke="black" fill="none"/></symbol>',
        '<clipPath id="c"><circle cx="50" cy="50" r="5"/></clipPath>',
        '<style>.off{display:none}</style><circle class="off" cx="50" cy="50" r="5" stroke="black"/>',
    ),
)
def test_what_svg_does_not_show_is_not_cut(read_svg: ReadSvg, hidden: str) -> None:
    drawn = read_svg(FRAME + hidden)
    (part,) = drawn.parts
    assert not part.holes and not part.openings


def test_svg_use_draws_again_where_it_says(read_svg: ReadSvg) -> None:
    body = (
        '<defs><g id="bore"><circle cx="10" cy="10" r="4" fill="none" stroke="black"/></g></defs>'
        '<use href="#bore"/><use xlink:href="#bore" x="30" y="20"/>'
        '<use href="#bore" transform="translate(100 40) scale(2)"/>'
    )
    expected = [(10.0, 90.0, 8.0), (40.0, 70.0, 8.0), (120.0, 40.0, 16.0)]
    assert svg_holes(read_svg(FRAME + body)) == expected


# A circle at (30, 50) from the page's upper left corner, the page 100 high; worked by hand from the matrices
# of SVG 2, section 8.5; y here runs up again.
@pytest.mark.parametrize(
    ("transform", "x", "y", "diameter"),
    (
        ("translate(20)", 50, 50, 8),
        ("translate(20,10)", 50, 40, 8),
        ("scale(2)", 60, 0, 16),
        ("rotate(90 30 30)", 10, 70, 8),
        ("rotate(90 100 50)", 100, 120, 8),
        ("matrix(0 1 -1 0 100 20)", 50, 50, 8),
        ("translate(10 10) rotate(-90) translate(-60,20)", 80, 60, 8),
        ("scale(-1 1) translate(-100 0)", 70, 50, 8),
    ),
)
def test_svg_transforms(read_svg: ReadSvg, transform: str, x: float, y: float, diameter: float) -> None:
    body = f'<g transform="{transform}"><circle cx="30" cy="50" r="4" fill="none" stroke="black"/></g>'
    frame = '<rect x="-100" y="-100" width="400" height="400" fill="none" stroke="black"/>'
    assert svg_holes(read_svg(frame + body)) == [(x, y, diameter)]


def test_all_svg_shapes(read_svg: ReadSvg) -> None:
    style = 'fill="none" stroke="black"'
    body = f"""<g {style}>
      <rect x="5" y="5" width="30" height="20"/>
      <rect x="45" y="5" width="30" height="20" rx="4"/>
      <circle cx="100" cy="15" r="8"/>
      <ellipse cx="150" cy="15" rx="20" ry="8"/>
      <polygon points="5,40 35,40 20,60"/>
      <polyline points="45,40 75,40 75,60 45,60 45,40"/>
      <line x1="90" y1="40" x2="120" y2="40"/><line x1="120" y1="40" x2="105" y2="60"/>
      <line x1="105" y1="60" x2="90" y2="40"/>
      <path d="m140 40 h20 v10 l-5 5 h-15 z"/>
      <path d="M5 80 a10 5 0 0 1 20 0 z"/>
      <path d="M45,70q10-10 20,0t20,0v20H45z"/>
    </g>"""
    drawn = read_svg(body)
    corner = 4 * 4 * (4 - math.pi)
    meant = [
        600.0,
        600.0 - corner,
        math.pi * 64,
        math.pi * 160,
        300.0,
        600.0,
        300.0,
        20 * 15 - 12.5,
        math.pi * 10 * 5 / 2,
        800.0,  # the wave's two halves cancel
    ]
    assert sorted(exact_area(part.outline) for part in drawn.parts) == pytest.approx(
        sorted(meant), abs=0.2
    )  # 2 um round 100 mm
