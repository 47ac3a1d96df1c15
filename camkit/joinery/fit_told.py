"""What is said about the fit of a whole job: what was changed, and what looks like a joint and was not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.job.model import Job, Sheet
from camkit.joinery.clearance import allowance, allowance_by, play_told, stack
from camkit.joinery.fitted import FittedJoint
from camkit.joinery.largest import largest_told
from camkit.joinery.pairs import Pairs
from camkit.joinery.recognise import tenon_roots
from camkit.joinery.refit import Refitted
from camkit.joinery.undo import gathered_radii
from camkit.part import Part

__all__ = ["fit_told"]

_SEEN = 0.005
# What was said already where roots of a part were looked at.
_ROOTS = ("roots-relieved", "roots-round", "root-room", "round-corners")


def fit_told(
    parts: Sequence[Part], refitted: Sequence[Refitted], found: Pairs, job: Job, sheets: Sequence[Sheet]
) -> list[Finding]:
    """All findings about joints, those of single parts first; every part has its sheet in `sheets`."""
    joints = [joint for one in refitted for joint in one.joints]
    findings = [
        *found.findings,
        *(finding for one in refitted for finding in one.findings),
        *_roots(parts, refitted, sheets),
        *_undone(refitted),
        *_outsides(parts, refitted),
        _done(parts, refitted, sheets),
    ]
    if joints:
        asked = allowance(job.fit)
        for sheet in _entering(parts, joints, sheets):
            errors = stack(sheet, job.machine, after_coupon=asked.measured)
            findings += play_told(asked, errors, sheet.thickness, job.fit.finish)
        findings += _rows_told(parts, job, sheets)
        findings += largest_told(parts, joints, job.cutter)
    return list(dict.fromkeys(findings))


def _rows_told(parts: Sequence[Part], job: Job, sheets: Sequence[Sheet]) -> Iterator[Finding]:
    """Whether joints with a clearance or glue of their own may jam or rattle."""
    by_name = {part.name: sheet for part, sheet in zip(parts, sheets, strict=True)}
    for row in job.joint:
        sheet = by_name.get(row.tenon or row.mortise)
        if sheet is None or (row.clearance is None and row.glue is None):
            continue
        asked = allowance_by(job.fit, [row])
        errors = stack(sheet, job.machine, after_coupon=asked.measured)
        table = f'the [[joint]] row with mortise = "{row.mortise}"'
        yield from play_told(asked, errors, sheet.thickness, job.fit.finish, table)


def _entering(
    parts: Sequence[Part], joints: Sequence[FittedJoint], sheets: Sequence[Sheet]
) -> Iterator[Sheet]:
    """The sheets that enter a joint, each once: those of mates, or of the part itself where none is known."""
    names = {name for joint in joints for name in (joint.parts[1:] or joint.parts)}
    yield from dict.fromkeys(sheet for part, sheet in zip(parts, sheets, strict=True) if part.name in names)


def _roots(parts: Sequence[Part], refitted: Sequence[Refitted], sheets: Sequence[Sheet]) -> Iterator[Finding]:
    """Tenons that found no mate: what they go into is not known, and so nothing is done to them."""
    for part, one, sheet in zip(parts, refitted, sheets, strict=True):
        if any(finding.rule in _ROOTS for finding in one.findings):
            continue
        if count := tenon_roots(part, sheet.drawn_thickness or sheet.thickness):
            yield Finding(
                "warning",
                "tenon-roots",
                f"{count} corners at the roots of tenons stay unrelieved; the cutter leaves them round "
                "and shoulders will not seat against a sharp mortise",
                "Draw a relief there, or chamfer the mortise's mouth by the cutter's radius",
                part=part.name,
                file=part.source.file or None,
            )


def _undone(refitted: Sequence[Refitted]) -> Iterator[Finding]:
    """Reliefs of the drawing in parts that were re-fitted, in one note."""
    radii = gathered_radii([radius for one in refitted for radius in one.reliefs])
    if radii:
        said = ", ".join(f"{count} of radius {radius:.2f}" for radius, count in radii)
        yield Finding(
            "note",
            "reliefs-drawn",
            f"parts with joints are drawn with reliefs: {said}; those in joints were undone, and cut again "
            "for this job's cutters where they do not serve them",
            count=sum(count for _, count in radii),
        )


def _outsides(parts: Sequence[Part], refitted: Sequence[Refitted]) -> Iterator[Finding]:
    """Outside sizes that follow the sheet, in one note."""
    told = []
    for part, one in zip(parts, refitted, strict=True):
        if one.part is part:
            continue
        before, after = bounds(part.outline), bounds(one.part.outline)
        sizes = [(b[2] - b[0], b[3] - b[1]) for b in (before, after)]
        if max(abs(new - old) for old, new in zip(*sizes, strict=True)) > _SEEN:
            (w, h), (new_w, new_h) = sizes
            told.append(f"{part.name} {w:.2f} x {h:.2f} is now {new_w:.2f} x {new_h:.2f}")
    if told:
        yield Finding(
            "note",
            "outside-sizes",
            f"outside sizes follow the sheet: {'; '.join(told)}",
            count=len(told),
        )


def _done(parts: Sequence[Part], refitted: Sequence[Refitted], sheets: Sequence[Sheet]) -> Finding:
    joints = Counter(joint.kind for one in refitted for joint in one.joints)
    thin = ", ".join(
        dict.fromkeys(f"{sheet.drawn_thickness:g} to {sheet.thickness:.2f} mm" for sheet in sheets)
    )
    if not joints:
        drawn = " or ".join(dict.fromkeys(f"{sheet.drawn_thickness:g}" for sheet in sheets))
        return Finding(
            "note",
            "joints-as-drawn",
            f"no joint with a mate was found for sheets {drawn} mm thick; every joint stays as drawn",
            "Draw both parts of a joint, or write a [[joint]] row with mortise alone to have a part's "
            "openings fitted all the same",
        )
    kinds = ", ".join(f"{count} {_plural(kind, count)}" for kind, count in joints.items())
    sizes = Counter(size.what for one in refitted for size in one.sizes)
    also = "".join(f", {count} x {what}" for what, count in sizes.items())
    return Finding(
        "note",
        "joints-fitted",
        f"joints fitted from {thin}: {kinds}{also}; report.json lists every size",
    )


def _plural(kind: str, count: int) -> str:
    return kind if count == 1 else f"{kind}s"
