"""The job as a value: every key of the job file, its default and where the default comes from.

Lengths are mm, feeds mm/min, unless a name says otherwise. The reference page of the job file is made
from the descriptions here.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from camkit.errors import Finding, InputError
from camkit.job.fixtures import HoldDown, KeepOut
from camkit.job.holding import Holding, Tabs
from camkit.job.layers import Feature, Meaning, rules_of
from camkit.job.length import length_mm
from camkit.job.machine import Cutter, Machine, Table
from camkit.job.measured import Measured
from camkit.job.quantity import (
    Expected,
    Measure,
    Name,
    NotNegative,
    Pair,
    Positive,
    Text,
    shown,
    to_tuple,
)
from camkit.job.sheet import Sheet, choose
from camkit.part import LayerRule

__all__ = [
    "Cutter",
    "Drawings",
    "Feature",
    "Finish",
    "Fit",
    "GlueUp",
    "HoldDown",
    "Holding",
    "Job",
    "JointKind",
    "JointRow",
    "KeepOut",
    "Layout",
    "Machine",
    "Meaning",
    "Measured",
    "PartRow",
    "ReliefWish",
    "Sheet",
    "Tabs",
]


class Drawings(Table):
    """The drawings and their unit."""

    files: Annotated[tuple[Name, ...], BeforeValidator(to_tuple)] = Field(
        default=(),
        description="DXF or SVG files, beside the job; each is one sheet when laid out as drawn",
        examples=['["end-frame.dxf", "shelf.svg"]'],
    )
    unit: Literal["mm", "cm", "inch"] | None = Field(
        default=None, description="overrules what the files say", examples=['"mm"']
    )


class PartRow(Table):
    """One part to cut, picked from the drawings."""

    name: Name = Field(description="its name everywhere", examples=['"end frame, outer"'])
    drawing: Name | None = Field(
        default=None,
        description="the file it is drawn in; not needed when the job has one drawing",
        examples=['"end-frame.dxf"'],
    )
    at: Pair | None = Field(
        default=None, description="a point inside it, in the drawing, in mm", examples=["[320.5, 140]"]
    )
    layer: Name | None = Field(
        default=None, description="the layer its outline lies on, as a pattern", examples=['"outer*"']
    )
    sheet: Name | None = Field(
        default=None,
        description="name of the sheet it is cut from, where there are several; without it its "
        "drawn_thickness decides, else it is the first",
        examples=['"birch 18"'],
    )
    drawn_thickness: Positive | None = Field(
        default=None,
        description="the thickness it is drawn for, where that decides which sheet it is cut from",
        examples=["12"],
    )
    tabs: Annotated[tuple[Pair, ...], BeforeValidator(to_tuple), Expected("points, [[x, y], ...]")] = Field(
        default=(),
        description="where the tabs of its outline stand, in the drawing, in mm; default: wherever they hold",
        examples=["[[120, 40], [480, 40], [300, 260]]"],
    )
    hold: Holding | None = Field(
        default=None,
        description="overrules hold of [tabs] for this part; where its tabs have places they hold it",
        examples=['"skin"'],
    )


class Finish(Table):
    """The film that a finish leaves in joints."""

    coats: Annotated[int, Measure("a whole number from 1 to 20", 1, 20, whole=True)] = Field(
        description="coats put on before assembly", examples=["3"]
    )
    film: Annotated[float, Measure("a length from 0 to 0.5", 0.0, 0.5, read=length_mm)] = Field(
        description="dry thickness of one coat: wet film times the share of solids by volume",
        examples=["0.03"],
    )
    on: Literal["tenons and mortises", "tenons", "mortises", "masked"] = Field(
        default="tenons and mortises",
        description="the walls of a joint that are coated, two of tenons, two of mortises; masked: none",
        examples=['"tenons"'],
    )


JointKind = Literal["knock-down", "glued", "press"]
ReliefWish = Literal["by rule", "dogbone", "t-bone", "none"]


class Fit(Table):
    """How joints are to fit."""

    clearance: Annotated[float, Measure("a length from -0.1 to 1", -0.1, 1.0, read=length_mm)] = Field(
        default=0.15,
        description="total, across the thickness, both sides together, once finished; dry knock-down joints "
        "0.10 to 0.20, glued 0.05 to 0.15, press -0.10 to 0 (common practice, no source)",
        examples=["0.1"],
    )
    glue: Annotated[bool, Expected("true or false")] = Field(
        default=False, description="joints are glued, not taken apart again", examples=["true"]
    )
    finish: Annotated[
        Finish | None, Expected("{ coats = number, film = length } and, if need be, on = where")
    ] = Field(
        default=None,
        description="openings are cut wider by coats x film x coated walls; without it joints stay bare",
        examples=['{ coats = 3, film = 0.03, on = "tenons and mortises" }'],
    )
    relief: ReliefWish = Field(
        default="by rule",
        description="how square inside corners of joints are relieved for the cutter. By rule: by T-bones "
        "where a shoulder or the partner covers them, else by dogbones",
        examples=['"dogbone"'],
    )
    keep: Literal["shoulders", "outside"] = Field(
        default="shoulders",
        description="what stays when the sheet differs from the drawing: the distances between shoulders, so "
        "that outside sizes change; or outside sizes, so that shoulders move",
        examples=['"outside"'],
    )
    glue_line: Annotated[float, Measure("a length from 0 to 0.5", 0.0, 0.5, read=length_mm)] = Field(
        default=0.1,
        description="thickness of the glue between two layers of a glue-up, by which openings for several "
        "layers are wider (145 to 200 g/m2 leave 0.1 at most: makers' figures)",
        examples=["0.05"],
    )
    trim: Annotated[float, Measure("a length from 0 to 2", 0.0, 2.0, read=length_mm)] = Field(
        default=0.0,
        description="how far tenons that end flush stand out, to be sanded off (common practice, no source: "
        "0.3)",
        examples=["0.3"],
    )
    measured: Measured | None = Field(
        default=None, description="readings of a test coupon; then they say the clearance, not `clearance`"
    )

    @property
    def kind(self) -> JointKind:
        """Glued, press when the clearance is 0 or less, else knock-down."""
        return "glued" if self.glue else "press" if self.clearance <= 0 else "knock-down"


class JointRow(Table):
    """A joint that recognition should not decide."""

    tenon: Name | None = Field(
        default=None,
        description="the part with the tenon; without it the mortises, slots and housings of the other part "
        "are fitted to its own sheet though no mate is drawn",
        examples=['"shelf"'],
    )
    mortise: Name = Field(description="the part with the mortise", examples=['"end frame, outer"'])
    clearance: Annotated[float, Measure("a length from -0.1 to 1", -0.1, 1.0, read=length_mm)] | None = Field(
        default=None, description="overrules clearance of [fit] for this joint", examples=["0.1"]
    )
    glue: Annotated[bool, Expected("true or false")] | None = Field(
        default=None, description="overrules glue of [fit] for this joint", examples=["true"]
    )
    lean: Annotated[float, Measure("an angle from 0 to 60", 0.0, 60.0)] = Field(
        default=0.0,
        description="degrees by which the plate with the tenon leans from square to the other: its opening "
        "becomes T / cos b + T' tan b wide, T' being the other's thickness",
        examples=["15"],
    )
    relief: ReliefWish | None = Field(
        default=None,
        description="overrules relief of [fit] for the mortises, slots and housings of the part with the "
        "mortise, and for the roots of the tenons that enter it",
        examples=['"t-bone"'],
    )


class GlueUp(Table):
    """Layers glued face to face into one piece."""

    name: Name = Field(description="name of the piece", examples=['"end frame"'])
    layers: Annotated[tuple[Name, ...], BeforeValidator(to_tuple), Field(min_length=2)] = Field(
        description="names of the parts, from one outside face to the other",
        examples=['["end frame, outer", "end frame, inner"]'],
    )
    dowel: Positive = Field(
        default=8.0,
        description="diameter of the alignment dowels (a third to a half of the thickness: jorbins.com, rule "
        "of thirds and half)",
        examples=["6"],
    )
    play: NotNegative = Field(
        default=0.1,
        description="hole diameter less dowel diameter (common practice, no source)",
        examples=["0.1"],
    )


class Layout(Table):
    """Where parts lie on the sheet."""

    mode: Literal["as drawn"] = Field(
        default="as drawn", description="as drawn: the drawing is the sheet", examples=['"as drawn"']
    )


def _one_or_several(value: object) -> object:
    """[sheet] is the same as one [[sheet]]."""
    return (value,) if isinstance(value, dict | Sheet) else to_tuple(value)


class Job(Table):
    """A whole job file."""

    title: Text = Field(
        default="", description="said in the program's header and the report", examples=['"Potting bench"']
    )
    sheet: Annotated[
        tuple[Sheet, ...],
        BeforeValidator(_one_or_several),
        Field(min_length=1),
        Expected("a table, or several tables"),
    ] = Field(
        description="the plywood on the table; where parts are cut from several sheets or thicknesses, one "
        "[[sheet]] each, with a name",
    )
    machine: Machine = Field(default=Machine(), description="the router: what it reaches and how it moves")
    cutter: Annotated[tuple[Cutter, ...], BeforeValidator(to_tuple), Field(min_length=1)] = Field(
        description="the cutters on hand, one table each"
    )
    drawings: Drawings = Field(default=Drawings(), description="the drawings and their unit")
    layers: Annotated[dict[Name, Meaning], Expected("a table of layer patterns and what they mean")] = Field(
        default_factory=dict,
        description="what the drawings' layers mean; the first pattern that matches counts; a layer without "
        "one goes by nesting",
        examples=['"outline*" = "profile"', '"pocket*" = { pocket = 6.0 }', '"notes*" = "ignore"'],
    )
    part: Annotated[tuple[PartRow, ...], BeforeValidator(to_tuple)] = Field(
        default=(), description="the parts to cut, one table each; without any, every part drawn"
    )
    fit: Fit = Field(default=Fit(), description="how joints are to fit")
    joint: Annotated[tuple[JointRow, ...], BeforeValidator(to_tuple)] = Field(
        default=(), description="joints that recognition should not decide, one table each"
    )
    glue_up: Annotated[tuple[GlueUp, ...], BeforeValidator(to_tuple)] = Field(
        default=(), description="layers glued face to face, one table a piece"
    )
    layout: Layout = Field(default=Layout(), description="where parts lie on the sheet")
    tabs: Tabs = Field(default=Tabs(), description="wood left to hold parts")
    hold_down: HoldDown | None = Field(
        default=None,
        description="screws in the waste that hold the sheet down: camkit finds places for them, drills "
        "their holes first and stops for them to be fitted; the table alone is enough, without any key",
    )
    keep_out: Annotated[tuple[KeepOut, ...], BeforeValidator(to_tuple)] = Field(
        default=(),
        description="clamps, pods and other things in the way, one table each; no cut comes nearer than 5, "
        "and travel leads over them at safe_height",
    )

    def layer_rules(self) -> tuple[LayerRule, ...]:
        """The `[layers]` table as rules for the drawing reader, in the order of the file."""
        return rules_of(self.layers)

    def sheet_of(self, row: PartRow) -> Sheet:
        """The sheet that a part is cut from: the one it names, else the one of its thickness, else the first.

        Raises InputError where there is none such; a job that was read from a file always has one.
        """
        chosen = choose(self.sheet, row.sheet, row.drawn_thickness)
        if isinstance(chosen, Sheet):
            return chosen
        message = f"part {shown(row.name)}: {chosen}"
        raise InputError(Finding("error", "job", message, "Name a sheet of the job", part=row.name))

    def sheets_used(self) -> tuple[Sheet, ...]:
        """The sheets that parts are cut from, in the order of the file; without part rows the first."""
        used = [self.sheet_of(row) for row in self.part] or [self.sheet[0]]
        return tuple(sheet for sheet in self.sheet if sheet in used)

    def holding(self, name: str) -> Holding:
        """How the part of that name is held."""
        row = next((row for row in self.part if row.name == name), None)
        if row is None or (row.hold is None and not row.tabs):
            return self.tabs.hold
        return row.hold or "tabs"
