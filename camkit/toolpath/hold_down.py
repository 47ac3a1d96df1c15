"""Places in the waste where screws may hold the sheet down, clear of every cut. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Point, circle
from camkit.job.fixtures import AROUND, HoldDown
from camkit.job.model import Job
from camkit.part import Hole, Placed
from camkit.toolpath.feature import Feature
from camkit.toolpath.fixtures import Standing, screws_at

__all__ = ["Screws", "hold_down"]

# Parts are seen this coarsely.
_LOOK = 0.05
# Places are looked for this far apart.
_GRID = 10.0
# A sheet is held by at least so many screws (common practice, no source).
_FEWEST = 4
# Screws stand at least so many head diameters apart.
_CROWDED = 3.0
# Wood between a screw's hole and the edge of the sheet: about as much as the head needs (common practice).
_TO_EDGE = 5.0
# Cuts reach farther from a part than their cutter's diameter by this: off open pockets, beside rough passes.
_BESIDE_LANE = 2.0


@dataclass(frozen=True, slots=True)
class Screws:
    """The hold-down screws of one sheet: holes right through it, their heads, and what is to be said."""

    holes: tuple[Feature, ...] = ()
    heads: tuple[Standing, ...] = ()
    findings: tuple[Finding, ...] = ()


def hold_down(
    placed: Sequence[Placed], job: Job, size: tuple[float, float], standing: Sequence[Standing]
) -> Screws:
    """The places that the job gives, each looked at, or places found in waste that stays held.

    Found places lie near the corners of the sheet first, then where the farthest waste is, until none is
    farther than `apart` from a screw. Nothing when the job has no [hold_down].
    """
    hold = job.hold_down
    if hold is None:
        return Screws()
    room = _room(placed, job, hold, size, standing)
    if hold.places:
        wrong = [place for place in hold.places if not room.buffer(_LOOK).covers(shapely.Point(place))]
        return _screws(hold.places, hold, tuple(_not_there(place, placed) for place in wrong))
    places = _spread(room, hold, size)
    return _screws(places, hold, _too_few(len(places)))


def _screws(places: Sequence[Point], hold: HoldDown, findings: tuple[Finding, ...]) -> Screws:
    wide = hold.hole_diameter
    holes = tuple(
        Feature("hold-down", "sheet", k, circle(place, wide), hole=Hole(place, wide))
        for k, place in enumerate(places, start=1)
    )
    return Screws(holes, screws_at(places, hold), findings)


def _room(
    placed: Sequence[Placed],
    job: Job,
    hold: HoldDown,
    size: tuple[float, float],
    standing: Sequence[Standing],
) -> shapely.Geometry:
    """Where the middle of a screw may be: on the sheet, off every lane, in waste that reaches the edge."""
    long, wide = size
    widest = max((c.diameter for c in job.cutter if c.mills), default=0.0)
    filled = [shapely.Polygon(as_polygon(p.shape.outline, _LOOK).exterior) for p in placed]
    waste = shapely.box(0, 0, long, wide)
    lanes = shapely.union_all(filled).buffer(widest) if filled else shapely.Polygon()
    rim = waste.exterior
    held = [piece for piece in shapely.get_parts(waste.difference(lanes)) if piece.distance(rim) < 1e-6]
    clear = widest + _BESIDE_LANE + AROUND + hold.head / 2
    edge = hold.head / 2 + _TO_EDGE
    free = shapely.box(edge, edge, max(edge, long - edge), max(edge, wide - edge))
    free = free.intersection(shapely.union_all(held))
    taken = [shape.buffer(clear) for shape in filled]
    taken += [one.area.buffer(hold.head / 2 + AROUND) for one in standing]
    return free.difference(shapely.union_all(taken)) if taken else free


def _spread(room: shapely.Geometry, hold: HoldDown, size: tuple[float, float]) -> tuple[Point, ...]:
    """Places near the corners, then always the one farthest from all before."""
    spots = _spots(room)
    if not len(spots):
        return ()
    long, wide = size
    near = np.full(len(spots), np.inf)
    chosen: list[int] = []

    def take(k: int) -> None:
        chosen.append(k)
        np.minimum(near, _distances(spots, spots[k]), out=near)

    crowded = _CROWDED * hold.head
    for corner in ((0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)):
        away = _distances(spots, np.array(corner))
        k = int(np.argmin(away))
        if away[k] <= hold.apart / 2 and near[k] > crowded:
            take(k)
    while len(chosen) < len(spots):
        k = int(np.argmax(near))
        if near[k] <= (hold.apart if len(chosen) >= _FEWEST else crowded):
            break
        take(k)
    return tuple((float(x), float(y)) for x, y in spots[chosen])


def _distances(spots: NDArray[np.float64], place: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rounded, so that noise in the last digit does not choose between equals."""
    return np.asarray(np.round(np.linalg.norm(spots - place, axis=1), 6), dtype=np.float64)


def _spots(room: shapely.Geometry) -> NDArray[np.float64]:
    """A grid of places in the room, row by row, its extent's sides among them."""
    if room.is_empty:
        return np.empty((0, 2))
    x0, y0, x1, y1 = room.bounds
    xs = np.linspace(x0, x1, max(2, int((x1 - x0) / _GRID) + 1))
    ys = np.linspace(y0, y1, max(2, int((y1 - y0) / _GRID) + 1))
    spots = np.round(np.array([(x, y) for y in ys for x in xs]), 1)
    room = room.buffer(_LOOK)
    shapely.prepare(room)
    inside: NDArray[np.bool_] = shapely.intersects_xy(room, spots)
    return spots[inside]


def _too_few(count: int) -> tuple[Finding, ...]:
    if count >= _FEWEST:
        return ()
    remedy = "Lay parts farther apart, use a larger sheet, give places in [hold_down], or use clamps"
    if count == 0:
        return (Finding("error", "no-screw-place", "no waste has room for a hold-down screw", remedy),)
    said = f"the waste has room for {count} hold-down screw{'s' if count > 1 else ''} only, not for {_FEWEST}"
    return (Finding("warning", "few-screws", said, remedy),)


def _not_there(place: Point, placed: Sequence[Placed]) -> Finding:
    spot = shapely.Point(place)
    areas = [(as_polygon(p.shape.outline, _LOOK).distance(spot), p.part.name) for p in placed]
    away, part = min(areas, default=(np.inf, ""))
    near = f"{away:.1f} mm off {part!r}" if away > 0 else f"in {part!r}"
    where = near if away <= 100 else "at the edge of the sheet or a fixture"
    x, y = place
    return Finding(
        "error",
        "screw-place",
        f"the hold-down screw at ({x:g}, {y:g}) lies {where}: cuts come too near to its head",
        "Give it another place in the waste, or leave places out and have them found",
        x_mm=x,
        y_mm=y,
    )
