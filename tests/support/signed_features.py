"""What a program makes of openings, pockets and holes: floors, walls, what is left, and what should stay."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, union_all
from shapely.geometry.base import BaseGeometry

from support.carved import Board
from support.signed_paths import mills
from support.steps import Step
from support.trials import Bore, Piece, Trial

__all__ = ["gouges", "holes", "left_over", "swept_to"]

_OFF = 0.012  # a path runs up to 11 um off its wall, and chords lie inside their arcs


def swept_to(trial: Trial, run: Sequence[Step], level: float, around: BaseGeometry) -> BaseGeometry:
    """The area that cutters have been over at `level` or lower, by level moves; discs are inscribed."""
    near, tools, found = around.bounds, trial.tools(), []
    for step in run:
        if step.points[:, 2].max() > level + 3e-4 or not mills(trial, step):
            continue
        radius = tools[step.tool].diameter / 2
        low, high = step.points[:, :2].min(0) - radius, step.points[:, :2].max(0) + radius
        if low[0] > near[2] or low[1] > near[3] or high[0] < near[0] or high[1] < near[1]:
            continue
        quads = max(8, math.ceil(math.pi / 4 / math.acos(1 - 0.0005 / radius)))
        path = LineString(step.points[:, :2]) if step.run > 1e-9 else Point(step.points[0, :2])
        found.append(path.buffer(radius, quad_segs=quads))
    return union_all(found)


def left_over(trial: Trial, run: Sequence[Step], shape: Polygon, level: float) -> tuple[float, float]:
    """Area (mm2) of wood left above `level` in a shape though the smallest cutter that was in it could reach
    it, and that cutter's diameter."""
    used = {
        step.tool
        for step in run
        if mills(trial, step) and step.end[2] <= level + 1e-3 and shape.contains(Point(step.end[:2]))
    }
    if not used:
        return float(shape.area), 0.0
    diameter = min(trial.row(tool)["diameter"] for tool in used)
    radius = diameter / 2
    quads = max(16, math.ceil(math.pi / 4 / math.acos(1 - 0.0002 / radius)))
    reach = shape.buffer(-_OFF).buffer(-radius, quad_segs=quads).buffer(radius - 0.0005, quad_segs=quads)
    return float(reach.difference(swept_to(trial, run, level, shape)).area), diameter


def gouges(trial: Trial, board: Board) -> list[str]:
    """Wood taken where a part should stay, by more than a path may run inside its line."""
    said = []
    for piece in trial.pieces:
        part = _solid(piece).buffer(-0.01)
        shapely.prepare(part)
        x0, y0, x1, y1 = part.bounds
        near = np.flatnonzero(
            (board.points[:, 0] > x0) & (board.points[:, 0] < x1)
            & (board.points[:, 1] > y0) & (board.points[:, 1] < y1)
        )  # fmt: skip
        at, height = board.points[near], board.height[near]
        inside = shapely.contains_xy(part, *at.T)
        floor = np.zeros(len(near))
        for pocket in piece.pockets:
            over = shapely.contains_xy(pocket.shape.polygon().buffer(0.01), *at.T)
            floor[over] = np.minimum(floor[over], -pocket.depth)
        for hole in piece.holes:
            away = np.hypot(at[:, 0] - hole.x, at[:, 1] - hole.y)
            if hole.depth is not None:
                floor[away < hole.diameter / 2 + 0.01] = -hole.depth
            if hole.sink is not None:
                cone = np.minimum(0.0, away - hole.sink / 2 - 0.02)
                floor = np.minimum(floor, cone)
        deep = inside & (height < floor - 1e-3)
        if deep.any():
            k = int(np.argmax(np.where(deep, floor - height, 0)))
            said.append(
                f"{piece.name}: {deep.sum()} spots are cut too deep, by {floor[k] - height[k]:.3f} at "
                f"({at[k][0]:.2f}, {at[k][1]:.2f})"
            )
    return said


def _solid(piece: Piece) -> Polygon:
    part = piece.outline.polygon()
    cut = [opening.polygon() for opening in piece.openings]
    cut += [Point(h.x, h.y).buffer(h.diameter / 2, 64) for h in piece.holes if h.depth is None]
    return part.difference(union_all(cut)) if cut else part


def holes(trial: Trial, run: Sequence[Step], hole: Bore) -> list[str]:
    """What is wrong with a hole: diameter, depth, or wood in it; measured on rings about its middle."""
    radius = hole.diameter / 2
    turns = np.arange(0, 2 * math.pi, math.pi / 36)
    name = f"hole {hole.diameter} at ({hole.x}, {hole.y})"
    bottom = trial.bottom if hole.depth is None else -hole.depth
    said = []

    def heights(r: float) -> np.ndarray:
        at = np.stack((hole.x + r * np.cos(turns), hole.y + r * np.sin(turns)), 1)
        board = Board(at)
        board.carve(run, trial.tools())
        return board.height

    for r in (0.0, radius * 0.5, radius - 0.013):
        high = float(heights(r).max())
        if high > bottom + 1e-3:
            said.append(f"{name}: wood up to {high:.3f} at radius {r:.3f}, {bottom:.3f} wanted")
    lowest = float(heights(0.0).min())
    floor = bottom - trial_point(trial)
    if lowest < floor - 1e-3:
        said.append(f"{name}: {lowest:.3f} deep, {floor:.3f} wanted")
    rim = heights(radius + 0.002)
    wanted = 0.0 if hole.sink is None else radius - hole.sink / 2
    if rim.min() < wanted - 0.02:
        said.append(f"{name}: wider than drawn, {rim.min():.3f} at its rim")
    return said


def trial_point(trial: Trial) -> float:
    """How far the point of a drill may go deeper than the hole."""
    return max(
        (
            row["diameter"] / 2 / math.tan(math.radians(row["point_angle"] / 2))
            for row in trial.cutters
            if row.get("kind") == "drill" and row.get("point_angle", 180) < 180
        ),
        default=0.0,
    )
