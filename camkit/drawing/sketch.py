"""`Sketch`: the raw lines and texts of a drawing, before anything is joined or given a meaning; in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from camkit.errors import Finding, InputError
from camkit.geometry.path import Arc, Path, Point

__all__ = [
    "Label",
    "Opened",
    "Piece",
    "Sketch",
    "StatedUnit",
    "check_coordinates",
    "check_point",
    "printable",
]

# Further out than this a coordinate is a mistake: 10 km, where a double still resolves 2 nm.
_FARTHEST = 1e7


@dataclass(frozen=True, slots=True)
class Piece:
    """One drawn line, open or closed; `aside` says why it counts only if a layer rule asks for it."""

    path: Path
    layer: str
    entity: str
    aside: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """A text and the point where it is anchored."""

    text: str
    at: Point
    layer: str


@dataclass(frozen=True, slots=True)
class Sketch:
    """All that a file draws."""

    pieces: tuple[Piece, ...]
    labels: tuple[Label, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class StatedUnit:
    """The unit that a file's header states: its name, mm in one drawing unit, and where it stands.

    `factor` is how many of that unit one drawing unit is; other than 1 only where an SVG file's view box
    is scaled to its page.
    """

    name: str
    scale: float
    where: str
    factor: float = 1.0


class Opened(Protocol):
    """A file that has been opened and can be drawn at any scale (mm in one drawing unit)."""

    @property
    def stated(self) -> StatedUnit | None:
        """What the header says about the unit."""

    @property
    def px(self) -> bool:
        """Whether the format's own unit is the CSS px."""

    @property
    def page(self) -> Point | None:
        """Length and width of the page in drawing units, where the format has a page."""

    def sketch(self, scale: float) -> Sketch:
        """Every piece and text in mm, curves flattened in mm."""


def check_point(point: Point, file: str, layer: str, entity: str) -> None:
    """Raise InputError when a coordinate is no number or farther out than 10 km."""
    x, y = point
    if abs(x) <= _FARTHEST and abs(y) <= _FARTHEST:
        return
    said = "is not a number" if math.isnan(x) or math.isnan(y) else "lies more than 10 km out"
    raise InputError(
        Finding(
            "error",
            "bad-coordinates",
            f"the point ({x:g}, {y:g}) {said}",
            "Mend or delete it in the drawing",
            file=file,
            layer=layer or None,
            entity=entity,
        )
    )


def check_coordinates(path: Path, file: str, layer: str, entity: str) -> None:
    """Check every point of a path, centres too, as `check_point` does."""
    for segment in path.segments:
        check_point(segment.start, file, layer, entity)
        check_point(segment.end, file, layer, entity)
        if isinstance(segment, Arc):
            check_point(segment.centre, file, layer, entity)


def printable(text: str) -> str:
    """The text without characters that no UTF-8 file can hold, and without line breaks."""
    return " ".join(text.encode("utf-8", "replace").decode("utf-8").split())
