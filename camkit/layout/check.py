"""Whether a sheet holds its parts: size, margins, gaps for the cutter, and what the machine reaches."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Polygon

from camkit.errors import Finding, Level
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import Bounds, bounds
from camkit.job.model import Job
from camkit.layout.sheet import SheetUse
from camkit.part import Placed

__all__ = ["check_sheet"]

# Less than this over an edge or into a margin is rounding of the drawing.
_ROUNDING = 0.01
# Gaps are judged to a tenth; finer chords would only cost time.
_CHORD = 0.05


def check_sheet(placed: Sequence[Placed], sheet: SheetUse, job: Job) -> tuple[Finding, ...]:
    """What stands against cutting these parts from this sheet.

    Errors: `part-too-large`, `part-off-sheet`, `out-of-travel`, `parts-overlap`, `touch-off`. Warnings:
    `margin` and `gap`, where parts lie closer than the largest milling cutter is wide. Note:
    `sheet-beyond-travel`.
    """
    return (
        *_travel_of_sheet(sheet, job),
        *(finding for one in placed for finding in _place(one, sheet, job)),
        *_gaps(placed, sheet, job),
        *_touch_off(placed, job),
    )


def _said(level: Level, rule: str, placed: Placed, message: str, remedy: str, amount: float) -> Finding:
    return Finding(
        level,
        rule,
        f"sheet {placed.sheet}: {message}",
        remedy,
        amount_mm=amount,
        part=placed.part.name,
        file=placed.part.source.file or None,
    )


def _place(placed: Placed, sheet: SheetUse, job: Job) -> list[Finding]:
    """The first thing wrong with where the part lies on the sheet, and whether it is reached there."""
    x0, y0, x1, y1 = extent = bounds(placed.shape.outline)
    long, wide = sheet.size
    measures = f"it measures {x1 - x0:.1f} x {y1 - y0:.1f} mm, the sheet {long:g} x {wide:g} mm"
    over = max(x1 - x0 - long, y1 - y0 - wide)
    beyond = max(-x0, -y0, x1 - long, y1 - wide)
    said = _reach(placed, extent, job)
    if over > _ROUNDING:
        remedy = "Take a larger sheet or divide the part"
        return [
            _said("error", "part-too-large", placed, f"the part is too large: {measures}", remedy, over),
            *said,
        ]
    if beyond > _ROUNDING:
        message = f"the part lies up to {beyond:.1f} mm off the sheet: {measures}"
        remedy = "Move it in the drawing, or draw the sheet's edge where the sheet lies"
        return [_said("error", "part-off-sheet", placed, message, remedy, beyond), *said]
    if beyond > -sheet.stock.margin + _ROUNDING:
        left = max(0.0, -beyond)
        margin = sheet.stock.margin
        message = f"the part lies {left:.1f} mm from the sheet's edge, the margin is {margin:g} mm"
        remedy = f"Move it inwards, or lower margin in {sheet.stock.table}"
        return [_said("warning", "margin", placed, message, remedy, left), *said]
    return said


def _largest(job: Job) -> float:
    """Diameter of the largest milling cutter, 0 when there are only drills."""
    return max((cutter.diameter for cutter in job.cutter if cutter.mills), default=0.0)


def _smallest(job: Job) -> float:
    return min((cutter.diameter for cutter in job.cutter if cutter.mills), default=0.0)


def _reach(placed: Placed, extent: Bounds, job: Job) -> list[Finding]:
    """Whether even the smallest milling cutter can go around the part."""
    reach = job.machine.ranges()
    if reach is None:
        return []
    (left, right), (front, back), _ = reach
    around = _smallest(job) / 2
    x0, y0, x1, y1 = extent
    beyond = max(left - x0, front - y0, x1 - right, y1 - back) + around
    if beyond <= _ROUNDING:
        return []
    message = (
        f"the cutter would have to go {beyond:.1f} mm past what the machine reaches: "
        f"X {left:g} to {right:g}, Y {front:g} to {back:g}"
    )
    return [
        _said(
            "error", "out-of-travel", placed, message, "Move the part or correct travel in [machine]", beyond
        )
    ]


def _travel_of_sheet(sheet: SheetUse, job: Job) -> list[Finding]:
    reach = job.machine.ranges()
    if reach is None:
        return []
    (left, right), (front, back), _ = reach
    beyond = max(left, front, sheet.size[0] - right, sheet.size[1] - back)
    if beyond <= _ROUNDING:
        return []
    return [
        Finding(
            "note",
            "sheet-beyond-travel",
            f"sheet {sheet.number} of {sheet.size[0]:g} x {sheet.size[1]:g} mm is larger than the machine "
            f"reaches (X {left:g} to {right:g}, Y {front:g} to {back:g}); it is used only that far",
            amount_mm=beyond,
        )
    ]


def _touch_off(placed: Sequence[Placed], job: Job) -> list[Finding]:
    """Parts that lie under the cutter's tip where Z is set again; cuts that come there are the planner's."""
    spot = job.machine.touch_off
    if spot is None:
        return []
    tip = max(cutter.diameter for cutter in job.cutter) / 2
    findings = []
    for one in placed:
        gap = float(shapely.distance(as_polygon(one.shape.outline, _CHORD), shapely.Point(spot)))
        if gap < tip - _ROUNDING:
            message = f"the part lies on the touch-off spot at ({spot[0]:g}, {spot[1]:g})"
            remedy = "Move touch_off in [machine] or the part"
            findings.append(_said("error", "touch-off", one, message, remedy, tip - gap))
    return findings


def _gaps(placed: Sequence[Placed], sheet: SheetUse, job: Job) -> list[Finding]:
    kerf = _largest(job)
    areas: list[Polygon] = [as_polygon(one.shape.region(), _CHORD) for one in placed]
    boxes = [area.bounds for area in areas]
    findings: list[Finding] = []
    for index, one in enumerate(placed):
        said = [
            _gap(one, placed[other], areas[index], areas[other], kerf)
            for other in range(index + 1, len(placed))
            if _apart(boxes[index], boxes[other]) < kerf
        ]
        findings.extend(finding for finding in said if finding and finding.level == "error")
        tight = [finding for finding in said if finding and finding.level == "warning"]
        if tight:  # a whole row of neighbours is one mistake: the nearest stands for them
            findings.append(min(tight, key=lambda finding: finding.amount_mm or 0.0))
    return findings


def _apart(a: Bounds, b: Bounds) -> float:
    return max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])


def _gap(one: Placed, other: Placed, first: Polygon, second: Polygon, kerf: float) -> Finding | None:
    """What is wrong between two parts; one that lies in an opening of the other is not upon it."""
    gap = shapely.distance(first, second)
    if gap > kerf - _ROUNDING:
        return None
    name = other.part.name
    shared = shapely.area(shapely.intersection(shapely.make_valid(first), shapely.make_valid(second)))
    if shared > _CHORD:
        message = f'the part lies upon part "{name}", {shared:.1f} mm2 of it'
        return _said("error", "parts-overlap", one, message, "Move them apart in the drawing", 0.0)
    message = f'the part lies {gap:.1f} mm from part "{name}", the largest milling cutter is {kerf:g} mm wide'
    remedy = "Move them apart in the drawing by the cutter's diameter and 3 mm more"
    return _said("warning", "gap", one, message, remedy, gap)
