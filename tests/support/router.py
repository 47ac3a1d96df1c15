"""Programs written by hand for tests of the judge: text from plain geometry, no code of the planner's."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from camkit.geometry.path import Path, Point, rectangle
from camkit.job.machine import Cutter, Machine
from camkit.job.model import Job, Sheet
from camkit.part import Hole, Part, Placed, Pocket

__all__ = ["Router", "job", "placed", "plate"]

# What a sound path keeps off the part.
ALLOWANCE = 0.005


def job(*cutters: Cutter, **machine: object) -> Job:
    """A job with a 6 mm cutter number 1, or with the cutters given."""
    return Job(
        sheet=Sheet(measured_thickness=(18.0,)),
        machine=Machine(**machine),
        cutter=cutters or (Cutter(number=1, diameter=6.0),),
    )


def placed(*parts: Part) -> tuple[Placed, ...]:
    """The parts where they are drawn."""
    return tuple(Placed(part, part) for part in parts)


def plate(
    x: float,
    y: float,
    length: float = 200.0,
    width: float = 100.0,
    name: str = "shelf",
    openings: tuple[Path, ...] = (),
    holes: tuple[Hole, ...] = (),
    pockets: tuple[Pocket, ...] = (),
) -> Part:
    """An upright rectangle with its lower left corner at (x, y)."""
    return Part(name, rectangle(x, y, x + length, y + width), openings, holes, pockets)


@dataclass
class Router:
    """Collects the lines of a program; `bite` moves every path that much nearer to the part."""

    diameter: float = 6.0
    feed: float = 3600.0
    thickness: float = 18.0
    bite: float = 0.0
    cutter: int = 1
    spindle: str = "S18000 M3"
    lines: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.say("G21 G90 G94 G17 G40 G61", f"T{self.cutter} M6", self.spindle, "G0 Z15")

    @property
    def radius(self) -> float:
        """The cutter's."""
        return self.diameter / 2

    @property
    def off(self) -> float:
        """Distance of the path from the part."""
        return self.radius + ALLOWANCE - self.bite

    @property
    def passes(self) -> list[float]:
        """Heights of the passes, the last 0.2 into the table."""
        deepest = self.thickness + 0.2
        count = math.ceil(deepest / 6)
        return [-deepest * (n + 1) / count for n in range(count)]

    def say(self, *lines: str) -> Router:
        """Add lines as they stand."""
        self.lines += lines
        return self

    def text(self) -> str:
        """The whole program."""
        return "\n".join([*self.lines, "G0 Z15", "M5", "M30", ""])

    def around(self, x0: float, y0: float, x1: float, y1: float, tabs: float = 8.0) -> Router:
        """Around the outside of a rectangle, clockwise, arcs at the corners, a tab amid each long side."""
        d = self.off
        self.say(f"G0 X{x0 - d:.4f} Y{y0:.4f}", "G0 Z1")
        middle, gap = (x0 + x1) / 2, tabs / 2 + self.radius
        top = -self.thickness + 3
        for z in self.passes:
            self.say(f"G1 Z{z:.4f} F900", f"Y{y1:.4f} F{self.feed:g}")
            self.say(f"G2 X{x0:.4f} Y{y1 + d:.4f} I{d:.4f} J0")
            if tabs and z < top:
                self.say(f"G1 X{middle - gap:.4f}", f"Z{top:.4f}", f"X{middle + gap:.4f}", f"Z{z:.4f} F900")
            self.say(
                f"G1 X{x1:.4f} F{self.feed:g}", f"G2 X{x1 + d:.4f} Y{y1:.4f} I0 J{-d:.4f}", f"G1 Y{y0:.4f}"
            )
            self.say(f"G2 X{x1:.4f} Y{y0 - d:.4f} I{-d:.4f} J0")
            if tabs and z < top:
                self.say(f"G1 X{middle + gap:.4f}", f"Z{top:.4f}", f"X{middle - gap:.4f}", f"Z{z:.4f} F900")
            self.say(f"G1 X{x0:.4f} F{self.feed:g}", f"G2 X{x0 - d:.4f} Y{y0:.4f} I0 J{d:.4f}")
        return self.say("G0 Z15")

    def inside(self, x0: float, y0: float, x1: float, y1: float) -> Router:
        """Around the inside of a rectangular opening, counter-clockwise, right through, without tabs."""
        d = self.off
        corners = [(x0 + d, y0 + d), (x1 - d, y0 + d), (x1 - d, y1 - d), (x0 + d, y1 - d)]
        self.say(f"G0 X{corners[0][0]:.4f} Y{corners[0][1]:.4f}", "G0 Z1")
        for z in self.passes:
            self.say(f"G1 Z{z:.4f} F900")
            self.say(*(f"G1 X{x:.4f} Y{y:.4f} F{self.feed:g}" for x, y in (*corners[1:], corners[0])))
        return self.say("G0 Z15")

    def clear(self, x0: float, y0: float, x1: float, y1: float, depth: float) -> Router:
        """A rectangular recess: rows along X, then around its walls."""
        d = self.off
        self.say(f"G0 X{x0 + d:.4f} Y{y0 + d:.4f}", "G0 Z1", f"G1 Z{-depth:.4f} F900")
        rows = max(1, math.ceil((y1 - y0 - 2 * d) / (0.8 * self.diameter)))
        for n in range(rows + 1):
            y = y0 + d + (y1 - y0 - 2 * d) * n / rows
            ends = (x0 + d, x1 - d) if n % 2 == 0 else (x1 - d, x0 + d)
            self.say(f"G1 X{ends[0]:.4f} Y{y:.4f} F{self.feed:g}", f"X{ends[1]:.4f}")
        for x, y in (
            (x0 + d, y1 - d),
            (x0 + d, y0 + d),
            (x1 - d, y0 + d),
            (x1 - d, y1 - d),
            (x0 + d, y1 - d),
        ):
            self.say(f"G1 X{x:.4f} Y{y:.4f}")
        return self.say("G0 Z15")

    def bore(self, centre: Point, diameter: float, depth: float | None = None) -> Router:
        """A round hole: a helix down, a full turn at the bottom, and back to the middle."""
        x, y = centre
        d = diameter / 2 - self.off
        bottom = self.thickness + 0.2 if depth is None else depth
        self.say(f"G0 X{x + d:.4f} Y{y:.4f}", "G0 Z1", "G1 Z0 F900")
        turns = math.ceil(bottom / 2)
        for n in range(1, turns + 1):
            self.say(f"G3 X{x + d:.4f} Y{y:.4f} Z{-bottom * n / turns:.4f} I{-d:.4f} J0 F{self.feed:g}")
        return self.say(f"G3 X{x + d:.4f} Y{y:.4f} I{-d:.4f} J0", f"G1 X{x:.4f} Y{y:.4f}", "G0 Z15")
