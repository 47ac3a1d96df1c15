"""What a program says in words before it moves: what it fits, where its zero lies, which cutters it wants."""

from __future__ import annotations

from collections.abc import Sequence

from camkit import __version__
from camkit.job.model import Cutter, Job, Sheet
from camkit.program.words import comment, number

__all__ = ["cutter_words", "header", "zero_words"]

_CORNERS = {
    "lower left": "at the sheet's lower left corner",
    "lower right": "at the sheet's lower right corner",
    "upper left": "at the sheet's upper left corner",
    "upper right": "at the sheet's upper right corner",
    "centre": "at the middle of the sheet",
}


def cutter_words(cutter: Cutter) -> str:
    """The cutter as the shop calls it."""
    return f"{cutter.kind} {number(cutter.diameter, 3)} mm"


def zero_words(job: Job) -> str:
    """Where Z0 lies."""
    return "top of the sheet" if job.machine.zero == "sheet top" else "table"


def header(
    job: Job,
    name: str,
    size: tuple[float, float],
    stock: Sheet,
    cutters: Sequence[Cutter],
    says: Sequence[str] = (),
) -> list[str]:
    """The comment lines that stand first; `says` are those of this program alone."""
    machine = job.machine
    unit = "Program in mm, feeds in mm/min"
    if machine.program_unit == "inch":
        unit = "Program in inches, feeds in inches/min; the words here are in mm"
    said = [
        f"{name}{': ' + job.title if job.title else ''}",
        *says,
        f"Sheet {number(size[0], 2)} x {number(size[1], 2)} mm, {stock.described}",
        f"Measured thickness {number(stock.thickness, 3)} mm",
        "Fits this sheet and these cutters only: measure again before cutting another",
        f"X0 Y0 {_CORNERS[machine.xy_zero]}, X along its length",
        f"Z0 on the {zero_words(job)}",
        f"Through cuts end {number(machine.into_table, 3)} mm below the sheet: use a spoilboard",
        unit,
        *(_cutter(cutter, by_hand=machine.speed_by_hand) for cutter in cutters),
        "Eyes, ears and lungs protected, sheet and loose parts held, hands off until the spindle stands",
        f"camkit {__version__}",
    ]
    return [comment(text) for text in said]


def _cutter(cutter: Cutter, *, by_hand: bool) -> str:
    said = f"T{cutter.number} {cutter_words(cutter)}, {cutter.flutes} flutes"
    if cutter.point_length > 0:
        said += f", point {number(cutter.point_angle, 1)} degrees"
    if cutter.cutting_length:
        said += f", cutting length {number(cutter.cutting_length, 2)} mm"
    return f"{said}, set {number(cutter.speed, 0)} rev/min by hand" if by_hand else said
