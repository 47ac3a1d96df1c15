"""The values that travel: a part and its features, and where it lies on a sheet. Everything in mm."""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from typing import Literal

from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import Bounds, bounds
from camkit.geometry.path import Path, Point, Region, circle, region

__all__ = [
    "Countersink",
    "Hole",
    "JointFace",
    "LayerMeaning",
    "LayerRule",
    "Part",
    "Placed",
    "Pocket",
    "Source",
    "layer_pattern",
]

# A straight wall that bears on another part: its two ends.
JointFace = tuple[Point, Point]
LayerMeaning = Literal["profile", "opening", "hole", "pocket", "countersink", "sheet edge", "ignore"]


@dataclass(frozen=True, slots=True)
class LayerRule:
    """What a drawing's layer means: `pattern` as in a shell, letter case ignored.

    `depth` belongs to pockets and blind holes; None cuts through. `angle_deg` belongs to countersinks.
    """

    pattern: str
    meaning: LayerMeaning
    depth: float | None = None
    angle_deg: float | None = None

    @property
    def line(self) -> str:
        """The rule as a line of a job's [layers].

        >>> LayerRule("pocket*", "pocket", 6.0).line
        '"pocket*" = { pocket = 6 }'
        """
        value = self.angle_deg if self.depth is None else self.depth
        word = f'"{self.meaning}"' if value is None else f"{{ {self.meaning} = {value:.12g} }}"
        return f"{json.dumps(self.pattern, ensure_ascii=False)} = {word}"


def layer_pattern(name: str) -> str:
    """The pattern that matches a layer of this name; signs that no job file takes match as any sign."""
    return "".join(sign if sign.isprintable() else "?" for sign in re.sub(r"([*?[])", r"[\1]", name))


@dataclass(frozen=True, slots=True)
class Source:
    """Where a shape was drawn: file, layer and the entity it began with ("LWPOLYLINE 2F")."""

    file: str = ""
    layer: str = ""
    entity: str = ""


@dataclass(frozen=True, slots=True)
class Countersink:
    """A cone about a hole for a screw's head: diameter at the drawn face, and the angle that it encloses."""

    diameter: float
    angle_deg: float = 90.0


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole; `depth` is measured from the drawn face to its full width, None means through."""

    centre: Point
    diameter: float
    depth: float | None = None
    countersink: Countersink | None = None

    def sink_depth(self) -> float:
        """How deep its countersink reaches below the drawn face, (D - d) / 2 / tan(angle / 2); else 0."""
        sink = self.countersink
        if sink is None:
            return 0.0
        return (sink.diameter - self.diameter) / 2 / math.tan(math.radians(sink.angle_deg / 2))


@dataclass(frozen=True, slots=True)
class Pocket:
    """A recess of even `depth` below the drawn face, with `islands` that stay at full thickness.

    The outline may run past the part's own outline: then the recess runs off the edge.
    """

    outline: Path
    depth: float
    islands: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """One piece as drawn or as fitted: a closed outline and what is cut into it, in drawing coordinates.

    `joint_faces` are the walls of outline, openings and recesses that bear on other parts, each up to its
    sharp corners; they are known once joints have been looked for.
    """

    name: str
    outline: Path
    openings: tuple[Path, ...] = ()
    holes: tuple[Hole, ...] = ()
    pockets: tuple[Pocket, ...] = ()
    source: Source = Source()
    joint_faces: tuple[JointFace, ...] = ()

    def region(self) -> Region:
        """What stays of the sheet right through: the outline less openings and through holes."""
        bored = (circle(h.centre, h.diameter) for h in self.holes if h.depth is None)
        return region(self.outline, (*self.openings, *bored))

    def bounds(self) -> Bounds:
        """Extent (x0, y0, x1, y1) of the outline."""
        return bounds(self.outline)

    def spot(self) -> Point:
        """A point in the part's wood, clear of openings and through holes."""
        place = as_polygon(self.region()).representative_point()
        return (place.x, place.y)


@dataclass(frozen=True, slots=True)
class Placed:
    """One copy of a part on a sheet.

    A point (u, v) of the part's drawing lies on the sheet at (x, y) + turn(u, v), where u becomes -u
    first when `mirrored`; `turn_deg` is counter-clockwise. `shape` is the part in sheet coordinates.
    """

    part: Part
    shape: Part
    copy: int = 1
    sheet: int = 1
    x: float = 0.0
    y: float = 0.0
    turn_deg: float = 0.0
    mirrored: bool = False
