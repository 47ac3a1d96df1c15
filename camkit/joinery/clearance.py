"""How much clearance the joints of a job get, and whether they will slide in, jam or rattle. Lengths in mm.

Clearance is the opening less the tenon, across the thickness, both sides together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.errors import Finding
from camkit.job.measured import MARK_STEP
from camkit.job.model import Finish, Fit, JointKind, JointRow, Machine, Sheet
from camkit.joinery.coupon_readings import clearance_of
from camkit.joinery.grades import grade_for
from camkit.joinery.sheet_readings import SPREAD

__all__ = [
    "BANDS",
    "SLIDE",
    "Allowance",
    "Kind",
    "Stack",
    "allowance",
    "allowance_by",
    "film_of",
    "play_told",
    "stack",
    "sum_told",
]

Kind = JointKind

# Usual clearances (common practice, no source; open mortises and tenons of solid wood were strongest 0.1
# tight: Elek 2020, doi 10.1007/s00107-020-01509-w).
BANDS: dict[Kind, tuple[float, float]] = {
    "knock-down": (0.10, 0.20),
    "glued": (0.05, 0.15),
    "press": (-0.10, 0),
}
# What a joint needs beyond its errors to slide together by hand (common practice, no source).
SLIDE = 0.05
# No opening is made wider than this over its mate: it would no longer guide it before the finish is on.
_LOOSEST = 1.0
_WALLS = {"tenons and mortises": 4, "tenons": 2, "mortises": 2, "masked": 0}
_EXACT = 1e-9


@dataclass(frozen=True, slots=True)
class Allowance:
    """What an opening gets beyond its mate: the clearance of the finished joint, and the film to come.

    `measured` says that a coupon gave the clearance, cutter and machine errors included.
    """

    kind: Kind
    clearance: float
    film: float = 0.0
    measured: bool = False

    @property
    def total(self) -> float:
        """Clearance as cut, in bare wood."""
        return self.clearance + self.film


@dataclass(frozen=True, slots=True)
class Stack:
    """Errors across a joint, each plus or minus: half the sheet's spread, cutter and backlash.

    `assumed` says that the spread was not measured; `on` names the sheet, if it has a name.
    """

    sheet: float
    cutter: float = 0.0
    backlash: float = 0.0
    assumed: bool = False
    on: str = "this sheet"

    @property
    def worst(self) -> float:
        """All errors at once: their sum."""
        return self.sheet + self.cutter + self.backlash

    @property
    def likely(self) -> float:
        """Independent errors: the root of the sum of their squares."""
        return math.hypot(self.sheet, self.cutter, self.backlash)


def film_of(finish: Finish | None) -> float:
    """How much a finish closes a joint: coats x film x coated walls, of which a joint has four.

    Two walls are the tenon's faces, two the opening's. Three coats of 0.03 on all four close 0.36.
    """
    return 0.0 if finish is None else finish.coats * finish.film * _WALLS[finish.on]


def allowance(fit: Fit) -> Allowance:
    """What the kind of joint that a job asks for gets, as its coupon measured where it has readings.

    Raises InputError when these contradict.
    """
    if fit.measured is None:
        return Allowance(fit.kind, fit.clearance, film_of(fit.finish))
    return Allowance(fit.kind, clearance_of(fit.measured, fit.kind), film_of(fit.finish), measured=True)


def allowance_by(fit: Fit, rows: Sequence[JointRow]) -> Allowance:
    """What joints of these rows of the job get: the first clearance and glue that one states, else [fit]'s.

    A stated clearance goes before a measured one. Raises InputError as `allowance`.
    """
    stated: dict[str, object] = {}
    clearance = next((row.clearance for row in rows if row.clearance is not None), None)
    if clearance is not None:
        stated |= {"clearance": clearance, "measured": None}
    glue = next((row.glue for row in rows if row.glue is not None), None)
    if glue is not None:
        stated["glue"] = glue
    return allowance(fit.model_copy(update=stated) if stated else fit)


def stack(sheet: Sheet, machine: Machine, *, after_coupon: bool = False) -> Stack:
    """The errors that a joint meets on this sheet and machine.

    A clearance read off a coupon holds the machine's share already: then only the sheet's is left. A single
    reading counts as a spread of 0.6.
    """
    spread = sheet.spread
    half = (SPREAD if spread is None else spread) / 2
    on = "this sheet" if sheet.name is None else sheet.table
    if after_coupon:
        return Stack(half, assumed=spread is None, on=on)
    return Stack(half, machine.cutter_error, machine.backlash, spread is None, on)


def sum_told(
    thickness: float, layers: int, glue: float, asked: Allowance, *, drawn_play: float | None = None
) -> str:
    """The sum behind a joint's width: "2 x 17.60 sheet + 0.10 glue line + 0.15 knock-down + 0.36 finish".

    `drawn_play` is named instead where it is kept.
    """
    sheets = f"{thickness:.2f} sheet" if layers == 1 else f"{layers} x {thickness:.2f} sheet"
    sheets += f" + {glue:.2f} glue line" if glue else ""
    if drawn_play is not None:
        return f"{sheets} {'-' if drawn_play < 0 else '+'} {abs(drawn_play):.2f} as drawn"
    sign = "-" if asked.clearance < 0 else "+"
    film = f" + {asked.film:.2f} finish" if asked.film else ""
    source = ", measured by coupon" if asked.measured else ""
    return f"{sheets} {sign} {abs(asked.clearance):.2f} {asked.kind}{source}{film}"


def play_told(
    asked: Allowance,
    errors: Stack,
    thickness: float,
    finish: Finish | None = None,
    table: str = "[fit]",
) -> list[Finding]:
    """Whether joints with this allowance may jam or rattle, and what the finish does: each with the remedy.

    A knock-down or glued joint needs its errors and 0.05 to slide. Where the likely errors leave less it is
    `joints-may-jam`; where only the worst case does, a note, since hardly any sheet would pass otherwise.
    `joints-may-rattle`: more clearance than both the kind of joint and the worst case ask for. A clearance
    measured by a coupon holds all errors but the sheet's: then only tenons thicker than the mean can jam.
    `table` is where the job states the clearance.
    """
    findings = _finish_told(asked, finish)
    if asked.measured:
        return [*findings, *_thicker_than_tried(asked, errors)]
    if asked.kind == "press":
        return [*findings, _press(asked, errors)]
    needed, least = errors.worst + SLIDE, errors.likely + SLIDE
    roomy = max(BANDS[asked.kind][1], math.ceil(100 * needed - 1e-6) / 100)
    if asked.clearance < needed - _EXACT:
        findings.append(_jam(asked, errors, thickness, table, likely=asked.clearance < least - _EXACT))
    elif asked.clearance > roomy + _EXACT:
        findings.append(
            Finding(
                "warning",
                "joints-may-rattle",
                f"clearance {asked.clearance:.2f} is more than {asked.kind} joints need on "
                f"{errors.on}; they play up to {asked.clearance + errors.worst:.2f}",
                f"Lower clearance in {table} to {roomy:.2f}",
                amount_mm=asked.clearance + errors.worst,
            )
        )
    return findings


def _thicker_than_tried(asked: Allowance, errors: Stack) -> list[Finding]:
    """A coupon's slot was tried with one thickness; the sheet has others, up to half its spread more."""
    if errors.sheet <= MARK_STEP + _EXACT or asked.kind == "press":
        return []
    assumed = " (assumed)" if errors.assumed else ""
    key = "by_hand" if asked.kind == "knock-down" else "by_mallet"
    return [
        Finding(
            "note" if errors.assumed else "warning",
            "joints-may-jam",
            f"the clearance of {asked.clearance:.2f} fits the mean of {errors.on}; where it is up to "
            f"{errors.sheet:.2f}{assumed} thicker, joints go as much tighter",
            "Measure the sheet at three places or more"
            if errors.assumed
            else f"Choose thinner tenons, or write a slot one step looser under {key} in [fit.measured]",
            amount_mm=errors.sheet,
        )
    ]


