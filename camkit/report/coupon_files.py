"""The door that writes a coupon: everything of a job, its drawing, and its sheet of paper."""

from __future__ import annotations

import pathlib

from camkit.drawing.drawn import Drawn
from camkit.drawing.write_dxf import dxf_text
from camkit.geometry.path import rectangle
from camkit.joinery.coupon import Coupon
from camkit.pipeline import Result
from camkit.report.coupon_page import coupon_html
from camkit.report.files import write
from camkit.report.names import COUPON_DRAWING, COUPON_PAGE

__all__ = ["drawn_coupon", "write_coupon"]


def drawn_coupon(piece: Coupon) -> Drawn:
    """The coupon as a drawing, the edge of its wood included."""
    edge = rectangle(0.0, 0.0, *piece.size)
    return Drawn(COUPON_DRAWING, "mm", "given", piece.parts, sheet_edge=edge)


def write_coupon(result: Result, piece: Coupon, folder: pathlib.Path) -> tuple[pathlib.Path, ...]:
    """Write what `write` writes of the result, and the coupon's drawing and page; raises as `write` does."""
    more = ((COUPON_DRAWING, dxf_text(drawn_coupon(piece))), (COUPON_PAGE, coupon_html(result, piece)))
    return write(result, folder, more)
