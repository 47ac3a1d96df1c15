"""SVG shapes, transforms, references and page units; areas by closed formula, Y turned up."""

import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.errors import InputError
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, signed_area
from camkit.part import LayerRule

Svg = Callable[..., Drawn]
LINE = 'fill="none" stroke="black"'


def areas(found: Drawn) -> list[float]:
    return [signed_area(part.outline) for part in found.parts]


def test_the_page_is_turned_up_with_its_origin_lower_left(svg: Svg) -> None:
    found = svg(f'<rect x="10" y="5" width="60" height="20" {LINE}/>')
    assert bounds(found.parts[0].outline) == pytest.approx((10, 75, 70, 95))
    assert (found.unit, found.unit_from) == ("mm", "header")


@pytest.mark.parametrize(
    ("element", "area"),
    [
        ('<rect x="0" y="0" width="60" height="40"/>', 2400),
        ('<rect x="0" y="0" width="60" height="40" rx="5"/>', 2400 - (4 - math.pi) * 25),
        ('<rect x="0" y="0" width="60" height="40" ry="30"/>', 2400 - (4 - math.pi) * 600),
        ('<circle cx="30" cy="30" r="30"/>', math.pi * 900),
        ('<ellipse cx="50" cy="30" rx="40" ry="20"/>', math.pi * 800),
        ('<polygon points="0,0 60,0 60 30"/>', 900),
        ('<polyline points="0,0 60,0 60,30 0,0"/>', 900),
        ('<path d="M0,0h60v40h-60z"/>', 2400),
        ('<path d="m 10 10 l 60 0 l 0 40 l -60 0 l 0 -40"/>', 2400),
        ('<path d="M20,0 A20,20 0 0 1 60,0 L60,50 20,50Z"/>', 2000 + math.pi * 200),
        ('<path d="M20,20 a20,20 0 1 0 40,0 a20,20 0 1 0 -40,0z"/>', math.pi * 400),
        ('<path d="M0,0 q30,60 60,0z"/>', 2 / 3 * 60 * 30),  # Archimedes: two thirds of its box
        ('<path d="M0,0 Q30,60 60,0 T120,0 V-40H0z"/>', 120 * 40),  # the two bows cancel out
        ('<path d="M0,0 c0,30 60,30 60,0z"/>', 3 / 5 * 60 * 30),  # by the area integral of a cubic
        ('<path d="M0,0 C0,30 60,30 60,0 S120,-30 120,0 V-60H0z"/>', 120 * 60),
    ],
)
def test_every_shape_has_its_area(svg: Svg, element: str, area: float) -> None:
    shape = element.replace("/>", f' {LINE} transform="translate(20,70)"/>')
    assert areas(svg(shape)) == pytest.approx([area], rel=3e-4)


def test_circles_and_round_arcs_stay_true_under_turns_and_mirrors(svg: Svg) -> None:
    found = svg(
        f'<g transform="translate(120 50) rotate(37) scale(-2 2)" {LINE}>'
        '<path d="M0,0 A15 15 0 0 1 30 0 V20 H0 Z"/><circle cx="15" cy="10" r="3"/></g>'
    )
    (part,) = found.parts
    assert signed_area(part.outline) == pytest.approx(4 * (600 + math.pi * 225 / 2), rel=1e-12)
    assert [s.radius for s in part.outline.segments if isinstance(s, Arc)] == pytest.approx([30])
    assert part.holes[0].diameter == pytest.approx(12)


def test_a_skewed_circle_keeps_its_area(svg: Svg) -> None:
    found = svg(f'<circle cx="30" cy="30" r="20" transform="translate(10,20) skewX(20)" {LINE}/>')
    assert areas(found) == pytest.approx([math.pi * 400], rel=3e-4)


def test_arcs_too_small_for_their_ends_are_enlarged(svg: Svg) -> None:
    """SVG 1.1, F.6.6: radii of 10 across a chord of 60 become 30."""
    found = svg(f'<path d="M20,50 A10,10 0 0 1 80,50 Z" {LINE}/>')
    assert areas(found) == pytest.approx([math.pi * 450])


