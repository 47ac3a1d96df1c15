"""Borders, margins, pages and title blocks of a drawing, told and taken out before parts are looked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from camkit.drawing.candidate import Candidate
from camkit.drawing.nest import Nest, nest
from camkit.drawing.pages import page_of, tables, titles
from camkit.drawing.sheets import Frame, frames, is_rectangle
from camkit.drawing.sketch import Label
from camkit.errors import Finding, Level
from camkit.geometry.path import Path, oriented

__all__ = ["Untitled", "framed", "sheet_edge", "told_frame", "without_title_blocks"]

_BLOCK: tuple[str, Level, str] = ("title block", "note", "title-block")
_TABLE: tuple[str, Level, str] = ("table of texts", "warning", "table")
_AS_PART = 'If it is a part, give its layer the meaning "profile"'


@dataclass(frozen=True, slots=True)
class Untitled:
    """Loops and texts outside title blocks and tables; `titled` and `worded` as in `pages.Titles`."""

    candidates: tuple[Candidate, ...]
    nested: Nest
    labels: tuple[Label, ...]
    titled: frozenset[int] = frozenset()
    worded: frozenset[int] = frozenset()
    left: tuple[Path, ...] = ()
    findings: tuple[Finding, ...] = ()


def without_title_blocks(
    candidates: Sequence[Candidate], nested: Nest, labels: Sequence[Label], file: str
) -> Untitled:
    """Take title blocks and tables out, a finding for each; a loop with a rule of its own is in none."""

    def plain(number: int) -> bool:
        it = candidates[number]
        return it.rule is None and not it.open and is_rectangle(it.path, nested.areas[number])

    found = titles(nested, labels, plain)
    in_blocks = frozenset().union(*found.blocks)
    lists = [table for table in tables(nested, labels, plain) if not table & in_blocks]
    if not (found.blocks or lists):
        return Untitled(tuple(candidates), nested, tuple(labels), found.titled, found.worded)
    findings = []
    areas = []
    for block in (*found.blocks, *lists):
        kind, level, rule = _BLOCK if block in found.blocks else _TABLE
        first = min(block, key=lambda i: (-candidates[i].size, i))
        areas.append(shapely.union_all([nested.shapes[i] for i in block]))
        x0, y0, x1, y1 = areas[-1].bounds
        said = f"the {x1 - x0:.1f} x {y1 - y0:.1f} mm {kind} was left out, loops: {len(block)}"
        told = candidates[first].finding(level, rule, said, _AS_PART, file, (x0, y0))
        findings.append(replace(told, count=len(block)))
    out = in_blocks.union(*lists)
    kept = [i for i in range(len(candidates)) if i not in out]
    place = {number: at for at, number in enumerate(kept)}
    bare = tuple(candidates[i] for i in kept)
    whole = shapely.union_all(areas)
    return Untitled(
        bare,
        nest([c.path for c in bare]),
        tuple(label for label in labels if not whole.covers(shapely.Point(label.at))),
        frozenset(place[i] for i in found.titled if i in place and candidates[i].rule is None),
        frozenset(place[i] for i in found.worded if i in place),
        tuple(candidates[i].path for i in sorted(out)),
        tuple(findings),
    )


def framed(
    candidates: Sequence[Candidate], nested: Nest, titled: frozenset[int], worded: frozenset[int]
) -> tuple[Frame, ...]:
    """The loops that frame parts."""
    return frames(
        [c.path for c in candidates],
        nested,
        titled,
        worded,
        is_part_sized=lambda i: candidates[i].is_part_sized,
        is_profile=lambda i: candidates[i].meaning == "profile",
        has_rule=lambda i: candidates[i].rule is not None,
    )


def told_frame(frame: Frame, it: Candidate, file: str) -> list[Finding]:
    """What a frame was taken for, and a warning when that is only likely."""
    x0, y0, x1, y1 = it.bounds
    size = f"{x1 - x0:.1f} x {y1 - y0:.1f} mm"
    page = page_of(x1 - x0, y1 - y0)
    if frame.kind == "page":
        kind = "a page" if page is None else f"a page ({page[0]} at 1:{page[1]:g}, ISO 216)"
        said = f"the {size} rectangle around parts was read as the frame of {kind}"
    else:
        said = f"the {size} rectangle around parts was read as the sheet's border"
    findings = [it.finding("note", "sheet-border", said, _AS_PART, file)]
    if frame.likely:
        doubt = f"the {size} rectangle is likely a border, but could be a part; it is not cut"
        findings.append(it.finding("warning", "border-likely", doubt, _AS_PART, file))
    return findings


def sheet_edge(
    edges: Sequence[Candidate], borders: Sequence[Candidate], file: str, findings: list[Finding]
) -> Path | None:
    """The sheet's edge: by its layer, else the border that holds all others; findings are appended."""
    if edges:
        first = max(edges, key=lambda c: c.size)
        if len(edges) > 1:
            said = f"{len(edges)} loops lie on layers that mean the sheet's edge; the largest counts"
            told = first.finding("note", "sheet-edge", said, "", file)
            findings.append(replace(told, count=len(edges) - 1))
        return oriented(first.path)
    outer = max(borders, key=lambda c: c.size, default=None)
    return None if outer is None or _several(borders, outer) else oriented(outer.path)


def _several(framing: Sequence[Candidate], outer: Candidate) -> bool:
    x0, y0, x1, y1 = outer.bounds
    return any(c.bounds[0] > x1 or c.bounds[2] < x0 or c.bounds[1] > y1 or c.bounds[3] < y0 for c in framing)
