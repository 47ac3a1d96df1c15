"""Plates drawn in frames of their own, cut the whole way, and given back as the wood that the program leaves.

Only the written program's text is believed: what a plate became is measured from the replayed sweep.
"""

from __future__ import annotations

import math
import pathlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import ezdxf
from shapely import Polygon, union_all
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from camkit.errors import CannotBeMadeError, Finding, InputError
from camkit.job.load import load
from camkit.pipeline import Result, make
from support.replayed import Move, replay, swept, window, wood

__all__ = ["Cleared", "Loop", "Plate", "Refused", "Stock", "box_loop", "cut", "turned_loop", "write_job"]

Vertex = tuple[float, float, float]  # x, y, and the bulge of the line that leaves it (DXF group code 42)
Loop = list[Vertex]
TAB = 3.0  # mm that tabs stand above the table, at most
_GAP = 40.0  # between plates on a sheet


def box_loop(x0: float, y0: float, x1: float, y1: float) -> Loop:
    """An upright rectangle, counter-clockwise from its lower left corner."""
    return [(x0, y0, 0.0), (x1, y0, 0.0), (x1, y1, 0.0), (x0, y1, 0.0)]


def turned_loop(loop: Loop, turn_deg: float, x: float = 0.0, y: float = 0.0) -> Loop:
    """The loop turned about its frame's origin, then moved."""
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    if turn_deg % 90 == 0:
        cos, sin = round(cos), round(sin)
    return [(cos * u - sin * v + x, sin * u + cos * v + y, bulge) for u, v, bulge in loop]


@dataclass(frozen=True)
class Stock:
    """A sheet: its name, the thickness drawn for, and the one measured."""

    name: str
    drawn: float
    measured: float


@dataclass(frozen=True)
class Plate:
    """A part in a frame of its own, turned by `turn_deg` in the drawing; `spot` is a point of its wood."""

    name: str
    outline: Loop
    spot: tuple[float, float]
    openings: Sequence[Loop] = ()
    pockets: Sequence[tuple[float, Loop]] = ()
    stock: str = "sheet"
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Refused:
    """Nothing may be cut; `findings` of level error say why."""

    findings: tuple[Finding, ...]

    @property
    def rules(self) -> list[str]:
        """Names of the rules, each once."""
        return sorted({finding.rule for finding in self.findings})

    def names(self, *parts: str) -> bool:
        """Whether some finding names one of the parts."""
        return any(part in str(finding) for finding in self.findings for part in parts)


@dataclass
class Cleared:
    """A sound job: what its programs clear, by plate."""

    result: Result
    diameters: Mapping[int, float]
    plates: Mapping[str, Plate]
    frames: Mapping[str, tuple[float, float, float]]  # turn and place of each plate in its drawing
    tab: float
    _moves: dict[int, list[Move]] = field(default_factory=dict)
    _seen: dict[tuple[object, ...], BaseGeometry] = field(default_factory=dict)

    def wood(self, name: str, level: float, *spots: tuple[float, float]) -> BaseGeometry:
        """What stays of a plate at `level` (0 its top) in one with `spots`, in the plate's own frame."""
        if (name, level, spots) not in self._seen:
            self._seen[name, level, spots] = self._wood(name, level, spots)
        return self._seen[name, level, spots]

    def _wood(self, name: str, level: float, spots: tuple[tuple[float, float], ...]) -> BaseGeometry:
        plate = self.plates[name]
        placed = next(p for p in self.result.placed if p.part.name == name)
        if placed.sheet not in self._moves:
            text = next(p.text for p in self.result.programs if p.sheet == placed.sheet)
            self._moves[placed.sheet] = replay(text, dict(self.diameters))
        turn, x, y = self.frames[name]
        there = _matrix(turn, x, y)
        there = _after(_matrix(placed.turn_deg, placed.x, placed.y, mirrored=placed.mirrored), there)
        back = _inverse(there)
        board = affine_transform(Polygon([(u, v) for u, v, _ in plate.outline]), there)
        area = window(board, 0.4 * min(self.diameters.values()))
        cleared = swept(self._moves[placed.sheet], level, area)
        middle = affine_transform_points(spots or (plate.spot,), there)
        return affine_transform(union_all([wood(cleared, spot, area) for spot in middle]), back)

    def through(self, name: str, *spots: tuple[float, float]) -> BaseGeometry:
        """What stays of a plate just above the tabs."""
        return self.wood(name, self.tab + 0.01 - self.thickness(name), *spots)

    def thickness(self, name: str) -> float:
        """Measured thickness of the sheet that a plate lies on."""
        sheet = next(p.sheet for p in self.result.placed if p.part.name == name)
        return next(s.thickness for s in self.result.sheets if s.number == sheet)


Matrix = list[float]  # a, b, d, e, x, y as shapely's affine_transform takes them


def _matrix(turn_deg: float, x: float, y: float, *, mirrored: bool = False) -> Matrix:
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    if turn_deg % 90 == 0:
        cos, sin = round(cos), round(sin)
    flip = -1 if mirrored else 1
    return [flip * cos, -sin, flip * sin, cos, x, y]


def _after(second: Matrix, first: Matrix) -> Matrix:
    a, b, d, e, x, y = second
    p, q, r, s, u, v = first
    return [a * p + b * r, a * q + b * s, d * p + e * r, d * q + e * s, a * u + b * v + x, d * u + e * v + y]