def test_groups_references_and_symbols_are_resolved(svg: Svg) -> None:
    found = svg(
        f'<defs><rect id="r" width="20" height="10" {LINE}/><symbol id="s" viewBox="0 0 10 10">'
        f'<rect width="10" height="10" {LINE}/></symbol></defs>'
        '<use xlink:href="#r" x="5" y="5"/><use href="#r" transform="translate(50,5) scale(2)"/>'
        '<use href="#s" x="120" y="20" width="40" height="40"/>'
    )
    assert sorted(areas(found)) == pytest.approx([200, 800, 1600])
    assert bounds(found.parts[0].outline) == pytest.approx((120, 40, 160, 80))
    assert found.parts[0].source.entity.startswith("use in line 1, rect")


def test_a_nested_svg_has_its_own_view(svg: Svg) -> None:
    found = svg(
        '<svg x="100" y="0" width="50" height="100" viewBox="0 0 10 20">'
        f'<rect width="10" height="20" {LINE}/></svg>'
    )
    assert bounds(found.parts[0].outline) == pytest.approx((100, 0, 150, 100))


def test_what_is_not_shown_is_not_cut(svg: Svg) -> None:
    shown = f'<rect width="50" height="50" {LINE}/>'
    found = svg(
        "<style>.gone { display: none } #ghost { visibility: hidden }</style>"
        + shown
        + shown.replace("<rect", '<rect x="60" style="display:none"')
        + shown.replace("<rect", '<rect x="60" class="gone"')
        + f'<g display="none">{shown}</g>'
        + shown.replace("<rect", '<rect id="ghost" x="60"')
        + f'<clipPath id="c">{shown}</clipPath><marker>{shown}</marker><pattern>{shown}</pattern>'
    )
    assert areas(found) == [2500]
    assert any(f.message == "hidden elements left out: 4" for f in found.findings)


@pytest.mark.parametrize(
    ("head", "scale", "unit"),
    [
        ('width="200mm" height="100mm" viewBox="0 0 200 100"', 1.0, "mm"),
        ('width="20cm" height="10cm" viewBox="0 0 200 100"', 1.0, "cm"),
        ('width="10in" height="5in" viewBox="0 0 1000 500"', 0.254, "inch"),
        ('width="400mm" height="200mm" viewBox="0 0 200 100"', 2.0, "mm"),
        ('width="756" height="378"', 25.4 / 96, "px"),  # CSS 2.1, 4.3.2: 96 px to the inch
        ('width="756px" height="378px" viewBox="0 0 756 378"', 25.4 / 96, "px"),
        ('width="144pt" height="144pt" viewBox="0 0 200 200"', 0.254, "pt"),
    ],
)
def test_page_size_and_view_box_give_the_scale(svg: Svg, head: str, scale: float, unit: str) -> None:
    found = svg(f'<rect x="20" y="20" width="160" height="60" {LINE}/>', head)
    assert areas(found) == pytest.approx([160 * 60 * scale**2])
    assert (found.unit, found.unit_from) == (unit, "header")


def test_a_page_of_other_proportions_keeps_the_view_box_in_its_middle(svg: Svg) -> None:
    """The default xMidYMid meet (SVG 1.1, 7.8) takes the smaller scale, 100 mm for 100 units."""
    found = svg(
        f'<rect width="100" height="100" {LINE}/>', 'width="200mm" height="100mm" viewBox="0 0 100 100"'
    )
    assert bounds(found.parts[0].outline) == pytest.approx((50, 0, 150, 100))


def test_given_unit_overrules_the_page(svg: Svg) -> None:
    found = svg(f'<rect width="10" height="10" {LINE}/>', unit="inch")
    assert areas(found) == pytest.approx([254**2])
    assert (found.unit, found.unit_from) == ("inch", "given")


def test_layers_are_groups_with_a_label(svg: Svg) -> None:
    found = svg(
        '<g xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:groupmode="layer" i:label="Pocket 6">'
        f'<g id="inner"><rect x="10" y="10" width="20" height="20" {LINE}/></g></g>'
        f'<g id="outline"><rect width="100" height="50" {LINE}/></g>',
        rules=(LayerRule("pocket*", "pocket", 6.0),),
    )
    (part,) = found.parts
    assert part.source.layer == "outline"
    assert [(pocket.depth, signed_area(pocket.outline)) for pocket in part.pockets] == [(6.0, 400)]


def test_artwork_without_a_line_is_left_out_and_said(svg: Svg) -> None:
    found = svg(f'<rect width="100" height="50" {LINE}/><circle cx="50" cy="25" r="10" fill="black"/>')
    assert found.parts[0].holes == ()
    (said,) = [f for f in found.findings if f.rule == "left-aside"]
    assert said.level == "warning"


