"""How pieces are held while they are cut: by tabs, by a skin left under the cut, by vacuum. Lengths in mm."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from camkit.job.length import length_mm
from camkit.job.machine import Table
from camkit.job.quantity import Measure, Positive

__all__ = ["Holding", "Tabs"]

Holding = Literal["tabs", "skin", "vacuum"]

# A piece held by vacuum stays where it is when friction bears three times the side force of the cutter
# (assumed: friction 0.3 on the table, 40 N).
_FRICTION, _SIDE_FORCE_N, _SAFETY = 0.3, 40.0, 3.0


class Tabs(Table):
    """Wood left in the line of an outline to hold the part, or what holds it instead."""

    hold: Holding = Field(
        default="tabs",
        description="how pieces are held. tabs: wood left in places; skin: wood left under the whole "
        "outline, to be pared off, on a sheet and table flat within half of it; vacuum: cut right through, "
        "nothing left, where the piece is large enough (vacuum_kpa)",
        examples=['"skin"'],
    )
    width: Positive = Field(
        default=8.0,
        description="length of a tab along the outline (common practice: 5 to 8, at least the cutter's "
        "diameter; no source)",
        examples=["8"],
    )
    height: Positive = Field(
        default=3.0,
        description="thickness of a tab above the table (common practice: 1.5 to 3, at least an eighth of "
        "the sheet; no source)",
        examples=["2"],
    )
    shape: Literal["ramped", "square"] = Field(
        default="ramped",
        description="ramped: the cutter climbs over a tab at 30 degrees; square: straight up, and straight "
        "down again at the plunge feed, so that the tab is smaller",
        examples=['"square"'],
    )
    spacing: Annotated[float, Measure("a length of 10 or more", 10.0, 100_000.0, read=length_mm)] = Field(
        default=220.0,
        description="about this far apart (common practice: 150 to 250, no source)",
        examples=["180"],
    )
    longest: Positive = Field(
        default=30.0,
        description="the judge takes a longer piece left in an outline for wood left uncut",
        examples=["40"],
    )
    share: Annotated[float, Measure("a share from 0.01 to 0.99", 0.01, 0.99)] = Field(
        default=0.35,
        description="the judge takes more than this share of an outline for wood left uncut",
        examples=["0.4"],
    )
    skin: Annotated[float, Measure("a length from 0.2 to 1.5", 0.2, 1.5, read=length_mm)] = Field(
        default=0.5,
        description="thickness of the skin that holds a piece (common practice: 0.3 to 0.8, no source); the "
        "judge takes less than half of it for cut through",
        examples=["0.4"],
    )
    vacuum_kpa: Annotated[float, Measure("a pressure from 5 to 100", 5.0, 100.0)] = Field(
        default=30.0,
        description="pressure that the vacuum keeps below the piece, in kPa. A piece needs 120 N / (0.3 x "
        "pressure) of area, 133 cm2 at 30 kPa (friction 0.3, three times a side force of 40 N: assumed); "
        "smaller ones get tabs too",
        examples=["45"],
    )

    @property
    def vacuum_area(self) -> float:
        """Area in mm2 that a piece needs to be held by vacuum alone."""
        return _SIDE_FORCE_N * _SAFETY / (_FRICTION * self.vacuum_kpa * 1e-3)
