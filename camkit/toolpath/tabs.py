"""Where tabs stand along a closed cutter path."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.cut import Tab
from camkit.geometry.corner import turn_between
from camkit.geometry.flatten import as_polygon, flattened
from camkit.geometry.measure import Bounds, length, segment_length
from camkit.geometry.path import Arc, Line, Path, Point
from camkit.job.model import Tabs
from camkit.toolpath.heights import SQUARE_DEG, TAB_SLOPE_DEG, Rise
from camkit.toolpath.track import nearest_distance, place_at

__all__ = ["Hold", "TabPlan", "given_places", "plan_tabs"]

# Tabs together take at most this share of a path: the judge's limit of 0.35 less a reserve.
_SHARE = 0.30
# Places tried along the path, and shifts of the whole pattern.
_STEP = 4.0
_PHASES = 24
# Lowest tab that still holds (common practice: 1.5 to 3 mm, at least an eighth of the sheet).
_SMALL_HEIGHT = 1.5
# Arcs of the cutter's centre below this many radii are tight bends, as are corners sharper than this (rad).
_TIGHT = 4.0
_CORNER = 0.25
# A point given for a tab may lie this far beyond the cut beside its outline.
_OFF_WALL = 5.0
# Paths are followed this closely when wood beside them is looked for.
_CHORD = 0.05
# Width of wood beyond the cut that a tab needs to hang on (common practice, no source).
_HOLD = 3.0


@dataclass(frozen=True, slots=True)
class Hold:
    """How a piece is to be held: the job's rule, and how many tabs at least.

    Tabs hang on `wood`, the extent of the sheet; None: on wood all round. Where places are `given`, in sheet
    coordinates, tabs stand there and nowhere else.
    """

    rule: Tabs
    at_least: int
    wood: Bounds | None = None
    given: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class TabPlan:
    """Rises for the cutter's centre and the tabs they leave; `wanted` is how many there should be."""

    rises: tuple[Rise, ...]
    tabs: tuple[Tab, ...]
    wanted: int


def plan_tabs(
    path: Path,
    radius: float,
    thickness: float,
    into_table: float,
    hold: Hold,
    end: float = 0.0,
) -> TabPlan:
    """Tabs for a closed centre path of a cutter of `radius` mm through a sheet of `thickness`.

    As far apart as the rule says and at least as many as `hold` asks, on straight runs three cutter
    diameters from corners where there are such, nearer to corners where not (common practice, no source);
    never where beyond the cut there is no wood to hang on, nor in a slot or beside a thin web, where the path
    itself clears that wood, nor where the cutter comes to the path and leaves it (`end` mm along), as long as
    there are other places. Three or more stand around the centre of area where they can. On a path too short
    for two of the size asked they are made smaller; fewer than wanted are returned when even that is too
    large. Where places are given and lie at the path, no others are sought (`wanted` is 0).
    """
    around, rule, wood = length(path), hold.rule, hold.wood
    wanted = max(hold.at_least, round(around / rule.spacing))
    slope = SQUARE_DEG if rule.shape == "square" else TAB_SLOPE_DEG
    asked = _size(max(rule.width, 2 * radius), min(rule.height, thickness / 2), radius, into_table, slope)
    low = min(rule.height, max(_SMALL_HEIGHT, thickness / 8), thickness / 2)
    small = _size(2 * radius, low, radius, into_table, slope)
    if given := given_places(path, hold.given, radius, 2 * asked.half):
        return _laid(path, asked, thickness, given, slope)
    for size, where, free in (
        (size, where, free) for free in (True, False) for size, where in _attempts(path, radius, asked, small)
    ):
        possible = min(wanted, size.fitting(around, radius))
        legal = [m for m in where() if wood is None or _held(place_at(path, m), wood, radius)]
        if free:
            legal = _between_wood(path, _off_ends(legal, around, end, size.half + 2 * radius), radius)
        middles = sorted(_spread(path, np.array(legal), possible, 2 * size.half))
        if len(middles) >= max(possible, min(wanted, 2)):
            break
    return replace(_laid(path, size, thickness, middles, slope), wanted=wanted)


def _laid(path: Path, size: _Size, thickness: float, middles: Sequence[float], slope: float) -> TabPlan:
    """Tabs of one size about the given places along the path."""
    z = size.height - thickness
    rises = tuple(Rise(m - size.half_top, m + size.half_top, z, slope) for m in middles)
    tabs = tuple(Tab(*place_at(path, m), width=size.width, height=size.height) for m in middles)
    return TabPlan(rises, tabs, 0)


def given_places(path: Path, given: Sequence[Point], radius: float, apart: float = 0.0) -> list[float]:
    """How far along the path the given points lie, in order; points off the path or nearer than `apart` to
    an earlier one are left out.
    """
    around = length(path)
    places: list[float] = []
    for point in given:
        place = nearest_distance(path, point)
        off = math.dist(place_at(path, place), point) > _OFF_WALL + 2 * radius
        if not off and all(_gaps(np.array([p]), place, around)[0] >= apart for p in places):
            places.append(place)
    return sorted(places)


@dataclass(frozen=True, slots=True)
class _Size:
    """A tab's wood at its top (`width`); along the cutter's centre, half its top and half with flanks."""

    width: float
    height: float
    half_top: float
    half: float

    def fitting(self, around: float, radius: float) -> int:
        """How many a path of length `around` can carry without losing too much of its line."""
        wood = 2 * (self.half - radius)
        return min(math.floor(_SHARE * around / wood), math.floor(around / (2.2 * self.half)))


