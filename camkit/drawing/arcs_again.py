"""Arcs found again in loops drawn with short lines, and told in one note for the whole drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from camkit.drawing.chain import Loop
from camkit.errors import Finding
from camkit.geometry.arc_fit import with_arcs
from camkit.geometry.path import Line, Path

__all__ = ["arcs_again"]


def arcs_again(loops: Sequence[Loop], file: str) -> tuple[tuple[Loop, ...], tuple[Finding, ...]]:
    """The loops with an arc for every run of short lines that was one, and a note that counts them.

    What counts as an arc is told at `camkit.geometry.arc_fit.with_arcs`; no point moves more than 0.005 mm.
    """
    paths = with_arcs([loop.path for loop in loops])
    changed = [(loop.path, path) for loop, path in zip(loops, paths, strict=True) if path is not loop.path]
    lines = arcs = 0
    for before, after in changed:
        fewer = _lines(before) - _lines(after)
        lines += fewer
        arcs += len(after.segments) - _lines(after) - (len(before.segments) - _lines(before)) if fewer else 0
    result = tuple(
        loop if path is loop.path else replace(loop, path=path)
        for loop, path in zip(loops, paths, strict=True)
    )
    if not lines:
        return result, ()
    said = f"arcs recognised in short lines: {arcs} (from {lines} lines)"
    return result, (Finding("note", "arcs-recognised", said, file=file),)


def _lines(path: Path) -> int:
    return sum(isinstance(segment, Line) for segment in path.segments)
