"""Shapes of pocket that clearing is measured on, and what the program's text does to them."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from camkit.cut import Cut
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path, Region, circle, polygon, rectangle, region
from camkit.geometry.transform import Placement, moved
from camkit.job.model import Cutter, Job, Sheet
from camkit.part import Part, Pocket
from camkit.program.write import write
from camkit.simulation.judge import judge
from camkit.toolpath.clear import clear_moves
from camkit.toolpath.heights import pass_depths
from support.replayed import Move, replay, swept
from support.router import placed

__all__ = ["SHAPES", "SIZE", "SLOTS", "Cleared", "cleared", "here"]

SIZE = (400.0, 300.0)
THICKNESS = 18.0
# Paths run 5 to 11 um off the true offset: what is nearer to a wall than this is not called left.
MARGIN = 0.012


def _star(wide: float, deep: float) -> Path:
    turns = [k * math.pi / 5 for k in range(10)]
    radii = [wide if k % 2 else deep for k in range(10)]
    return polygon((r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True))


def _wavy(radius: float, wave: float, waves: int, points: int) -> Path:
    turns = [2 * math.pi * k / points for k in range(points)]
    radii = [radius + wave * math.cos(waves * t) for t in turns]
    return polygon((r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True))


_L = polygon([(0, 0), (90, 0), (90, 25), (30, 25), (30, 80), (0, 80)])
SHAPES: dict[str, Region] = {
    "wide rectangle": region(rectangle(0, 0, 100, 60)),
    "circle": region(circle((0, 0), 55)),
    "slot 13 wide": region(rectangle(0, 0, 120, 13)),
    "mortise 17.75 wide": region(rectangle(0, 0, 60, 17.75)),
    "L": region(_L),
    "L with an island": region(_L, [rectangle(9.5, 9.5, 20, 15)]),
    "star": region(_star(40, 18)),
    "star with an island": region(_star(60, 32), [circle((0, 0), 14)]),
    "ring": region(circle((0, 0), 80), [circle((0, 0), 30)]),
    "wavy": region(_wavy(34, 6, 5, 180)),
}
SLOTS = ("slot 13 wide", "mortise 17.75 wide")


@dataclass(frozen=True, slots=True)
class Cleared:
    """What the text of a pocket's program does, in mm and mm2.

    `floors` is the length of level ways at the depths of the passes, `fed` that of all feeds below the top;
    `bound` is what no way can be shorter than, for all passes together: a cutter of diameter D that runs L
    clears at most D L and its own circle, so L >= (reachable - pi r^2) / D. `left` is what the last pass
    leaves of the area that the cutter can reach, `beyond` what is swept outside the pocket. `lifts` counts
    ways up out of the wood, `moves` the feeds; `steepest` is the ramps' largest angle in degrees. `faults`
    are rules of the judge.
    """

    floors: float
    fed: float
    bound: float
    left: float
    beyond: float
    lifts: int
    moves: int
    shortest: float
    steepest: float
    faults: tuple[str, ...]
    planning_s: float
    replayed: tuple[Move, ...]


def here(shape: Region) -> Region:
    """The shape in the middle of the sheet."""
    there = Placement(150.0, 120.0)
    return region(moved(shape.exterior, there), [moved(loop, there) for loop in shape.interiors])


def _way(moves: list[Move]) -> float:
    return sum(float(np.linalg.norm(np.diff(m.points, axis=0), axis=1).sum()) for m in moves)


def _steepest(moves: list[Move]) -> float:
    slopes = [0.0]
    for m in moves:
        drop = float(m.points[0, 2] - m.points[-1, 2])
        run = float(np.linalg.norm(np.diff(m.points[:, :2], axis=0), axis=1).sum())
        if drop > 1e-3 and m.points[0, 2] <= 0:
            slopes.append(math.degrees(math.atan2(drop, run)))
    return max(slopes)


def cleared(shape: Region, diameter: float, depth: float, passes: int) -> Cleared:
    """Clears the shape as a pocket of `depth` in even passes, writes it, and measures the text."""
    pocket = here(shape)
    cutter = Cutter(number=1, diameter=diameter, pass_depth=depth / passes)
    job = Job(sheet=Sheet(measured_thickness=(THICKNESS,)), cutter=(cutter,))
    begin = time.process_time()
    way = clear_moves(pocket, pass_depths(depth, depth / passes), cutter, job.machine)
    planning = time.process_time() - begin
    text = write([Cut(1, "pocket", "shelf", 1, 1, 1, way)], job, job.sheet[0], name="pocket", size=SIZE)
    plate = Part(
        "shelf", rectangle(20, 20, 380, 280), pockets=(Pocket(pocket.exterior, depth, pocket.interiors),)
    )
    said = judge(text, placed(plate), job, sheet_size=SIZE, thickness=THICKNESS).verdict
    # The part's own outline is not cut, which the judge says.
    faults = sorted({f.rule for f in said.findings if f.level == "error" and "outline" not in f.message})
    rows = text.splitlines()
    moves = replay(text, {1: diameter})
    fed = [m for m in moves if not rows[m.line - 1].startswith("G0") and m.points[:, 2].min() < 0]
    level = [m for m in fed if np.ptp(m.points[:, 2]) < 1e-4]
    depths = [depth * (k + 1) / passes for k in range(passes)]
    floors = [m for m in level if min(abs(m.points[0, 2] + d) for d in depths) < 1e-3]
    area: Polygon = as_polygon(pocket, 0.0002)
    radius = diameter / 2
    reach = area.buffer(-radius - MARGIN, quad_segs=180).buffer(radius, quad_segs=180)
    floor = swept(floors, -depth + 1e-3)
    return Cleared(
        floors=_way(floors),
        fed=_way(fed),
        bound=(reach.area - math.pi * radius**2) / diameter * passes,
        left=float(reach.difference(floor).area),
        beyond=float(swept(fed, 0.0).difference(area.buffer(0.001)).area),
        lifts=sum(bool(m.points[0, 2] < 0 and m.points[-1, 2] > 0) for m in moves),
        moves=len(fed),
        shortest=min(float(np.linalg.norm(m.points[-1] - m.points[0])) for m in floors),
        steepest=_steepest(fed),
        faults=tuple(faults),
        planning_s=planning,
        replayed=tuple(moves),
    )
