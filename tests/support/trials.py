"""Pieces drawn on a sheet, the job that cuts them, and their programs: trials of what camkit writes.

Shapes are loops of (x, y, bulge) as a DXF polyline has them, or circles. Lengths in mm, on the sheet.
"""

from __future__ import annotations

import json
import math
import pathlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import ezdxf
import numpy as np
from shapely import Polygon

from camkit.errors import CannotBeMadeError, Finding, InputError
from camkit.job.load import load
from camkit.pipeline import Result, make
from camkit.program.wish import EVERYTHING, Wish
from support.carved import Tool

__all__ = ["Bore", "Piece", "Recess", "Shape", "Trial", "box", "disc", "faults", "made", "rounded", "texts"]

_CHORD = 0.0003  # how far a shape's polygon lies inside its arcs, at most


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed loop of (x, y, bulge), counter-clockwise."""

    loop: tuple[tuple[float, float, float], ...]

    def polygon(self) -> Polygon:
        """Its area, arcs as fine chords with ends on the arc."""
        points: list[tuple[float, float]] = []
        for (x, y, bulge), (u, v, _) in zip(self.loop, (*self.loop[1:], self.loop[0]), strict=True):
            points += _chords(x, y, u, v, bulge)
        return Polygon(points)

    def corners(self) -> np.ndarray:
        """Where two of its sides meet without a common tangent."""
        n, found = len(self.loop), []
        for k in range(n):
            a, b, c = self.loop[k - 1], self.loop[k], self.loop[(k + 1) % n]
            into = math.atan2(b[1] - a[1], b[0] - a[0]) + 2 * math.atan(a[2])
            out = math.atan2(c[1] - b[1], c[0] - b[0]) - 2 * math.atan(b[2])
            if abs(math.remainder(out - into, 2 * math.pi)) > 0.01:
                found.append(b[:2])
        return np.array(found).reshape(-1, 2)


def _chords(x: float, y: float, u: float, v: float, bulge: float) -> list[tuple[float, float]]:
    if bulge == 0:
        return [(x, y)]
    half, sweep = math.hypot(u - x, v - y) / 2, 4 * math.atan(bulge)
    radius = half / math.sin(abs(sweep) / 2)
    aside = half / math.tan(sweep / 2)
    cx = (x + u) / 2 - (v - y) / (2 * half) * aside
    cy = (y + v) / 2 + (u - x) / (2 * half) * aside
    count = max(1, math.ceil(abs(sweep) / (2 * math.acos(1 - _CHORD / radius))))
    first = math.atan2(y - cy, x - cx)
    turns = first + sweep * np.arange(count) / count
    return [(cx + radius * math.cos(t), cy + radius * math.sin(t)) for t in turns]


def box(x0: float, y0: float, x1: float, y1: float) -> Shape:
    """An upright rectangle."""
    return Shape(((x0, y0, 0), (x1, y0, 0), (x1, y1, 0), (x0, y1, 0)))


def rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Shape:
    """An upright rectangle with round corners."""
    b = math.tan(math.pi / 8)
    return Shape(
        (
            *((x0 + r, y0, 0.0), (x1 - r, y0, b), (x1, y0 + r, 0.0), (x1, y1 - r, b)),
            *((x1 - r, y1, 0.0), (x0 + r, y1, b), (x0, y1 - r, 0.0), (x0, y0 + r, b)),
        )
    )


def disc(x: float, y: float, r: float) -> Shape:
    """A round one, as two half circles."""
    return Shape(((x - r, y, 1.0), (x + r, y, 1.0)))


@dataclass(frozen=True, slots=True)
class Bore:
    """A round hole; `depth` None goes through; `sink` is the diameter of its 90 degree countersink."""

    x: float
    y: float
    diameter: float
    depth: float | None = None
    sink: float | None = None


@dataclass(frozen=True, slots=True)
class Recess:
    """A pocket."""

    shape: Shape
    depth: float


@dataclass(frozen=True, slots=True)
class Piece:
    """A part as it lies on the sheet; `spot` is a point of its wood, `tabs` given places for tabs."""

    name: str
    outline: Shape
    spot: tuple[float, float]
    openings: tuple[Shape, ...] = ()
    pockets: tuple[Recess, ...] = ()
    holes: tuple[Bore, ...] = ()
    tabs: tuple[tuple[float, float], ...] = ()
    keys: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Trial:
    """A job: pieces on a sheet of `size`, cutters as rows of the job file, and further tables."""

    pieces: Sequence[Piece]
    size: tuple[float, float]
    thickness: float
    cutters: Sequence[Mapping[str, Any]]
    machine: Mapping[str, Any] = field(default_factory=dict)
    tabs: Mapping[str, Any] = field(default_factory=dict)
    more: str = ""
    drawn: float | None = None  # the thickness that joints are drawn for

    @property
    def into_table(self) -> float:
        """How deep through cuts go below the sheet."""
        return float(self.machine.get("into_table", 0.3))

    @property
    def bottom(self) -> float:
        """Z of through cuts, 0 on the sheet's top."""
        return -self.thickness - self.into_table

    def tools(self) -> dict[int, Tool]:
        """The cutters by number."""
        return {
            row["number"]: Tool(
                row["diameter"],
                row.get("point_angle", 90.0 if row.get("kind") == "v-groove" else 180.0),
            )
            for row in self.cutters
        }

    def row(self, number: int) -> Mapping[str, Any]:
        """The cutter's row in the job."""
        return next(row for row in self.cutters if row["number"] == number)

    def origin(self) -> tuple[float, float, float]:
        """Where the program's zero lies on the sheet, Z from its top."""
        x, y = self.size
        corner = self.machine.get("xy_zero", "lower left")
        at = (x / 2, y / 2) if corner == "centre" else (x * ("right" in corner), y * ("upper" in corner))
        return (*at, -self.thickness if self.machine.get("zero") == "table" else 0.0)


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {_toml(v)}" for key, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_toml(v) for v in value) + "]"
    return json.dumps(value)


