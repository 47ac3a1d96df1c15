"""The coupon for its printed sheet: black on white, every slot and hole named by its mark."""

from __future__ import annotations

from collections.abc import Iterator

from camkit.geometry.measure import bounds
from camkit.geometry.path import circle
from camkit.joinery.coupon import Coupon
from camkit.joinery.coupon_marks import step_text
from camkit.joinery.coupon_pieces import Bore, Slot
from camkit.part import Part
from camkit.report.svg import FONT, lettering, number, path_data

__all__ = ["coupon_svg"]

_INK = "#000000"
_MARKED = "#c4c4c4"
# Room on the paper, in mm, and the size of letters there.
_WIDE, _HIGH = 186.0, 88.0
_LETTER = 2.5
# Beside the wood, for the arrows of the axes.
_MARGIN = 6.0
# And for half a line on the other sides.
_HAIR = 0.5


def coupon_svg(piece: Coupon) -> str:
    """The coupon to fit the width of a printed page, with its axes, as an SVG text; lengths in mm."""
    wide, high = piece.size
    mm = max(
        wide / (_WIDE - _MARGIN - _HAIR), high / (_HIGH - _MARGIN - _HAIR)
    )  # of the workpiece on one mm of paper
    page = (wide / mm + _MARGIN + _HAIR, high / mm + _MARGIN + _HAIR)
    left, bottom = _MARGIN * mm, high + _HAIR * mm
    thin = f'stroke="{_INK}" stroke-width="{number(0.18 * mm)}" '
    thin += f'stroke-dasharray="{number(2 * mm)} {number(mm)}"'
    body = [
        f'<g transform="translate({number(left)} {number(bottom)}) scale(1 -1)">',
        f'<rect width="{number(wide)}" height="{number(high)}" fill="none" {thin}/>',
        *(line for part in piece.parts for line in _part(part, mm)),
        "</g>",
        *(_slot(slot, piece, left, bottom, mm) for slot in piece.slots),
        *(_bore(bore, left, bottom, mm) for bore in piece.bores),
        *_names(piece, left, bottom, mm),
        *_axes(left, bottom, mm),
    ]
    box = f"0 0 {number(page[0] * mm)} {number(page[1] * mm)}"
    root = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" '
        f'width="{number(page[0])}mm" height="{number(page[1])}mm" font-family="{FONT}, sans-serif" '
        'role="img" aria-label="The coupon from above: slots and their marks">'
    )
    return "\n".join((root, *body, "</svg>"))


def _part(part: Part, mm: float) -> Iterator[str]:
    marks = [p.outline for p in part.pockets]
    marks += [circle(h.centre, h.diameter) for h in part.holes if h.depth is not None]
    through = [*part.openings, *(circle(h.centre, h.diameter) for h in part.holes if h.depth is None)]
    data = "".join(path_data(loop) for loop in marks)
    yield f'<path d="{data}" fill="{_MARKED}"/>' if data else ""
    data = "".join(path_data(loop) for loop in (part.outline, *through))
    yield f'<path d="{data}" fill="none" stroke="{_INK}" stroke-width="{number(0.35 * mm)}"/>'


def _slot(slot: Slot, piece: Coupon, left: float, bottom: float, mm: float) -> str:
    """The mark in figures: inside the slot, or in the wood beside it where the slot is narrow."""
    size, text = _LETTER * mm, step_text(slot.step)
    x, y = left + slot.x, bottom - slot.y
    aside = 0.0 if slot.width > 1.35 * size else slot.width / 2 + 0.9 * size
    if slot.axis == "Y":
        return lettering(x, y + aside + 0.36 * size, size, text, anchor="middle", fill=_INK)
    turn = f'transform="rotate(-90 {number(x + aside)} {number(y)})"'
    return lettering(x + aside, y + 0.36 * size, size, text, anchor="middle", fill=_INK, extra=turn)


def _bore(bore: Bore, left: float, bottom: float, mm: float) -> str:
    """The mark in figures on the side of the hole that its dots leave free."""
    size = 0.9 * _LETTER * mm
    text = "drilled" if bore.drilled else step_text(bore.step)[:-1]
    away = bore.diameter / 2 + 0.5 * size
    y = bottom - bore.y + (-away if bore.step < 0 else away + 0.72 * size)
    return lettering(left + bore.x, y, size, text, anchor="middle", fill=_INK)


def _names(piece: Coupon, left: float, bottom: float, mm: float) -> Iterator[str]:
    size = _LETTER * mm
    for part in piece.parts:
        x0, y0, x1, y1 = bounds(part.outline)
        middle = left + (x0 + x1) / 2
        if part.name == "tongue":
            yield lettering(middle, bottom - (y0 + y1) / 2 + 0.36 * size, size, part.name, anchor="middle")
        elif part.name == "block":
            for words, share in (("block", 0.8), ("50.00", 0.52)):
                at = bottom - y0 - share * (y1 - y0) + 0.36 * size
                yield lettering(middle, at, size, words, anchor="middle")


def _axes(left: float, bottom: float, mm: float) -> Iterator[str]:
    """Arrows along X and Y outside the wood's lower left corner."""
    long, tip, size = 16 * mm, 1.2 * mm, _LETTER * mm
    half = 0.6 * tip
    x, y = left, bottom + 0.55 * _MARGIN * mm
    u, v = left - 0.55 * _MARGIN * mm, bottom
    along_x = f"M{number(x)} {number(y)}h{number(long)}m{number(-tip)} {number(-half)}"
    along_x += f"l{number(tip)} {number(half)}l{number(-tip)} {number(half)}"
    along_y = f"M{number(u)} {number(v)}v{number(-long)}m{number(-half)} {number(tip)}"
    along_y += f"l{number(half)} {number(-tip)}l{number(half)} {number(tip)}"
    thick = number(0.3 * mm)
    yield f'<path d="{along_x}{along_y}" fill="none" stroke="{_INK}" stroke-width="{thick}"/>'
    yield lettering(x + long + 0.6 * size, y + 0.36 * size, size, "X", fill=_INK)
    yield lettering(u, v - long - 0.5 * size, size, "Y", anchor="middle", fill=_INK)
