"""Tiny spikes and loops in a closed line, left over by rounding, taken out before they refuse an outline."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from camkit.drawing.chain import Loop
from camkit.drawing.curves import snapped
from camkit.drawing.pinches import pinched
from camkit.drawing.rounds import two_halves
from camkit.errors import Finding
from camkit.geometry.flatten import flattened
from camkit.geometry.many import polygons, tabled
from camkit.geometry.path import Path, Point, Segment
from camkit.geometry.tolerance import CHAIN

__all__ = ["fault_of", "healed"]

# A spike of rounding is no longer than this (drawn dogbones cross their neighbours by hundredths).
_SPIKE = 0.05
_PLACE = re.compile(r"\[\s*(\S+)\s+([^\s\]]+)")
_REACHES = (CHAIN / 2, CHAIN, _SPIKE / 2, _SPIKE)
_MOST_REPAIRS = 50


def fault_of(polygon: shapely.Polygon) -> Point | None:
    """Where a polygon crosses or touches itself; None when it does not."""
    if polygon.is_valid:
        return None
    match = _PLACE.search(shapely.is_valid_reason(polygon))
    if match:
        return (float(match[1]), float(match[2]))
    x, y = polygon.exterior.coords[0]
    return (float(x), float(y))


def healed(loops: Sequence[Loop], file: str) -> tuple[tuple[Loop, ...], tuple[Finding, ...]]:
    """The loops, those mended that cross themselves by no more than 0.05 mm; findings tell which."""
    result = list(loops)
    findings: list[Finding] = []
    numbers = [number for number, loop in enumerate(loops) if two_halves(loop.path) is None]
    drawn = polygons(tabled([loops[number].path for number in numbers]))
    valid = shapely.is_valid(drawn)
    for index in np.flatnonzero(~valid).tolist():
        number = numbers[index]
        loop = loops[number]
        path = loop.path
        fault = fault_of(drawn[index])
        for _ in range(_MOST_REPAIRS):
            if fault is None:
                break
            mended = _mended(path, fault)
            if mended is None:
                break
            path, reach, place = mended[0], mended[1], fault
            findings.append(_told(loop, reach, place, file))
            fault = fault_of(shapely.Polygon(flattened(path)))
        if path is not loop.path:
            result[number] = replace(loop, path=path)
    sound = [numbers[index] for index in np.flatnonzero(valid).tolist()]
    for index, distance, at in pinched([loops[number].path for number in sound]):
        findings.append(_told_pinch(loops[sound[index]], distance, at, file))
    return tuple(result), tuple(findings)


def _told_pinch(loop: Loop, distance: float, at: Point, file: str) -> Finding:
    return Finding(
        "warning",
        "touches-itself",
        f"the loop comes within {distance:.3f} mm of itself at ({at[0]:.2f}, {at[1]:.2f}): no wood or no"
        " slit is left there",
        "Draw it apart there, or as two loops",
        x_mm=at[0],
        y_mm=at[1],
        amount_mm=distance,
        file=file,
        layer=loop.layer or None,
        entity=loop.entity,
    )


def _mended(path: Path, fault: Point) -> tuple[Path, float] | None:
    """The path with the corners around its fault drawn together to one, and how far they moved at most."""
    for reach in _REACHES:
        drawn = _drawn_together(path.segments, fault, reach)
        if drawn is not None and fault_of(shapely.Polygon(flattened(drawn))) != fault:
            return drawn, reach
    return None


def _drawn_together(segments: tuple[Segment, ...], fault: Point, reach: float) -> Path | None:
    count = len(segments)
    near = [math.dist(s.start, fault) <= reach for s in segments]
    if all(near) or sum(near) < 2:
        return None
    # Begin after a corner that stays, so that each run of near corners is met whole.
    begin = near.index(False)
    kept: list[Segment] = []
    corner: Point | None = None
    for index in range(begin, begin + count):
        segment = segments[index % count]
        is_near, next_near = near[index % count], near[(index + 1) % count]
        if is_near and next_near:
            continue
        if next_near:
            corner = segment.end
        start = corner if is_near and corner is not None else segment.start
        kept += snapped(Path((segment,)), start, segment.end)
    drawn = Path(tuple(kept)) if len(kept) > 1 else None
    return drawn if drawn is not None and len(flattened(drawn)) > 2 else None


def _told(loop: Loop, reach: float, place: Point, file: str) -> Finding:
    return Finding(
        "warning" if reach > CHAIN else "note",
        "spike-removed",
        f"the loop crossed itself by less than {reach:g} mm at ({place[0]:.2f}, {place[1]:.2f}); mended",
        "Look there if it matters" if reach > CHAIN else "",
        x_mm=place[0],
        y_mm=place[1],
        amount_mm=reach,
        file=file,
        layer=loop.layer or None,
        entity=loop.entity,
    )