def _table(head: str, rows: Mapping[str, Any]) -> str:
    return "\n".join((head, *(f"{key} = {_toml(value)}" for key, value in rows.items())))


def _draw(trial: Trial, path: pathlib.Path) -> list[str]:
    """Draw the sheet; gives the lines of [layers]."""
    drawing = ezdxf.new("R2000", units=ezdxf.units.MM)
    space = drawing.modelspace()
    layers = {"sheet": '"sheet edge"', "outline": '"profile"', "opening": '"opening"', "through": '"hole"'}

    def loop(shape: Shape, layer: str) -> None:
        space.add_lwpolyline(shape.loop, format="xyb", close=True, dxfattribs={"layer": layer.upper()})

    loop(box(0, 0, *trial.size), "sheet")
    for piece in trial.pieces:
        loop(piece.outline, "outline")
        for opening in piece.openings:
            loop(opening, "opening")
        for pocket in piece.pockets:
            layers[f"pocket {pocket.depth}"] = f"{{ pocket = {pocket.depth} }}"
            loop(pocket.shape, f"pocket {pocket.depth}")
        for hole in piece.holes:
            layer = "through" if hole.depth is None else f"blind {hole.depth}"
            if hole.depth is not None:
                layers[layer] = f"{{ hole = {hole.depth} }}"
            space.add_circle((hole.x, hole.y), hole.diameter / 2, dxfattribs={"layer": layer.upper()})
            if hole.sink is not None:
                layers["sink"] = "{ countersink = 90 }"
                space.add_circle((hole.x, hole.y), hole.sink / 2, dxfattribs={"layer": "SINK"})
    drawing.saveas(path)
    return [f'"{layer}" = {meaning}' for layer, meaning in layers.items()]


def made(trial: Trial, folder: pathlib.Path, wish: Wish = EVERYTHING) -> Result | tuple[Finding, ...]:
    """Draw the pieces and cut them the whole way; the findings alone where the job is refused."""
    folder.mkdir(parents=True, exist_ok=True)
    layers = _draw(trial, folder / "trial.dxf")
    text = [
        _table("[sheet]", {"size": trial.size, "measured_thickness": [trial.thickness] * 2, "margin": 0}),
        "" if trial.drawn is None else f"drawn_thickness = {trial.drawn}",
        _table("[machine]", trial.machine),
        *(_table("[[cutter]]", row) for row in trial.cutters),
        '[drawings]\nfiles = ["trial.dxf"]\nunit = "mm"',
        "[layers]\n" + "\n".join(layers),
        *(
            _table(
                "[[part]]",
                {"name": p.name, "at": p.spot, **({"tabs": p.tabs} if p.tabs else {}), **p.keys},
            )
            for p in trial.pieces
        ),
        _table("[tabs]", trial.tabs),
        trial.more,
    ]
    (folder / "trial.toml").write_text("\n\n".join(text) + "\n", encoding="utf-8")
    try:
        return make(load(folder / "trial.toml"), folder, "trial", wish=wish)
    except (InputError, CannotBeMadeError) as refused:
        return tuple(refused.findings)


def faults(result: Result | tuple[Finding, ...]) -> list[str]:
    """Every finding of level error, as words."""
    if isinstance(result, tuple):
        return [f"{f.rule}: {f}" for f in result if f.level == "error"]
    said = [*result.findings, *(f for p in result.programs for f in p.verdict.findings)]
    return [f"{f.rule}: {f}" for f in said if f.level == "error"]


def texts(result: Result | tuple[Finding, ...]) -> list[str]:
    """The programs' texts; an error stops the test."""
    said = faults(result)
    if said or isinstance(result, tuple):
        raise AssertionError(f"not sound: {said}")
    return [program.text for program in result.programs]
