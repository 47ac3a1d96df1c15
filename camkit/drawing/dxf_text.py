"""DXF files as plain ASCII text, before the slow loader sees them: decoded, counted, a torn end mended."""

from __future__ import annotations

import re
import struct
from collections import Counter
from dataclasses import dataclass

from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.tagger import binary_tags_loader

from camkit.drawing.dxf_codepage import decoded
from camkit.drawing.sketch import unreadable_file
from camkit.errors import Finding, InputError

__all__ = ["BINARY_MARK", "DxfText", "plain_text"]

BINARY_MARK = b"AutoCAD Binary DXF"
# As much as is read and joined within 10 s and 1 GiB on a slow machine (measured by tests/benchmarks/
# hostile_drawings.py); published cut drawings stay below a tenth of it.
_MOST_ENTITIES = 100_000
_MOST_TAGS = 800_000
_DRAWING = frozenset(
    b"3DFACE 3DSOLID ARC ATTRIB CIRCLE DIMENSION ELLIPSE HATCH INSERT LEADER LINE LWPOLYLINE MESH MLINE"
    b" MTEXT POINT POLYLINE RAY SOLID SPLINE TEXT TRACE VERTEX VIEWPORT WIPEOUT XLINE".split()
)
# A record begins with group code 0 and its name. No value is a letter's line after a line "0". The patterns
# begin with a line end, which finds them three times as fast; the text gets one in front.
_RECORD = re.compile(rb"\n[ \t]*0[ \t]*\n[ \t]*([A-Za-z0-9_]*[A-Za-z][A-Za-z0-9_]*)[ \t]*(?=\n|\Z)")
_SECTION = re.compile(rb"\n[ \t]*0[ \t]*\n[ \t]*SECTION[ \t]*\n[ \t]*2[ \t]*\n[ \t]*([A-Z]+)")
_SECTION_END = re.compile(rb"\n[ \t]*0[ \t]*\n[ \t]*ENDSEC[ \t]*(?=\n|\Z)")
_END = re.compile(rb"\n[ \t]*0[ \t]*\n[ \t]*EOF[ \t]*(?=\n|\Z)")


@dataclass(frozen=True, slots=True)
class DxfText:
    """Text with plain line ends; `counts` says how many records of each kind its ENTITIES hold.

    `orderly` is False when sections repeat, which the strict loader would silently let go.
    """

    text: bytes
    counts: Counter[str]
    orderly: bool
    findings: tuple[Finding, ...]


def plain_text(raw: bytes, file: str) -> DxfText:
    """The content of a DXF file, text or binary, as text; raises InputError when it is too much to read."""
    findings: list[Finding] = []
    text = _from_binary(raw, file, findings) if raw.startswith(BINARY_MARK) else decoded(raw, file, findings)
    text = b"\n" + text
    tags = text.count(b"\n") // 2
    records = _counted(text)
    drawing = sum(count for name, count in records.items() if name in _DRAWING)
    if drawing > _MOST_ENTITIES:
        raise _too_many(file, f"{drawing} entities", f"{_MOST_ENTITIES}")
    if tags > _MOST_TAGS:
        raise _too_many(file, f"{tags} values", f"{_MOST_TAGS}")
    ended = _ended(text, file, findings)
    if ended is not text:
        text, records = ended, _counted(ended)
    findings += _outside(text, file)
    names = [match[1] for match in _SECTION.finditer(text)]
    return DxfText(text[1:], _entities(text, records), len(names) == len(set(names)), tuple(findings))


def _outside(text: bytes, file: str) -> list[Finding]:
    """What stands between the sections: no loader looks there."""
    findings = []
    for end in _SECTION_END.finditer(text):
        first = following = _RECORD.search(text, end.end())
        count = 0
        while following and following[1].upper() not in (b"SECTION", b"EOF"):
            count += 1
            following = _RECORD.search(text, following.end())
        if first and count:
            kind = first[1].decode("ascii")
            said = f"records outside of any section are left out: {count}, the first a {kind}"
            line = text.count(b"\n", 0, first.start() + 1)
            remedy = "Save it again from the program that drew it"
            findings.append(Finding("error", "lost-entities", said, remedy, line=line, file=file))
    return findings


def _too_many(file: str, met: str, most: str) -> InputError:
    remedy = "Delete what is not to be cut, draw curves as arcs, or split the drawing"
    return InputError(
        Finding("error", "too-many-entities", f"it holds {met}; up to {most} are read", remedy, file=file)
    )


