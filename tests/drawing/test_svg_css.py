"""Which style of an SVG element counts: attributes, rules by specificity, style attributes (CSS 2.1, 6.4)."""

from collections.abc import Callable
from pathlib import Path

import pytest

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.geometry.path import signed_area

Svg = Callable[..., Drawn]
PLATE = '<rect width="150" height="90" style="fill:none;stroke:#000"/>'


def rules(found: Drawn) -> list[str]:
    return [finding.rule for finding in found.findings]


@pytest.mark.parametrize(
    ("sheet", "element", "shown"),
    [  # a presentation attribute is weaker than any rule
        ("", 'style="stroke:none;fill:none"', False),
        ("", 'stroke="none" fill="none" style="stroke:red"', True),
        (".a{display:none}", 'class="b a"', False),
        (".a{display:none}", 'class="ab"', True),
        ("#x{display:none}", 'id="x"', False),
        ("circle{display:none}", "", False),
        ("circle.a{display:none}", 'class="a"', False),
        ("rect.a{display:none}", 'class="a"', True),
        (".a.b{display:none}", 'class="b a"', False),
        (".a.b{display:none}", 'class="a"', True),
        ("g circle{display:none}", "", False),
        ("svg > circle{display:none}", "", True),
        ("svg>g>circle{display:none}", "", False),
        (".outer .a, .none{display:none}", 'class="a"', False),
        (".a{display:none} #x{display:inline}", 'id="x" class="a"', True),
        ("#x{display:inline} .a{display:none}", 'id="x" class="a"', True),
        (".a{display:none} .b{display:inline}", 'class="a b"', True),
        (".a{display:none !important} #x{display:inline}", 'id="x" class="a"', False),
        (".a{display:none}", 'class="a" style="display:inline"', True),
        (".a{display:none!important}", 'class="a" style="display:inline"', False),
        ("/* .a{display:inline} */ .a{/**/display:none}", 'class="a"', False),
        ("@import url(x.css); .a{display:none}", 'class="a"', False),
        (".a{display:none}", 'class="a" display="inline"', False),
    ],
)
def test_a_circle_is_a_hole_only_where_it_is_shown(svg: Svg, sheet: str, element: str, shown: bool) -> None:
    circle = f'<circle cx="50" cy="50" r="5" {element}/>'
    found = svg(f'<style>{sheet}</style><g class="outer" fill="none" stroke="red">{circle}</g>' + PLATE)
    assert len(found.parts[0].holes) == shown


def test_a_transform_in_a_style_moves_the_shape(svg: Svg) -> None:
    """CSS Transforms 1, section 6: a style's transform counts before the attribute."""
    moved = 'style="fill:none;stroke:red;transform:translate(10px, 5px) scale(2)" transform="translate(999)"'
    (hole,) = svg(f'<circle cx="20" cy="20" r="5" {moved}/>{PLATE}').parts[0].holes
    assert (hole.centre, hole.diameter) == (pytest.approx((50, 55)), pytest.approx(20))


@pytest.mark.parametrize("selector", ["rect:hover", "[id=x]", "rect + circle", "@media print"])
def test_selectors_that_are_not_understood_are_told(svg: Svg, selector: str) -> None:
    body = "rect{display:none}" if selector.startswith("@") else "display:none"
    found = svg(f"<style>{selector}{{{body}}}</style>{PLATE}")
    (told,) = [f for f in found.findings if f.rule == "style-sheet"]
    assert selector in told.message and told.level == "warning"


def test_rules_without_meaning_here_are_not_told(svg: Svg) -> None:
    found = svg(f"<style>rect:hover{{cursor:pointer}} @font-face{{font-family:x}}</style>{PLATE}")
    assert "style-sheet" not in rules(found)


def test_clipped_elements_are_read_whole_and_told(svg: Svg) -> None:
    found = svg(f'<clipPath id="c"><rect width="9" height="9"/></clipPath><g clip-path="url(#c)">{PLATE}</g>')
    assert signed_area(found.parts[0].outline) == 13_500
    assert "clipped" in rules(found)


def test_short_entities_for_namespaces_are_read(tmp_path: Path) -> None:
    path = tmp_path / "d.svg"
    path.write_text(
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" ['
        '<!ENTITY ns_svg "http://www.w3.org/2000/svg">]>'
        f'<svg xmlns="&ns_svg;" width="200mm" height="100mm" viewBox="0 0 200 100">{PLATE}</svg>'
    )
    assert len(read(path).parts) == 1


@pytest.mark.parametrize(
    ("transform", "centre"),
    [
        ("matrix(1 0 0 1 10 20)", (30, 60)),
        ("matrix(1,0,0,1,10,20)", (30, 60)),
        ("translate(10)", (30, 80)),
        ("translate(10,20)", (30, 60)),
        (" translate(10 20) , scale(1) ", (30, 60)),
        ("scale(2)", (40, 60)),
        ("scale(2 3)", (40, 40)),
        ("rotate(90)translate(0,-100)", (80, 80)),
        ("rotate(180,30,30)", (40, 60)),
        ("rotate(180 30 30)", (40, 60)),
        ("translate(1e1,2.0E1)", (30, 60)),
        ("skewX(45)", (40, 80)),
        ("skewY(45)", (20, 60)),
        ("translate(-5,-.5)", (15, 80.5)),
    ],
)
def test_every_form_of_transform(svg: Svg, transform: str, centre: tuple[float, float]) -> None:
    """Worked by hand for the point (20, 20), measured from the top of a page 100 high (SVG 1.1, 7.6)."""
    shape = f'<rect x="19" y="19" width="2" height="2" fill="none" stroke="red" transform="{transform}"/>'
    found = svg(PLATE + shape)
    (opening,) = found.parts[0].openings
    xs, ys = zip(*(segment.start for segment in opening.segments), strict=True)
    assert ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2) == pytest.approx(centre)
