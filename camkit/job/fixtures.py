"""What holds the sheet and stands in the cutter's way: clamps, pods, screws, as the job file has them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from camkit.job.machine import Table
from camkit.job.quantity import Expected, Length, Name, NotNegative, Pair, Positive, to_tuple

__all__ = ["AROUND", "CLEAR_OVER", "Box", "HoldDown", "KeepOut"]

# No cutter comes nearer to a fixture than this (common practice, no source).
AROUND = 5.0
# Travel leads at least this far over a fixture (common practice, no source).
CLEAR_OVER = 2.0


Box = Annotated[
    tuple[Length, Length, Length, Length],
    BeforeValidator(to_tuple),
    Expected("a box [x0, y0, x1, y1]"),
]


class KeepOut(Table):
    """A place on the sheet or under it that every cutter keeps away from."""

    kind: Literal["clamp", "pod", "screw"] = Field(
        description="clamps and screws stand on the sheet and are never cut; a pod holds it from below, and "
        "nothing is cut through over it",
        examples=['"clamp"'],
    )
    name: Name | None = Field(
        default=None,
        description="what messages call it; default: its kind and place",
        examples=['"left clamp"'],
    )
    box: Box | None = Field(
        default=None,
        description="its lower left and upper right corner on the sheet, in mm; or write at and diameter",
        examples=["[0, 300, 40, 380]"],
    )
    at: Pair | None = Field(
        default=None, description="middle of a round one, on the sheet, in mm", examples=["[20, 20]"]
    )
    diameter: Positive | None = Field(default=None, description="of a round one", examples=["120"])
    height: NotNegative | None = Field(
        default=None,
        description="how far it stands above the sheet's top; needed for clamps and screws, not for pods",
        examples=["25"],
    )

    @model_validator(mode="after")
    def _one_shape(self) -> KeepOut:
        round_one = self.at is not None and self.diameter is not None
        if (self.box is not None) == round_one or (self.at is None) != (self.diameter is None):
            raise ValueError("give either box = [x0, y0, x1, y1], or at = [x, y] and diameter")
        if self.box is not None and not (self.box[0] < self.box[2] and self.box[1] < self.box[3]):
            raise ValueError("box: the lower left corner comes first, then the upper right one")
        if (self.height is None) != (self.kind == "pod"):
            raise ValueError(
                "a pod lies under the sheet and has no height"
                if self.kind == "pod"
                else f"a {self.kind} needs its height above the sheet's top"
            )
        return self

    @property
    def said(self) -> str:
        """How messages call it: its name, or its kind and place."""
        if self.name is not None:
            return f"{self.kind} {self.name!r}"
        x, y = self.at if self.at is not None else (self.box or (0.0, 0.0))[:2]
        return f"the {self.kind} at ({x:g}, {y:g})"


class HoldDown(Table):
    """Screws in the waste that hold the sheet: their holes are drilled first, then the program stops."""

    screw: Positive = Field(default=4.0, description="diameter of the screws", examples=["4.5"])
    head: Positive = Field(
        default=8.0, description="diameter of their heads (of washers, where there are any)", examples=["9"]
    )
    head_height: NotNegative = Field(
        default=4.0, description="how far the heads stand above the sheet's top", examples=["3"]
    )
    hole: Positive | None = Field(
        default=None,
        description="diameter of the holes through the sheet; default: the screws' and 0.5, as DIN 74-1 has "
        "it for 4 mm",
        examples=["4.5"],
    )
    apart: Positive = Field(
        default=400.0,
        description="no waste where a screw may stand lies farther from one (common practice, no source)",
        examples=["300"],
    )
    places: Annotated[tuple[Pair, ...], BeforeValidator(to_tuple), Expected("points, [[x, y], ...]")] = Field(
        default=(),
        description="where the screws stand, on the sheet, in mm; default: found in the waste, four or more",
        examples=["[[20, 20], [1200, 20], [20, 580], [1200, 580]]"],
    )

    @model_validator(mode="after")
    def _holds(self) -> HoldDown:
        if self.head <= self.hole_diameter:
            raise ValueError(f"a head of {self.head:g} falls through a hole of {self.hole_diameter:g}")
        if self.hole_diameter < self.screw:
            raise ValueError(
                f"a screw of {self.screw:g} does not go through a hole of {self.hole_diameter:g}"
            )
        return self

    @property
    def hole_diameter(self) -> float:
        """Diameter of the holes through the sheet."""
        return self.screw + 0.5 if self.hole is None else self.hole
