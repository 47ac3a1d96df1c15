"""Clearing an area to a depth: rings from the inside out, proved to leave nothing standing."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from camkit.cut import Feed, Move
from camkit.errors import CannotBeMadeError, Finding
from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.measure import length
from camkit.geometry.offset import offset
from camkit.geometry.path import Path, Point, Region
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Machine
from camkit.toolpath.heights import ramped
from camkit.toolpath.loop import ENTRY_HEIGHT, approach, climbing, withdraw
from camkit.toolpath.track import follow, nearest_distance, place_at, starting_at

__all__ = ["clear_moves", "rings"]

# Share of the cutter's diameter between rings, tried in turn until nothing is left. Rings leave nothing in a
# corner of angle t while the step is at most r (1 + sin(t / 2)): 0.85 D at 90 degrees; at half a diameter
# nothing can be left anywhere.
_STEPS = (0.85, 0.7, 0.49)
# Area that counts as nothing left, mm2.
_CLEAN = 1e-3
# On a short ring the ramp is as steep as this (common practice: 2 to 5 degrees), or it would never end.
_STEEP_DEG = 5.0
_SHORT = 60.0


def _shrunk(areas: Sequence[Region], distance: float) -> list[Region]:
    return [piece for area in areas for piece in offset(area, -distance)]


def _loops(area: Region) -> list[Path]:
    return [area.exterior, *area.interiors]


def _left(
    area: Region, centres: Sequence[Region], levels: Sequence[Sequence[Region]], radius: float
) -> float:
    """Area within a cutter's reach that the rings do not sweep, mm2."""
    reach = shapely.union_all([as_polygon(c) for c in centres]).buffer(radius - 0.01, quad_segs=32)
    lines = [
        shapely.linearrings(flattened(loop)) for level in levels for piece in level for loop in _loops(piece)
    ]
    swept = shapely.union_all([line.buffer(radius, quad_segs=64) for line in lines])
    return float(reach.difference(swept).area)


def rings(area: Region, radius: float) -> tuple[tuple[Region, ...], ...]:
    """Centre paths for a cutter of `radius` that clear the area, outermost level first; each level's loops.

    Empty when the cutter does not fit. The outermost runs PATH_ALLOWANCE inside the wall.
    Raises CannotBeMadeError when even half-diameter steps leave wood, which would be a fault of ours.
    """
    centres = offset(area, -(radius + PATH_ALLOWANCE))
    if not centres:
        return ()
    for share in _STEPS:
        step = share * 2 * radius
        levels: list[tuple[Region, ...]] = [tuple(centres)]
        while inner := _shrunk(levels[-1], step):
            levels.append(tuple(inner))
        core = _shrunk(levels[-1], 0.9 * radius)
        if core:  # the middle is wider than the cutter's rim reaches: one more ring, half way in
            deepest = max(shapely.maximum_inscribed_circle(as_polygon(p), 0.05).length for p in levels[-1])
            levels.append(tuple(_shrunk(levels[-1], min(step, 0.5 * deepest))))
        if _left(area, centres, levels, radius) <= _CLEAN:
            return tuple(levels)
    x, y = area.exterior.start
    raise CannotBeMadeError(
        Finding(
            "error",
            "pocket-not-clean",
            f"rings of a {2 * radius:g} mm cutter leave wood in an area that it could reach",
            "Report this drawing: it is a fault of camkit",
            x_mm=x,
            y_mm=y,
        )
    )


def _in_order(levels: Sequence[Sequence[Region]], machine: Machine) -> list[Path]:
    """All loops from the inside out, each turned for the cutting direction."""
    return [
        climbing(loop, machine, wood_inside=k > 0)
        for level in reversed(levels)
        for piece in level
        for k, loop in enumerate(_loops(piece))
    ]


def clear_moves(area: Region, depths: Sequence[float], cutter: Cutter, machine: Machine) -> tuple[Move, ...]:
    """Moves that clear the area to the last of `depths` (positive, mm), each pass from the inside out.

    The first ring of a pass is entered by a ramp; later rings are reached at depth where the way stays
    within the area, else from above by another ramp.
    """
    levels = rings(area, cutter.diameter / 2)
    if not levels:
        return ()
    loops = _in_order(levels, machine)
    room = shapely.union_all([as_polygon(piece) for piece in levels[0]]).buffer(1e-4)
    shapely.prepare(room)
    moves: list[Move] = []
    at: Point | None = None
    above = 0.0
    for depth in depths:
        for k, loop in enumerate(loops):
            joined = at is not None and k > 0
            path = starting_at(loop, nearest_distance(loop, at)) if at is not None else loop
            if joined and at is not None and room.covers(shapely.LineString((at, path.start))):
                if math.dist(at, path.start) > 1e-6:
                    moves.append(Feed(*path.start, -depth, cutter.feed))
                around = length(path)
                moves += follow(path, [(0.0, -depth), (around, -depth)], cutter)
                at = path.start
                continue
            if at is not None:
                moves.append(withdraw(*at, machine))
            from_z = ENTRY_HEIGHT if above == 0 else -above + ENTRY_HEIGHT
            down = approach(*path.start, machine, cutter, ENTRY_HEIGHT)
            around = length(path)
            slope = max(_STEEP_DEG, cutter.ramp_angle) if around < _SHORT else cutter.ramp_angle
            heights = ramped(around, (depth,), from_z, slope)
            moves += [*down, Feed(*path.start, from_z, cutter.plunge)] if above else down
            moves += follow(path, heights, cutter)
            at = place_at(path, heights[-1][0])
        above = depth
    if at is not None:
        moves.append(withdraw(*at, machine))
    return tuple(moves)
