"""One place to be re-fitted with one cutter, and what can be said of it."""

from __future__ import annotations

from dataclasses import dataclass

from camkit.errors import Finding, Level
from camkit.geometry.tolerance import RELIEF
from camkit.job.model import Cutter
from camkit.joinery.relief import largest_for
from camkit.joinery.wanted import Opening
from camkit.part import Part

__all__ = ["Task"]


@dataclass(frozen=True, slots=True)
class Task:
    """One place of a part, what it must become, and the cutter that will make it (None: all too large)."""

    part: Part
    opening: Opening
    cutter: Cutter | None

    @property
    def radius(self) -> float:
        """Radius of a relief in mm, somewhat more than the cutter's."""
        return self.cutter.diameter / 2 + RELIEF if self.cutter else 0.0

    @property
    def bare_radius(self) -> float:
        """The cutter's own radius."""
        return self.cutter.diameter / 2 if self.cutter else 0.0

    @property
    def in_pocket(self) -> bool:
        """Whether the place is a pocket, not an opening."""
        return self.opening.place.kind in ("housing", "rabbet")

    @property
    def name(self) -> str:
        """What the place is called beside others."""
        x, y = self.opening.place.middle
        return f"the {self.opening.place.kind} at ({x:.1f}, {y:.1f})"

    def cannot(self, reason: str) -> Finding:
        """Its walls cannot move."""
        return self.finding(
            "error",
            "cannot-refit",
            f"cannot get that width: {reason}",
            "Draw straight walls that meet at clear corners, or draw for the measured thickness",
        )

    def no_cutter(self) -> Finding:
        """Every milling cutter is too large."""
        place = self.opening.place
        side = place.length if place.kind in ("slot", "finger gap") else None
        return self.finding(
            "error",
            "no-cutter",
            "is too narrow for every milling cutter of the job",
            f"Add a milling cutter of at most {largest_for(self.opening.width, side):.1f} mm",
        )

    def no_room(self, depth: float) -> Finding:
        """Reliefs of this cutter do not fit its bottom, `depth` below its mouth."""
        diameter = self.cutter.diameter if self.cutter else 0.0
        return self.finding(
            "error",
            "relief-room",
            f"has no room for reliefs of the {diameter:g} mm cutter; its bottom corners stay round and "
            "the partner cannot seat",
            f"Use a milling cutter of at most {largest_for(self.opening.width, depth):.1f} mm",
        )

    def overcut(self) -> Finding:
        """Its ends are cut over whole."""
        tbones = self.opening.wish == "t-bone"
        kind = "T-bones" if tbones else "dogbones"
        diameter = self.cutter.diameter if self.cutter else 0.0
        return self.finding(
            "warning",
            "end-overcut",
            f"has ends too short for two {kind} of the {diameter:g} mm cutter: these are "
            f"cut over whole by {self.radius:.2f} mm and no longer locate a tenon's ends",
            f"Use a milling cutter of at most {largest_for(self.opening.width, tbones=tbones):.1f} mm to "
            "keep them",
        )

    def at_edge(self) -> Finding:
        """A housing's end lies too near the part's edge."""
        return self.finding(
            "warning",
            "housing-ends-at-edge",
            "ends too near the part's edge: the cutter leaves its corners uncut",
            f"Draw it past the edge by at least {self.radius:.1f} mm",
        )

    def round_corners(self, radius: float) -> Finding:
        """Its corners are drawn round, and what enters is square."""
        return self.finding(
            "warning",
            "round-corners",
            f"is drawn with corners rounded by {radius:.2f} mm, which stay; a square mate does not enter "
            "them",
            "Draw the corners sharp to have them relieved, or round the mate's edges by as much",
        )

    def finding(self, level: Level, rule: str, message: str, remedy: str) -> Finding:
        """A finding about this place; the message goes on after its kind, size and middle."""
        place, (x, y) = self.opening.place, self.opening.place.middle
        return Finding(
            level,
            rule,
            f"{place.kind} of {self.opening.width:.2f} x {place.length:.2f} mm at ({x:.1f}, {y:.1f}) "
            f"{message}",
            remedy,
            x_mm=x,
            y_mm=y,
            part=self.part.name,
            file=self.part.source.file or None,
        )
