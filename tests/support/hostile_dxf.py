"""DXF files made to break a reader, each built in memory; sizes are chosen by the caller."""

from __future__ import annotations

import contextlib
import io
from collections.abc import Callable, Iterator

import ezdxf
from ezdxf.document import Drawing

__all__ = ["SQUARE", "binary", "entities", "new", "saved", "with_document"]

SQUARE = "0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n10\n0\n20\n0\n10\n90\n20\n0\n10\n90\n20\n60\n10\n0\n20\n60\n"


def entities(body: str, header: str = "", blocks: str = "") -> bytes:
    """A DXF of sections written by hand; a square of 90 x 60 comes after the body."""
    text = f"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n{header}0\nENDSEC\n"
    if blocks:
        text += f"0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n"
    return f"{text}0\nSECTION\n2\nENTITIES\n{body}{SQUARE}0\nENDSEC\n0\nEOF\n".encode()


@contextlib.contextmanager
def _no_clock() -> Iterator[None]:
    # The same drawing, the same bytes: the writer puts in the time and new identifiers otherwise.
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def new(version: str) -> Drawing:
    """An empty document of a release, in mm where it can say so."""
    with _no_clock():
        return ezdxf.new(version) if version == "R12" else ezdxf.new(version, units=4)


def saved(document: Drawing) -> bytes:
    """The document as text."""
    stream = io.StringIO()
    with _no_clock():
        document.write(stream)
    return stream.getvalue().encode(document.output_encoding, "dxfreplace")


def binary(document: Drawing) -> bytes:
    """The document as binary DXF."""
    stream = io.BytesIO()
    with _no_clock():
        document.write(stream, fmt="bin")
    return stream.getvalue()


def with_document(draw: Callable[[Drawing], object], version: str = "R2010") -> bytes:
    """A document of one release with the square and what `draw` adds."""
    document = new(version)
    document.modelspace().add_lwpolyline([(0, 0), (90, 0), (90, 60), (0, 60)], close=True)
    draw(document)
    return saved(document)
