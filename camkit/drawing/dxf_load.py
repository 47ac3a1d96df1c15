"""DXF text loaded as a document; what the loader repaired or let go is told in plain words."""

from __future__ import annotations

import io
import logging
import re
from collections import Counter
from typing import Any

from ezdxf import recover
from ezdxf.audit import AuditError
from ezdxf.filemanagement import read
from ezdxf.lldxf.const import DXFError, DXFStructureError

from camkit.drawing.dxf_codepage import unescaped
from camkit.drawing.dxf_marks import with_marks
from camkit.drawing.dxf_text import DxfText
from camkit.drawing.sketch import shortened, unreadable_file
from camkit.errors import Finding

__all__ = ["load"]

# The loader logs what it repairs; that is told as findings, not printed beside them.
_LOG = logging.getLogger("ezdxf")
_LOG.addHandler(logging.NullHandler())
_TOLD_ONE_BY_ONE = 5
_COMPARE = "Compare the picture with the drawing, or save the file again"

# What a repair means to the maker. Kinds that are not named here change nothing that is drawn.
_WORDS: dict[int, str] = {
    AuditError.MISSING_SECTION_TAG: "missing section marks",
    AuditError.MISSING_SECTION_NAME_TAG: "sections without a name",
    AuditError.MISSING_ENDSEC_TAG: "missing section ends",
    AuditError.FOUND_TAG_OUTSIDE_SECTION: "values outside of any section",
    AuditError.REMOVED_INVALID_GRAPHIC_ENTITY: "entities that are none, left out",
    AuditError.REMOVED_STANDALONE_ATTRIB_ENTITY: "attributes without an insert, left out",
    AuditError.REMOVED_ENTITY_WITH_INVALID_OWNER_HANDLE: "entities that belong to nothing, left out",
    AuditError.UNDEFINED_BLOCK: "inserts of blocks that do not exist, left out",
    AuditError.UNDEFINED_BLOCK_NAME: "inserts without a block's name, left out",
    AuditError.INVALID_BLOCK_REFERENCE_CYCLE: "blocks that hold themselves, cut short",
    AuditError.ORPHANED_LAYOUT_ENTITY: "entities on no page, left out",
    AuditError.DECODING_ERROR: "texts with letters that do not exist",
    AuditError.INVALID_INTEGER_VALUE: "whole numbers that are none",
    AuditError.INVALID_EXTRUSION_VECTOR: "extrusion directions without length, taken as upwards",
    AuditError.INVALID_MAJOR_AXIS: "ellipses without an axis, left out",
    AuditError.INVALID_ELLIPSE_RATIO: "ellipses with an impossible ratio of axes",
    AuditError.INVALID_VERTEX_COUNT: "polylines with too few corners",
    AuditError.INVALID_SPLINE_DEFINITION: "splines that make no sense, left out",
    AuditError.INVALID_SPLINE_CONTROL_POINT_COUNT: "splines with too few control points, left out",
    AuditError.INVALID_SPLINE_FIT_POINT_COUNT: "splines with too few fit points",
    AuditError.INVALID_SPLINE_KNOT_VALUE_COUNT: "splines with a wrong number of knots, left out",
    AuditError.INVALID_SPLINE_WEIGHT_COUNT: "splines with a wrong number of weights",
    AuditError.MISSING_REQUIRED_SEQEND: "missing ends of polylines or inserts",
    AuditError.INVALID_LAYER_NAME: "layer names with letters that are not allowed",
    AuditError.INVALID_HATCH_BOUNDARY_PATH: "hatches with an impossible edge",
}
# What the strict loader only logs, though it leaves something out.
_LOGGED = (
    ("outside a SECTION", "records outside of any section are left out"),
    ("Missing required ENDBLK", "a block without its end (ENDBLK) is left out"),
    ("ENDBLK without a preceding BLOCK", "entities before an ENDBLK that ends no block are left out"),
    ("BLOCK without name", "a block without a name is left out"),
    ("invalid BLOCK definition", "a block that makes no sense is left out"),
)
_NEAR = re.compile(r'value "(.*)" near line (\d+) as "(.*)"', re.DOTALL)


