"""Fitting all parts of a job to the measured sheet: joints first, then the dowels of glue-ups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches
from typing import Literal

from camkit.errors import Finding
from camkit.job.model import Job, ReliefWish, Sheet
from camkit.joinery.clearance import allowance, play_told, stack, why
from camkit.joinery.fitted import Fitted, FittedJoint
from camkit.joinery.glue import glue
from camkit.joinery.largest import largest_told
from camkit.joinery.recognise import fingers, reliefs_drawn, tenon_roots
from camkit.joinery.refit import Measures, refit
from camkit.joinery.sheet_readings import cannot_fit
from camkit.part import Part

__all__ = ["fit"]


def fit(parts: Sequence[Part], job: Job, stocks: Sequence[Sheet]) -> Fitted:
    """The parts as they must be cut, each from its own sheet (`stocks`, one a part), in the order given.

    Mortises, slots and stopped housings whose width follows the drawn thickness become thickness + clearance
    wide about their middle and are relieved for the cutter that will make them; layers of glue-ups receive
    their dowel holes. Tenons and everything else stay as drawn; a part that nothing touches is the same
    object. What was not done is said in the findings.
    """
    fitted, joints, findings = _fit_joints(parts, job, stocks)
    glued = glue(fitted, job.glue_up, [stock.thickness for stock in stocks])
    return Fitted(glued.parts, joints, glued.glue_ups, (*findings, *glued.findings))


def _fit_joints(
    parts: Sequence[Part], job: Job, stocks: Sequence[Sheet]
) -> tuple[tuple[Part, ...], tuple[FittedJoint, ...], tuple[Finding, ...]]:
    current, joints, findings = list(parts), list[FittedJoint](), list[Finding]()
    for stock in dict.fromkeys(stocks):
        if (hindrance := _hindrance(stock)) is not None:
            findings.append(hindrance)
            continue
        own = [k for k, other in enumerate(stocks) if other == stock]
        done, made, said = _from_one_sheet([parts[k] for k in own], job, stock)
        for k, part in zip(own, done, strict=True):
            current[k] = part
        joints += made
        findings += said
    if joints:
        findings += largest_told(parts, joints, job.cutter)
    if any(_hindrance(stock) is None for stock in stocks):
        findings = [*_unknown_mates(parts, job), *findings]
    return tuple(current), tuple(joints), tuple(dict.fromkeys(findings))


def _from_one_sheet(
    parts: Sequence[Part], job: Job, stock: Sheet
) -> tuple[list[Part], list[FittedJoint], list[Finding]]:
    """Parts of one and the same sheet, their joints fitted to its own thickness."""
    asked, thickness, drawn = allowance(job.fit), stock.thickness, stock.drawn_thickness or stock.thickness
    measures = Measures(drawn, thickness, asked.total, job.cutter, thickness + job.machine.into_table)
    refitted = [refit(part, replace(measures, relief=_relief(part, job)), _mate(part, job)) for part in parts]
    joints = [replace(joint, why=why(joint, thickness, asked)) for one in refitted for joint in one.joints]
    findings = [
        *(finding for one in refitted for finding in one.findings),
        *(finding for part in parts for finding in _left_alone(part, drawn)),
        *_what_was_done(joints, drawn, stock),
    ]
    if joints:
        errors = stack(stock, job.machine, after_coupon=asked.measured)
        findings += play_told(asked, errors, thickness, job.fit.finish)
    return [one.part for one in refitted], joints, findings


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


def _mate(part: Part, job: Job) -> str | None:
    """The part whose tenon enters this one, when the job names exactly one."""
    named = {row.tenon: None for row in job.joint if row.mortise == part.name}
    return next(iter(named)) if len(named) == 1 else None


def _relief(part: Part, job: Job) -> ReliefWish:
    """What the first [[joint]] row of this part with a wish says, else [fit]."""
    wishes = (row.relief for row in job.joint if row.mortise == part.name and row.relief)
    return next(wishes, job.fit.relief)


def _unknown_mates(parts: Sequence[Part], job: Job) -> list[Finding]:
    known = list(dict.fromkeys(part.name for part in parts))
    findings = []
    for row in job.joint:
        for name in (row.tenon, row.mortise):
            if name not in known:
                nearest = get_close_matches(name, known, 1, 0.0)
                findings.append(
                    Finding(
                        "warning",
                        "unknown-part",
                        f'a [[joint]] row names "{name}", but no part is called so',
                        f'Write "{nearest[0]}"' if nearest else "Name a part of the drawings",
                    )
                )
    return findings


def _left_alone(part: Part, drawn: float) -> list[Finding]:
    """What looks like a joint, yet stays as drawn: reliefs drawn already, finger edges, tenon roots."""

    def said(level: Literal["warning", "note"], rule: str, message: str, remedy: str) -> Finding:
        return Finding(level, rule, message, remedy, part=part.name, file=part.source.file or None)

    findings = []
    loops = [(part.outline, False), *((path, True) for path in part.openings)]
    loops += [(pocket.outline, True) for pocket in part.pockets]
    if count := sum(reliefs_drawn(path, hollow=hollow) > 0 for path, hollow in loops):
        findings.append(
            said(
                "note",
                "reliefs-drawn",
                f"outlines, openings or pockets that have reliefs in the drawing stay as drawn: {count}",
                "Draw their corners sharp to have them fitted and relieved for the cutter",
            )
        )
    if count := fingers(part, drawn):
        findings.append(
            said(
                "warning",
                "fingers-as-drawn",
                f"{count} gaps of a finger edge stay as drawn, neither fitted nor relieved",
                "Draw them for the measured thickness and with reliefs",
            )
        )
    if count := tenon_roots(part, drawn):
        findings.append(
            said(
                "warning",
                "tenon-roots",
                f"{count} corners at the roots of tenons stay unrelieved; the cutter leaves them round "
                "and shoulders will not seat against a sharp mortise",
                "Draw a relief there, or chamfer the mortise's mouth by the cutter's radius",
            )
        )
    return findings


def _what_was_done(joints: Sequence[FittedJoint], drawn: float, stock: Sheet) -> list[Finding]:
    thickness = stock.thickness
    if not joints:
        return [
            Finding(
                "note",
                "joints-as-drawn",
                stock.about(
                    f"no mortise, slot or housing with sharp corners and about {drawn:g} mm wide was found; "
                    "every joint stays as drawn"
                ),
                "Draw the joints of the sheet with square corners, as wide as drawn_thickness",
            )
        ]
    change = thickness - drawn
    ends = (
        ""
        if abs(change) < 0.005
        else f", so flush ends stand {abs(change):.2f} mm {'proud' if change < 0 else 'short'}"
    )
    return [
        Finding(
            "note",
            "joints-fitted",
            stock.about(
                f"{len(joints)} joints fitted from {drawn:g} to {thickness:.2f} mm; each width changed about "
                f"its middle, lengths and depths stay; tenons keep their drawn length{ends}"
            ),
        )
    ]
