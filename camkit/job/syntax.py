"""Text of a job file into plain data and its lines; faults of the TOML in words that help."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from camkit.errors import Finding, InputError
from camkit.job.lines import KeyPath, key_lines

__all__ = ["decoded", "read_toml"]

_PLACE = re.compile(r" \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)$")
_DECIMAL_COMMA = re.compile(r"=\s*[-+]?\d+,\d")
_BARE_UNIT = re.compile(r"=\s*[-+]?[\d./ -]*\d\s*(?:mm|cm|m|in|inch|ft|\"|″)(?:/min|/s)?\s*(?:#.*)?$")
_BARE_FRACTION = re.compile(r"=\s*[-+]?(?:\d+[ -])?\d+/\d")
_BARE_WORD = re.compile(r"=\s*[A-Za-z_]")


def decoded(raw: bytes, file: str) -> str:
    """The file's bytes as text; raises InputError for anything but UTF-8 without a byte-order mark."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in raw:
        raise _fault(file, "the file is UTF-16 text, or no text at all", "Save it as UTF-8 in the editor")
    if raw.startswith(b"\xef\xbb\xbf"):
        message = "the file begins with a byte-order mark"
        raise _fault(file, message, 'Save it as plain UTF-8; editors call the other kind "UTF-8 with BOM"', 1)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        message = f"byte 0x{raw[fault.start]:02x} is not UTF-8 text"
        raise _fault(file, message, "Save the file as UTF-8 in the editor", line) from None


def read_toml(text: str, file: str) -> tuple[dict[str, Any], dict[KeyPath, int]]:
    """The data of a TOML text and the line of every key; InputError with line and column of a fault."""
    if text.startswith("\ufeff"):
        raise _fault(file, "the text begins with a byte-order mark", "Leave it away", 1)
    if not text.strip():
        raise _fault(file, "the job file is empty", "Begin with the text that camkit start writes")
    try:
        return tomllib.loads(text), key_lines(text)
    except tomllib.TOMLDecodeError as fault:
        raise _syntax_fault(text, file, str(fault)) from None
    except ValueError:  # the interpreter's own limit, met while tomllib turns digits into a number
        raise _fault(file, "a number has too many digits", "Write it shorter") from None
    except RecursionError:
        message = "lists or tables are nested too deeply"
        raise _fault(file, message, "A job file needs three levels at most") from None


def _syntax_fault(text: str, file: str, said: str) -> InputError:
    place = _PLACE.search(said)
    rows = text.split("\n")
    line = int(place["line"]) if place is not None and place["line"] else len(rows)
    column = f" at column {place['column']}" if place is not None and place["column"] else ""
    what = _plain(_PLACE.sub("", said))
    remedy = _remedy(what, rows[min(line, len(rows)) - 1])
    return _fault(file, f"not valid TOML{column}: {what}", remedy, line)


def _plain(said: str) -> str:
    if said.startswith(("Cannot declare", "Cannot overwrite", "Duplicate inline", "Cannot mutate")):
        return "this key or table is written twice"
    return said[:1].lower() + said[1:]


def _remedy(what: str, row: str) -> str:
    if "written twice" in what:
        return "Remove one, or write tables that repeat in double brackets: [[part]]"
    if "\\" in row:
        return "In double quotes a backslash begins an escape: write paths with / or in single quotes"
    if _DECIMAL_COMMA.search(row):
        return "Write a decimal point, not a comma"
    if _BARE_UNIT.search(row) or _BARE_FRACTION.search(row):
        return 'Write a number in mm, or text with a unit in quotes: "3/4 in"'
    if _BARE_WORD.search(row):
        return 'Text needs quotes: material = "birch plywood"'
    return 'Write one key = value a line, text in "quotes", lists in [brackets]'


def _fault(file: str, message: str, remedy: str, line: int | None = None) -> InputError:
    return InputError(Finding("error", "job", message, remedy, file=file, line=line))
