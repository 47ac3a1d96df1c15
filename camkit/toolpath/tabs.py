"""Where tabs stand along a closed cutter path."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from camkit.cut import Tab
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import length
from camkit.geometry.path import Path, Point
from camkit.job.model import Tabs
from camkit.toolpath.along import Along, along, gaps
from camkit.toolpath.heights import SQUARE_DEG, TAB_SLOPE_DEG, Rise
from camkit.toolpath.shared_tabs import ALONE, Others, rises_over
from camkit.toolpath.tab_ground import Ground, Weighed, weighed
from camkit.toolpath.tab_spread import Spread, spread, surrounds
from camkit.toolpath.track import nearest_distance, place_at

__all__ = ["Hold", "TabPlan", "given_places", "plan_tabs"]

Floats = NDArray[np.float64]

# Tabs together take at most this share of a path: the judge's limit of 0.35 less a reserve.
_SHARE = 0.30
# Places looked at lie this far apart, farther on paths with more than so many of them.
_STEP, _MOST_PLACES = 4.0, 400
# Lowest tab that still holds (common practice: 1.5 to 3 mm, at least an eighth of the sheet).
_SMALL_HEIGHT = 1.5
# Tabs of wide cutters, at the table, are this much shorter than what counts as wood left uncut.
_SHORTER = 1.0
# A point given for a tab may lie this far beyond the cut beside its outline.
_OFF_WALL = 5.0
# Paths are followed this closely where their centre of area is looked for.
_CHORD = 0.05
# Another piece's tab counts where at least this share of it stands in the cut.
_WHOLE = 0.9
# So many tabs more than asked where fewer stand at one side of the piece.
_MORE = 2


@dataclass(frozen=True, slots=True)
class Hold:
    """How a piece is to be held: the job's rule, and how many tabs at least; 0: by other means, without.

    `ground` is what surrounds the piece, which lies inside the path or outside it; None: wood on all sides.
    Where places are `given`, in sheet coordinates, tabs stand there and nowhere else. Tabs of `others`
    that stand beside count among its own; those that came later are left standing too, but none of its own
    gives way to them. Where its own are settled already, no more are sought.
    """

    rule: Tabs
    at_least: int
    ground: Ground | None = None
    piece_inside: bool = True
    given: tuple[Point, ...] = ()
    others: Others = ALONE


@dataclass(frozen=True, slots=True)
class TabPlan:
    """Rises for the cutter's centre and the tabs they leave; `wanted` is how many there should be.

    There are more rises than tabs where another piece's tab only just meets the cut.
    """

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

    As far apart as the rule says and at least as many as `hold` asks, with more where else the piece could
    tip: three or more stand around its centre of area. Each stands at the best place near by: on a straight
    run three cutter diameters from corners, off joint faces and thin webs, between wood wide enough, along
    the face grain, away from where the cutter comes to the path and leaves it, `end` mm along (common
    practice, no source). What such a place lacks is its `fault`. On a path too short for the size asked they
    are made smaller; fewer than wanted are returned when even that is too large. Where places are given and
    lie at the path, no others are sought (`wanted` is 0).
    """
    rule, line = hold.rule, along(path)
    slope = SQUARE_DEG if rule.shape == "square" else TAB_SLOPE_DEG
    wanted = max(hold.at_least, round(line.around / rule.spacing)) if hold.at_least else 0
    high = min(rule.height, thickness / 2)
    widest = min(2 * radius, rule.longest - 2 * high / math.tan(math.radians(slope)) - _SHORTER)
    asked = _size(max(rule.width, widest), high, radius, into_table, slope)
    low = min(rule.height, max(_SMALL_HEIGHT, thickness / 8), thickness / 2)
    small = _size(widest, low, radius, into_table, slope)
    crossing = rises_over(line, hold.others.beside, radius, thickness, slope)
    foreign = [one for one in crossing if _is_whole(*one, radius)]
    later = rises_over(line, hold.others.later, radius, thickness, slope)
    splinters = [rise for rise, tab in crossing if not _is_whole(rise, tab, radius)]
    settled = hold.others.settled if hold.at_least else ()
    if settled is not None:
        own = [(_rise_of(path, tab, radius, thickness, slope), tab) for tab in settled]
        return _planned([*own, *foreign, *later], splinters, wanted)
    if given := given_places(path, hold.given, radius, 2 * asked.half):
        own = [(_rise(m, asked, thickness, slope), _tab(path, m, asked)) for m in given]
        return _planned([*own, *foreign, *later], splinters, 0)
    centre = hold.ground.centre if hold.ground is not None and hold.ground.centre else _centre(path)
    best = _found(line, asked, radius, wanted, foreign, end, hold, centre)
    if best.lacking(hold.at_least) > (0, 0):
        other = _found(line, small, radius, wanted, foreign, end, hold, centre)
        best = min(best, other, key=lambda one: (*one.lacking(hold.at_least), one.spread.cost))
    own = [
        (
            _rise(m, best.size, thickness, slope),
            replace(_tab(path, m, best.size), fault=next(iter(best.weighed.fault_at(m)), "")),
        )
        for m in best.spread.places
    ]
    return _planned([*own, *foreign, *later], splinters, wanted)