def _counted(text: bytes, begin: int = 0, end: int | None = None) -> Counter[bytes]:
    counts: Counter[bytes] = Counter()
    for name, count in Counter(_RECORD.findall(text, begin, len(text) if end is None else end)).items():
        counts[name.upper()] += count
    return counts


def _entities(text: bytes, records: Counter[bytes]) -> Counter[str]:
    """The records of the ENTITIES: all but those outside, which are few."""
    inside = records.copy()
    begin = 0
    for match in _SECTION.finditer(text):
        if match[1] == b"ENTITIES":
            end = _SECTION_END.search(text, match.end())
            inside -= _counted(text, begin, match.end())
            begin = end.start() if end else len(text)
    inside -= _counted(text, begin)
    return Counter({name.decode("ascii"): count for name, count in inside.items()})


def _from_binary(raw: bytes, file: str, findings: list[Finding]) -> bytes:
    """A binary DXF (DXF reference, appendix on binary files) as text, as far as it can be followed."""
    lines: list[str] = []
    try:
        for code, value in binary_tags_loader(raw):
            lines += (str(code), value.hex().upper() if isinstance(value, bytes) else str(value))
            if len(lines) > 2 * _MOST_TAGS:
                raise _too_many(file, f"more than {_MOST_TAGS} values", f"{_MOST_TAGS}")
            if code == 0 and value == "EOF":
                break
    except (DXFError, LookupError, ValueError, struct.error) as fault:
        if len(lines) < 4:
            raise unreadable_file(
                file, "the DXF file is damaged and cannot be read (its binary values make no sense)"
            ) from fault
    clean = (line.replace("\n", " ").replace("\r", " ") for line in lines)
    return decoded(("\n".join(clean) + "\n").encode("utf-8", "replace"), file, findings, known="utf-8")


def _ended(text: bytes, file: str, findings: list[Finding]) -> bytes:
    """The text with its end mark; what was torn in two at its end is taken out whole."""
    end = _END.search(text)
    if end:
        rest = b"\n" + text[end.end() :].strip(b"\n \t\x1a")
        if _RECORD.search(rest):
            said = f"{len(_RECORD.findall(rest))} records stand after its end mark (EOF) and are left out"
            remedy = "Save it again from the program that drew it"
            findings.append(Finding("warning", "after-the-end", said, remedy, file=file))
        ended = len(rest) == 1 and text.endswith(b"\n")
        return text if ended else text[: end.end()] + b"\n"
    records = list(_RECORD.finditer(text))
    if not records:
        return text
    last = records[-1]
    if last[1].upper() == b"ENDSEC":
        said = "the file has no end mark (EOF); its sections are whole"
        findings.append(Finding("note", "cut-off-file", said, file=file))
        return text[: last.end()] + b"\n0\nEOF\n"
    index = len(records) - 1
    while index and records[index][1].upper() in (b"VERTEX", b"ATTRIB", b"SEQEND"):
        index -= 1  # what belongs to a polyline or an insert goes with it
    if not any(match[1] == b"ENTITIES" for match in _SECTION.finditer(text, 0, records[index].start() + 1)):
        raise unreadable_file(file, "the file breaks off before its ENTITIES", "Save or copy it again")
    torn = records[index][1].decode("ascii")
    whole = any(
        match[1] == b"ENTITIES" and _SECTION_END.search(text, match.end())
        for match in _SECTION.finditer(text)
    )
    findings.append(
        Finding(
            "warning" if whole else "error",
            "cut-off-file",
            f"the file breaks off in its last {torn}, without an end mark (EOF); that and all that came after"
            " is missing" + (", but its ENTITIES are whole" if whole else ""),
            "Save or copy it again",
            line=text.count(b"\n", 0, records[index].start() + 1),
            file=file,
        )
    )
    return text[: records[index].start()] + _closing(records[:index])


def _closing(records: list[re.Match[bytes]]) -> bytes:
    """The marks that close whatever a torn text left open."""
    opened = {b"SECTION": b"ENDSEC", b"BLOCK": b"ENDBLK", b"TABLE": b"ENDTAB"}
    closing = b""
    awaited: list[bytes] = []
    for record in records:
        name = record[1].upper()
        if name in opened:
            awaited.append(opened[name])
        elif awaited and name == awaited[-1]:
            awaited.pop()
    for mark in reversed(awaited):
        closing += b"\n0\n" + mark
    return closing + b"\n0\nEOF\n"
