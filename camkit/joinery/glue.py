"""Alignment dowels through the layers of a glue-up. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from camkit.errors import Finding, Level
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Path, circle
from camkit.geometry.symmetry import symmetries
from camkit.geometry.transform import Placement, moved
from camkit.job.model import GlueUp
from camkit.joinery.dowels import farthest_apart, legal_spots, pattern
from camkit.joinery.fitted import GluedLayer, GluedUp
from camkit.joinery.layers import resolve
from camkit.part import Hole, Part

__all__ = ["Glued", "glue"]

# Fine enough beside walls as thick as a dowel.
_CHORD = 0.02
# A layer can be laid wrongly where its outline comes this close to itself.
_MISTAKABLE = 1.0
# First dowel from an end (woodweb.com, dowel case joinery guidelines); kept where there is room for it.
_FROM_END = 25.0
# With room for that, dowels may lie this much nearer together than they could at the very rim.
_ROOMY = 0.7
# Layers that can shift farther than this want trimming after the glue has set (common practice, no source).
_SHIFT = 0.5


@dataclass(frozen=True, slots=True)
class Glued:
    """All parts, those in glue-ups with their dowel holes, in the order given."""

    parts: tuple[Part, ...]
    glue_ups: tuple[GluedUp, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Stack:
    """The layers of one glue-up as polygons in its own frame: lower left corners of all outlines at (0, 0).

    `common` is what all layers share, less every opening, hole and pocket.
    """

    outlines: tuple[Polygon, ...]
    common: BaseGeometry


def glue(parts: Sequence[Part], rows: Sequence[GlueUp], thicknesses: Sequence[float]) -> Glued:
    """The parts with dowel holes for every glue-up; one that cannot be done leaves its parts alone.

    `thicknesses` are the measured ones of the parts.

    Layers lie as drawn, the lower left corners of their outlines together. Holes go through every layer, at
    least one dowel diameter from any edge, where a layer turned or flipped by mistake shows.
    Findings: `glue-up-layers`, `dowel-room`, `dowel-pattern` (errors), `dowel-size`, `dowel-play` (warnings)
    and `dowel-ends` (note).
    """
    current, done, findings = list(parts), list[GluedUp](), list[Finding]()
    taken: dict[int, str] = {}
    for row in rows:
        layers, said = resolve(row, parts, taken)
        findings.extend(said)
        taken |= dict.fromkeys(layers, row.name)
        if not layers:
            continue
        stack = _stacked([current[index] for index in layers])
        spots = _spots(row, stack)
        if isinstance(spots, Finding):
            findings.append(spots)
            continue
        bored = [_bored(current[index], row, spots) for index in layers]
        for index, (part, _) in zip(layers, bored, strict=True):
            current[index] = part
        thick = [thicknesses[index] for index in layers]
        glued = _glued_up(row, stack, spots, tuple(layer for _, layer in bored), sum(thick))
        done.append(glued)
        findings.extend(_remarks(row, glued, thick))
    return Glued(tuple(current), tuple(done), tuple(findings))


def _corner(part: Part) -> tuple[float, float]:
    x0, y0, _, _ = bounds(part.outline)
    return x0, y0


def _stacked(parts: Sequence[Part]) -> _Stack:
    outlines, free = [], []
    for part in parts:
        x, y = _corner(part)

        def there(path: Path, x: float = x, y: float = y) -> BaseGeometry:
            return shapely.make_valid(as_polygon(moved(path, Placement(-x, -y)), _CHORD))

        cuts = [there(path) for path in part.openings]
        cuts += [there(pocket.outline) for pocket in part.pockets]
        cuts += [there(circle(hole.centre, hole.diameter)) for hole in part.holes]
        outlines.append(as_polygon(moved(part.outline, Placement(-x, -y)), _CHORD))
        free.append(shapely.difference(there(part.outline), shapely.union_all(cuts)))
    return _Stack(tuple(outlines), shapely.intersection_all(free))


def _spots(row: GlueUp, stack: _Stack) -> NDArray[np.float64] | Finding:
    """Middles of the dowels in the frame of the stack, shape (n, 2), or why there are none."""
    tight = legal_spots(stack.common, row.dowel)
    farthest = farthest_apart(tight)
    if farthest < 2 * row.dowel:
        return _finding(
            row,
            "error",
            "dowel-room",
            f"has no room for two {row.dowel:g} mm dowels that far from every edge of its layers",
            "Take a thinner dowel, or put dowels in waste and cut it off later",
        )
    wrong = [symmetry for outline in stack.outlines for symmetry in symmetries(outline, _MISTAKABLE)]
    if row.dowel < _FROM_END:
        chosen = pattern(legal_spots(stack.common, _FROM_END), wrong, row.dowel)
        if chosen is not None and farthest_apart(chosen) >= _ROOMY * farthest:
            return chosen
    chosen = pattern(tight, wrong, row.dowel)
    if chosen is None:
        return _finding(
            row,
            "error",
            "dowel-pattern",
            f"is too narrow for {row.dowel:g} mm dowels that show when a layer of symmetric outline is "
            "turned or flipped by mistake",
            "Take a thinner dowel, or put dowels in waste and cut it off later",
        )
    return chosen


def _bored(part: Part, row: GlueUp, spots: NDArray[np.float64]) -> tuple[Part, GluedLayer]:
    x, y = _corner(part)
    holes = tuple(Hole((x + u, y + v), row.dowel + row.play) for u, v in spots.tolist())
    return replace(part, holes=(*part.holes, *holes)), GluedLayer(part.name, "up", holes)


def _glued_up(
    row: GlueUp, stack: _Stack, spots: NDArray[np.float64], layers: tuple[GluedLayer, ...], thickness: float
) -> GluedUp:
    """The glue-up with its play: a dowel loose in both layers lets them turn by 2 play / L.

    The shift is that of the point farthest from the middle of the dowels: play + turn x its distance.
    """
    turn = 2 * row.play / farthest_apart(spots)
    rims = np.vstack([np.asarray(outline.exterior.coords) for outline in stack.outlines])
    away = float(np.hypot(*(rims - spots.mean(axis=0)).T).max())
    return GluedUp(row.name, layers, math.degrees(turn), row.play + turn * away, thickness)


def _remarks(row: GlueUp, glued: GluedUp, thick: Sequence[float]) -> list[Finding]:
    """What is to be said of a glue-up whose layers are that `thick`."""
    thinnest = min(thick)
    said = [
        _finding(
            row,
            "note",
            "dowel-ends",
            f"has {len(glued.layers[0].dowels)} holes of {row.dowel + row.play:g} mm through every layer: "
            "the ends of the dowels show on both faces",
            f"Cut dowels {glued.thickness_mm:.1f} mm long, as thick as the layers together, to end flush",
        )
    ]
    if not thinnest / 3 <= row.dowel <= thinnest / 2:
        layers = f"{thinnest:.1f}" if max(thick) - thinnest < 0.05 else f"{thinnest:.1f} to {max(thick):.1f}"
        said.append(
            _finding(
                row,
                "warning",
                "dowel-size",
                f"has dowels of {row.dowel:g} mm in layers of {layers} mm",
                "Take a dowel between a third and a half of the thinnest layer: "
                f"{thinnest / 3:.1f} to {thinnest / 2:.1f} mm",
            )
        )
    if glued.worst_shift_mm > _SHIFT:
        said.append(
            _finding(
                row,
                "warning",
                "dowel-play",
                f"can shift by up to {glued.worst_shift_mm:.2f} mm while the glue is wet",
                "Reduce the play, or line its layers up by their edges as well",
            )
        )
    return said


def _finding(row: GlueUp, level: Level, rule: str, message: str, remedy: str) -> Finding:
    return Finding(level, rule, f'glue-up "{row.name}" {message}', remedy, part=row.layers[0])
