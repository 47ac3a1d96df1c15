"""The types of the job file's values: how each is read, its limits, and what it is called in words."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Discriminator, GetCoreSchemaHandler, Tag
from pydantic_core import CoreSchema, core_schema

from camkit.job.length import feed_mm_min, length_mm

__all__ = [
    "LONGEST",
    "POSITIVE",
    "AccelerationTriple",
    "Expected",
    "FeedRate",
    "FeedTriple",
    "Length",
    "Measure",
    "Name",
    "NotNegative",
    "OneLine",
    "Pair",
    "Positive",
    "PositivePair",
    "Range",
    "Reach",
    "Readings",
    "Text",
    "shown",
    "to_tuple",
]

_LONGEST_SHOWN = 60
# Nothing that fits into a workshop is longer than 100 m; a larger number is a slip in the unit.
LONGEST = 100_000.0


def shown(value: object) -> str:
    """The value as it would stand in a job file, cut short when it is long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, str):
        text = json.dumps(value, ensure_ascii=False)
    elif isinstance(value, list | tuple):
        text = "[" + ", ".join(shown(item) for item in value[:_LONGEST_SHOWN]) + "]"
    elif isinstance(value, int) and abs(value) >= 10**18:
        text = "a number of more than 18 digits"
    else:
        text = str(value)
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"


@dataclass(frozen=True, slots=True)
class Expected:
    """What a value must be, in words, where its type alone would say too little."""

    words: str


@dataclass(frozen=True, slots=True)
class Measure:
    """A number within limits; `read` turns text with a unit into it, None takes numbers only.

    `least` itself is allowed unless `above` is set. Booleans, NaN and infinities are refused.
    """

    words: str
    least: float
    most: float
    above: bool = False
    whole: bool = False
    read: Callable[[str], float] | None = None

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.check, handler(source))

    def check(self, value: object) -> float:
        """The number in mm (or its own unit); raises ValueError with the value and what is expected."""
        number = self.read(value) if isinstance(value, str) and self.read is not None else value
        if isinstance(number, bool) or not isinstance(number, int if self.whole else int | float):
            raise ValueError(f"{shown(value)} is not {self.words}")
        inside = number > self.least if self.above else number >= self.least
        if not inside or (isinstance(number, float) and not math.isfinite(number)):
            raise ValueError(f"{shown(value)} is not {self.words}")
        if number > self.most:
            raise ValueError(f"{shown(value)} is more than {self.most:.0f}, too much for {self.words}")
        return number if self.whole else float(number)


@dataclass(frozen=True, slots=True)
class OneLine:
    """Text on one line without control characters: it reaches the program's comments."""

    words: str
    may_be_empty: bool

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.check, handler(source))

    def check(self, value: object) -> object:
        """The text without blanks around it; raises ValueError with what is expected."""
        if not isinstance(value, str) or not value.isprintable() or not (self.may_be_empty or value.strip()):
            raise ValueError(f"{shown(value)} is not {self.words}")
        return value.strip()


def to_tuple(value: object) -> object:
    """A TOML list as the tuple that a frozen value holds; anything else is left for the check."""
    return tuple(value) if isinstance(value, list) else value


def _readings(value: object) -> object:
    return (value,) if isinstance(value, int | float | str) else to_tuple(value)


def _rising(value: tuple[float, float]) -> tuple[float, float]:
    if value[0] >= value[1]:
        raise ValueError(f"{shown(value)} is not a range: the lower end comes first")
    return value


def _reach_tag(value: object) -> str:
    return "range" if isinstance(value, list | tuple) else "length"


Length = Annotated[float, Measure("a length", -LONGEST, LONGEST, read=length_mm)]
POSITIVE = Measure("a length above 0", 0.0, LONGEST, above=True, read=length_mm)
Positive = Annotated[float, POSITIVE]
NotNegative = Annotated[float, Measure("a length of 0 or more", 0.0, LONGEST, read=length_mm)]
FeedRate = Annotated[float, Measure("a feed above 0", 0.0, 1e6, above=True, read=feed_mm_min)]
Name = Annotated[str, OneLine("text on one line, not empty", may_be_empty=False)]
Text = Annotated[str, OneLine("text on one line", may_be_empty=True)]
Pair = Annotated[tuple[Length, Length], BeforeValidator(to_tuple)]
PositivePair = Annotated[tuple[Positive, Positive], BeforeValidator(to_tuple)]
Acceleration = Annotated[float, Measure("a number above 0", 0.0, 1e7, above=True)]
FeedTriple = Annotated[tuple[FeedRate, FeedRate, FeedRate], BeforeValidator(to_tuple)]
AccelerationTriple = Annotated[tuple[Acceleration, Acceleration, Acceleration], BeforeValidator(to_tuple)]
Readings = Annotated[
    tuple[Positive, ...], BeforeValidator(_readings), Expected("a length above 0, or a list of them")
]
Range = Annotated[tuple[Length, Length], BeforeValidator(to_tuple), AfterValidator(_rising)]
Reach = Annotated[
    Annotated[Positive, Tag("length")] | Annotated[Range, Tag("range")],
    Discriminator(_reach_tag),
    Expected("a length above 0, or a range [low, high]"),
]
