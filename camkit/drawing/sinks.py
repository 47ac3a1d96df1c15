"""Countersinks: circles whose layer says so, each put to the hole about whose middle it is drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from camkit.drawing.candidate import Candidate
from camkit.errors import Finding
from camkit.geometry.path import Path
from camkit.part import Countersink, Part

__all__ = ["with_countersinks"]

# A countersink has its hole's centre to within this much (common practice, no source).
_SAME_CENTRE = 0.1


def with_countersinks(
    parts: Sequence[Part],
    rims: Sequence[Candidate],
    file: str,
    findings: list[Finding],
    left: list[Path],
) -> list[Part]:
    """The parts with each rim of a countersink put to its hole.

    Errors for rims that are not round, that have no hole in their middle or one as large, and notes for rims
    drawn twice, are appended to the findings, and their loops to `left`.
    """
    result = list(parts)
    for it in rims:
        if it.open:
            continue
        told = _sunk(result, it, file)
        if told is not None:
            findings.append(told)
            left.append(it.path)
    return result


def _sunk(parts: list[Part], it: Candidate, file: str) -> Finding | None:
    """Changes the part that the rim belongs to; the finding where there is none or the rim is of no use."""
    assert it.rule is not None and it.rule.angle_deg is not None  # its layer's rule has brought it here
    if it.circle is None:
        said = "the loop is a countersink by its layer, but not round"
        return it.finding("error", "stray-feature", said, "Draw a circle about the hole's middle", file)
    centre, wide = it.circle
    holes = [
        (math.dist(hole.centre, centre), p, h)
        for p, part in enumerate(parts)
        for h, hole in enumerate(part.holes)
    ]
    away, p, h = min(holes, default=(math.inf, 0, 0))
    if away > _SAME_CENTRE:
        near = f"; the nearest hole lies {away:.2f} mm off" if away < wide else ""
        said = f"the circle of {wide:g} mm is a countersink by its layer, but no hole has its centre{near}"
        remedy = "Draw the hole too, with the same centre, or mend the meaning of the layer"
        return it.finding("error", "stray-feature", said, remedy, file)
    hole = parts[p].holes[h]
    if wide <= hole.diameter + 0.05:
        said = f"the countersink of {wide:g} mm is no wider than its hole of {hole.diameter:g} mm"
        return it.finding("error", "stray-feature", said, "Draw the rim as wide as the screw's head", file)
    sink = Countersink(wide, it.rule.angle_deg)
    if hole.countersink is not None:
        said = f"the hole has a countersink already; the wider one counts, of {wide:g} mm"
        if hole.countersink.diameter >= wide:
            said, sink = (
                "the circle is a second rim of its hole's countersink and does not count",
                hole.countersink,
            )
        parts[p] = _with(parts[p], h, sink)
        return it.finding("note", "duplicate-loop", said, "", file)
    parts[p] = _with(parts[p], h, sink)
    return None


def _with(part: Part, number: int, sink: Countersink) -> Part:
    holes = list(part.holes)
    holes[number] = replace(holes[number], countersink=sink)
    return replace(part, holes=tuple(holes))