def _is_whole(rise: Rise, tab: Tab, radius: float) -> bool:
    """Whether a rise over another piece's tab leaves it standing in this cut too, and no mere splinter."""
    return rise.last - rise.first >= _WHOLE * (tab.width + 2 * radius)


def _planned(both: Sequence[tuple[Rise, Tab]], splinters: Sequence[Rise], wanted: int) -> TabPlan:
    return TabPlan((*(rise for rise, _ in both), *splinters), tuple(tab for _, tab in both), wanted)


def given_places(path: Path, given: Sequence[Point], radius: float, apart: float = 0.0) -> list[float]:
    """How far along the path the given points lie, in order; points off the path or nearer than `apart` to
    an earlier one are left out.
    """
    around = length(path)
    places: list[float] = []
    for point in given:
        place = nearest_distance(path, point)
        off = math.dist(place_at(path, place), point) > _OFF_WALL + 2 * radius
        if not off and all(gaps(np.array([p]), place, around)[0] >= apart for p in places):
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


@dataclass(frozen=True, slots=True)
class _Found:
    """Places for tabs of one size; `foreign` is how many stand there already."""

    size: _Size
    weighed: Weighed
    spread: Spread
    foreign: int

    def lacking(self, at_least: int) -> tuple[int, int]:
        """How many tabs there are too few, and how many stand tight."""
        count = len(self.spread.places) + self.foreign
        return max(0, at_least - count), sum(map(self.weighed.tight_at, self.spread.places))


def _found(
    line: Along,
    size: _Size,
    radius: float,
    count: int,
    foreign: Sequence[tuple[Rise, Tab]],
    end: float,
    hold: Hold,
    centre: Point,
) -> _Found:
    """The places taken for tabs of a size, `count` in all, or some more where the piece would tip."""
    most = size.fitting(line.around, radius)
    count, foot = min(count, most), size.half - size.half_top
    ground = weighed(
        line,
        _places(line, foreign, size.half, foot),
        radius,
        (size.half_top, size.half),
        end,
        hold.rule.spacing,
        hold.ground,
        waste_left=(_turns_left(line)) != hold.piece_inside,
    )
    there = np.array([(rise.first + rise.last) / 2 for rise, _ in foreign])
    best = None
    for more in range(_MORE + 1):
        wanted = max(0, count + more - len(there))
        chosen = spread(line, ground, wanted, 2 * size.half, there, centre)
        best = best or chosen
        stand = line.at(np.concatenate((chosen.places, there)))
        if count < 3 or surrounds(stand, centre):
            best = chosen
            break
        if count + more + 1 > most:
            break
    assert best is not None
    return _Found(size, ground, best, len(there))


def _places(line: Along, foreign: Sequence[tuple[Rise, Tab]], half: float, foot: float) -> Floats:
    """Places to look at, clear of tabs that stand there already: evenly, and the middles of straight runs."""
    count = max(1, min(round(line.around / _STEP), _MOST_PLACES))
    runs = np.diff(line.marks)
    middles = (line.marks[:-1] + runs / 2)[runs > 4 * half / 2]
    places = np.unique(np.concatenate((line.around * np.arange(count) / count, middles)))
    for rise, _ in foreign:
        there, room = (rise.first + rise.last) / 2, (rise.last - rise.first) / 2 + foot + half
        places = places[gaps(places, there, line.around) >= room]
    return places


def _turns_left(line: Along) -> bool:
    """Whether the path runs counter-clockwise."""
    x, y = line.points.T
    return bool(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) > 0)


def _size(width: float, height: float, radius: float, into_table: float, slope_deg: float) -> _Size:
    flank = (height + into_table) / math.tan(math.radians(slope_deg))
    half_top = width / 2 + radius  # the cutter's rim cuts one radius into either end
    return _Size(width, height, half_top, half_top + flank)


def _rise(middle: float, size: _Size, thickness: float, slope: float) -> Rise:
    return Rise(middle - size.half_top, middle + size.half_top, size.height - thickness, slope)


def _rise_of(path: Path, tab: Tab, radius: float, thickness: float, slope: float) -> Rise:
    """The rise over a tab that stands on the path."""
    middle, half = nearest_distance(path, (tab.x, tab.y)), tab.width / 2 + radius
    return Rise(middle - half, middle + half, tab.height - thickness, slope)


def _tab(path: Path, middle: float, size: _Size) -> Tab:
    return Tab(*place_at(path, middle), width=size.width, height=size.height)


def _centre(path: Path) -> Point:
    middle = as_polygon(path, _CHORD).centroid
    return (middle.x, middle.y)