def test_a_drawing_of_filled_shapes_is_cut(svg: Svg) -> None:
    found = svg('<rect width="100" height="50"/><circle cx="50" cy="25" r="10" fill="white"/>')
    assert [hole.diameter for hole in found.parts[0].holes] == [20]


def test_a_text_names_its_part(svg: Svg) -> None:
    found = svg(
        f'<rect width="60" height="50" {LINE}/><rect x="80" width="60" height="50" {LINE}/>'
        '<text x="20" y="20">left <tspan>end</tspan></text>'
        '<text x="90" y="20">one</text><text x="90" y="40">two</text>'
    )
    assert [part.name for part in found.parts] == ["left end", "part 2"]


def test_dxf_and_svg_of_one_part_agree(svg: Svg, tmp_path: Path) -> None:
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 0), (150, 0, 1), (150, 60, 0), (0, 60, 0)], format="xyb", close=True)
    space.add_circle((40, 30), 7)
    space.add_lwpolyline([(80, 20), (120, 20), (120, 40), (80, 40)], close=True)
    document.saveas(tmp_path / "part.dxf")
    (one,) = read(tmp_path / "part.dxf").parts
    (other,) = svg(
        f'<g {LINE}><path d="M0,100 H150 A30,30 0 0 0 150,40 H0 Z"/><circle cx="40" cy="70" r="7"/>'
        '<path d="M80,80h40v-20h-40z"/></g>'
    ).parts
    assert as_polygon(one.region()).symmetric_difference(as_polygon(other.region())).area < 1e-6
    assert one.holes == other.holes


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('<!DOCTYPE svg [<!ENTITY a "b"><!ENTITY c "&a;&a;">]><svg>&c;</svg>', "declares an ENTITY"),
        ('<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg>&x;</svg>', "declares an ENTITY"),
        ("<svg><g></svg>", "not well-formed XML"),
        ("<html></html>", "its root is <html>"),
        (f"<svg>{'<g>' * 500}{'</g>' * 500}</svg>", "nested deeper than 200"),
        ('<svg width="0mm" height="5mm"/>', "page size cannot be read"),
        ('<svg viewBox="0 0 a b"/>', "page size cannot be read"),
        ('<svg width="5mm" height="5mm" viewBox="0 0 0 5"/>', "page size cannot be read"),
        (
            '<svg><rect width="5" height="5" transform="turn(5)"/></svg>',
            "turn with 1 numbers is no transform",
        ),
        ('<svg><path stroke="red" d="M0 0 L1e300 0 L5 5z"/></svg>', "more than 10 km out"),
        ('<svg><path stroke="red" d="M0 0 L1e999 0 L5 5z"/></svg>', "is not a number"),
    ],
)
def test_files_that_cannot_be_trusted_are_refused(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "bad.svg"
    path.write_text(text)
    with pytest.raises(InputError, match=message):
        read(path)


@pytest.mark.parametrize(
    ("element", "message"),
    [
        ('<path d="M0,0 L10,oops 5"/>', 'holds "o"'),
        ('<path d="L10,10"/>', "must start with a moveto"),
        ('<path d="M0,0 L10"/>', "ends in the middle"),
        ('<polygon points="0,0 5"/>', "odd number"),
        ('<rect width="50%" height="5"/>', "not in a unit"),
        ('<circle r="five"/>', "not a length"),
        ('<use href="#nowhere"/>', "not in this file"),
        ('<g id="me"><use href="#me"/></g>', "refers to itself"),
    ],
)
def test_elements_that_cannot_be_read_are_named(svg: Svg, element: str, message: str) -> None:
    found = svg(f'<rect width="50" height="50" {LINE}/>{element}')
    assert areas(found) == [2500]
    (said,) = [f for f in found.findings if f.rule == "unreadable-entity"]
    assert message in said.message and said.line == 1


def test_references_that_multiply_are_stopped(svg: Svg) -> None:
    ten = [10 * f'<use href="#g{k + 1}"/>' for k in range(9)]
    body = "".join(f'<g id="g{k}">{uses}</g>' for k, uses in enumerate(ten))
    with pytest.raises(InputError, match="more than 50000 <use>"):
        svg(f"<defs>{body}<rect id='g9' width='5' height='5'/></defs><use href='#g0'/>")
