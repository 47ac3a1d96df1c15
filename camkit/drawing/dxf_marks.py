"""Entities written without the subclass marks that their kind needs, as many short scripts do."""

from __future__ import annotations

import re
from collections import Counter

__all__ = ["with_marks"]

# Kinds that no release before the subclass marks knew, with their marks (DXF reference, ENTITIES).
_MARKS: dict[bytes, bytes] = {
    b"ELLIPSE": b"AcDbEllipse",
    b"HATCH": b"AcDbHatch",
    b"LWPOLYLINE": b"AcDbPolyline",
    b"MTEXT": b"AcDbMText",
    b"SPLINE": b"AcDbSpline",
}
# Group codes that stand for the same in every entity (DXF reference, common group codes).
_COMMON = frozenset(
    str(code).encode() for code in (5, 6, 8, 48, 60, 62, 67, 102, 284, 330, 360, 370, 410, 420, 430, 440)
)
_BEGIN = re.compile(
    rb"\n[ \t]*0[ \t]*\n[ \t]*(ELLIPSE|HATCH|LWPOLYLINE|MTEXT|SPLINE)[ \t]*\n(.*?)"
    rb"(?=\n[ \t]*0[ \t]*\n[ \t]*[A-Z])",
    re.DOTALL,
)
_VERSION = re.compile(rb"(\n[ \t]*\$ACADVER[ \t]*\n[ \t]*1[ \t]*\n)[ \t]*(AC\d{4})")
_HEADER = re.compile(rb"\A[ \t]*0[ \t]*\n[ \t]*SECTION[ \t]*\n[ \t]*2[ \t]*\n[ \t]*HEADER[ \t]*\n")
_FIRST_WITH_MARKS = b"AC1012"
_RELEASE_2000 = b"AC1015"
_MARK = re.compile(rb"(?:\A|\n)[ \t]*100[ \t]*\n[ \t]*AcDb")


def with_marks(text: bytes) -> tuple[bytes, Counter[str]]:
    """The text with marks where a whole entity has none, and how many entities of each kind got them.

    Where entities have marks the header must not say release 12 or nothing: the loader would then look for
    their layer and flags in front of the marks only.
    """
    mended: Counter[str] = Counter()

    def marked(match: re.Match[bytes]) -> bytes:
        kind, body = match[1], match[2]
        lines = body.split(b"\n")
        if _MARK.search(body) or len(lines) % 2:
            return match[0]
        mended[kind.decode("ascii")] += 1
        common, own = [b"0", kind, b"100", b"AcDbEntity"], [b"100", _MARKS[kind]]
        for code, value in zip(lines[::2], lines[1::2], strict=True):
            (common if code.strip() in _COMMON else own).extend((code, value))
        return b"\n" + b"\n".join((*common, *own))

    text = _BEGIN.sub(marked, text)
    return _newer(text) if _MARK.search(text) else text, mended


def _newer(text: bytes) -> bytes:
    stated = _VERSION.search(text)
    if stated:
        older = stated[2] < _FIRST_WITH_MARKS
        return text[: stated.start(2)] + _RELEASE_2000 + text[stated.end(2) :] if older else text
    variable = b"9\n$ACADVER\n1\n" + _RELEASE_2000 + b"\n"
    header = _HEADER.search(text)
    if header:
        return text[: header.end()] + variable + text[header.end() :]
    return b"0\nSECTION\n2\nHEADER\n" + variable + b"0\nENDSEC\n" + text