class _Heard(logging.Handler):
    """Keeps the loader's warnings for one load."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the record's text."""
        self.said.append(record.getMessage())


def load(source: DxfText, file: str, findings: list[Finding]) -> Any:
    """The document; strictly where that works, else repaired, adding findings that say what that took.

    Raises InputError when nothing can be read.
    """
    heard = _Heard()
    _LOG.addHandler(heard)
    try:
        text = _marked(source.text, file, findings)
        if not source.orderly:
            return _recovered(text, file, "a section stands in it twice", findings)
        try:
            document = read(io.StringIO(unescaped(text.decode("ascii"))))
        except Exception as fault:  # a damaged file makes the loader raise nearly anything
            heard.said.clear()
            return _recovered(text, file, _reason(fault), findings)
    finally:
        _LOG.removeHandler(heard)
    for mark, said in _LOGGED:
        count = sum(mark in text for text in heard.said)
        if count:
            times = f" ({count} times)" if count > 1 else ""
            findings.append(Finding("warning", "repaired-file", said + times, _COMPARE, file=file))
    return document


def _marked(text: bytes, file: str, findings: list[Finding]) -> bytes:
    text, mended = with_marks(text)
    if mended:
        kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(mended.items()))
        said = f"entities without the subclass marks of their kind, read by their group codes: {kinds}"
        findings.append(Finding("note", "repaired-file", said, file=file))
    return text


def _reason(fault: Exception) -> str:
    said = str(fault).removeprefix("DXFStructureError: ").rstrip(".")
    if not isinstance(fault, DXFError) or not said or "<class" in said:
        return "its records contradict each other"
    return shortened(said)


def _recovered(text: bytes, file: str, reason: str, findings: list[Finding]) -> Any:
    try:
        document, auditor = recover.read(io.BytesIO(text))
    except Exception as fault:  # as above; the file's own fault is told, never swallowed
        if isinstance(fault, DXFStructureError):
            reason = _reason(fault)
        raise unreadable_file(file, f"the DXF file is damaged and cannot be read ({reason})") from fault
    entries = [*auditor.fixes, *auditor.errors]
    findings += _guessed_numbers(entries, file)
    kinds = Counter(_WORDS[entry.code] for entry in entries if entry.code in _WORDS)
    rest = len(entries) - sum(kinds.values())
    ranked = sorted(kinds.items(), key=lambda kind: (-kind[1], kind[0]))
    said = [f"{count} {words}" for words, count in ranked]
    if len(said) > _TOLD_ONE_BY_ONE:
        said = [*said[:_TOLD_ONE_BY_ONE], "and more"]
    if rest:
        said.append(f"{rest} records that draw nothing")
    what = f" and was repaired: {', '.join(said)}" if said else "; all of its records could be read"
    findings.append(
        Finding("warning", "repaired-file", f"the DXF file is damaged ({reason}){what}", _COMPARE, file=file)
    )
    return document


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _guessed_numbers(entries: list[Any], file: str) -> list[Finding]:
    """Numbers that the repair made up from their first digits: nothing may be cut by them unseen."""
    told = []
    for entry in entries:
        if entry.code != AuditError.INVALID_FLOATING_POINT_VALUE:
            continue
        match = _NEAR.search(entry.message)
        if match and _is_number(match[1]):
            continue  # it stands beside the one that is damaged
        what = f'"{shortened(match[1], 40)}" and was taken as {match[3]}' if match else "unreadable"
        line = int(match[2]) if match else None
        said = f"a number in the file is {what}"
        told.append(Finding("error", "damaged-number", said, "Mend it in the drawing", line=line, file=file))
    if len(told) > _TOLD_ONE_BY_ONE:
        said = f"{len(told)} numbers in the file are damaged; {_TOLD_ONE_BY_ONE} of them are named"
        more = Finding("error", "damaged-number", said, "Save it again", file=file)
        told = [*told[:_TOLD_ONE_BY_ONE], more]
    return told