def _inverse(matrix: Matrix) -> Matrix:
    a, b, d, e, x, y = matrix
    det = a * e - b * d
    a, b, d, e = e / det, -b / det, -d / det, a / det
    return [a, b, d, e, -(a * x + b * y), -(d * x + e * y)]


def affine_transform_points(
    points: Sequence[tuple[float, float]], matrix: Matrix
) -> list[tuple[float, float]]:
    """Points moved by a matrix as shapely's affine_transform takes it."""
    a, b, d, e, x, y = matrix
    return [(a * u + b * v + x, d * u + e * v + y) for u, v in points]


def write_job(
    folder: pathlib.Path,
    plates: Sequence[Plate],
    stocks: Sequence[Stock],
    cutters: Sequence[float],
    fit: str,
    more: str = "",
) -> dict[str, tuple[float, float, float]]:
    """Write one drawing a sheet and `job.toml` into `folder`; gives each plate's turn and place there.

    `fit` are lines of the table [fit], `more` further tables.
    """
    frames: dict[str, tuple[float, float, float]] = {}
    several = len(stocks) > 1
    sheets, rows, depths = [], [], set()
    for stock in stocks:
        drawing = ezdxf.new("R2000", units=ezdxf.units.MM)
        space = drawing.modelspace()
        x, top = _GAP, 0.0
        for plate in plates:
            if several and plate.stock != stock.name:
                continue
            lying = turned_loop(plate.outline, plate.turn_deg)
            x0, y0 = min(u for u, _, _ in lying), min(v for _, v, _ in lying)
            x1, y1 = max(u for u, _, _ in lying), max(v for _, v, _ in lying)
            frame = (plate.turn_deg, round(x - x0, 3), round(_GAP - y0, 3))
            frames[plate.name] = frame
            x, top = x + x1 - x0 + _GAP, max(top, y1 - y0)
            loops = [("OUTLINE", plate.outline)] + [("OPENING", loop) for loop in plate.openings]
            loops += [(f"POCKET {depth}", loop) for depth, loop in plate.pockets]
            depths |= {depth for depth, _ in plate.pockets}
            for layer, loop in loops:
                space.add_lwpolyline(
                    turned_loop(loop, *frame), format="xyb", close=True, dxfattribs={"layer": layer}
                )
            at = turned_loop([(*plate.spot, 0.0)], *frame)[0]
            row = [f'[[part]]\nname = "{plate.name}"\nat = [{at[0]:.4f}, {at[1]:.4f}]']
            row += [f'drawing = "{stock.name}.dxf"\nsheet = "{stock.name}"'] if several else []
            rows.append("\n".join(row))
        size = (round(x, 3), round(top + 2 * _GAP, 3))
        rim = [(u, v) for u, v, _ in box_loop(0, 0, *size)]
        space.add_lwpolyline(rim, close=True, dxfattribs={"layer": "SHEET"})
        drawing.saveas(folder / f"{stock.name}.dxf")
        sheets.append(
            ("[[sheet]]\n" if several else "[sheet]\n")
            + (f'name = "{stock.name}"\n' if several else "")
            + f"size = [{size[0]}, {size[1]}]\ndrawn_thickness = {stock.drawn}\n"
            + f"measured_thickness = [{stock.measured}, {stock.measured}]"
        )
    thin = min(stock.measured for stock in stocks)
    files = ", ".join(f'"{stock.name}.dxf"' for stock in stocks)
    layers = ['sheet = "sheet edge"', 'outline = "profile"', 'opening = "opening"']
    layers += [f'"pocket {depth}" = {{ pocket = {depth} }}' for depth in sorted(depths)]
    text = [
        *sheets,
        *(f"[[cutter]]\nnumber = {i}\ndiameter = {d}" for i, d in enumerate(cutters, 1)),
        f"[drawings]\nfiles = [{files}]",
        "[layers]\n" + "\n".join(layers),
        *rows,
        f"[fit]\n{fit}",
        f"[tabs]\nheight = {_tab(thin)}",
        more,
    ]
    (folder / "job.toml").write_text("\n".join(text) + "\n", encoding="utf-8")
    return frames


def _tab(thin: float) -> float:
    return round(min(TAB, thin / 3), 3)


def cut(
    folder: pathlib.Path,
    plates: Sequence[Plate],
    stocks: Sequence[Stock],
    cutters: Sequence[float],
    fit: str,
    more: str = "",
) -> Cleared | Refused:
    """Draw the plates, cut them the whole way; what the programs clear, or why nothing may be cut."""
    frames = write_job(folder, plates, stocks, cutters, fit, more)
    try:
        result = make(load(folder / "job.toml"), folder, "joint")
    except (InputError, CannotBeMadeError) as refused:
        return Refused(tuple(f for f in refused.findings if f.level == "error"))
    said = [f for f in result.findings if f.level == "error"]
    said += [f for p in result.programs for f in p.verdict.findings if f.level == "error"]
    if said:
        return Refused(tuple(said))
    named = {plate.name: plate for plate in plates}
    tab = _tab(min(stock.measured for stock in stocks))
    return Cleared(result, dict(enumerate(cutters, 1)), named, frames, tab)
