"""Sheet coordinates as a program's own numbers: its zero, its unit, its decimals."""

from __future__ import annotations

from dataclasses import dataclass

from camkit.geometry.tolerance import PROGRAM_DECIMALS
from camkit.job.control import Corner
from camkit.job.machine import Machine
from camkit.program.words import number

__all__ = ["MM_PER_INCH", "Frame", "Point3", "frame_of"]

Point3 = tuple[float, float, float]

MM_PER_INCH = 25.4
# A ten thousandth of an inch is 0.0025 mm; the arc rule of NISTIR 6556 section 3.5.3 wants one decimal more.
_INCH_DECIMALS = 5
_ZERO: dict[Corner, tuple[float, float]] = {
    "lower left": (0.0, 0.0),
    "lower right": (1.0, 0.0),
    "upper left": (0.0, 1.0),
    "upper right": (1.0, 1.0),
    "centre": (0.5, 0.5),
}


@dataclass(frozen=True, slots=True)
class Frame:
    """`zero` is where the program's X0 Y0 Z0 lies on the sheet, in mm; Z counts from the sheet's top.

    `unit` is mm per unit of the program; `decimals` those of lengths, `feed_decimals` those of feeds.
    """

    zero: Point3
    unit: float = 1.0
    decimals: int = PROGRAM_DECIMALS
    feed_decimals: int = 1

    @property
    def arc_within(self) -> float:
        """How much an arc's radii may differ, in the program's unit: three quarters of what is allowed.

        NISTIR 6556 3.5.3 allows 0.002 mm or 0.0002 inch.
        """
        return 0.0015 if self.unit == 1.0 else 0.00015

    def x(self, x: float) -> float:
        """Sheet X in the program's unit, not rounded."""
        return (x - self.zero[0]) / self.unit

    def y(self, y: float) -> float:
        """Sheet Y in the program's unit, not rounded."""
        return (y - self.zero[1]) / self.unit

    def z(self, z: float) -> float:
        """Height above the sheet's top as it is written."""
        return self.rounded((z - self.zero[2]) / self.unit)

    def point(self, x: float, y: float, z: float) -> Point3:
        """A place on the sheet as it is written."""
        return (self.rounded(self.x(x)), self.rounded(self.y(y)), self.z(z))

    def rounded(self, length: float) -> float:
        """A length in the program's unit as it is written."""
        return round(length, self.decimals) + 0.0

    def said(self, length: float) -> str:
        """A length in the program's unit as the text has it."""
        return number(length, self.decimals)

    def feed(self, feed_mm_min: float) -> float:
        """A feed as it is written."""
        return round(feed_mm_min / self.unit, self.feed_decimals)


def frame_of(machine: Machine, size: tuple[float, float], thickness: float, higher: float = 0.0) -> Frame:
    """The frame of a program for a sheet of `size` (length, width); it runs `higher` mm above the sheet."""
    long, wide = _ZERO[machine.xy_zero]
    z = -thickness if machine.zero == "table" else 0.0
    zero = (long * size[0], wide * size[1], z - higher)
    if machine.program_unit == "inch":
        return Frame(zero, MM_PER_INCH, _INCH_DECIMALS, 3)
    return Frame(zero)
