"""A part of what a job cuts: the rest from some cut on, one piece alone, or all of it in the air."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from camkit.cut import Cut
from camkit.errors import Finding, InputError
from camkit.program.words import number

__all__ = ["EVERYTHING", "Piece", "Wish", "check_air", "chosen", "known_pieces", "pieces_wished"]

Piece = tuple[str, int]

# So far above a sheet that is never quite flat nothing touches (common practice, no source).
_CLEAR = 1.0


@dataclass(frozen=True, slots=True)
class Wish:
    """`first` is the cut to go on from; `piece` a part's name, or name:copy; `higher` mm above the sheet."""

    first: int | None = None
    piece: str | None = None
    higher: float = 0.0

    @property
    def whole(self) -> bool:
        """Whether nothing but the whole job is wished."""
        return self == EVERYTHING

    @property
    def suffix(self) -> str:
        """What programs made so have behind the sheet's number in their names: "-from-12-air"."""
        from_cut = f"-from-{self.first}" if self.first is not None else ""
        only = f"-only-{_plain(self.piece)}" if self.piece is not None else ""
        return f"{from_cut}{only}{'-air' if self.higher else ''}"

    def says(self, done: Sequence[Cut]) -> list[str]:
        """What the program's first lines say of it; `done` are the cuts of its sheet that it leaves out."""
        said = []
        if self.higher:
            said.append(f"IN THE AIR: everything {number(self.higher, 3)} mm higher, nothing is cut")
        if self.first is not None:
            said.append(f"The rest from cut {self.first} on")
            if done:
                numbers = [cut.number for cut in done]
                said.append(f"Cuts {min(numbers)} to {max(numbers)} must have been made on this very sheet")
            if any(cut.kind == "hold-down" for cut in done):
                said.append("Hold-down screws must be fitted in all holes drilled for them")
        if self.piece is not None:
            said.append(f"Only {self.piece}: nothing else is cut from the sheet")
        return said


EVERYTHING = Wish()


def _plain(name: str) -> str:
    """The name as a piece of a file's name."""
    ascii_only = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]+", "-", ascii_only).strip("-") or "piece"


def known_pieces(cuts: Iterable[Cut]) -> tuple[Piece, ...]:
    """Every piece that is cut, in the order of the cuts."""
    return tuple(dict.fromkeys((cut.part, cut.copy) for cut in cuts))


def pieces_wished(wish: Wish, known: Sequence[Piece]) -> frozenset[Piece] | None:
    """The pieces that `--only` names, None for all; a name alone means all its copies.

    Raises InputError, saying which there are, when there is none such.
    """
    if wish.piece is None:
        return None
    named = frozenset(piece for piece in known if wish.piece in (piece[0], f"{piece[0]}:{piece[1]}"))
    if named:
        return named
    have = ", ".join(dict.fromkeys(f'"{name}:{copy}"' for name, copy in known))
    raise InputError(
        Finding("error", "words", f'--only: no piece is called "{wish.piece}"', f"Choose among {have}")
    )


def chosen(cuts: Sequence[Cut], wish: Wish) -> tuple[tuple[Cut, ...], tuple[Cut, ...]]:
    """The cuts of all sheets that are wished, and those of the same sheet that have been made before.

    Raises InputError for a number or a piece that does not exist.
    """
    pieces = pieces_wished(wish, known_pieces(cuts))
    if wish.first is None:
        return tuple(cut for cut in cuts if pieces is None or (cut.part, cut.copy) in pieces), ()
    begin = next((k for k, cut in enumerate(cuts) if cut.number == wish.first), None)
    if begin is None:
        last = max((cut.number for cut in cuts), default=0)
        raise InputError(
            Finding(
                "error",
                "words",
                f"--from: there is no cut {wish.first}, the job has {last} of them",
                "The comments (CUT ...) in the program and report.json number them from 1",
            )
        )
    sheet = cuts[begin].sheet
    same = [(k, cut) for k, cut in enumerate(cuts) if cut.sheet == sheet]
    return tuple(c for k, c in same if k >= begin), tuple(c for k, c in same if k < begin)


def check_air(cuts: Iterable[Cut], wish: Wish) -> None:
    """Raises InputError when the cuts, made so much higher, would still come upon the sheet."""
    deepest = max((-move.z for cut in cuts for move in cut.moves), default=0.0)
    if wish.higher and wish.higher < deepest + _CLEAR:
        raise InputError(
            Finding(
                "error",
                "words",
                f"--air {wish.higher:g} is too low: the deepest cut is {deepest:.1f} mm deep",
                f"Write --air {math.ceil(deepest + _CLEAR)} or more",
            )
        )
