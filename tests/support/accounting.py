"""Whether every closed loop of a drawing is in a part, is the sheet's border, or is named by a finding."""

from __future__ import annotations

import pathlib
from typing import Any

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.errors import Finding

__all__ = ["loops_unaccounted", "unaccounted"]

# Findings that say why a closed loop is in no part; `count` says how many loops they stand for.
_LEFT_OUT = frozenset(
    {
        "duplicate-loop",
        "inside-hole",
        "left-out-with",
        "lettering",
        "merged",
        "refused-loop",
        "relief-cut",
        "runs-off-edge",
        "sheet-edge",
        "step-line",
        "stray-feature",
        "table",
        "tiny-loop",
        "title-block",
        "view-repeated",
    }
)


def loops_unaccounted(path: pathlib.Path, **how: Any) -> int:
    """How many closed loops of a drawing reading lost without a word; below 0 some are counted twice."""
    return unaccounted(read(path, **how))


def unaccounted(drawn: Drawn) -> int:
    """The same for a drawing that was read."""
    used = sum(
        1 + len(part.openings) + len(part.holes) + sum(1 + len(pocket.islands) for pocket in part.pockets)
        for part in drawn.parts
    )
    frames = sum(_is_frame(finding) for finding in drawn.findings)
    named = sum(_left_out(finding) for finding in drawn.findings)
    by_layer = drawn.sheet_edge is not None and not frames
    return drawn.loops - used - frames - named - by_layer


def _is_frame(finding: Finding) -> bool:
    return finding.rule == "sheet-border" and finding.level == "note"


def _left_out(finding: Finding) -> int:
    return finding.count if finding.rule in _LEFT_OUT else 0