def _jam(asked: Allowance, errors: Stack, thickness: float, table: str, *, likely: bool) -> Finding:
    """Joints may jam; a spread that was only assumed, or the worst case alone, is no more than a note.

    A cutter small by d makes openings narrower by d, which no relief mends: walls meet before corners do. A
    clearance of no more than that jams on any sheet.
    """
    smallest = asked.clearance <= errors.cutter + _EXACT
    parts = f"sheet {errors.sheet:.2f}{' (assumed)' if errors.assumed else ''}"
    if errors.cutter or errors.backlash:
        parts += f", cutter {errors.cutter:.2f}, backlash {errors.backlash:.2f}"
    grade = grade_for(thickness, 2 * errors.likely)
    as_grade = f", about {grade} of ISO 286" if grade else ""
    what = "joints may jam" if likely else "joints may go stiffly, or jam, if all errors meet"
    to = math.ceil(100 * ((errors.likely if likely else errors.worst) + SLIDE) - 1e-6) / 100
    remedy = f"Raise clearance in {table} to {to:.2f}, or choose thinner tenons"
    if errors.assumed and not smallest:
        remedy = f"Measure the sheet at three places or more, else raise clearance in {table} to {to:.2f}"
    elif errors.cutter or errors.backlash:
        remedy += ", or give the machine's cutter_error and backlash if they are smaller"
    return Finding(
        "warning" if smallest or (likely and not errors.assumed) else "note",
        "joints-may-jam",
        f"on {errors.on} {what}: clearance {asked.clearance:.2f}, errors up to {errors.worst:.2f} at worst "
        f"and {errors.likely:.2f} likely ({parts}{as_grade}), and {SLIDE:.2f} to slide"
        + ("; with the smallest cutter in tolerance the walls of an opening touch" if smallest else ""),
        remedy,
        amount_mm=asked.clearance - errors.worst,
    )


