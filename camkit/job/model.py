"""The job as a value: every key of the job file, its default and where the default comes from.

Lengths are mm, feeds mm/min, unless a name says otherwise. The reference page of the job file is made
from the descriptions here.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from camkit.job.length import feed_mm_min, length_mm
from camkit.part import LayerRule

__all__ = [
    "Cutter",
    "Drawings",
    "Feature",
    "Fit",
    "GlueUp",
    "Job",
    "JointRow",
    "Layout",
    "Machine",
    "PartRow",
    "Sheet",
    "Tabs",
]


def _length(value: object) -> object:
    return length_mm(value) if isinstance(value, str) else value


def _feed(value: object) -> object:
    return feed_mm_min(value) if isinstance(value, str) else value


def _tuple(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value


def _finite(value: float) -> float:
    if value in (float("inf"), float("-inf")) or value != value:
        raise ValueError("must be a finite number")
    return value


Length = Annotated[float, BeforeValidator(_length), AfterValidator(_finite)]
Positive = Annotated[float, BeforeValidator(_length), AfterValidator(_finite), Field(gt=0)]
NotNegative = Annotated[float, BeforeValidator(_length), AfterValidator(_finite), Field(ge=0)]
FeedRate = Annotated[float, BeforeValidator(_feed), AfterValidator(_finite), Field(gt=0)]
Pair = Annotated[tuple[Length, Length], BeforeValidator(_tuple)]
PositivePair = Annotated[tuple[Positive, Positive], BeforeValidator(_tuple)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, str_strip_whitespace=True)


class Sheet(_Table):
    """The plywood on the table."""

    size: PositivePair | None = Field(
        None, description="length and width; without it the drawing's own extent plus margins"
    )
    drawn_thickness: Positive | None = Field(
        None, description="the thickness that the drawing was made for; without it no joint is re-fitted"
    )
    measured_thickness: Annotated[
        tuple[Positive, ...],
        BeforeValidator(lambda v: (v,) if isinstance(v, int | float | str) else _tuple(v)),
        Field(min_length=1),
    ] = Field(description="one reading or several, by calliper; the mean is used")
    material: str = Field("plywood", description="said in the program's header and the report")
    margin: NotNegative = Field(
        10.0, description="kept free along the sheet's edges (common practice, no source)"
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


Triple = Annotated[tuple[Positive, Positive, Positive], BeforeValidator(_tuple)]
Range = Annotated[tuple[Length, Length], BeforeValidator(_tuple)]


class Machine(_Table):
    """The router: what it reaches and how it moves."""

    travel: (
        Annotated[tuple[Positive | Range, Positive | Range, Positive | Range], BeforeValidator(_tuple)] | None
    ) = Field(
        None,
        description="reach along X, Y and Z: lengths from the sheet's corner (Z from 60 above its top down), or ranges in sheet coordinates; without it reach is not judged",
    )
    direction: Literal["climb", "conventional"] = Field(
        "climb",
        description="climb leaves cleaner walls; conventional is safer on light machines (common practice, no source)",
    )
    safe_height: Positive = Field(
        15.0, description="height of travel above the sheet's top (common practice, no source)"
    )
    rapid: Triple = Field(
        (5000.0, 5000.0, 2000.0),
        description="fastest travel along X, Y and Z, mm/min (assumed for a light machine)",
    )
    acceleration: Triple = Field(
        (400.0, 400.0, 200.0), description="along X, Y and Z, mm/s2 (assumed for a light machine)"
    )
    corner_deviation: Positive = Field(
        0.01, description="how far a corner may be rounded when corner speed is estimated"
    )
    cutter_change: Literal["stop", "automatic"] = Field(
        "stop", description="stop: the program halts with a message for a change by hand"
    )
    zero: Literal["sheet top", "table"] = Field("sheet top", description="where Z0 is touched off")
    into_table: NotNegative = Field(
        0.3, description="how far a through cut may go into the spoilboard (common practice, no source)"
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


class Cutter(_Table):
    """A cutter on hand."""

    number: Annotated[int, Field(ge=1, le=99999)] = Field(description="its T number in the program")
    kind: Literal["straight", "upcut spiral", "downcut spiral", "compression spiral", "drill"] = Field(
        "straight", description="a drill only makes holes of its own diameter"
    )
    diameter: Positive = Field(description="measured, not as catalogued")
    cutting_length: Positive | None = Field(
        None, description="length of the cutting edges; without it depth is not checked against it"
    )
    flutes: Annotated[int, Field(ge=1, le=12)] = Field(2, description="cutting edges")
    speed: Annotated[float, Field(gt=0)] = Field(18000.0, description="spindle speed, rev/min")
    feed: FeedRate = Field(
        3000.0,
        description="cutting feed; 3000 at 18000 rev/min and 2 flutes is a chip of 0.083 (common practice 0.1 to 0.2 for general routing)",
    )
    plunge: FeedRate = Field(
        900.0,
        description="feed straight down; about a third of the feed or less (common practice, no source)",
    )
    pass_depth: Positive | None = Field(
        None,
        description="deepest single pass; default: the cutter's diameter (WOOD magazine, October 2019: no deeper than the diameter)",
    )

    @property
    def depth_of_pass(self) -> float:
        """Deepest single pass in mm."""
        return self.diameter if self.pass_depth is None else self.pass_depth


class Drawings(_Table):
    """The drawings and their unit."""

    files: Annotated[tuple[str, ...], BeforeValidator(_tuple)] = Field(
        (), description="DXF or SVG files, beside the job; each is one sheet when laid out as drawn"
    )
    unit: Literal["mm", "cm", "inch"] | None = Field(None, description="overrules what the files say")


class Feature(_Table):
    """Meaning of a layer that has a depth."""

    pocket: Positive | None = Field(None, description="closed loops on the layer are pockets this deep")
    hole: Positive | None = Field(None, description="circles on the layer are blind holes this deep")

    @model_validator(mode="after")
    def _one(self) -> Feature:
        if (self.pocket is None) == (self.hole is None):
            raise ValueError("give either pocket or hole, with a depth")
        return self


Meaning = Literal["profile", "opening", "hole", "sheet edge", "ignore"] | Feature


class PartRow(_Table):
    """One part to cut, picked from the drawings."""

    name: Annotated[str, Field(min_length=1)] = Field(description="its name everywhere")
    drawing: str | None = Field(
        None, description="the file it is drawn in; not needed when the job has one drawing"
    )
    at: Pair | None = Field(None, description="a point inside it, in the drawing, in mm")
    layer: str | None = Field(None, description="the layer its outline lies on, as a pattern")


class Fit(_Table):
    """How joints are to fit."""

    clearance: Annotated[Length, Field(ge=-0.1, le=1.0)] = Field(
        0.15,
        description="total, across the thickness, both sides together; dry joints 0.10 to 0.20, glued 0.05 to 0.15 (common practice, no source)",
    )


class JointRow(_Table):
    """A joint that recognition should not decide."""

    tenon: str = Field(description="the part with the tenon")
    mortise: str = Field(description="the part with the mortise")


class GlueUp(_Table):
    """Layers glued face to face into one piece."""

    name: Annotated[str, Field(min_length=1)] = Field(description="name of the piece")
    layers: Annotated[tuple[str, ...], BeforeValidator(_tuple), Field(min_length=2)] = Field(
        description="names of the parts, from one outside face to the other"
    )
    dowel: Positive = Field(
        8.0,
        description="diameter of the alignment dowels (a third to a half of the thickness: jorbins.com, rule of thirds and half)",
    )
    play: NotNegative = Field(
        0.1, description="hole diameter less dowel diameter (common practice, no source)"
    )


class Layout(_Table):
    """Where parts lie on the sheet."""

    mode: Literal["as drawn"] = Field("as drawn", description="as drawn: the drawing is the sheet")


class Tabs(_Table):
    """Wood left in the line of an outline to hold the part."""

    width: Positive = Field(
        8.0,
        description="length of a tab along the outline (common practice: 5 to 8, at least the cutter's diameter)",
    )
    height: Positive = Field(
        3.0,
        description="thickness of a tab above the table (common practice: 1.5 to 3, at least an eighth of the sheet)",
    )
    spacing: Positive = Field(220.0, description="about this far apart (common practice: 150 to 250)")
    longest: Positive = Field(
        30.0, description="the judge takes a longer piece left in an outline for wood left uncut"
    )
    share: Annotated[float, Field(gt=0, lt=1)] = Field(
        0.35, description="the judge takes more than this share of an outline for wood left uncut"
    )


class Job(_Table):
    """A whole job file."""

    title: str = Field("", description="said in the program's header and the report")
    sheet: Sheet = Field(description="the plywood on the table")
    machine: Machine = Field(default_factory=Machine, description="the router")
    cutter: Annotated[tuple[Cutter, ...], BeforeValidator(_tuple), Field(min_length=1)] = Field(
        description="the cutters on hand, one table each"
    )
    drawings: Drawings = Field(default_factory=Drawings, description="the drawings and their unit")
    layers: dict[str, Meaning] = Field(
        default_factory=dict,
        description="what the drawings' layers mean; the first pattern that matches counts; a layer without one goes by nesting",
    )
    part: Annotated[tuple[PartRow, ...], BeforeValidator(_tuple)] = Field(
        (), description="the parts to cut; without any, every part drawn"
    )
    fit: Fit = Field(default_factory=Fit, description="how joints are to fit")
    joint: Annotated[tuple[JointRow, ...], BeforeValidator(_tuple)] = Field(
        (), description="joints that recognition should not decide"
    )
    glue_up: Annotated[tuple[GlueUp, ...], BeforeValidator(_tuple)] = Field(
        (), description="layers glued face to face"
    )
    layout: Layout = Field(default_factory=Layout, description="where parts lie on the sheet")
    tabs: Tabs = Field(default_factory=Tabs, description="wood left to hold parts")

    def layer_rules(self) -> tuple[LayerRule, ...]:
        """The `[layers]` table as rules for the drawing reader, in the order of the file."""
        rules = []
        for pattern, meaning in self.layers.items():
            if isinstance(meaning, Feature):
                kind: Literal["pocket", "hole"] = "pocket" if meaning.pocket is not None else "hole"
                rules.append(LayerRule(pattern, kind, meaning.pocket or meaning.hole))
            else:
                rules.append(LayerRule(pattern, meaning))
        return tuple(rules)

    def cutter_by_number(self, number: int) -> Cutter | None:
        """The cutter with this T number, if the job has it."""
        return next((cutter for cutter in self.cutter if cutter.number == number), None)
