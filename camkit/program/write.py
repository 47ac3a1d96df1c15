"""Neutral RS-274 text after NISTIR 6556: no word that belongs to one control only."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camkit import __version__
from camkit.cut import Cut, Drill, Feed, Move, Rapid, Turn
from camkit.geometry.tolerance import PROGRAM_DECIMALS
from camkit.job.model import Cutter, Job, Sheet
from camkit.program.travel import low_travel
from camkit.program.words import comment, number

__all__ = ["write"]

Point3 = tuple[float, float, float]

# A turn whose rounded ends make it differ from what was meant by more than this angle is written straight.
_SAME_SWEEP = 0.2


def write(cuts: Sequence[Cut], job: Job, stock: Sheet, *, name: str, size: tuple[float, float]) -> str:
    """The program for one sheet of `stock` and of `size` (length, width) mm.

    Its header says in words what the program fits; each cut begins with a numbered comment. Ends with M30.
    """
    cutters = {cutter.number: cutter for cutter in job.cutter}
    used = list(dict.fromkeys(cut.cutter for cut in cuts))
    writer = _Writer(job, stock.thickness)
    lines = _header(job, name, size, stock, [cutters[n] for n in used])
    lines += ["G17 G21 G40 G49 G80 G90 G94", "G54", "G61"]
    now: int | None = None
    for cut in low_travel(cuts, job.machine):
        cutter = cutters[cut.cutter]
        if cut.cutter != now:
            lines += writer.change(cutter, first=now is None)
            now = cut.cutter
        lines.append(comment(f"CUT {cut.number} {cut.kind.upper()} {cut.part.upper()} {cut.copy}"))
        lines += [line for move in cut.moves for line in writer.move(move)]
    if cuts:
        lines += writer.lift()
    lines += ["M5", "M30"]
    return "\n".join(lines) + "\n"


def _header(
    job: Job, name: str, size: tuple[float, float], stock: Sheet, cutters: Sequence[Cutter]
) -> list[str]:
    zero = "top of the sheet" if job.machine.zero == "sheet top" else "table"
    said = [
        f"{name}{': ' + job.title if job.title else ''}",
        f"Sheet {number(size[0], 2)} x {number(size[1], 2)}, {stock.described}",
        f"Measured thickness {number(stock.thickness, 3)}",
        "Fits this sheet and these cutters only: measure again before cutting another",
        "X0 Y0 at the sheet's lower left corner, X along its length",
        f"Z0 on the {zero}",
        f"Through cuts end {number(job.machine.into_table, 3)} below the sheet: use a spoilboard",
        "Lengths in mm, feeds in mm/min",
        *(
            f"T{cutter.number} {cutter.kind} {number(cutter.diameter, 3)} mm, {cutter.flutes} flutes"
            + (f", cutting length {number(cutter.cutting_length, 2)}" if cutter.cutting_length else "")
            for cutter in cutters
        ),
        "Eyes, ears and lungs protected, sheet and loose parts held, hands off until the spindle stands",
        f"camkit {__version__}",
    ]
    return [comment(text) for text in said]


class _Writer:
    """Turns moves into lines and remembers where the rounded text has brought the cutter."""

    def __init__(self, job: Job, thickness: float) -> None:
        self._job = job
        self._lift = thickness if job.machine.zero == "table" else 0.0
        self._at: Point3 | None = None
        self._feed: float | None = None

    def _z(self, z: float) -> float:
        return round(z + self._lift, PROGRAM_DECIMALS)

    def lift(self) -> list[str]:
        """Straight up to safe height, when not there."""
        safe = self._z(self._job.machine.safe_height)
        if self._at is None:
            return [f"G0 Z{number(safe)}"]
        x, y, z = self._at
        self._at = (x, y, safe)
        return [f"G0 Z{number(safe)}"] if z != safe else []

    def change(self, cutter: Cutter, *, first: bool) -> list[str]:
        """Fit the cutter and start it: safe height, spindle off, M6, and a stop where it is done by hand."""
        self._feed = None
        lines = [comment(f"CUTTER {cutter.number} {cutter.kind} {number(cutter.diameter, 3)} mm")]
        lines += self.lift()
        if not first:
            lines.append("M5")
        if self._job.machine.cutter_change == "stop":
            words = (
                f"MSG, fit cutter {cutter.number}: {cutter.kind} {number(cutter.diameter, 3)} mm, set Z zero"
            )
            lines += [f"T{cutter.number} M6", comment(words), "M0"]
        else:
            lines.append(f"T{cutter.number} M6")
        return [*lines, f"S{number(cutter.speed, 0)} M3"]

    def move(self, move: Move) -> list[str]:
        """The line for one move; none when rounding leaves nothing of it."""
        end = (round(move.x, PROGRAM_DECIMALS), round(move.y, PROGRAM_DECIMALS), self._z(move.z))
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
        retract = self._z(move.retract)
        words = f" X{number(end[0])} Y{number(end[1])} Z{number(end[2])} R{number(retract)}"
        pecked = move.peck < move.retract - move.z - 10**-PROGRAM_DECIMALS
        peck = f" Q{number(round(move.peck, PROGRAM_DECIMALS))}" if pecked else ""
        feed = self._f(move) or f" F{number(round(move.feed_mm_min, 1), 1)}"
        self._at = (end[0], end[1], retract)
        return [f"G98 G{83 if pecked else 81}{words}{peck}{feed}", "G80"]

    def _axes(self, end: Point3) -> str:
        before = self._at or (None, None, None)
        return "".join(
            f" {axis}{number(new)}" for axis, new, old in zip("XYZ", end, before, strict=True) if new != old
        )

    def _f(self, move: Feed | Turn | Drill) -> str:
        feed = round(move.feed_mm_min, 1)
        if feed == self._feed:
            return ""
        self._feed = feed
        return f" F{number(feed, 1)}"

    def _turn(self, move: Turn, end: Point3) -> str:
        """An arc with I and J from the rounded start; straight when rounding would make it another arc."""
        assert self._at is not None, "a cut begins with a rapid"
        i = round(move.centre[0] - self._at[0], PROGRAM_DECIMALS)
        j = round(move.centre[1] - self._at[1], PROGRAM_DECIMALS)
        meant = _sweep(self._at, end, move.centre, move.clockwise)
        centre = (self._at[0] + i, self._at[1] + j)
        written = _sweep(self._at, end, centre, move.clockwise)
        radius = math.hypot(i, j)
        mismatch = abs(radius - math.dist(centre, end[:2]))
        other = meant > math.pi + 0.1 or abs(meant - written) > _SAME_SWEEP
        # NISTIR 6556 3.5.3 allows 0.002 mm between the two radii.
        if end[:2] == self._at[:2] or other or mismatch > 0.0015:
            return "G1" + self._axes(end)
        z = f" Z{number(end[2])}" if end[2] != self._at[2] else ""
        word = "G2" if move.clockwise else "G3"
        return f"{word} X{number(end[0])} Y{number(end[1])}{z} I{number(i)} J{number(j)}"


def _sweep(start: Point3, end: Point3, centre: tuple[float, float], clockwise: bool) -> float:
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    return (first - last if clockwise else last - first) % (2 * math.pi)
