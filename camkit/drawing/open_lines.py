"""What never closed: outlines with a real gap, told one by one, and single strokes, told together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.drawing.ends import Groups, close_pairs, same_points
from camkit.drawing.sketch import Crowded, Piece
from camkit.errors import Finding
from camkit.geometry.flatten import flattened
from camkit.geometry.measure import bounds_of_all, length
from camkit.geometry.path import Path, Point, polygon, signed_area
from camkit.geometry.tolerance import CHAIN

__all__ = ["OpenOutline", "open_lines"]

# Gaps up to here have been met in outlines that were meant to be closed (a look at 68 published drawings).
_WIDEST_GAP = 20.0
# ... and they are short against the line: a stroke of a letter is not an outline.
_LARGEST_SHARE = 0.05
# A single stroke that nearly comes round, and is no thin hook, may lack more; a letter C lacks a seventh.
_LARGEST_SHARE_ROUND = 0.1
_FEWEST_GAPS = 2
_ROUNDNESS = 0.15
# ... and so do most letters, which are smaller.
_LARGEST_LETTER = 50.0
_SMALLEST_OUTLINE = 15.0
_TOLD_ONE_BY_ONE = 20


@dataclass(frozen=True, slots=True)
class OpenOutline:
    """A line that would be an outline but for its gaps; `path` closes them straight."""

    path: Path
    layer: str
    entity: str
    finding: Finding


@dataclass(frozen=True, slots=True)
class _Strand:
    """Pieces joined end to end, in the order of the file; `points` runs along them, chords for arcs."""

    first: Piece
    points: tuple[Point, ...]
    pieces: int
    length: float


def open_lines(loose: Sequence[Piece], file: str) -> tuple[tuple[OpenOutline, ...], tuple[Finding, ...]]:
    """Outlines that stay open (with a finding each), and one finding a layer for all other strokes."""
    strands = _strands(loose)
    outlines: list[OpenOutline] = []
    strokes: list[_Strand] = []
    crowds: list[Finding] = []
    for ring in _rings(strands, file, crowds):
        outline = _as_outline(ring, file)
        if outline is None:
            strokes += [strand for strand, _ in ring]
        else:
            outlines.append(outline)
    findings = crowds + [outline.finding for outline in outlines[:_TOLD_ONE_BY_ONE]]
    if len(outlines) > _TOLD_ONE_BY_ONE:
        said = f"{len(outlines)} outlines stay open in all; {_TOLD_ONE_BY_ONE} of them are named"
        findings.append(Finding("warning", "open-outline", said, "Close them in the drawing", file=file))
    by_layer: dict[str, list[_Strand]] = {}
    specks = [strand for strand in strokes if strand.length <= CHAIN]
    if specks:
        said = f"stray pieces no longer than {CHAIN:g} mm, left out: {len(specks)}"
        findings.append(Finding("note", "no-length", said, file=file))
    for strand in strokes:
        if strand.length <= CHAIN:
            continue
        by_layer.setdefault(strand.first.layer, []).append(strand)
    findings += [_told_strokes(group, file) for group in by_layer.values()]
    return tuple(outlines), tuple(findings)


def _strands(loose: Sequence[Piece]) -> list[_Strand]:
    ends = [point for piece in loose for point in (piece.path.start, piece.path.end)]
    nodes = same_points(ends)
    meeting: dict[int, list[int]] = {}
    for end in range(len(ends)):
        meeting.setdefault(nodes.of(end), []).append(end)
    used = [False] * len(loose)
    strands = []
    # Begin at true ends first, so that a strand is never started in its middle.
    starts = [end for end in range(len(ends)) if len(meeting[nodes.of(end)]) != 2]
    for start in (*starts, *range(len(ends))):
        if used[start // 2]:
            continue
        members, points, end = [], [ends[start]], start
        while not used[end // 2]:
            index = end // 2
            used[index] = True
            members.append(index)
            run = [(float(x), float(y)) for x, y in flattened(loose[index].path, 0.05)]
            points += run[1:] if end % 2 == 0 else run[-2::-1]
            others = meeting[nodes.of(end ^ 1)]
            if len(others) != 2:
                break
            end = others[0] if others[1] == end ^ 1 else others[1]
        total = sum(length(loose[i].path) for i in members)
        strands.append(_Strand(loose[min(members)], tuple(points), len(members), total))
    return strands


def _rings(strands: list[_Strand], file: str, findings: list[Finding]) -> list[list[tuple[_Strand, bool]]]:
    """Strands that would close if their nearest ends within reach were joined; others stand alone.

    Among very many loose ends (a hatch, say) no outlines are looked for, and a finding says so.
    """
    ends = [(2 * i + k, strand.points[-k]) for i, strand in enumerate(strands) for k in (0, 1)]
    partner: dict[int, int] = {}
    groups = Groups(len(strands))
    try:
        pairs = close_pairs(ends, _WIDEST_GAP)
    except Crowded as fault:
        said = f"no outlines with gaps were looked for: {fault}"
        findings.append(Finding("note", "open-lines", said, file=file))
        return [[(strand, True)] for strand in strands]
    for _, a, b in pairs:
        if a not in partner and b not in partner:
            partner[a], partner[b] = b, a
            groups.join(a // 2, b // 2)
    members: dict[int, list[int]] = {}
    for i in range(len(strands)):
        members.setdefault(groups.of(i), []).append(i)
    rings = []
    for group in members.values():
        if any(2 * i + k not in partner for i in group for k in (0, 1)):
            rings += [[(strands[i], True)] for i in group]
            continue
        ring: list[tuple[_Strand, bool]] = []
        end = 2 * group[0]
        while not ring or end != 2 * group[0]:
            ring.append((strands[end // 2], end % 2 == 0))
            end = partner[end ^ 1]
        rings.append(ring)
    return rings


def _as_outline(ring: list[tuple[_Strand, bool]], file: str) -> OpenOutline | None:
    runs = [strand.points if forward else strand.points[::-1] for strand, forward in ring]
    gaps = [(a[-1], b[0]) for a, b in zip(runs, [*runs[1:], runs[0]], strict=True)]
    widest, at = max((math.dist(a, b), a) for a, b in gaps)
    path = polygon(point for run in runs for point in run)
    if widest > _WIDEST_GAP or len(path.segments) < 3:
        return None
    total = sum(strand.length for strand, _ in ring)
    x0, y0, x1, y1 = bounds_of_all([path])
    size = max(x1 - x0, y1 - y0)
    missing = sum(math.dist(a, b) for a, b in gaps)
    if size < _SMALLEST_OUTLINE or missing > _share_of(path, len(gaps), size) * total:
        return None
    first = ring[0][0].first
    finding = Finding(
        "warning",
        "open-outline",
        f"the outline stays open by {widest:.3g} mm at ({at[0]:.2f}, {at[1]:.2f}) and is not cut",
        "Close it in the drawing",
        x_mm=at[0],
        y_mm=at[1],
        amount_mm=widest,
        file=file,
        layer=first.layer or None,
        entity=first.entity,
    )
    return OpenOutline(path, first.layer, first.entity, finding)


def _share_of(path: Path, gaps: int, size: float) -> float:
    """How much of its line an outline may lack in gaps; a circle has the roundness 1 (4 pi A / P^2)."""
    if gaps > _FEWEST_GAPS or size < _LARGEST_LETTER:  # rows of dashes come round as well
        return _LARGEST_SHARE
    round_ = 4 * math.pi * abs(signed_area(path)) >= _ROUNDNESS * length(path) ** 2
    return _LARGEST_SHARE_ROUND if round_ else _LARGEST_SHARE


def _told_strokes(strokes: list[_Strand], file: str) -> Finding:
    first = strokes[0].first
    at = strokes[0].points[0]
    pieces = sum(strand.pieces for strand in strokes)
    longest = max(strand.length for strand in strokes)
    return Finding(
        "warning",
        "open-lines",
        f"lines that enclose nothing, not cut: {len(strokes)} (pieces: {pieces}); the longest is"
        f" {longest:.1f} mm, the first begins at ({at[0]:.2f}, {at[1]:.2f})",
        'Give their layer the meaning "ignore" if they are labels, or close them',
        x_mm=at[0],
        y_mm=at[1],
        file=file,
        layer=first.layer or None,
        entity=first.entity,
    )
