"""The unit of a drawing: what the header states if it can be right, else the most plausible one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from camkit.drawing.drawn import UnitFrom
from camkit.drawing.evidence import Evidence
from camkit.drawing.sheets import fits_a_sheet, is_a_sheet
from camkit.drawing.sketch import StatedUnit
from camkit.errors import Finding

__all__ = ["MM_PER_UNIT", "Choice", "GivenUnit", "choose_unit"]

GivenUnit = Literal["mm", "cm", "inch"]
# In order of how often furniture is drawn in them where nothing is stated.
MM_PER_UNIT: dict[str, float] = {"mm": 1.0, "inch": 25.4, "cm": 10.0}
_RARITY = {"mm": 0.0, "px": 0.5, "inch": 1.0, "cm": 1.5}

# What furniture of plywood looks like, mm (common practice, no source).
_WIDEST_DRAWING = 4200.0
_WIDEST_PART = 3200.0
_SMALLEST_DRAWING = 40.0
_NARROWEST_SLOT = 2.5
_SMALLEST_HOLE = 1.0
# A header is doubted only where the drawing makes no sense in its unit.
_ABSURDLY_WIDE = 5000.0
_ABSURDLY_SMALL = 10.0
_ABSURD_SLOT = 2.0
_REMEDY = "If that is wrong, say --unit mm, cm or inch, or unit under [drawings] in the job"


@dataclass(frozen=True, slots=True)
class Choice:
    """The unit settled on, mm in one drawing unit, and what there is to say about it."""

    name: str
    scale: float
    source: UnitFrom
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Guess:
    name: str
    scale: float
    doubt: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]


def choose_unit(
    stated: StatedUnit | None, candidates: dict[str, float], evidence: Evidence | None, file: str
) -> Choice:
    """The header's unit where it can be right, else a guess that is told as a warning.

    `candidates` are the units to guess among, mm in one drawing unit.
    """
    if evidence is None:
        return Choice(stated.name, stated.scale, "header") if stated else Choice("mm", 1.0, "guessed")
    if stated is not None:
        absurd = _absurd(stated.scale, evidence)
        better = _best({n: s for n, s in candidates.items() if abs(s / stated.scale - 1) > 1e-3}, evidence)
        if (
            not absurd
            or better.doubt > 1
            or not (better.speaks_for or _out_of_bounds(stated.scale, evidence))
        ):
            return Choice(stated.name, stated.scale, "header", _doubted(stated, absurd, file))
        said = f"the header says {stated.name} ({stated.where}), but then {absurd}"
        return Choice(better.name, better.scale, "guessed", (_told(said, better, evidence, file),))
    best = _best(candidates, evidence)
    return Choice(best.name, best.scale, "guessed", (_told("the file states no unit", best, evidence, file),))


def _best(candidates: dict[str, float], evidence: Evidence) -> _Guess:
    guesses = [_guess(name, scale, evidence) for name, scale in candidates.items()]
    return min(guesses, key=lambda guess: guess.doubt)


def _guess(name: str, scale: float, evidence: Evidence) -> _Guess:
    length, width = (side * scale for side in evidence.extent)
    doubt = _RARITY.get(name, 1.0)
    speaks_for, against = [], []
    if max(length, width) > _WIDEST_DRAWING or evidence.largest * scale > _WIDEST_PART:
        doubt += 10
        against.append(f"the drawing would be {length:.0f} x {width:.0f} mm")
    if max(length, width) < _SMALLEST_DRAWING:
        doubt += 6
        against.append(f"the drawing would be only {length:.1f} x {width:.1f} mm")
    inner = len(evidence.slots) + len(evidence.holes)
    narrow = [s for s in evidence.slots if s * scale < _NARROWEST_SLOT]
    fine = [d for d in evidence.holes if d * scale < _SMALLEST_HOLE]
    if narrow or fine:
        doubt += 6 * (len(narrow) + len(fine)) / inner
        against.append(f"openings would be only {min(narrow + fine) * scale:.2g} mm wide")
    page = evidence.page and is_a_sheet(evidence.page[0] * scale, evidence.page[1] * scale)
    sheet = page or fits_a_sheet(length, width)
    if sheet:
        doubt -= 2 if page else 1  # that parts fill a sheet may be chance
        speaks_for.append(f"it fills a sheet of {sheet[0]} x {sheet[1]} mm")
    if name == "inch" and evidence.steps == "sixteenths":
        doubt -= 3
        speaks_for.append("lengths are drawn in sixteenths")
    if name == "inch" and evidence.steps == "tenths":
        doubt += 2
        against.append("lengths would not be drawn in sixteenths")
    return _Guess(name, scale, doubt, tuple(speaks_for), tuple(against))


def _out_of_bounds(scale: float, evidence: Evidence) -> bool:
    return not _ABSURDLY_SMALL <= evidence.largest * scale <= _ABSURDLY_WIDE


def _absurd(scale: float, evidence: Evidence) -> str:
    """Why a drawing makes no sense in a unit; empty when it may."""
    if _out_of_bounds(scale, evidence):
        return f"the largest outline is {evidence.largest * scale:.4g} mm long"
    slots = [s * scale for s in evidence.slots]
    if slots and max(slots) < _ABSURD_SLOT and not evidence.holes:
        return f"no opening is wider than {max(slots):.2g} mm"
    return ""


def _doubted(stated: StatedUnit, absurd: str, file: str) -> tuple[Finding, ...]:
    if not absurd:
        if stated.name != "px":
            return ()
        said = f"sizes are stated in px ({stated.where}); read at 96 px to the inch, as the standard says"
        return (Finding("note", "unit-px", said, _REMEDY, file=file),)
    said = f"the header says {stated.name} ({stated.where}); it was believed, although then {absurd}"
    return (Finding("warning", "unit-doubtful", said, _REMEDY, file=file),)


def _told(why: str, guess: _Guess, evidence: Evidence, file: str) -> Finding:
    length, width = (side * guess.scale for side in evidence.extent)
    reasons = [f"the drawing is then {length:.0f} x {width:.0f} mm", *guess.speaks_for]
    for name, scale in MM_PER_UNIT.items():
        against = _guess(name, scale, evidence).speaks_against
        if name != guess.name and against:
            reasons.append(f"in {name} {against[0]}")
    if guess.speaks_against:
        reasons.append(f"although {guess.speaks_against[0]}")
    return Finding(
        "warning",
        "unit-guessed",
        f"{why}; it was read in {guess.name}: {', '.join(reasons)}",
        _REMEDY,
        file=file,
    )