def _press(asked: Allowance, errors: Stack) -> Finding:
    tight, loose = errors.likely - asked.clearance, errors.likely + asked.clearance
    return Finding(
        "note",
        "joints-press",
        f"press joints on {errors.on} are likely from {max(tight, 0):.2f} tight to {max(loose, 0):.2f} loose",
        "Measure the sheet where its tenons will lie, and try one joint on a scrap",
    )


def _finish_told(asked: Allowance, finish: Finish | None) -> list[Finding]:
    if finish is None or not asked.film:
        return []
    sum_ = f"{finish.coats} coats x {finish.film:g} x {_WALLS[finish.on]} walls = {asked.film:.2f}"
    if asked.total > _LOOSEST:
        return [
            Finding(
                "error",
                "film",
                f"the finish closes joints by {sum_}; with the clearance they would be cut {asked.total:.2f} "
                f"wider than the sheet, more than {_LOOSEST:g}",
                'Mask the joints (on = "masked" in fit.finish), or correct coats and film',
                amount_mm=asked.film,
            )
        ]
    if asked.kind == "glued":
        return [
            Finding(
                "warning",
                "finish-on-glue",
                f"glued joints are to be coated on {finish.on}; most finishes spoil the bond",
                'Mask tenons, mortises and glue faces, and write on = "masked" in fit.finish',
            )
        ]
    if asked.film <= asked.clearance + _EXACT:
        return []
    return [
        Finding(
            "warning",
            "film",
            f"the finish is thicker than the clearance: {sum_} against {asked.clearance:.2f}; openings are "
            f"cut {asked.total:.2f} wider than the sheet, loose until the last coat",
            'Mask the joints (on = "masked" in fit.finish), coat tenons only, or put on fewer coats',
            amount_mm=asked.film,
        )
    ]
