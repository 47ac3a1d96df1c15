"""Moves as lines of text, from where the rounded text has brought the cutter."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camkit.cut import Drill, Feed, Move, Rapid, Turn
from camkit.geometry.path import Point
from camkit.job.model import Cutter, HoldDown, Job
from camkit.program.frame import Frame, Point3
from camkit.program.header import cutter_words, zero_words
from camkit.program.words import comment, number

__all__ = ["Lines"]

# A turn whose rounded ends make it differ from what was meant by more than this angle is written straight.
_SAME_SWEEP = 0.2


class Lines:
    """Turns moves into lines and remembers where they have brought the cutter, in the program's numbers."""

    def __init__(self, job: Job, frame: Frame, size: tuple[float, float], thickness: float) -> None:
        """Nothing is known yet of where the cutter stands over a sheet of that size and thickness in mm."""
        self._size = size
        self._thickness = thickness
        self._job = job
        self._frame = frame
        self._at: Point3 | None = None
        self._feed: float | None = None

    @property
    def _safe(self) -> float:
        return self._frame.z(self._job.machine.safe_height)

    def lift(self) -> list[str]:
        """Straight up to safe height, when not there."""
        if self._at is None:
            return [f"G0 Z{self._frame.said(self._safe)}"]
        x, y, z = self._at
        self._at = (x, y, self._safe)
        return [f"G0 Z{self._frame.said(self._safe)}"] if z != self._safe else []

    def stop(self) -> list[str]:
        """The spindle off, and before it what runs with it."""
        return [*(["M9"] if self._job.machine.with_spindle else []), "M5"]

    def change(self, cutter: Cutter, *, first: bool) -> list[str]:
        """Fit the cutter and start it: safe height, spindle off, M6, and a stop where it is done by hand.

        A program for one cutter only says which has been fitted: who starts it has just done so. A change
        leaves the cutter where nobody can know: before anything else it rises to safe height again. Before
        the first one nothing moves, for the heights are those of another cutter.
        """
        machine = self._job.machine
        self._feed = None
        lines = [comment(f"CUTTER {cutter.number} {cutter_words(cutter)}")]
        lines += [*([] if first else self.lift()), *self.stop()]
        if machine.cutter_change == "stop" and machine.touch_off is not None and not first:
            x, y, _ = self._frame.point(*machine.touch_off, 0.0)
            lines.append(f"G0 X{self._frame.said(x)} Y{self._frame.said(y)}")
        words = [word for kind, word in (("T", f"T{cutter.number}"), ("M6", "M6")) if machine.takes(kind)]
        lines += [" ".join(words)] if words else []
        if machine.cutter_change != "automatic":
            lines.append(comment(self._fit(cutter)))
        if machine.cutter_change == "stop":
            lines.append("M0")
        self._at = None
        lines += self.lift()
        return [*lines, *self._start(cutter)]

    def screws(self, places: Sequence[Point], going_on: Cutter | None) -> list[str]:
        """The stop to fit hold-down screws at `places` on the sheet; the cutter that goes on starts again.

        It is None when another cutter is fitted next anyway.
        """
        hold = self._job.hold_down or HoldDown()
        size = (
            f"{len(places)} screws of {number(hold.screw, 2)} mm, heads up to {number(hold.head, 2)} mm wide"
        )
        lines = [*self.lift(), *self.stop()]
        for x, y in places:
            px, py, _ = self._frame.point(x, y, 0.0)
            lines.append(comment(f"screw at X{self._frame.said(px)} Y{self._frame.said(py)}"))
        high = number(hold.head_height, 2)
        lines += [comment(f"MSG, fit {size} and {high} mm high, in the holes drilled now"), "M0"]
        if going_on is None:
            return lines
        self._at = None  # hands were at the machine
        return [*lines, *self.lift(), *self._start(going_on)]

    def _fit(self, cutter: Cutter) -> str:
        stops = self._job.machine.cutter_change == "stop"
        said = f"MSG, {'fit cutter' if stops else 'cutter'} {cutter.number}: {cutter_words(cutter)}"
        if self._job.machine.speed_by_hand:
            said += f", {number(cutter.speed, 0)} rev/min by hand"
        return f"{said}, {'set ' if stops else ''}{self._touched()}"

    def _touched(self) -> str:
        """What Z is set to, and where, as the control shows it."""
        spot, frame = self._job.machine.touch_off, self._frame
        if spot is None:
            return f"Z zero on the {zero_words(self._job)}"
        on_sheet = all(0 <= place <= side for place, side in zip(spot, self._size, strict=True))
        top = self._thickness if self._job.machine.zero == "table" else 0.0
        height = frame.rounded((top if on_sheet else top - self._thickness) / frame.unit)
        value = "zero" if height == 0 else number(height, 3)
        x, y = (number(frame.x(spot[0]), 3), number(frame.y(spot[1]), 3))
        return f"Z {value} on the {'sheet' if on_sheet else 'table'} at X{x} Y{y}"

    def _start(self, cutter: Cutter) -> list[str]:
        machine = self._job.machine
        lines = ["M3" if machine.speed_by_hand else f"S{number(cutter.speed, 0)} M3"]
        if machine.start_dwell:
            lines.append(f"G4 P{number(machine.start_dwell, 3)}")
        return lines + ([" ".join(machine.with_spindle)] if machine.with_spindle else [])

    def move(self, move: Move) -> list[str]:
        """The line for one move; none when rounding leaves nothing of it."""
        end = self._frame.point(move.x, move.y, move.z)
        if isinstance(move, Drill):
            return self._cycle(move, end)
        if end == self._at:
            return []
        if isinstance(move, Rapid):
            line = "G0" + self._axes(end)
        elif isinstance(move, Turn):
            line = self._turn(move, end) + self._f(move)
        else:
            line = "G1" + self._axes(end) + self._f(move)
        self._at = end
        return [line]

    def _cycle(self, move: Drill, end: Point3) -> list[str]:
        """The drilling cycle, begun at its R plane, so that G98 and G99 come back to one height."""
        frame, said = self._frame, self._frame.said
        retract, peck = frame.z(move.retract), frame.rounded(move.peck / frame.unit)
        pecked = peck < retract - end[2] - 10**-frame.decimals
        words = f" X{said(end[0])} Y{said(end[1])} Z{said(end[2])} R{said(retract)}"
        words += f" Q{said(peck)}" if pecked else ""
        words += self._f(move) or f" F{number(frame.feed(move.feed_mm_min), frame.feed_decimals)}"
        self._at = (end[0], end[1], retract)
        return [f"G98 G{83 if pecked else 81}{words}", "G80"]

    def _axes(self, end: Point3) -> str:
        before = self._at or (None, None, None)
        said = self._frame.said
        return "".join(
            f" {axis}{said(new)}" for axis, new, old in zip("XYZ", end, before, strict=True) if new != old
        )

    def _f(self, move: Feed | Turn | Drill) -> str:
        feed = self._frame.feed(move.feed_mm_min)
        if feed == self._feed:
            return ""
        self._feed = feed
        return f" F{number(feed, self._frame.feed_decimals)}"

    def _turn(self, move: Turn, end: Point3) -> str:
        """An arc with I and J from the rounded start; straight when rounding would make it another arc."""
        assert self._at is not None, "a cut begins with a rapid"
        frame, said = self._frame, self._frame.said
        true_centre = (frame.x(move.centre[0]), frame.y(move.centre[1]))
        i = frame.rounded(true_centre[0] - self._at[0])
        j = frame.rounded(true_centre[1] - self._at[1])
        meant = _sweep(self._at, end, true_centre, move.clockwise)
        centre = (self._at[0] + i, self._at[1] + j)
        written = _sweep(self._at, end, centre, move.clockwise)
        radius = math.hypot(i, j)
        mismatch = abs(radius - math.dist(centre, end[:2]))
        other = meant > math.pi + 0.1 or abs(meant - written) > _SAME_SWEEP
        if end[:2] == self._at[:2] or other or mismatch > frame.arc_within:
            return "G1" + self._axes(end)
        z = f" Z{said(end[2])}" if end[2] != self._at[2] else ""
        word = "G2" if move.clockwise else "G3"
        return f"{word} X{said(end[0])} Y{said(end[1])}{z} I{said(i)} J{said(j)}"


def _sweep(start: Point3, end: Point3, centre: tuple[float, float], clockwise: bool) -> float:
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    return (first - last if clockwise else last - first) % (2 * math.pi)
