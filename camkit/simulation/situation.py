"""What the judge is told of a program besides its text: what was cut before it, and what it is to finish."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from camkit.part import Placed
from camkit.program.motion import Motion, Reading

__all__ = ["ALONE", "Situation"]


@dataclass(frozen=True, slots=True)
class Situation:
    """`before` are the readings of programs already run on the sheet, in order, as the judge gave them.

    `more_follow` tells that other programs will cut what this one leaves. `asked` are the pieces (part, copy)
    that must be whole afterwards, None means all.
    """

    before: tuple[Reading, ...] = ()
    more_follow: bool = False
    asked: Collection[tuple[str, int]] | None = None

    @property
    def first(self) -> int:
        """Index of the program's own first motion among all of the sheet."""
        return sum(len(reading.motions) for reading in self.before)

    def whole(self, reading: Reading) -> Reading:
        """The program's own reading behind all motions before it; only its own cuts are marked."""
        if not self.before:
            return reading
        earlier: tuple[Motion, ...] = tuple(m for one in self.before for m in one.motions)
        marks = tuple(replace(mark, before=mark.before + len(earlier)) for mark in reading.marks)
        return replace(reading, motions=(*earlier, *reading.motions), marks=marks)

    def asks(self, piece: Placed) -> bool:
        """Whether the piece must be whole when the program has run."""
        if self.more_follow:
            return False
        return self.asked is None or (piece.part.name, piece.copy) in self.asked


ALONE = Situation()
