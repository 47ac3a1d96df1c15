"""Where a cut along a closed path may begin: in waste, off joint faces and bends, with room for its arcs."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.flatten import chords_for
from camkit.geometry.measure import length, segment_length
from camkit.geometry.path import Line, Path, Point
from camkit.toolpath.lead import CHORD, Room, run_of_lead
from camkit.toolpath.track import direction_at, place_at

__all__ = ["Leads", "Start", "Starts", "starts_of"]

Floats = NDArray[np.float64]

# Places tried round a path, and middles of its longest straight runs that are tried before them.
_PLACES, _RUNS = 24, 8
# A place counts as reached this much behind it, mm.
_SAME = 1e-6
# Where the path turns by more than this from a diameter of the cutter before to one behind is a bend (rad).
_BEND = 0.35


@dataclass(frozen=True, slots=True)
class Leads:
    """Arcs of `radius` mm by which a cutter comes from `come` mm beside its path, and goes to `go` mm beside.

    They lie at the left of the path, or at its right.
    """

    radius: float
    come: float
    go: float
    left: bool


@dataclass(frozen=True, slots=True)
class Start:
    """Where on the sheet a cut meets its `path`, and how many mm longer it runs to leave at a good place."""

    path: Path
    at: Point
    further: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Starts:
    """Where a cut may begin, the best first.

    `enters` and `leaves` (n, 2) are where the cutter then comes down and goes up.
    """

    each: tuple[Start, ...]
    enters: Floats
    leaves: Floats


def starts_of(path: Path, run: float, leads: Leads | None, room: Room | None, radius: float) -> Starts:
    """Where a cutter of `radius` mm may begin a cut along the path that it leaves `run` mm later, or further.

    It comes and leaves off bends, off joint faces, and where both arcs of `leads` lie in the `room`; where
    that cannot be, without arcs, else at joint faces too. Of places that it leaves well only further along
    those count that need the least. Those on straight runs come first.
    """
    places = _off_bends(path, radius)
    for led in (True, False) if room is not None and leads is not None else (False,):
        for joints in (False, True):
            found = _found(
                path, places, run, leads if led else None, None if joints and not led else room, radius
            )
            if found is not None:
                return found
    begin, leave = _stations(path, places)[0], _stations(path, places + run)[0]
    return Starts(tuple(Start(path, (x, y)) for x, y in begin.tolist()), begin, leave)


def _found(
    path: Path, places: Floats, run: float, leads: Leads | None, room: Room | None, radius: float
) -> Starts | None:
    """Starts among the places where the cutter may come, and from which it reaches one where it may leave."""
    around = length(path)
    come, down = _may(path, places, leads, room, radius, coming=True)
    if not come.any():
        return None
    starts, down = places[come], down[come]
    ends = np.concatenate((np.mod(starts + run, around), places))
    go, up = _may(path, ends, leads, room, radius, coming=False)
    if not go.any():
        return None
    ends, up = ends[go], up[go]
    further = np.mod(ends[None, :] - (starts + run)[:, None] + _SAME, around) - _SAME
    end = further.argmin(axis=1)
    least = np.maximum(further[np.arange(len(starts)), end], 0.0)
    near = least <= least.min() + around / _PLACES
    points = _stations(path, starts[near])[0].tolist()
    each = tuple(Start(path, (x, y), more) for (x, y), more in zip(points, least[near].tolist(), strict=True))
    return Starts(each, down[near], up[end[near]])


def _may(
    path: Path, places: Floats, leads: Leads | None, room: Room | None, radius: float, *, coming: bool
) -> tuple[NDArray[np.bool_], Floats]:
    """At which places the cutter may come (or leave), and where it then comes down (or goes up)."""
    points, along = _stations(path, places)
    may = _straight(path, places, 2 * radius)
    if not may.any():
        may[:] = True
    if room is not None:
        may &= room.off_joints(points)
    if leads is None or room is None:
        return may, points
    beside = (1.0 if leads.left else -1.0) * np.stack((-along[:, 1], along[:, 0]), 1)
    aside = leads.come if coming else leads.go
    arcs = _arcs(points, -along if coming else along, beside, aside, leads.radius)
    return may & room.hold_all(arcs), arcs[:, -1]


def _stations(path: Path, places: Floats) -> tuple[Floats, Floats]:
    """Points (n, 2) along the path and the directions in which it runs there."""
    at = places.tolist()
    return np.array([place_at(path, s) for s in at]), np.array([direction_at(path, s) for s in at])


def _arcs(points: Floats, away: Floats, beside: Floats, aside: float, radius: float) -> Floats:
    """Points (n, m, 2) of arcs that begin in direction `away` and bend `beside` until they are `aside`."""
    sweep = math.asin(min(1.0, run_of_lead(aside, radius) / radius))
    turn = np.linspace(0.0, sweep, chords_for(radius, sweep, CHORD) + 1)
    forth = radius * np.sin(turn)[None, :, None] * away[:, None, :]
    over = radius * (1 - np.cos(turn))[None, :, None] * beside[:, None, :]
    arcs: Floats = points[:, None, :] + forth + over
    return arcs


def _off_bends(path: Path, radius: float) -> Floats:
    """Places on the path off its bends: middles of its longest straight runs, then others all round.

    Where it is nothing but bends, the middles of its longest pieces.
    """
    around = length(path)
    runs, pieces, begin = [], [], 0.0
    for segment in path.segments:
        long = segment_length(segment)
        pieces.append((-round(long, 6), begin + long / 2))
        if isinstance(segment, Line) and long > 2 * radius:
            runs.append(pieces[-1])
        begin += long
    even = [around * (k + 0.5) / _PLACES for k in range(_PLACES)]
    places = np.array([place for _, place in sorted(runs)[:_RUNS]] + even)
    straight = _straight(path, places, 2 * radius)
    if straight.any():
        return np.asarray(places[straight], dtype=np.float64)
    return np.array([place for _, place in sorted(pieces)[:_RUNS]])


def _straight(path: Path, places: Floats, reach: float) -> NDArray[np.bool_]:
    """At which places the path runs the same way, or nearly, `reach` mm before and behind."""
    ahead, behind = (
        np.array([direction_at(path, s) for s in (places + side * reach).tolist()]) for side in (1, -1)
    )
    straight: NDArray[np.bool_] = (ahead * behind).sum(axis=1) > math.cos(_BEND)
    return straight
