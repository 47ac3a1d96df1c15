"""`Sketch`: the raw lines and texts of a drawing, before anything is joined or given a meaning; in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, Protocol

from camkit.errors import Finding, InputError
from camkit.geometry.path import Arc, Path, Point, arc_sweep

__all__ = [
    "MOST_SEGMENTS",
    "Crowded",
    "Label",
    "Opened",
    "Piece",
    "Sketch",
    "StatedUnit",
    "System",
    "check_coordinates",
    "check_point",
    "is_near",
    "printable",
    "shortened",
    "too_many_segments",
    "unreadable_file",
]

# Further out than this a coordinate is a mistake: 10 km, where a double still resolves 2 nm.
_FARTHEST = 1e7
# The centre of a flat arc is no drawn point; out to here a double still resolves the arc to 2 um.
_FARTHEST_CENTRE = 1e10
# So many lines and arcs are joined and nested within 10 s and 1 GiB on a slow machine.
MOST_SEGMENTS = 500_000


System = Literal["metric", "imperial", ""]


class Crowded(Exception):  # noqa: N818  (it says a state of the drawing, the error is made of it)
    """So much lies in one place that comparing it all would take too long; says what and how many."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One drawn line, open or closed; `aside` says why it counts only if a layer rule asks for it.

    `line_type` is the name of its pattern of dashes; empty for a continuous line.
    """

    path: Path
    layer: str
    entity: str
    aside: str = ""
    line_type: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """A text, on one line whatever `lines` it had, and the point where it is anchored."""

    text: str
    at: Point
    layer: str
    lines: int = 1


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
    is scaled to its page. `uneven` tells of a page of other proportions than its view box, which gives two
    scales.
    """

    name: str
    scale: float
    where: str
    factor: float = 1.0
    uneven: str = ""


class Opened(Protocol):
    """A file that has been opened and can be drawn at any scale (mm in one drawing unit)."""

    @property
    def stated(self) -> StatedUnit | None:
        """What the header says about the unit."""

    @property
    def system(self) -> System:
        """The system of units that the header states apart from the unit."""

    @property
    def px(self) -> bool:
        """Whether the format's own unit is the CSS px."""

    @property
    def page(self) -> Point | None:
        """Length and width of the page in drawing units, where the format has a page."""

    def sketch(self, scale: float) -> Sketch:
        """Every piece and text in mm, curves flattened in mm."""


def is_near(point: Point) -> bool:
    """Whether both coordinates are numbers and lie within 10 km."""
    return abs(point[0]) <= _FARTHEST and abs(point[1]) <= _FARTHEST


def check_point(point: Point, file: str, layer: str, entity: str) -> None:
    """Raise InputError when a coordinate is no number or farther out than 10 km."""
    x, y = point
    if is_near(point):
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
    """Check every point of a path as `check_point` does; the centre of a flat arc may lie farther out."""
    for segment in path.segments:
        points: tuple[Point, ...] = (segment.start, segment.end)
        if isinstance(segment, Arc):
            points = (*points, segment.centre if is_near(segment.centre) else _farthest(segment))
        for x, y in points:
            if not (-_FARTHEST <= x <= _FARTHEST and -_FARTHEST <= y <= _FARTHEST):
                check_point((x, y), file, layer, entity)


def _farthest(arc: Arc) -> Point:
    """The point that tells whether an arc about a far centre is drawn too far out."""
    x, y = arc.centre
    if not (abs(x) <= _FARTHEST_CENTRE and abs(y) <= _FARTHEST_CENTRE):
        return arc.centre
    sweep = arc_sweep(arc)
    turn = math.atan2(arc.start[1] - y, arc.start[0] - x) + (-sweep if arc.clockwise else sweep) / 2
    return (x + arc.radius * math.cos(turn), y + arc.radius * math.sin(turn))


def printable(text: str) -> str:
    """The text without characters that no UTF-8 file can hold, and without line breaks."""
    return " ".join(text.encode("utf-8", "replace").decode("utf-8").split())


def shortened(text: str, most: int = 120) -> str:
    """The text as `printable` gives it, cut where it is longer than a line can hold."""
    text = printable(text[: 4 * most])
    return text if len(text) <= most else f"{text[:most]}..."


def unreadable_file(
    file: str,
    message: str,
    remedy: str = "Save it again from the program that drew it",
    *,
    line: int | None = None,
    rule: str = "unreadable-file",
) -> InputError:
    """The error of a file that is not read at all."""
    return InputError(Finding("error", rule, message, remedy, line=line, file=file))


def too_many_segments(file: str, layer: str, entity: str, line: int | None = None) -> InputError:
    """The error of a drawing whose curves take more pieces than can be worked with."""
    return InputError(
        Finding(
            "error",
            "too-many-entities",
            f"up to here the drawing takes more than {MOST_SEGMENTS} lines and arcs",
            "Draw curves as arcs, delete what is not to be cut, or split the drawing",
            line=line,
            file=file,
            layer=layer or None,
            entity=entity,
        )
    )
