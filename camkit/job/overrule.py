"""Options of the command line that overrule the job file, or stand in its place."""

from __future__ import annotations

import pathlib
import re
from collections.abc import Sequence
from typing import Literal, cast, get_args

from camkit.errors import Finding, InputError
from camkit.job.machine import DIAMETER, NUMBER, Cutter
from camkit.job.model import Drawings, Job, Sheet
from camkit.job.quantity import POSITIVE, Measure, shown
from camkit.job.words import either, nearest

__all__ = ["from_words", "known_unit", "overruled"]

Unit = Literal["mm", "cm", "inch"]
Size = tuple[float, float]

_NUMBER = re.compile(r"[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_SHEET_FORM = "Write --sheet 2440x1220 (length x width, in mm), or 2440x1220x17.6 with the measured thickness"


def overruled(
    job: Job, *, thickness: float | None, sheet: str | None, cutters: Sequence[str], unit: str | None
) -> tuple[Job, tuple[Finding, ...]]:
    """The job with the command's options in place of its own keys, and a note for each value changed.

    `thickness` is the measured thickness in mm; `sheet` is "2440x1220" or "2440x1220x17.6" (length, width,
    measured thickness), and both mean the first of several sheets; a cutter is "6" (diameter of the only
    cutter) or "1=6" (number = diameter).
    Raises InputError, naming the option, for words that cannot be read or do not suit the job.
    """
    notes: list[Finding] = []
    board, rows, drawings = job.sheet[0], list(job.cutter), job.drawings
    first = "" if len(job.sheet) == 1 else f" of {board.table}, the first of {len(job.sheet)}"
    size, measured = _sheet(sheet, thickness)
    if size is not None and size != board.size:
        notes.append(_note("--sheet", f"sheet.size{first}", board.size, size))
        board = board.model_copy(update={"size": size})
        _check_margin(board)
    if measured is not None and (measured,) != board.measured_thickness:
        option = "--sheet" if thickness is None else "--thickness"
        key = f"sheet.measured_thickness{first}"
        notes.append(_note(option, key, board.measured_thickness, (measured,)))
        board = board.model_copy(update={"measured_thickness": (measured,)})
    for number, diameter in _cutters(cutters):
        place = _place(number, [cutter.number for cutter in rows])
        old = rows[place]
        if diameter != old.diameter:
            notes.append(_note("--cutter", f"diameter of cutter {old.number}", old.diameter, diameter))
            said = {key: getattr(old, key) for key in old.model_fields_set}
            rows[place] = Cutter(**{**said, "diameter": diameter})  # its feed may follow from the diameter
    known = known_unit(unit)
    if known is not None and known != drawings.unit:
        notes.append(_note("--unit", "drawings.unit", drawings.unit, known))
        drawings = drawings.model_copy(update={"unit": known})
    changed = {"sheet": (board, *job.sheet[1:]), "cutter": tuple(rows), "drawings": drawings}
    return job.model_copy(update=changed), tuple(notes)


def from_words(
    drawings: Sequence[str],
    thickness: float | None,
    sheet: str | None,
    cutters: Sequence[str],
    unit: str | None,
) -> Job:
    """The job that a command without a job file describes; words as in `overruled`.

    Parts are cut as drawn, and without `sheet` the sheet is the drawing's own extent. A cutter without a
    number becomes number 1. Raises InputError, naming the option, for what is missing or cannot be read.
    """
    if not drawings:
        raise _refused("no drawing is named", "Name a DXF or SVG file, or a job file")
    size, measured = _sheet(sheet, thickness)
    if measured is None:
        raise _refused(
            "without a job file --thickness is needed",
            "Measure the sheet with a calliper and give --thickness 17.6",
        )
    rows = _cutters(cutters)
    if not rows:
        raise _refused("without a job file --cutter is needed", "Give its measured diameter: --cutter 6")
    if len(rows) > 1 and any(number is None for number, _ in rows):
        raise _refused("--cutter: several cutters need numbers", "Write --cutter 1=6 --cutter 2=3")
    board = Sheet(size=size, measured_thickness=(measured,))
    _check_margin(board)
    return Job(
        title=pathlib.PurePath(drawings[0]).stem,
        sheet=(board,),
        cutter=tuple(Cutter(number=number or 1, diameter=diameter) for number, diameter in rows),
        drawings=Drawings(files=tuple(drawings), unit=known_unit(unit)),
    )


def _refused(message: str, remedy: str) -> InputError:
    return InputError(Finding("error", "option", message, remedy))


def _note(option: str, key: str, old: object, new: object) -> Finding:
    before = "unsaid" if old is None else _plain(old)
    return Finding("note", "option", f"{option} overrules {key}: {_plain(new)} instead of {before}")


def _plain(value: object) -> str:
    if isinstance(value, tuple):
        return _plain(value[0]) if len(value) == 1 else f"[{', '.join(_plain(item) for item in value)}]"
    return f"{value:.10g}" if isinstance(value, float) else shown(value)


def _read(option: str, word: str | float, measure: Measure, form: str) -> float:
    """A bare number, or a length with its unit; InputError names the option and the form it takes."""
    if isinstance(word, str) and _NUMBER.fullmatch(word.strip()):
        word = float(word)
    try:
        return measure.check(word)
    except ValueError as fault:
        raise _refused(f"{option}: {fault}", form) from None


def _sheet(sheet: str | None, thickness: float | None) -> tuple[Size | None, float | None]:
    """Size and measured thickness that the two options give."""
    measured = None
    if thickness is not None:
        form = "Give the measured thickness: --thickness 17.6"
        measured = _read("--thickness", thickness, POSITIVE, form)
    if sheet is None:
        return None, measured
    words = re.split("[xX\u00d7]", sheet)
    if len(words) not in (2, 3):
        raise _refused(f"--sheet: {shown(sheet)} is not a size", _SHEET_FORM)
    length, width, *rest = [_read("--sheet", word, POSITIVE, _SHEET_FORM) for word in words]
    if rest and measured is not None and rest[0] != measured:
        raise _refused(
            f"--sheet says {rest[0]:g} thick, --thickness says {measured:g}", "Give the thickness once"
        )
    return (length, width), rest[0] if rest else measured


def _check_margin(board: Sheet) -> None:
    if board.size is not None and 2 * board.margin >= min(board.size):
        raise _refused(
            f"--sheet: margins of {board.margin:g} leave nothing of a sheet {min(board.size):g} wide",
            _SHEET_FORM,
        )


def _cutters(words: Sequence[str]) -> list[tuple[int | None, float]]:
    """Number (None where none is said) and diameter of each word, in the order given."""
    form = "Write --cutter 6 for the only cutter, or --cutter 1=6 for number 1"
    found: list[tuple[int | None, float]] = []
    for word in words:
        before, equals, after = word.rpartition("=")
        number = None
        if equals:
            number = _cutter_number(before.strip(), word, form)
        if number in [earlier for earlier, _ in found]:
            raise _refused(f"--cutter: {shown(word)} is said of a cutter that was given before", form)
        found.append((number, _read("--cutter", after, DIAMETER, form)))
    return found


def _cutter_number(digits: str, word: str, form: str) -> int:
    number = int(digits) if re.fullmatch("[0-9]{1,9}", digits) else 0
    if not 1 <= number <= NUMBER.most:
        raise _refused(f"--cutter: {shown(word)} does not begin with a cutter's number", form)
    return number


def _place(number: int | None, numbers: list[int]) -> int:
    """Place of the cutter meant among the job's cutters."""
    known = either([str(known) for known in numbers])
    if number is None and len(numbers) > 1:
        raise _refused(
            f"--cutter: the job has {len(numbers)} cutters, {either(['number ' + str(n) for n in numbers])}",
            f"Say which: --cutter {numbers[0]}=6",
        )
    if number is not None and number not in numbers:
        raise _refused(f"--cutter: the job has no cutter {number}", f"Its cutters have the number {known}")
    return 0 if number is None else numbers.index(number)


def known_unit(unit: str | None) -> Unit | None:
    """The word of `--unit` as a unit, None when it was not given; raises InputError for any other word."""
    if unit is None:
        return None
    known = list(get_args(Unit))
    if unit not in known:
        guess = nearest(unit, known)
        hint = f"Did you mean {guess}?" if guess else f"Write --unit {either(known)}"
        raise _refused(f"--unit: {shown(unit)} is not {either(known)}", hint)
    return cast(Unit, unit)
