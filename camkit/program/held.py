"""How the pieces of a program are held, in words for its header."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.cut import Cut
from camkit.job.model import Job
from camkit.program.words import number

__all__ = ["held_words"]

# So many names are said before the rest is counted: a line of a program is at most 256 characters.
_NAMED = 6


def held_words(cuts: Sequence[Cut], job: Job) -> list[str]:
    """A line about the pieces that a skin holds, and one about those that only vacuum does."""
    outlines = [cut for cut in cuts if cut.kind == "profile"]
    skin = [cut for cut in outlines if job.holding(cut.part) == "skin"]
    vacuum = [cut for cut in outlines if job.holding(cut.part) == "vacuum" and not cut.tabs]
    said = []
    if skin:
        thick = number(job.tabs.skin, 2)
        said.append(f"A skin of {thick} mm stays under the outlines, to be pared off: {_named(skin)}")
    if vacuum:
        said.append(f"Cut right through without tabs, hold by vacuum: {_named(vacuum)}")
    return said


def _named(cuts: Sequence[Cut]) -> str:
    names = list(dict.fromkeys(cut.part for cut in cuts))
    more = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {more} more" if more > 0 else "")
