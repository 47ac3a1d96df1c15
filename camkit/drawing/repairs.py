"""What joining pieces repaired or had to decide, as findings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from camkit.drawing.ends import ROUNDING
from camkit.drawing.gaps import Gap
from camkit.drawing.sketch import Piece
from camkit.errors import Finding, Level
from camkit.geometry.measure import point_along
from camkit.geometry.path import Point
from camkit.geometry.tolerance import CHAIN

__all__ = ["told_covered", "told_gaps", "told_meetings", "told_shared"]

_TOLD_ONE_BY_ONE = 12


def told_gaps(gaps: Sequence[tuple[Gap, Piece]], file: str) -> list[Finding]:
    """A warning for each gap wider than CHAIN (the first twelve, then their number), a note for the rest."""
    told = [_told_gap(gap, piece, file) for gap, piece in gaps if gap.size > CHAIN]
    if len(told) > _TOLD_ONE_BY_ONE:
        worst = max(told, key=lambda f: f.amount_mm or 0.0)
        more = replace(worst, message=f"{len(told)} such gaps in all; the largest: {worst.message}")
        told = [*told[:_TOLD_ONE_BY_ONE], more]
    small = [gap for gap, _ in gaps if ROUNDING < gap.size <= CHAIN]
    if small:
        largest = max(gap.size for gap in small)
        said = f"gaps closed: {len(small)}, the largest of {largest:.4f} mm"
        told.append(Finding("note", "gap-closed", said, amount_mm=largest, file=file))
    return told


def _told_gap(gap: Gap, piece: Piece, file: str) -> Finding:
    where = f"at ({gap.at[0]:.2f}, {gap.at[1]:.2f})"
    rule, said = "gap-closed", f"a gap of {gap.size:.3f} mm {where} was closed"
    remedy = "Join the ends in the drawing if they are not meant to meet there"
    if gap.trimmed:
        rule, said = "overrun-trimmed", f"an end ran {gap.size:.3f} mm past its corner {where}; trimmed"
        remedy = "Trim it in the drawing"
    return replace(_finding("warning", rule, said, remedy, gap.at, piece, file), amount_mm=gap.size)


def told_shared(shared: Sequence[Piece], file: str) -> list[Finding]:
    """One warning for all lines that are the edge of two areas."""
    if not shared:
        return []
    segments = shared[0].path.segments
    at = point_along(segments[len(segments) // 2], 0.5)
    said = (
        f"lines between two areas, read as the edge of both: {len(shared)}; the first at"
        f" ({at[0]:.2f}, {at[1]:.2f})"
    )
    remedy = "Look at the picture; draw each part with a line of its own, or delete lines that are not cut"
    return [_finding("warning", "shared-line", said, remedy, at, shared[0], file)]


def told_meetings(
    crossed: Sequence[tuple[Point, Piece]], touching: Sequence[tuple[Point, Piece]], file: str
) -> list[Finding]:
    """One warning for all crossings where lines were split, one for all points in which areas touch."""
    findings = []
    for points, rule, said, remedy in (
        (
            crossed,
            "crossing-lines",
            "points where lines cross without an end, read as corners of the areas around",
            "Look at the picture; end the lines there, or delete those that are not cut",
        ),
        (
            touching,
            "touching-areas",
            "points where areas touch, read as corners of each",
            "Look at the picture; move them apart there if they are one part, or two that are cut in place",
        ),
    ):
        if points:
            (x, y), piece = points[0]
            said = f"{said}: {len(points)}; the first at ({x:.2f}, {y:.2f})"
            findings.append(_finding("warning", rule, said, remedy, (x, y), piece, file))
    return findings


def told_covered(covered: Sequence[Piece], file: str) -> list[Finding]:
    """One note for all lines that lie on others."""
    if not covered:
        return []
    said = f"lines on top of others, counted once: {len(covered)}"
    return [Finding("note", "duplicate", said, file=file, entity=covered[0].entity)]


def _finding(
    level: Level, rule: str, message: str, remedy: str, at: Point, piece: Piece, file: str
) -> Finding:
    return Finding(
        level,
        rule,
        message,
        remedy,
        x_mm=at[0],
        y_mm=at[1],
        file=file,
        layer=piece.layer or None,
        entity=piece.entity,
    )
