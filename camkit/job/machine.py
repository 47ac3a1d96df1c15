"""The router and its cutters, as the job file states them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from camkit.job.chips import DRILL_SPEED, MILLING_SPEED, drill_feed, milling_feed, plunge_feed
from camkit.job.control import Control
from camkit.job.length import length_mm
from camkit.job.quantity import (
    AccelerationTriple,
    Expected,
    FeedRate,
    FeedTriple,
    Measure,
    NotNegative,
    Positive,
    Reach,
    to_tuple,
)
from camkit.job.table import Table

__all__ = ["DIAMETER", "NUMBER", "Cutter", "Machine", "Table"]


# High enough over a sheet that is never quite flat (common practice, no source).
_TRAVEL_HEIGHT = 5.0


class Machine(Control):
    """The router: what it reaches, how it moves, and what its control takes."""

    travel: Annotated[tuple[Reach, Reach, Reach], BeforeValidator(to_tuple)] | None = Field(
        default=None,
        description="reach along X, Y and Z: lengths from the sheet's corner (Z from 60 above its top down), "
        "or ranges in sheet coordinates; without it reach is not judged",
        examples=["[2500, 1300, 120]", "[[-20, 2480], [-10, 1290], [-60, 60]]"],
    )
    direction: Literal["climb", "conventional"] = Field(
        default="climb",
        description="climb leaves cleaner walls; conventional is safer on light machines "
        "(common practice, no source)",
        examples=['"conventional"'],
    )
    rough_direction: Literal["climb", "conventional"] | None = Field(
        default=None,
        description="of passes that leave wood for a cutter's finish_pass; without it as direction",
        examples=['"conventional"'],
    )
    safe_height: Positive = Field(
        default=15.0,
        description="height of travel above the sheet's top to the first cut of each cutter, from its last "
        "one, and over whatever stands on the sheet (common practice, no source)",
        examples=["15"],
    )
    travel_height: Positive = Field(
        default_factory=lambda row: min(_TRAVEL_HEIGHT, row["safe_height"]),
        description="height of travel above the sheet's top between cuts of one cutter, where nothing stands "
        "on it; default: 5, or safe_height where that is lower (common practice, no source)",
        examples=["5"],
    )
    rapid: FeedTriple = Field(
        default=(5000.0, 5000.0, 2000.0),
        description="fastest travel along X, Y and Z, mm/min (assumed for a light machine)",
        examples=["[12000, 12000, 4000]"],
    )
    acceleration: AccelerationTriple = Field(
        default=(400.0, 400.0, 200.0),
        description="along X, Y and Z, mm/s2 (assumed for a light machine)",
        examples=["[500, 500, 250]"],
    )
    corner_deviation: Positive = Field(
        default=0.01,
        description="how far a corner may be rounded when corner speed is estimated "
        "(common practice, no source)",
        examples=["0.02"],
    )
    cutter_change: Literal["stop", "automatic", "separate programs"] = Field(
        default="stop",
        description="stop: the program halts with a message for a change by hand; automatic: the machine "
        "changes by itself; separate programs: a program of its own for each cutter in turn",
        examples=['"automatic"'],
    )
    drilling_cycles: Annotated[bool, Expected("true or false")] = Field(
        default=False,
        description="the control knows the drilling cycles G81 and G83; else every peck is written out",
        examples=["true"],
    )
    zero: Literal["sheet top", "table"] = Field(
        default="sheet top", description="where Z0 is touched off", examples=['"table"']
    )
    into_table: NotNegative = Field(
        default=0.3,
        description="how far a through cut may go into the spoilboard (common practice, no source)",
        examples=["0.2"],
    )

    cutter_error: NotNegative = Field(
        default=0.04,
        description="how far the width cut may differ from the diameter entered, runout included; only "
        "enters the fit of joints (assumed, no source)",
        examples=["0.02"],
    )
    backlash: NotNegative = Field(
        default=0.05,
        description="lost motion of an axis that turns round; only enters the fit of joints (assumed for a "
        "light machine, no source)",
        examples=["0.02"],
    )

    def ranges(self) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]] | None:
        """What each axis reaches in sheet coordinates (Z0 on the sheet's top), or None when not stated."""
        if self.travel is None:
            return None
        x, y, z = self.travel
        return (
            x if isinstance(x, tuple) else (0.0, x),
            y if isinstance(y, tuple) else (0.0, y),
            z if isinstance(z, tuple) else (60.0 - z, 60.0),
        )


NUMBER = Measure("a whole number from 1 to 99999", 1, 99999, whole=True)
DIAMETER = Measure("a diameter of 0.1 or more", 0.1, 500.0, read=length_mm)


def _usual_speed(row: Mapping[str, Any]) -> float:
    return DRILL_SPEED if row["kind"] == "drill" else MILLING_SPEED


def _usual_feed(row: Mapping[str, Any]) -> float:
    """The feed of a cutter's row that has none."""
    if row["kind"] == "drill":
        return drill_feed(row["flutes"], row["speed"])
    depth = row["diameter"] if row["pass_depth"] is None else row["pass_depth"]
    return milling_feed(row["diameter"], depth, row["flutes"], row["speed"])


def _usual_plunge(row: Mapping[str, Any]) -> float:
    if row["kind"] == "drill":
        return drill_feed(row["flutes"], row["speed"])
    return plunge_feed(row["feed"])


def _usual_point(row: Mapping[str, Any]) -> float:
    return 90.0 if row["kind"] == "v-groove" else 180.0


class Cutter(Table):
    """A cutter on hand."""

    number: Annotated[int, NUMBER] = Field(description="its T number in the program", examples=["1"])
    kind: Literal["straight", "upcut spiral", "downcut spiral", "compression spiral", "drill", "v-groove"] = (
        Field(
            default="straight",
            description="a drill only makes holes of its own diameter, a v-groove cutter only countersinks",
            examples=['"compression spiral"'],
        )
    )
    diameter: Annotated[float, DIAMETER] = Field(
        description="measured, not as catalogued", examples=["6.0", '"1/4 in"']
    )
    cutting_length: Positive | None = Field(
        default=None,
        description="length of the cutting edges; without it depth is not checked against it",
        examples=["25"],
    )
    flutes: Annotated[int, Measure("a whole number from 1 to 12", 1, 12, whole=True)] = Field(
        default=2, description="cutting edges", examples=["2"]
    )
    pass_depth: Annotated[float, Measure("a depth of 0.05 or more", 0.05, 500.0, read=length_mm)] | None = (
        Field(
            default=None,
            description="deepest single pass; default: the cutter's diameter (WOOD magazine, October 2019: "
            "no deeper than the diameter); of a drill 4 diameters",
            examples=["6"],
        )
    )
    speed: Annotated[float, Measure("a speed above 0, in rev/min", 0.0, 1e6, above=True)] = Field(
        default_factory=_usual_speed,
        description="spindle speed, rev/min; default: 18000, of a drill 6000 (common practice, no source)",
        examples=["18000"],
    )
    feed: FeedRate = Field(
        default_factory=_usual_feed,
        description="cutting feed, mm/min; default: speed x flutes x the thinnest chip for plywood of that "
        "diameter and pass_depth in the chart of asttooling.com (0.076 at 1/8 in, 0.152 at 1/4 in, 0.381 at "
        "3/8 in, 0.457 at 1/2 in; a quarter less 2 diameters deep, half 3 deep), at most 0.1 (general "
        "routing takes 0.1 to 0.2: familywoodworking.org)",
        examples=["3600", '"140 in/min"'],
    )
    plunge: FeedRate = Field(
        default_factory=_usual_plunge,
        description="feed straight down, mm/min; default: a third of the feed; of a drill 0.075 x speed x "
        "flutes, at most 900 (common practice, no source)",
        examples=["1200"],
    )
    ramp_angle: Annotated[float, Measure("an angle from 0.5 to 30", 0.5, 30.0)] = Field(
        default=3.0,
        description="degrees by which it sinks along its path (common practice 2 to 5, no source); in "
        "pockets, bored holes and waste that is milled away at least 5",
        examples=["4"],
    )
    upcut_length: Positive | None = Field(
        default=None,
        description="of a compression spiral: length of the part at its tip that lifts its chips (see its "
        "maker's figure); default: its diameter (common practice, no source). The first pass goes 1 deeper, "
        "whatever pass_depth says, or it lifts the upper veneer",
        examples=["6"],
    )
    finish_pass: Annotated[float, Measure("a length from 0 to 2", 0.0, 2.0, read=length_mm)] = Field(
        default=0.0,
        description="wood that its passes along outlines, openings and pockets leave on the wall for one "
        "more pass at full depth; 0: no such pass (common practice, no source: 0.3)",
        examples=["0.3"],
    )

    point_angle: Annotated[float, Measure("an angle from 10 to 180", 10.0, 180.0)] = Field(
        default_factory=_usual_point,
        description="degrees that the point of a drill or a v-groove cutter encloses; default: 180 of a "
        "drill, which is flat, as of brad point and boring bits (a twist drill has 118), 90 of a v-groove "
        "cutter. A hole's depth counts to its full width and the point goes deeper; right through it needs "
        "that much of into_table",
        examples=["118"],
    )
    plunges: Annotated[bool, Expected("true or false")] = Field(
        default=False,
        description="a milling cutter that cuts to its middle and may go straight down: it also makes holes "
        "of its own diameter",
        examples=["true"],
    )

    @property
    def mills(self) -> bool:
        """Whether it cuts upright walls sideways: every kind but drills and v-groove cutters."""
        return self.kind not in ("drill", "v-groove")

    @property
    def point_length(self) -> float:
        """How far its point stands out below its full width, in mm: r / tan(angle / 2)."""
        return (
            self.diameter / 2 / math.tan(math.radians(self.point_angle / 2))
            if self.point_angle < 180
            else 0.0
        )

    @property
    def first_pass(self) -> float:
        """Least depth of a first pass in mm: below the upcut part of a compression spiral, else 0."""
        if self.kind != "compression spiral":
            return 0.0
        return (self.diameter if self.upcut_length is None else self.upcut_length) + 1.0

    @property
    def depth_of_pass(self) -> float:
        """Deepest single pass in mm."""
        return self.diameter if self.pass_depth is None else self.pass_depth
