"""Values of a job that are allowed but look like slips: warnings, never a stop."""

from __future__ import annotations

from camkit.errors import Finding
from camkit.job.chips import PLUNGE_SHARE, plunge_feed
from camkit.job.model import Job
from camkit.job.words import either

__all__ = ["doubts"]

# A third is often written in whole numbers.
_ROUNDED = 1.0


def doubts(job: Job) -> tuple[Finding, ...]:
    """Warnings (rule `job`) about values that do not go together, in the order of the keys."""
    said: list[tuple[str, str]] = []
    for cutter in job.cutter:
        if cutter.mills and cutter.plunge > cutter.feed * PLUNGE_SHARE + _ROUNDED:
            what = f"plunge {cutter.plunge:g} is more than a third of feed {cutter.feed:g}"
            remedy = f"Write plunge = {plunge_feed(cutter.feed):g} or less"
            said.append((f"cutter {cutter.number}: {what}", remedy))
        depth, length = cutter.depth_of_pass, cutter.cutting_length
        if length is not None and depth > length:
            what = f"cutter {cutter.number}: a pass of {depth:g} is deeper than its cutting length {length:g}"
            said.append((what, "Write a smaller pass_depth"))
        if cutter.pass_depth is not None and cutter.pass_depth < cutter.first_pass:
            what = (
                f"cutter {cutter.number}: its first pass is {cutter.first_pass:g} deep, more than pass_depth "
                f"{cutter.pass_depth:g}, so that its upcut part lies below the face"
            )
            said.append((what, "See that the cutter bears that, or write its maker's upcut_length"))
    for sheet in job.sheets_used():
        if job.tabs.height >= sheet.thickness:
            what = f"tabs.height: {job.tabs.height:g} leaves all {sheet.thickness:g} of the sheet standing"
            said.append((sheet.about(what), "Write a height of 1.5 to 3"))
    if idle := [sheet.table for sheet in job.sheet if sheet not in job.sheets_used()]:
        what = f"no part is cut from {either(idle)}"
        said.append((what, "Give its parts [[part]] rows that name it: sheet = …"))
    return tuple(Finding("warning", "job", message, remedy) for message, remedy in said)
