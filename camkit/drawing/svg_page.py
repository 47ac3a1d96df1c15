"""The page of an SVG file: its size, what one user unit of its view box is, and the unit that it states."""

from __future__ import annotations

from dataclasses import dataclass

from camkit.drawing.sketch import StatedUnit
from camkit.drawing.svg_tree import Node
from camkit.drawing.svg_values import (
    IDENTITY,
    PX_PER_UNIT,
    Matrix,
    combined,
    numbers,
    split_length,
    view_matrix,
)
from camkit.geometry.path import Point

__all__ = ["Page", "page_of"]

_MM_PER_PX = 25.4 / 96
_UNIT_NAMES = {"in": "inch", "": "px", "q": "quarter mm", "pt": "pt", "pc": "pc"}
# Pages are written with rounded sizes; scales along and across that differ more were meant to.
_SAME_SCALE = 0.002


@dataclass(frozen=True, slots=True)
class Page:
    """`size` in user units, None where the file has none; `to_page` leads there, Y up."""

    stated: StatedUnit | None
    size: Point | None
    to_page: Matrix


def page_of(root: Node) -> Page:
    """The page by width, height and viewBox of the root (SVG 1.1, 7.2, 7.7 and 7.8); raises ValueError.

    Width and height as percentages are of whatever window shows the file, and count as absent. Without a
    viewBox one user unit is one px, whatever unit width and height are in.
    """
    width, height = _size(root, "width"), _size(root, "height")
    box = numbers(root.attributes["viewBox"]) if "viewBox" in root.attributes else None
    if box is not None and (len(box) != 4 or box[2] <= 0 or box[3] <= 0):
        raise ValueError(f'viewBox="{root.attributes["viewBox"]}"')
    size_px = [value * PX_PER_UNIT[unit] for value, unit in (s for s in (width, height) if s)]
    to_page, scale_px, size, uneven = IDENTITY, 1.0, None, ""
    if box is not None:
        size = (box[2], box[3])
        if width and height:
            aspect = root.attributes.get("preserveAspectRatio", "xMidYMid")
            a, b, c, d, e, f = view_matrix(box, (size_px[0], size_px[1]), aspect)
            scale_px = a
            size = (size_px[0] / a, size_px[1] / a)
            to_page = (1.0, b / a, c / a, d / a, e / a, f / a)
            uneven = _uneven(size_px[0] / box[2], size_px[1] / box[3], stretched=abs(d / a - 1) > 1e-9)
        else:
            if size_px:
                scale_px = size_px[0] / (box[2] if width else box[3])
            to_page = (1.0, 0.0, 0.0, 1.0, -box[0], -box[1])
    elif width and height:
        size = (size_px[0], size_px[1])
    upside = (1.0, 0.0, 0.0, -1.0, 0.0, size[1] if size else 0.0)
    named = width or height
    stated = None
    if named:
        stated = _stated(named[1], scale_px, "width and viewBox" if box else "width and height", uneven)
        if box is None and stated.name != "px":
            stated = _stated("px", 1.0, f"width or height in {stated.name}, but no viewBox", uneven)
    return Page(stated, size, combined(upside, to_page))


def _size(root: Node, name: str) -> tuple[float, str] | None:
    text = root.attributes.get(name, "")
    if not text.strip() or text.strip() == "auto":
        return None
    value, unit = split_length(text)
    if unit not in PX_PER_UNIT:
        return None
    if value <= 0:
        raise ValueError(f'{name}="{text}"')
    return value, unit


def _stated(unit: str, scale_px: float, where: str, uneven: str) -> StatedUnit:
    name = _UNIT_NAMES.get(unit, unit)
    # Who draws in px sees the numbers of the view box, who draws in mm sees those of the page.
    factor = 1.0 if name == "px" else scale_px / PX_PER_UNIT[unit]
    return StatedUnit(name, scale_px * _MM_PER_PX, where, factor, uneven)


def _uneven(along_px: float, across_px: float, *, stretched: bool) -> str:
    if abs(along_px / across_px - 1) <= _SAME_SCALE:
        return ""
    along, across = along_px * _MM_PER_PX, across_px * _MM_PER_PX
    said = f"by its width one unit of the viewBox is {along:.5g} mm, by its height {across:.5g} mm"
    return f"{said}; it was {'stretched' if stretched else 'read in one scale'}, as preserveAspectRatio says"
