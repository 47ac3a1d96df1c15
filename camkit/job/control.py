"""What a control takes: unit, zero, arcs, and the words that are written for it or left out."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from camkit.job.length import length_mm
from camkit.job.quantity import Expected, Measure, OneLine, Pair, shown, to_tuple
from camkit.job.table import Table

__all__ = ["OMISSIBLE", "Control", "Corner"]

Corner = Literal["lower left", "lower right", "upper left", "upper right", "centre"]

# What a control may do without: a mode that it is in anyway, or the change of cutters by hand.
OMISSIBLE = ("T", "M6", "G17", "G40", "G49", "G54", "G61", "G80", "G94")
_WHY_NOT = {
    "S": "write speed_by_hand = true where the speed is set by hand",
    "G2": 'write arcs = "lines" for a control without arcs',
    "G3": 'write arcs = "lines" for a control without arcs',
    "G4": "without start_dwell no G4 is written",
    **dict.fromkeys(("M7", "M8", "M9"), "they are written only where with_spindle asks for them"),
    "G64": 'write path = "exact"',
    "M0": "without it nobody is waited for when a cutter is changed by hand",
    "M3": "without it the cutter would be fed into wood while it stands",
    "M5": "without it the spindle would turn while hands change the cutter",
    "M30": "without it the control cannot tell that the program is whole",
}
_ENDING = re.compile(r"\.[A-Za-z0-9]{1,8}")
_TAKEN = (".old", ".new", ".json", ".html", ".svg", ".png", ".pdf", ".dxf", ".glb", ".toml")


def _omitted(words: tuple[str, ...]) -> tuple[str, ...]:
    """The words in capitals, without the zero of "G02"; ValueError for one that must be written."""
    done = []
    for given in words:
        word = re.sub(r"^([A-Z])0+(?=[0-9])", r"\1", given.strip().upper())
        if word not in OMISSIBLE:
            why = _WHY_NOT.get(word, "a program without it would move otherwise than it was judged")
            raise ValueError(
                f"{shown(given)} cannot be left out: {why}; what can be is {', '.join(OMISSIBLE)}"
            )
        done.append(word)
    return tuple(dict.fromkeys(done))


def _ending(text: str) -> str:
    if not _ENDING.fullmatch(text):
        raise ValueError(f'{shown(text)} is not a file ending such as ".nc"')
    if text.lower() in _TAKEN:
        raise ValueError(f"{shown(text)} is the ending of other files that are written")
    return text


class Control(Table):
    """The machine's control: how its programs are written."""

    xy_zero: Corner = Field(
        default="lower left",
        description="where on the sheet X0 Y0 is touched off; X runs along its length, Y across, whatever "
        "the corner",
        examples=['"centre"'],
    )
    program_unit: Literal["mm", "inch"] = Field(
        default="mm", description="unit of the program's numbers (G21 or G20)", examples=['"inch"']
    )
    arcs: Literal["arcs", "lines"] = Field(
        default="arcs",
        description="lines: arcs are written as short straight moves, within 0.004 of the arc, for a control "
        "without G2 and G3",
        examples=['"lines"'],
    )
    path: Literal["exact", "blended"] = Field(
        default="exact",
        description="exact: G61, corners are driven as they are; blended: G64, corners are rounded by "
        "path_deviation at most, and judged so",
        examples=['"blended"'],
    )
    path_deviation: Annotated[float, Measure("a length from 0.001 to 1", 0.001, 1.0, read=length_mm)] = Field(
        default=0.01,
        description="how far a blended path may leave its corners (common practice, no source)",
        examples=["0.015"],
    )
    omit: Annotated[
        tuple[Annotated[str, OneLine("a word such as M6", may_be_empty=False)], ...],
        BeforeValidator(to_tuple),
        AfterValidator(_omitted),
        Expected("a list of words in quotes"),
    ] = Field(
        default=(),
        description="words that this control does not take and that are left out: "
        + ", ".join(OMISSIBLE)
        + ". Without T and M6 the cutter is the one that a comment names before a stop",
        examples=['["M6", "T", "G61"]'],
    )
    speed_by_hand: Annotated[bool, Expected("true or false")] = Field(
        default=False,
        description="the speed is set at the spindle: no S word, the program's messages say the speed",
        examples=["true"],
    )
    start_dwell: Annotated[float, Measure("a time from 0 to 60, in seconds", 0.0, 60.0)] = Field(
        default=0.0,
        description="seconds (G4) that the spindle is given to come to speed before it cuts",
        examples=["3"],
    )
    with_spindle: Annotated[
        tuple[Literal["M7", "M8"], ...], BeforeValidator(to_tuple), Expected('a list of "M7" and "M8"')
    ] = Field(
        default=(),
        description="switched on after the spindle and off (M9) before it stops: M7 and M8, to which the "
        "shop may have wired dust collector, air or coolant",
        examples=['["M8"]'],
    )
    touch_off: Pair | None = Field(
        default=None,
        description="a spot in sheet coordinates where Z is set again after a change of cutter by hand: the "
        "program goes there before it stops, and no part lies there and no cut comes there; beside the sheet "
        "it is the table that is touched",
        examples=["[30, 30]"],
    )
    extension: Annotated[
        str, OneLine('a file ending such as ".nc"', may_be_empty=False), AfterValidator(_ending)
    ] = Field(default=".nc", description="ending of the programs' file names", examples=['".tap"'])

    def takes(self, word: str) -> bool:
        """Whether a word, "M6" or the letter "T", is written for this control."""
        return word not in self.omit
