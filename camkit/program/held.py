"""How the pieces of a program are held, in words for its header."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.cut import Cut
from camkit.job.model import Job
from camkit.program.words import COMMENT_LENGTH, number

__all__ = ["held_words"]


def held_words(cuts: Sequence[Cut], job: Job) -> list[str]:
    """Which pieces a skin holds, and which only vacuum does, as lines of comments."""
    outlines = [cut for cut in cuts if cut.kind == "profile"]
    skin = [cut for cut in outlines if job.holding(cut.part) == "skin"]
    vacuum = [cut for cut in outlines if job.holding(cut.part) == "vacuum" and not cut.tabs]
    thick = number(job.tabs.skin, 2)
    return [
        *_listed(f"A skin of {thick} mm stays under these outlines, to be pared off", skin),
        *_listed("Cut right through without tabs, hold by vacuum", vacuum),
    ]


def _listed(said: str, cuts: Sequence[Cut]) -> list[str]:
    """What is said, and the pieces' names, in as many comments as they need; nothing without pieces."""
    lines = [f"{said}:"] if cuts else []
    for name in dict.fromkeys(cut.part for cut in cuts):
        row = f"{lines[-1]} {name};" if len(lines) > 1 else f"  {name};"
        if len(lines) > 1 and len(row) <= COMMENT_LENGTH - 2:
            lines[-1] = row
        else:
            lines.append(f"  {name};")
    return [line.rstrip(";") for line in lines]
