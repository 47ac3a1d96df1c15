"""How plausible a drawing is in one unit, weighed against what furniture of plywood is like.

Every figure here is common practice without a source, judged by hand. A doubt is a natural logarithm of
odds: of two readings, the one with 2.3 less is ten times as likely.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from camkit.drawing.evidence import Evidence
from camkit.drawing.sheets import fits_a_sheet, is_a_sheet

__all__ = ["MM_PER_UNIT", "Reading", "in_mm", "weigh"]

# CSS 2.1, 4.3.2: 96 px to the inch.
MM_PER_UNIT = {"mm": 1.0, "inch": 25.4, "cm": 10.0, "m": 1000.0, "foot": 304.8, "px": 25.4 / 96}
# How seldom furniture is drawn in a unit where nothing is stated; px are what the standard says of SVG.
_RARITY = {"mm": 0.0, "px": 0.5, "inch": 1.0, "cm": 1.5, "m": 4.0, "foot": 5.0}
_RAREST = 3.0

# The longest outline: below or above this it cannot be furniture.
_SHORTEST, _LONGEST = 10.0, 5000.0
# The doubt about an outline up to this long, mm.
_LENGTHS = (
    (15.0, 6.0),
    (40.0, 2.5),
    (60.0, 1.5),
    (100.0, 0.8),
    (200.0, 0.4),
    (2600.0, 0.0),
    (3200.0, 0.7),
    (_LONGEST, 3.0),
)
# The doubt about its width up to this, mm.
_WIDTHS = ((8.0, 2.0), (15.0, 1.0), (math.inf, 0.0))
# The doubt about a drawing up to this long, mm; several sheets may lie side by side.
_EXTENTS = ((4200.0, 0.0), (13_000.0, 1.0), (50_000.0, 4.0))
_ABSURD = 12.0

# The sides of the sheets that are sold most, mm: 4 x 8 feet, and its metric fellow.
_SHEET_SIDES = (1220.0, 1250.0, 2440.0, 2500.0)

# Thicknesses of plywood and boards, mm (and 1/4, 1/2, 3/4, 1 inch); a slot is drawn for the measured sheet or
# with play.
_THICKNESSES = (3.0, 4.0, 6.0, 6.35, 6.5, 9.0, 12.0, 12.7, 15.0, 18.0, 19.05, 21.0, 24.0, 25.0, 25.4, 30.0)
_THINNER, _PLAY = 0.6, 0.5
_EXACTLY = 0.03
# Wider openings are windows and handles, which have any size; narrower ones no cutter fits into.
_WIDEST_SLOT = 40.0
_NARROWEST_SLOT, _ABSURD_SLOT = 2.5, 1.5
# The doubt about a hole up to this diameter, mm.
_HOLES = ((1.0, 5.0), (1.9, 2.0), (2.4, 0.2), (13.0, -0.3), (26.0, 0.3), (36.0, 0.7), (math.inf, 1.5))
# Header believed before: an opening narrower than this makes no sense if none is wider.
_SENSELESS_OPENING = 2.0

# How often a size drawn in whole steps is: whole, half, quarter, eighth to 32nd, tenth, hundredth, none.
_ROUND: dict[str, tuple[float, ...]] = {
    "mm": (0.84, 0.06, 0.02, 0.003, 0.05, 0.015, 0.012),
    "cm": (0.30, 0.12, 0.02, 0.003, 0.48, 0.06, 0.017),
    "inch": (0.35, 0.20, 0.17, 0.22, 0.02, 0.02, 0.02),
    "px": (0.80, 0.05, 0.02, 0.01, 0.05, 0.03, 0.04),
}
# The same where sizes follow from others: any number of decimals.
_FREE: dict[str, tuple[float, ...]] = {
    "mm": (0.15, 0.05, 0.05, 0.02, 0.25, 0.23, 0.25),
    "cm": (0.15, 0.05, 0.05, 0.02, 0.25, 0.23, 0.25),
    "inch": (0.15, 0.08, 0.08, 0.08, 0.15, 0.20, 0.26),
    "px": (0.10, 0.03, 0.03, 0.02, 0.07, 0.10, 0.65),
}
# Nobody thinks in these: their sizes come in the steps of another unit.
_DRAWN_IN = {"m": "mm", "foot": "inch"}
_UNKNOWN_STEPS = (0.15, 0.05, 0.05, 0.02, 0.15, 0.23, 0.35)
_ROUND_SHARE = {"px": 0.6}
_FRACTIONS = {2: "halves", 4: "quarters", 8: "eighths", 16: "sixteenths", 32: "32nds"}
# Sizes depend on each other: more than this many tell nothing new.
_ENOUGH_SIZES = 6
_NEAR = 2e-4


@dataclass(frozen=True, slots=True)
class Reading:
    """A drawing read in one unit: mm in one drawing unit, doubt, and the reasons in words.

    `absurd` says why the drawing makes no sense in this unit; empty when it may. `unusual`: it may, but
    furniture is seldom so.
    """

    name: str
    scale: float
    doubt: float
    speaks_for: tuple[str, ...] = ()
    speaks_against: tuple[str, ...] = ()
    absurd: str = ""
    unusual: bool = False


@dataclass(slots=True)
class _Scales:
    """Doubt and reasons as they pile up while one reading is weighed."""

    doubt: float
    speaks_for: list[str] = field(default_factory=list)
    against: list[str] = field(default_factory=list)
    unusual: bool = False

    def put(self, doubt: float, said: str = "") -> None:
        self.doubt += doubt
        self.unusual |= doubt >= 1.0
        if said and doubt:
            (self.against if doubt > 0 else self.speaks_for).append(said)


def weigh(name: str, scale: float, evidence: Evidence, favour: Sequence[tuple[float, str]] = ()) -> Reading:
    """The drawing read at `scale` mm in one unit of the drawing.

    `favour` are doubts (below 0: in its favour) from outside the drawing, each with its reason.
    """
    scales = _Scales(_RARITY.get(name, _RAREST))
    for doubt, said in favour:
        scales.put(doubt, said)
    _weigh_lengths(scales, scale, evidence)
    _weigh_sheet(scales, scale, evidence)
    _weigh_slots(scales, scale, evidence.slots)
    _weigh_holes(scales, scale, evidence.holes)
    drawn_in = _DRAWN_IN.get(name, name)
    unit_mm = MM_PER_UNIT.get(drawn_in, 1.0)
    _weigh_steps(scales, drawn_in, [size * scale / unit_mm for size in evidence.sizes], unit_mm)
    return Reading(
        name,
        scale,
        scales.doubt,
        tuple(scales.speaks_for),
        tuple(scales.against),
        _absurd(scale, evidence),
        scales.unusual,
    )


def in_mm(size: float) -> str:
    """A size as a reason shows it."""
    return f"{size:.0f}" if size >= 1000 else f"{size:.4g}"


def _absurd(scale: float, evidence: Evidence) -> str:
    longest = evidence.largest[0] * scale
    if not _SHORTEST <= longest <= _LONGEST:
        return f"the largest outline is {in_mm(longest)} mm long"
    widest = max((*evidence.slots, *evidence.holes), default=0.0) * scale
    if evidence.slots and widest < _SENSELESS_OPENING:
        return f"no opening is wider than {widest:.2g} mm"
    return ""


def _up_to(table: Sequence[tuple[float, float]], value: float) -> float:
    return next((doubt for limit, doubt in table if value <= limit), _ABSURD)


def _weigh_lengths(scales: _Scales, scale: float, evidence: Evidence) -> None:
    long, short = (side * scale for side in evidence.largest)
    doubt = _ABSURD if long < _SHORTEST else _up_to(_LENGTHS, long) + _up_to(_WIDTHS, short)
    word = "small" if long < 1000 else "large"
    said = f"an outline of {in_mm(long)} x {in_mm(short)} mm is {word} for furniture"
    scales.put(doubt, said if doubt >= 1 else "")
    extent = max(evidence.extent) * scale
    wide = _up_to(_EXTENTS, extent)
    if long <= _LONGEST:
        scales.put(wide, f"the drawing is {extent / 1000:.1f} m long")


def _weigh_sheet(scales: _Scales, scale: float, evidence: Evidence) -> None:
    page = evidence.page and is_a_sheet(evidence.page[0] * scale, evidence.page[1] * scale)
    drawn = page or fits_a_sheet(evidence.extent[0] * scale, evidence.extent[1] * scale)
    if drawn:  # that parts fill a sheet may be chance, a page of its size is none
        scales.put(-2.5 if page else -1.2, f"it fills a sheet of {drawn[0]} x {drawn[1]} mm")
        return
    for side in evidence.largest:
        if any(abs(side * scale / sheet - 1) < 0.002 for sheet in _SHEET_SIDES):
            scales.put(-1.0, f"a side of {in_mm(side * scale)} mm is that of a sheet")
            return


def _weigh_slots(scales: _Scales, scale: float, slots: Sequence[float]) -> None:
    widths = Counter(round(slot * scale, 2) for slot in slots)
    total = sum(widths.values())
    if not total:
        return
    scales.put(sum(_slot_doubt(width) * count for width, count in widths.items()) / total)
    usual = min(widths, key=lambda width: (-widths[width], width))
    doubt = _slot_doubt(usual)
    near = min(_THICKNESSES, key=lambda t: abs(t - usual))
    if doubt < 0:
        scales.speaks_for.append(f"slots of {usual:g} mm are about as wide as {near:g} mm sheets are thick")
    elif usual < _NARROWEST_SLOT:
        scales.against.append(f"openings would be only {usual:.2g} mm wide")
    elif usual <= _WIDEST_SLOT:
        scales.against.append(f"slots of {usual:g} mm suit no sheet")


def _slot_doubt(width: float) -> float:
    if width < _NARROWEST_SLOT:
        return 5.0 if width < _ABSURD_SLOT else 2.5
    if width > _WIDEST_SLOT:
        return 0.2
    if any(abs(width - thickness) <= _EXACTLY for thickness in _THICKNESSES):
        return -1.5
    if any(t - _THINNER <= width <= t + _PLAY for t in _THICKNESSES):
        return -0.7
    return 0.5


def _weigh_holes(scales: _Scales, scale: float, holes: Sequence[float]) -> None:
    diameters = Counter(round(hole * scale, 2) for hole in holes)
    total = sum(diameters.values())
    if not total:
        return
    doubt = sum(_up_to(_HOLES, d) * count for d, count in diameters.items()) / total
    usual = min(diameters, key=lambda d: (-diameters[d], d))
    word = "are usual" if doubt < 0 else "are too fine" if usual < 2 else "are seldom so wide"
    scales.put(doubt, f"holes of {usual:g} mm {word}" if doubt < 0 or doubt >= 0.7 else "")


def _weigh_steps(scales: _Scales, name: str, sizes: Sequence[float], unit_mm: float) -> None:
    """What the drawn numbers themselves tell: inches come in halves to 32nds, metric sizes in tenths."""
    if not sizes:
        return
    steps = [_step(size) for size in sizes]
    share = min(1.0, _ENOUGH_SIZES / len(steps))
    free_table = _FREE.get(name, _UNKNOWN_STEPS)
    free = share * sum(math.log(free_table[step]) for step in steps)
    if name not in _ROUND:
        scales.doubt -= free
        return
    whole = share * sum(math.log(_ROUND[name][step]) for step in steps)
    often = _ROUND_SHARE.get(name, 0.75)
    top = max(whole, free)
    likely = math.log(often * math.exp(whole - top) + (1 - often) * math.exp(free - top)) + top
    scales.doubt -= likely
    if whole < free - 1 and name == "inch":
        scales.against.append("its sizes are no fractions of an inch")
    if whole > free + 1 and name == "inch" and (finest := _finest_fraction(sizes)):
        scales.speaks_for.append(f"its sizes are in {finest} of an inch")
    if whole > free + 1 and name in ("mm", "cm"):
        all_whole = all(_is_whole(size * unit_mm, 1) for size in sizes)
        scales.speaks_for.append(f"its sizes are {'' if all_whole else 'mostly '}whole mm")


def _finest_fraction(sizes: Sequence[float]) -> str:
    """The name of the finest binary fraction among the sizes, "" where none is a fraction."""
    parts = [min(n for n in (1, *_FRACTIONS) if _is_whole(size, n)) for size in sizes if _step(size) <= 3]
    return _FRACTIONS.get(max(parts, default=1), "")


def _step(size: float) -> int:
    """The coarsest step that a size is a multiple of, as a column of the tables above."""
    for column, parts in enumerate((1, 2, 4, 32, 10, 100)):
        if _is_whole(size, parts):
            return column
    return 6


def _is_whole(size: float, parts: int) -> bool:
    return abs(size * parts - round(size * parts)) <= _NEAR * parts
