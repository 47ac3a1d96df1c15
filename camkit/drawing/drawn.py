"""`Drawn`: what was found in one drawing file, everything in mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from camkit.errors import Finding
from camkit.geometry.path import Path
from camkit.part import LayerRule, Part

__all__ = ["Drawn", "UnitFrom"]

UnitFrom = Literal["header", "given", "guessed"]


@dataclass(frozen=True, slots=True)
class Drawn:
    """The parts of one drawing and what was repaired, guessed or refused.

    `path` is the file as it was named; `unit` is mm, cm or inch, or what else the header states (m, foot,
    px); `sheet_edge` is the border of the sheet, where one is drawn. Coordinates keep the drawing's origin;
    an SVG file's Y axis is turned up, with the origin in the page's lower left corner. `loops` counts the
    closed loops found: each is in exactly one part, or is the sheet's border, or a finding names it.
    `left` are the lines and loops that were read and are not cut, for a picture to show.
    `offers` are meanings that names of layers speak of; nothing uses them unasked. `again`
    are parts that other views of the sheet repeat: only a job's row that points at them cuts them.
    """

    path: str
    unit: str
    unit_from: UnitFrom
    parts: tuple[Part, ...]
    sheet_edge: Path | None = None
    findings: tuple[Finding, ...] = ()
    loops: int = 0
    left: tuple[Path, ...] = ()
    offers: tuple[LayerRule, ...] = ()
    again: tuple[Part, ...] = ()
