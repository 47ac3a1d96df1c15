"""Drawings to scale: a sheet with its parts and paths, what was read from a drawing, and PNG of both."""

from __future__ import annotations

from importlib.resources import as_file, files

from camkit.report.inspection_picture import inspection_svg
from camkit.report.sheet_picture import sheet_svg

__all__ = ["inspection_svg", "png", "sheet_svg"]

# 192 dots to the inch: a picture of an A4 page stays readable on a dense screen and below a megabyte.
_ZOOM = 2.0


def png(svg: str) -> bytes:
    """The picture as PNG on white ground; with the font shipped here its bytes are the same everywhere.

    Raises ValueError when `svg` is not a picture.
    """
    import resvg_py

    with as_file(files("camkit.report") / "fonts" / "DejaVuSans-subset.ttf") as font:
        return bytes(
            resvg_py.svg_to_bytes(
                svg_string=svg,
                zoom=_ZOOM,
                dpi=96.0,  # CSS: one inch is 96 px; without it millimetres have no size
                background="#ffffff",
                skip_system_fonts=True,
                font_files=[str(font)],
                font_family="DejaVu Sans",
                sans_serif_family="DejaVu Sans",
            )
        )
