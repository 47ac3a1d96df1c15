"""The bytes of a DXF text file as ASCII: encodings told apart, other letters written as escapes."""

from __future__ import annotations

import codecs
import re

from ezdxf.lldxf.encoding import decode_mif_to_unicode
from ezdxf.tools.codepage import toencoding

from camkit.errors import Finding

__all__ = ["decoded", "is_utf16", "unescaped"]

_VERSION = re.compile(rb"\$ACADVER\s+1\s+(AC\d{4})")
_CODEPAGE = re.compile(rb"\$DWGCODEPAGE\s+3\s+(\S+)")
_FIRST_UTF8_VERSION = b"AC1021"  # from release 2007 on (DXF reference, HEADER, $DWGCODEPAGE)
_HEAD = 100_000
_BEYOND_ASCII = re.compile(r"[^\x00-\x7f]")
_ESCAPE = re.compile(r"\\U\+([0-9A-Fa-f]{4})")


def is_utf16(head: bytes) -> str | None:
    """The UTF-16 encoding of a text that begins so; None for other encodings."""
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    start = head[:64]
    if len(start) >= 8 and start[1::2].count(0) > len(start) // 4 and 0 not in start[:1]:
        return "utf-16-le"
    if len(start) >= 8 and start[::2].count(0) > len(start) // 4 and 0 not in start[1:2]:
        return "utf-16-be"
    return None


def decoded(raw: bytes, file: str, findings: list[Finding], *, known: str | None = None) -> bytes:
    """The text in ASCII with plain line ends; letters beyond ASCII become \\U+XXXX (DXF reference, MTEXT).

    The header's code page is believed unless the bytes say otherwise.
    """
    wide = is_utf16(raw[:64])
    if wide:
        raw = raw.decode(wide, "replace").encode("utf-8", "replace")
        known = "utf-8"
    raw = raw.removeprefix(codecs.BOM_UTF8).rstrip(b"\x00\x1a").lstrip()
    nulls = raw.count(0)
    if nulls:
        said = f"the file is damaged: {nulls} null bytes stand in its text and were left out"
        remedy = "Compare the picture with the drawing, or save the file again"
        findings.append(Finding("warning", "repaired-file", said, remedy, file=file))
        raw = raw.replace(b"\x00", b"")
    if b"\r" in raw:
        raw = raw.replace(b"\r\r\n", b"\n").replace(b"\r\n", b"\n")
        raw = raw.replace(b"\r", b" " if b"\n" in raw else b"\n")
    if raw.isascii():
        return raw
    return _BEYOND_ASCII.sub(_escaped, _as_text(raw, file, findings, known)).encode("ascii")


def unescaped(text: str) -> str:
    """The text with its escapes turned into letters; those of control characters stay as they are."""
    if "\\M+" in text:
        text = decode_mif_to_unicode(text)
    return _ESCAPE.sub(_letter, text) if "\\U+" in text else text


def _letter(match: re.Match[str]) -> str:
    letter = chr(int(match[1], 16))
    return letter if letter.isprintable() else match[0]


def _escaped(match: re.Match[str]) -> str:
    number = ord(match[0])
    return f"\\U+{number if number < 0x10000 else 0xFFFD:04X}"


def _as_text(raw: bytes, file: str, findings: list[Finding], known: str | None) -> str:
    if known:
        return raw.decode(known, "replace")
    version, codepage = _VERSION.search(raw, 0, _HEAD), _CODEPAGE.search(raw, 0, _HEAD)
    stated = toencoding(codepage[1].decode("ascii", "replace")) if codepage else "cp1252"
    newer = version is not None and version[1] >= _FIRST_UTF8_VERSION
    # Text that is UTF-8 by chance is rare; scripts that write UTF-8 under an older version are not.
    one_byte = stated.startswith("cp125") or stated in ("cp874", "latin1")
    for encoding in ("utf-8", stated) if newer or one_byte else (stated, "utf-8"):
        try:
            text = raw.decode(encoding)
        except (UnicodeDecodeError, LookupError):
            continue
        if newer and encoding != "utf-8":
            said = f"its texts are not in UTF-8, as they should be, and were read as {encoding}"
            remedy = "Look whether names of layers and parts are right"
            findings.append(Finding("note", "encoding", said, remedy, file=file))
        return text
    said = f"some letters of its texts do not exist in its encoding ({stated})"
    remedy = "Look whether names of layers and parts are right"
    findings.append(Finding("warning", "encoding", said, remedy, file=file))
    return raw.decode("cp1252", "replace")
