"""Properties that move, hide or clip what an SVG file draws, however they are written."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from camkit.drawing.drawn import Drawn
from camkit.errors import InputError
from camkit.geometry.measure import bounds

ReadSvg = Callable[..., Drawn]
FRAME = '<path d="M0 0H200V100H0Z" fill="none" stroke="black"/>'
RECT = '<rect x="0" y="0" width="50" height="40" fill="none" stroke="black"'


@pytest.mark.parametrize(
    "how",
    [
        'style="transform:translate(10px,10px)"',
        'style="transform: translate(10px, 10px)"',
        'style="transform: translateX(10px) translateY(10px)"',
        'style="transform: translate(60px, 50px) rotate(180deg)"',
        'transform="translate(10 10)"',
        'transform="translate(1 1)" style="transform: translate(10px, 10px)"',
        'style="transform: rotate(180deg); transform-origin: 30px 25px"',
        'transform="rotate(180)" transform-origin="30 25"',
        'style="transform: translate(10px, 50px) scaleY(-1)"',
        'style="transform: scale(-1, 1) translate(-60px, 10px); transform-origin: left top"',
    ],
)
def test_a_transform_counts_however_it_is_written(read_svg: ReadSvg, how: str) -> None:
    """SVG 2, 8.5: `transform` is a presentation attribute, so that a style counts before it."""
    (part,) = read_svg(f"{RECT} {how}/>").parts
    assert bounds(part.outline) == pytest.approx((10, 50, 60, 90))


@pytest.mark.parametrize(
    ("style", "message"),
    [
        ("transform: rotate(90deg); transform-origin: center", 'transform-origin "center" cannot be read'),
        ("transform: rotate(90deg); transform-origin: 50% 50%", 'transform-origin "50% 50%" cannot be read'),
        ("transform: rotate3d(1, 1, 1, 45deg)", "rotate3d|cannot be read"),
        ("rotate: 45deg", 'the property "rotate" of a style is not understood'),
        ("scale: 2", 'the property "scale" of a style is not understood'),
    ],
)
def test_what_moves_a_shape_and_is_not_understood_is_refused(
    read_svg: ReadSvg, style: str, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        read_svg(f'{RECT} style="{style}"/>')


@pytest.mark.parametrize(
    "how",
    [
        'opacity="0" stroke="black"',
        'style="opacity: 0%" stroke="black"',
        'fill="none" stroke="black" stroke-opacity="0"',
        'fill="black" fill-opacity="0.0"',
        'style="fill: transparent; stroke: rgba(0, 0, 0, 0)"',
        'fill="#00000000" stroke="rgb(0 0 0 / 0%)"',
        'class="unseen" stroke="black"',
    ],
)
def test_what_svg_paints_with_no_opacity_is_left_out_and_told(read_svg: ReadSvg, how: str) -> None:
    sheet = "<style>.unseen { opacity: 0 }</style>"
    drawn = read_svg(f'{sheet}{FRAME}<circle cx="50" cy="50" r="5" {how}/>')
    (part,) = drawn.parts
    assert part.holes == () and part.openings == ()
    (told,) = drawn.findings
    assert (told.rule, told.message) == ("left-out", "hidden elements left out: 1")


@pytest.mark.parametrize(
    "how",
    [
        'opacity="0.01" stroke="black"',
        'fill="transparent" stroke="rgb(0, 0, 0)"',
        'fill="none" stroke="#000000" stroke-opacity="1%"',
        'fill="none" stroke="rgba(255, 0, 0, 0.5)"',
        'fill="none" stroke="#f00"',
    ],
)
def test_what_is_hardly_seen_is_cut_all_the_same(read_svg: ReadSvg, how: str) -> None:
    drawn = read_svg(f'{FRAME}<circle cx="50" cy="50" r="5" {how}/>')
    assert len(drawn.parts[0].holes) == 1 and drawn.findings == ()


def test_opacity_hides_a_group_and_all_in_it_but_is_not_inherited(read_svg: ReadSvg) -> None:
    inner = '<circle cx="50" cy="50" r="5" stroke="black" opacity="1"/>'
    hidden = read_svg(f'{FRAME}<g opacity="0">{inner}</g>')
    assert hidden.parts[0].holes == () and hidden.findings
    assert len(read_svg(f'{FRAME}<g opacity="0.5">{inner}</g>').parts[0].holes) == 1


@pytest.mark.parametrize(
    "how", ['clip-path="url(#c)"', 'style="clip-path:url(#c)"', 'class="cut"', 'mask="url(#c)"']
)
def test_what_is_clipped_is_read_whole_and_told(read_svg: ReadSvg, how: str) -> None:
    drawn = read_svg(
        "<style>.cut { clip-path: url(#c) }</style>"
        '<clipPath id="c"><rect x="0" y="0" width="50" height="80"/></clipPath>'
        f'<g {how}><rect x="0" y="0" width="150" height="80" fill="none" stroke="black"/></g>'
    )
    assert bounds(drawn.parts[0].outline) == pytest.approx((0, 20, 150, 100))
    (told,) = drawn.findings
    assert (told.rule, told.message) == ("clipped", "elements that are clipped or masked, read whole: 1")
