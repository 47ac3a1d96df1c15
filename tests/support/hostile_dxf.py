"""DXF files made to break a reader, each built in memory; sizes are chosen by the caller."""

from __future__ import annotations

import io
from collections.abc import Callable

import ezdxf
from ezdxf.document import Drawing

__all__ = ["SQUARE", "binary", "entities", "saved", "with_document"]

SQUARE = "0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n10\n0\n20\n0\n10\n90\n20\n0\n10\n90\n20\n60\n10\n0\n20\n60\n"


def entities(body: str, header: str = "", blocks: str = "") -> bytes:
    """A DXF of sections written by hand; a square of 90 x 60 comes after the body."""
    text = f"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n{header}0\nENDSEC\n"
    if blocks:
        text += f"0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n"
    return f"{text}0\nSECTION\n2\nENTITIES\n{body}{SQUARE}0\nENDSEC\n0\nEOF\n".encode()


def saved(document: Drawing) -> bytes:
    """The document as text."""
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode(document.output_encoding, "dxfreplace")


def binary(document: Drawing) -> bytes:
    """The document as binary DXF."""
    stream = io.BytesIO()
    document.write(stream, fmt="bin")
    return stream.getvalue()


def with_document(draw: Callable[[Drawing], object], version: str = "R2010") -> bytes:
    """A document of one release with the square and what `draw` adds."""
    document = ezdxf.new(version, units=4)
    document.modelspace().add_lwpolyline([(0, 0), (90, 0), (90, 60), (0, 60)], close=True)
    draw(document)
    return saved(document)
