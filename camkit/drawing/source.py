"""The bytes of a drawing file and what kind of file they are, told by content and within a size."""

from __future__ import annotations

import pathlib
import re
import zlib
from typing import Literal

from camkit.drawing.dxf_codepage import is_utf16
from camkit.drawing.sketch import unreadable_file
from camkit.errors import InputError

__all__ = ["Kind", "read_source"]

Kind = Literal["dxf", "svg"]

# Published cut drawings stay below 1 MB; this much text is read within 10 s and 1 GiB on a slow machine.
_LARGEST = 64 << 20
_GZIP = b"\x1f\x8b"
_BINARY_DXF = b"AutoCAD Binary DXF"
_DXF_START = re.compile(rb"\A(?:\xef\xbb\xbf)?\s*(?:0+|999)[ \t]*[\r\n]")
_XML_START = re.compile(rb"\A(?:\xef\xbb\xbf|\xff\xfe|\xfe\xff)?[\s\x00]*<")
_OTHERS = (
    (re.compile(rb"AC10\d\d"), "this is a DWG file, which cannot be read", "Save it as DXF"),
    (re.compile(rb"PK\x03\x04"), "this is a ZIP archive, not a drawing", "Unpack it and name the drawing"),
)


def read_source(path: pathlib.Path, file: str) -> tuple[Kind, bytes]:
    """Kind and content of a drawing file; one compressed by gzip is unpacked.

    Raises InputError when it cannot be opened, is larger than 64 MB, or is no drawing by its content.
    """
    raw = _content(path, file)
    if raw.startswith(_GZIP):
        raw = _unpacked(raw, file)
    head = raw[:4096]
    if not head.strip(b"\x00 \t\r\n"):
        raise unreadable_file(file, "the file is empty", "Save the drawing again")
    plain = head
    wide = is_utf16(head)
    if wide:
        plain = head.decode(wide, "replace").encode("utf-8", "replace").removeprefix(b"\xef\xbb\xbf")
    if head.startswith(_BINARY_DXF) or _DXF_START.match(plain):
        return "dxf", raw
    if _XML_START.match(head):
        return "svg", raw
    for pattern, said, remedy in _OTHERS:
        if pattern.match(head):
            raise unreadable_file(file, said, remedy)
    said = "this is neither a DXF nor an SVG file by its content"
    raise unreadable_file(file, said, "Save the drawing as DXF or SVG")


def _content(path: pathlib.Path, file: str) -> bytes:
    try:
        if path.is_dir():
            raise unreadable_file(file, "this is a folder, not a drawing", "Name the file in it")
        if path.exists() and not path.is_file():  # a pipe would be waited for, a device has no end
            raise unreadable_file(file, "this is not a plain file", "Name a drawing file")
        size = path.stat().st_size
        if size > _LARGEST:
            raise _too_large(file, f"the file has {size / 1e6:.0f} MB")
        return path.read_bytes()
    except FileNotFoundError as fault:
        raise unreadable_file(file, "there is no such file", "Check its name and folder") from fault
    except (OSError, ValueError) as fault:
        said = f"the file cannot be opened ({fault})"
        raise unreadable_file(file, said, "Check the rights to read it") from fault


def _unpacked(raw: bytes, file: str) -> bytes:
    unpacker = zlib.decompressobj(wbits=31)
    try:
        content = unpacker.decompress(raw, _LARGEST + 1)
    except zlib.error as fault:
        said = "the file is compressed (gzip) and damaged"
        raise unreadable_file(file, said, "Save it again, uncompressed") from fault
    if len(content) > _LARGEST:
        raise _too_large(file, f"the compressed file holds more than {_LARGEST / 1e6:.0f} MB")
    if not unpacker.eof:
        said = "the file is compressed (gzip) and breaks off"
        raise unreadable_file(file, said, "Save or copy it again, uncompressed")
    return content


def _too_large(file: str, said: str) -> InputError:
    remedy = "Delete what is not to be cut, or split the drawing"
    return unreadable_file(file, f"{said}; up to {_LARGEST / 1e6:.0f} MB are read", remedy, rule="too-large")
