"""Fitting all parts of a job to the measured sheets: joints first, then the dowels of glue-ups."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from difflib import get_close_matches

from camkit.errors import Finding
from camkit.job.model import Job, Sheet
from camkit.joinery.finger_fit import fingers_of, fingers_wanted
from camkit.joinery.fit_told import fit_told
from camkit.joinery.fitted import Fitted
from camkit.joinery.glue import glue
from camkit.joinery.joint_faces import joint_faces
from camkit.joinery.layers import stacks
from camkit.joinery.lone import lone_wanted
from camkit.joinery.mates import Stock, mates_of, stocks_leaning
from camkit.joinery.pairs import Pairs, pairs
from camkit.joinery.positions import positions
from camkit.joinery.refit import Refitted, refit
from camkit.joinery.sheet_readings import cannot_fit
from camkit.joinery.shoulders import entries_of, roots_wanted
from camkit.joinery.tenon_ends import tenons_wanted, wedges_wanted
from camkit.joinery.undo import undone
from camkit.joinery.wanted import Ground, Wanted, loops_of, openings_wanted
from camkit.part import Part

__all__ = ["fit"]


def fit(parts: Sequence[Part], job: Job, stocks: Sequence[Sheet]) -> Fitted:
    """The parts as they must be cut, each from its own sheet (`stocks`, one a part), in the order given.

    Openings that take another part become as wide as its sheet and the clearance, flush tenons as long as
    their mates are thick; plates that shoulders hold apart stay apart, and the places that take them follow.
    Corners of joints are relieved for the cutter that makes them, and layers of glue-ups receive their dowel
    holes. What is no joint stays, the very same shapes. Walls that bear on other parts become joint faces,
    whether or not they were fitted. What was not done is said.
    """
    known = [k for k, stock in enumerate(stocks) if stock.drawn_thickness is not None]
    hindrances = [said for stock in dict.fromkeys(stocks) if (said := _hindrance(stock)) is not None]
    if not known or any(one.level == "error" for one in hindrances):
        glued = glue(_faced(parts, job, stocks), job.glue_up, [stock.thickness for stock in stocks])
        return Fitted(glued.parts, (), glued.glue_ups, (*hindrances, *glued.findings))
    current = list(parts) if len(known) == len(parts) else _faced(parts, job, stocks)
    refitted, found, unclosed = _refitted([parts[k] for k in known], job, [stocks[k] for k in known])
    for k, one in zip(known, refitted, strict=True):
        current[k] = replace(one.part, joint_faces=one.faces) if one.faces else one.part
    glued = glue(current, job.glue_up, [stock.thickness for stock in stocks])
    told = fit_told([parts[k] for k in known], refitted, found, job, [stocks[k] for k in known])
    return Fitted(
        glued.parts,
        tuple(joint for one in refitted for joint in one.joints),
        glued.glue_ups,
        (*hindrances, *_unknown_mates(parts, job), *unclosed, *told, *glued.findings),
        tuple(size for one in refitted for size in one.sizes),
    )


def _faced(parts: Sequence[Part], job: Job, stocks: Sequence[Sheet]) -> list[Part]:
    """The parts as drawn, with the joint faces of what would be their joints."""
    thick = [stock.drawn_thickness or stock.thickness for stock in stocks]
    named = [(row.tenon, row.mortise) for row in job.joint if row.tenon is not None]
    found = pairs(parts, thick, named, stacks(job.glue_up, parts))
    fingers = fingers_of(parts, [Stock(size, size) for size in thick])
    faced = []
    for k, part in enumerate(parts):
        loops = loops_of(undone(part))
        faces = joint_faces(k, part, loops, loops, found, fingers)
        faced.append(replace(part, joint_faces=faces) if faces else part)
    return faced


def _refitted(
    parts: Sequence[Part], job: Job, sheets: Sequence[Sheet]
) -> tuple[list[Refitted], Pairs, tuple[Finding, ...]]:
    """Every part re-fitted for its mates, the joints found, and loops of joints that cannot close.

    All sheets have both thicknesses.
    """
    stocks = [Stock(sheet.drawn_thickness or sheet.thickness, sheet.thickness) for sheet in sheets]
    meeting = stocks_leaning(parts, stocks, job)
    drawn = [stock.drawn for stock in meeting]
    glued = stacks(job.glue_up, parts)
    named = [(row.tenon, row.mortise) for row in job.joint if row.tenon is not None]
    measured = [stock.measured for stock in meeting]
    found = pairs(parts, drawn, named, glued, measured)
    mates = mates_of(found, meeting, glued)
    sharps = [undone(part) for part in parts]
    where = positions(parts, found, drawn, measured, job.fit.keep, glued)
    ground = Ground(
        parts,
        stocks,
        found,
        mates,
        job,
        {one.feature: one.move for one in where.located},
        {tenon: one.move for one in where.shoulders for tenon in one.tenons},
        glued,
        entries_of(found, mates, [sharp.outline.walls for sharp in sharps]),
    )
    fingers = fingers_of(parts, stocks)
    refitted = []
    for k, (part, sharp) in enumerate(zip(parts, sharps, strict=True)):
        loops = loops_of(sharp)
        wanted = _joined(
            (
                openings_wanted(k, loops, ground),
                lone_wanted(k, loops, ground),
                wedges_wanted(k, loops, ground),
                tenons_wanted(k, loops, ground),
                roots_wanted(k, loops, ground),
                fingers_wanted(k, loops, ground, fingers),
            )
        )
        through = stocks[k].measured + job.machine.into_table
        one = refit(part, sharp, wanted, job.cutter, through)
        told = [opening.place for opening in wanted.openings]
        faces = joint_faces(k, part, loops, one.loops, found, fingers, told)
        refitted.append(replace(one, faces=faces))
    return refitted, found, where.findings


def _joined(several: Sequence[Wanted]) -> Wanted:
    """All that is wanted of one part, together."""
    return Wanted(
        tuple(one for wanted in several for one in wanted.openings),
        tuple(one for wanted in several for one in wanted.shifts),
        {hole: move for wanted in several for hole, move in wanted.holes.items()},
        tuple(one for wanted in several for one in wanted.findings),
        tuple(one for wanted in several for one in wanted.roots),
    )


def _hindrance(stock: Sheet) -> Finding | None:
    """Why no joint of this sheet is fitted, or None."""
    if stock.drawn_thickness is not None:
        return cannot_fit(stock)
    return Finding(
        "note",
        "joints-as-drawn",
        stock.about("no joint is fitted: the job does not say for which thickness the drawing is made"),
        f"Give drawn_thickness in {stock.table}",
    )


def _unknown_mates(parts: Sequence[Part], job: Job) -> Iterator[Finding]:
    known = list(dict.fromkeys(part.name for part in parts))
    for row in job.joint:
        for name in (row.tenon, row.mortise):
            if name is not None and name not in known:
                nearest = get_close_matches(name, known, 1, 0.0)
                yield Finding(
                    "warning",
                    "unknown-part",
                    f'a [[joint]] row names "{name}", but no part is called so',
                    f'Write "{nearest[0]}"' if nearest else "Name a part of the drawings",
                )
