"""What the layers of the drawings mean, as the job file states it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag, model_validator

from camkit.job.machine import Table
from camkit.job.quantity import Expected, Measure, Positive
from camkit.part import LayerRule

__all__ = ["Feature", "Meaning", "rules_of"]


class Feature(Table):
    """Meaning of a layer that has a depth or an angle: give one of them."""

    pocket: Positive | None = Field(
        default=None, description="closed loops on the layer are pockets this deep", examples=["6.0"]
    )
    hole: Positive | None = Field(
        default=None, description="circles on the layer are blind holes this deep", examples=["10.0"]
    )
    countersink: Annotated[float, Measure("an angle from 30 to 150", 30.0, 150.0)] | None = Field(
        default=None,
        description="circles on the layer are the upper rims of countersinks of this angle, in degrees, each "
        "about a hole with the same centre (metric screws: 90)",
        examples=["90"],
    )

    @model_validator(mode="after")
    def _one(self) -> Feature:
        if sum(value is not None for value in (self.pocket, self.hole, self.countersink)) != 1:
            raise ValueError("give either pocket or hole with a depth, or countersink with an angle")
        return self


def _meaning_tag(value: object) -> str:
    return "table" if isinstance(value, dict | Feature) else "word"


_Word = Literal["profile", "opening", "hole", "sheet edge", "ignore"]
Meaning = Annotated[
    Annotated[_Word, Tag("word")] | Annotated[Feature, Tag("table")],
    Discriminator(_meaning_tag),
    Expected(
        '"profile", "opening", "hole", "sheet edge", "ignore", { pocket = depth }, { hole = depth } or '
        "{ countersink = angle }"
    ),
]


def rules_of(layers: Mapping[str, Meaning]) -> tuple[LayerRule, ...]:
    """The `[layers]` table as rules for the drawing reader, in the order of the file."""
    rules = []
    for pattern, meaning in layers.items():
        if not isinstance(meaning, Feature):
            rules.append(LayerRule(pattern, meaning))
        elif meaning.countersink is not None:
            rules.append(LayerRule(pattern, "countersink", angle_deg=meaning.countersink))
        elif meaning.pocket is not None:
            rules.append(LayerRule(pattern, "pocket", meaning.pocket))
        else:
            rules.append(LayerRule(pattern, "hole", meaning.hole))
    return tuple(rules)
