"""What the maker should know of the words that a program is written in."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.cut import Cut
from camkit.errors import Finding
from camkit.job.model import Job
from camkit.program.chords import straightened

__all__ = ["words_told"]


def words_told(cuts: Sequence[Cut], job: Job) -> tuple[Finding, ...]:
    """Notes and warnings about words that the control lacks, of all programs together."""
    machine = job.machine
    said = []
    if machine.arcs == "lines":
        _, arcs, feeds = straightened(cuts)
        what = f"{arcs} arcs are written as {feeds} straight moves, within 0.004 mm of the arc"
        said.append(Finding("note", "arcs-as-lines", what))
    if machine.path == "exact" and not machine.takes("G61"):
        what = (
            "G61 is left out: how far corners are rounded is up to the control, and they are judged as sharp"
        )
        remedy = "See that the control stops at corners, or rounds them by less than 0.02"
        said.append(Finding("warning", "corners-unsaid", what, remedy))
    if machine.speed_by_hand:
        used = list(dict.fromkeys(cut.cutter for cut in cuts))
        speeds = ", ".join(f"{c.speed:.0f} for cutter {c.number}" for c in job.cutter if c.number in used)
        said.append(Finding("note", "speed-by-hand", f"the speed is set by hand, in rev/min: {speeds}"))
    return tuple(said)
