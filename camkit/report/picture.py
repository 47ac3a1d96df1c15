"""Drawings to scale: a sheet with its parts and paths, what was read from a drawing, and PNG of both."""

from __future__ import annotations

import struct
import zlib
from importlib.resources import as_file, files

from camkit.report.inspection_picture import inspection_svg
from camkit.report.sheet_picture import sheet_svg

__all__ = ["inspection_svg", "png", "sheet_svg"]

# 192 dots to the inch: a picture of an A4 page stays readable on a dense screen and below a megabyte.
_ZOOM = 2.0
# The PNG signature and the IHDR chunk: 8 + 25 bytes, always first (ISO/IEC 15948 sections 5.2 and 11.2.2).
_AFTER_HEADER = 33


def png(svg: str) -> bytes:
    """The picture as PNG on white ground; with the font shipped here its bytes are the same everywhere.

    Raises ValueError when `svg` is not a picture.
    """
    import resvg_py

    with as_file(files("camkit.report") / "fonts" / "DejaVuSans-subset.ttf") as font:
        picture = bytes(
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
    return picture[:_AFTER_HEADER] + _chunk(b"tEXt", b"Software\0camkit") + picture[_AFTER_HEADER:]


def _chunk(kind: bytes, content: bytes) -> bytes:
    """A chunk as ISO/IEC 15948 section 5.3 lays it out: length, type, data, CRC-32 of type and data."""
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