def _attempts(
    path: Path, radius: float, asked: _Size, small: _Size
) -> Iterator[tuple[_Size, Callable[[], list[float]]]]:
    """Sizes and places for tabs, the best first: straight runs, then off bends, small ones anywhere last."""
    for size in (asked, small):
        for clear in (6 * radius, 2 * radius, 0.0):
            yield size, partial(_on_straights, path, size.half + clear)
        yield size, partial(_off_bends, path, size.half + radius, _TIGHT * radius)
    yield small, partial(_anywhere, path)


def _size(width: float, height: float, radius: float, into_table: float, slope_deg: float) -> _Size:
    flank = (height + into_table) / math.tan(math.radians(slope_deg))
    half_top = width / 2 + radius  # the cutter's rim cuts one radius into either end
    return _Size(width, height, half_top, half_top + flank)


def _held(place: Point, wood: Bounds, radius: float) -> bool:
    """Whether wood stands on both sides of the cut at this place."""
    (x, y), (x0, y0, x1, y1) = place, wood
    room = radius + _HOLD
    return x0 + room <= x <= x1 - room and y0 + room <= y <= y1 - room


def _off_ends(places: Sequence[float], around: float, end: float, room: float) -> list[float]:
    """Those places with `room` mm of the path between them and its beginning, and where it is left."""
    if not places:
        return []
    there = np.array(places)
    far = np.minimum(_gaps(there, 0.0, around), _gaps(there, end % around, around)) >= room
    return [m for m, kept in zip(places, far, strict=True) if kept]


def _between_wood(path: Path, places: Sequence[float], radius: float) -> list[float]:
    """Those places at which wood wide enough to hang on stays beside the cut, at either side of it."""
    if not places:
        return []
    line = shapely.LinearRing(flattened(path, _CHORD))
    here = np.array([place_at(path, m) for m in places])
    ahead = np.array([place_at(path, (m + _CHORD) % length(path)) for m in places])
    along = ahead - here
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None]
    aside = np.stack((-along[:, 1], along[:, 0]), 1)
    stays = np.ones(len(places), dtype=bool)
    for reach in (_HOLD / 10, _HOLD / 2, _HOLD):
        for side in (1, -1):
            beside = shapely.points(here + side * (radius + reach) * aside)
            stays &= shapely.distance(line, beside) >= radius
    return [m for m, kept in zip(places, stays, strict=True) if kept]


def _on_straights(path: Path, room: float) -> list[float]:
    """Places on straight runs with at least `room` mm of the run at either side."""
    places = []
    begin = 0.0
    for segment in path.segments:
        long = segment_length(segment)
        if isinstance(segment, Line) and long >= 2 * room:
            free = long - 2 * room
            count = max(1, round(free / _STEP))
            places += [begin + room + free * k / count for k in range(count + 1)]
        begin += long
    return places


def _off_bends(path: Path, room: float, tight: float) -> list[float]:
    """Places with no corner and no arc of a radius below `tight` within `room` mm along the path.

    Round a tight bend a short way of the cutter's centre is a long way of the wall, and a tab grows
    accordingly.
    """
    around = length(path)
    bends = []
    begin = 0.0
    for before, segment in zip((path.segments[-1], *path.segments[:-1]), path.segments, strict=True):
        end = begin + segment_length(segment)
        if isinstance(segment, Arc) and segment.radius < tight:
            bends.append((begin, end))
        elif abs(turn_between(before, segment)) > _CORNER:
            bends.append((begin, begin))
        begin = end
    return [
        place
        for place in _anywhere(path)
        if all((place - a + room) % around > (b - a) + 2 * room for a, b in bends)
    ]


def _anywhere(path: Path) -> list[float]:
    around = length(path)
    count = max(1, round(around / _STEP))
    return [around * k / count for k in range(count)]


def _spread(path: Path, legal: NDArray[np.float64], count: int, apart: float) -> list[float]:
    """Up to `count` of the legal places, as evenly round the path as they allow, none nearer than `apart`.

    Of three or more, some lie at every side of the centre of area, if any even pattern does that.
    """
    around = length(path)
    centre = as_polygon(path, _CHORD).centroid
    best: tuple[float, list[float]] = (math.inf, [])
    if len(legal) == 0 or count < 1:
        return []
    for phase in range(_PHASES):
        chosen: list[float] = []
        moved = 0.0
        free = np.ones(len(legal), dtype=bool)
        for k in range(count):
            gap = _gaps(legal, (k + phase / _PHASES) * around / count, around)
            if not free.any():
                moved += around
                continue
            place = int(np.argmin(np.where(free, gap, np.inf)))
            moved += float(gap[place])
            chosen.append(float(legal[place]))
            free &= _gaps(legal, chosen[-1], around) >= apart
        if len(chosen) > 2 and not _surround(path, chosen, centre):
            moved += count * around
        if moved < best[0] - 1e-9:
            best = (moved, chosen)
    return best[1]


def _surround(path: Path, places: Sequence[float], centre: shapely.Point) -> bool:
    hull = shapely.MultiPoint([place_at(path, m) for m in places]).convex_hull
    return bool(hull.covers(centre))


def _gaps(places: NDArray[np.float64], to: float, around: float) -> NDArray[np.float64]:
    """The shorter way round the path from each place to another one."""
    ahead = (places - to) % around
    return np.minimum(ahead, around - ahead)
