"""The plywood of a job, as the job file states it, and which part is cut from which sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import Field

from camkit.job.machine import Table
from camkit.job.quantity import Name, NotNegative, Positive, PositivePair, Readings, Text, shown

__all__ = ["Sheet", "choose"]

# Sheets of one nominal thickness lie this near to it; further off asks for another drawing (common practice,
# no source).
_NEAR = 1.0
_SAME = 1e-6


class Sheet(Table):
    """Plywood of one thickness on the table."""

    name: Name | None = Field(
        default=None,
        description="needed, and its own, where the job has several sheets; parts name it",
        examples=['"birch 18"'],
    )
    size: PositivePair | None = Field(
        default=None,
        description="length along X and width along Y; without it the drawing's own extent plus margins",
        examples=["[2440, 1220]"],
    )
    drawn_thickness: Positive | None = Field(
        default=None,
        description="the thickness that the drawing was made for; without it no joint is re-fitted",
        examples=["18"],
    )
    measured_thickness: Annotated[Readings, Field(min_length=1)] = Field(
        description="one reading or several, by calliper; the mean is used, their spread enters the fit; "
        "best eight, at corners and mid-sides, 50 in from the edge (pattern of EN 324-1)",
        examples=["17.6", "[17.6, 17.7, 17.6, 17.5]"],
    )
    material: Text = Field(
        default="plywood",
        description="said in the program's header and the report",
        examples=['"birch plywood"'],
    )
    grain: Literal["length", "width", "none"] = Field(
        default="none",
        description="which way the face grain runs: along the sheet's length (X), its width (Y), or none "
        "that matters; tabs stand on edges along it where they can: across it they splinter when cut off "
        "(common practice, no source)",
        examples=['"length"'],
    )
    margin: NotNegative = Field(
        default=10.0,
        description="kept free along the sheet's edges (common practice, no source)",
        examples=["12"],
    )

    @property
    def thickness(self) -> float:
        """Mean of the readings, in mm."""
        return sum(self.measured_thickness) / len(self.measured_thickness)

    @property
    def spread(self) -> float | None:
        """Largest less smallest reading, in mm; None for a single reading."""
        readings = self.measured_thickness
        return max(readings) - min(readings) if len(readings) > 1 else None

    @property
    def table(self) -> str:
        """How its table is called in words: "[sheet]", or with its name."""
        return "[sheet]" if self.name is None else f"sheet {shown(self.name)}"

    @property
    def described(self) -> str:
        """Name and material, as far as they are said."""
        return ", ".join(word for word in (self.name, self.material) if word)

    def about(self, message: str) -> str:
        """A message about this sheet, after its name when it has one."""
        return message if self.name is None else f"{self.table}: {message}"


def choose(sheets: Sequence[Sheet], name: str | None, thickness: float | None) -> Sheet | str:
    """The sheet that a part is cut from, or in words why there is none; `sheets` has at least one.

    The name decides, else the thickness that the part is drawn for, else it is the first sheet. A thickness
    means the sheet drawn for it; one that does not say is taken for its readings, when they are within 1 mm.
    """
    if name is not None:
        found = next((sheet for sheet in sheets if sheet.name == name), None)
        if found is None:
            return f"no sheet is named {shown(name)}"
        return found if thickness is None or _suits(found, thickness) else _other_thickness(found, thickness)
    if thickness is None:
        return sheets[0]
    suiting = [sheet for sheet in sheets if _suits(sheet, thickness)]
    if len(suiting) == 1:
        return suiting[0]
    if not suiting:
        return f"no sheet is for parts drawn {thickness:g} thick"
    named = " and ".join(shown(sheet.name or "") for sheet in suiting)
    return f"{len(suiting)} sheets are for parts drawn {thickness:g} thick, {named}"


def _suits(sheet: Sheet, thickness: float) -> bool:
    if sheet.drawn_thickness is not None:
        return abs(sheet.drawn_thickness - thickness) <= _SAME
    return abs(sheet.thickness - thickness) <= _NEAR + _SAME


def _other_thickness(sheet: Sheet, thickness: float) -> str:
    own = sheet.drawn_thickness or sheet.thickness
    return f"{sheet.table} is {own:g} thick, not {thickness:g}"
