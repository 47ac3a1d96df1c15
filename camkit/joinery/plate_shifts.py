"""How far the plates of one line move, and which loops of shoulders cannot close. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from camkit.joinery.plate_lines import Hosted, Line, Tie

__all__ = ["Loop", "Shifts", "by_outside", "by_shoulders"]

# A loop that misses by more cannot close; less is rounding of the drawing.
_MISFIT = 0.01
# Plates whose middles are no farther apart stand beside one another, not one behind the other.
_ABREAST = 0.3
_RANK = 1e-9

# Rows of a linear sum over the unknowns, with the constant in the last column.
Rows = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Loop:
    """Ties that cannot all keep their distances: together, `over` are `misfit` too long for `under`.

    Each entry holds all ties between the same two plates; any of their parts may stand there.
    """

    over: tuple[tuple[Tie, ...], ...]
    under: tuple[tuple[Tie, ...], ...]
    misfit: float


@dataclass(frozen=True, slots=True)
class Shifts:
    """How far each plate of a line moves along the line, and each of its parts along its own axis.

    With loops that cannot close nothing moves. They are not `settled` where a part fits several places that
    move unlike, and only the first is heeded.
    """

    plates: tuple[float, ...]
    parts: tuple[float, ...]
    loops: tuple[Loop, ...] = ()
    settled: bool = True


@dataclass(slots=True)
class _Held:
    """Plates that ties hold to one another: from each plate its neighbours, with no way around."""

    near: dict[int, list[tuple[int, float, tuple[Tie, ...]]]] = field(default_factory=dict)

    def ways(self, start: int) -> dict[int, tuple[int, float, tuple[Tie, ...]]]:
        """Every plate held to `start`, with the one before it on the way there, the change and its ties."""
        came: dict[int, tuple[int, float, tuple[Tie, ...]]] = {start: (start, 0.0, ())}
        ahead = [start]
        for plate in ahead:
            for following, change, alike in self.near.get(plate, []):
                if following not in came:
                    came[following] = (plate, change, alike)
                    ahead.append(following)
        return came

    def hold(self, alike: tuple[Tie, ...]) -> Loop | None:
        """Let the ties hold their plates; the loop that misses, where these are held otherwise already."""
        low, high, change = alike[0].low, alike[0].high, alike[0].change
        came = self.ways(low)
        if high not in came:
            self.near.setdefault(low, []).append((high, change, alike))
            self.near.setdefault(high, []).append((low, -change, alike))
            return None
        over, under = [alike], list[tuple[Tie, ...]]()
        misfit, plate = change, high
        while plate != low:
            before, step, walked = came[plate]
            (under if walked[0].high == plate else over).append(walked)
            misfit -= step
            plate = before
        if abs(misfit) <= _MISFIT:
            return None
        turned = (under, over) if misfit < 0 else (over, under)
        return Loop(tuple(turned[0]), tuple(turned[1]), abs(misfit))


def by_shoulders(line: Line, ties: Sequence[Tie]) -> Shifts:
    """Shifts that keep all distances between shoulders, with the least moves of what receives the plates.

    Least in the sum of their squares; where two ways around disagree there are loops instead.
    """
    held, loops = _held(line, ties)
    if loops:
        return Shifts((0.0,) * len(line.plates), (0.0,) * len(line.hosted), tuple(loops))
    group, within = _groups(len(line.plates), held)
    groups, hosted = max(group) + 1, line.hosted
    # A part that ends at no plate of the line may lie anywhere along it, others by their first shoulder.
    loose = [k for k, one in enumerate(hosted) if not one.frame.ends]
    plates = np.zeros((len(group), groups + len(loose) + 1))
    plates[np.arange(len(group)), group] = 1.0
    plates[:, -1] = within
    parts = np.zeros((len(hosted), plates.shape[1]))
    for k, one in enumerate(hosted):
        if k in loose:
            parts[k, groups + loose.index(k)] = 1.0
        else:
            parts[k] = _by_its_end(one, plates)
    moves = np.concatenate([_stations(one, plates) - parts[k] for k, one in enumerate(hosted)])
    equal = _alike_again(line, plates, _own)
    solved, settled = _least(moves, moves[:0], equal)
    return Shifts(tuple((plates @ solved).tolist()), tuple((parts @ solved).tolist()), (), settled)


def _stations(hosted: Hosted, plates: Rows) -> Rows:
    """How far along its own axis each plate moves that the part receives."""
    pairs = zip(hosted.frame.stations, hosted.at, strict=True)
    return hosted.sign * plates[[plate for station, plate in pairs if not station.side]]


def _by_its_end(hosted: Hosted, plates: Rows) -> Rows:
    """How far a part moves that ends at a plate of the line."""
    end, plate = next(two for two in zip(hosted.frame.stations, hosted.at, strict=True) if two[0].side)
    row: Rows = hosted.sign * plates[plate]
    row[-1] -= end.shift
    return row


def _own(hosted: Hosted, plates: Rows) -> Rows:
    """How far a part moves, up to what is free: by its end, else as its first station."""
    return _by_its_end(hosted, plates) if hosted.frame.ends else _stations(hosted, plates)[0]


def _alike_again(line: Line, plates: Rows, own: Callable[[Hosted, Rows], Rows]) -> Rows:
    """What must be 0 for a part's openings to move alike in every place that it fits; `own` is its move."""
    rows = [plates[:0]]
    for there in line.again:
        if len(there.frame.ends) == len(there.frame.stations):
            continue
        here = next(one for one in line.hosted if one.frame == there.frame)
        apart = _stations(there, plates) - _stations(here, plates)
        rows.append(apart - (own(there, plates) - own(here, plates)))
    return np.concatenate(rows)


def _least(moves: Rows, must: Rows, wish: Rows) -> tuple[Rows, bool]:
    """Unknowns, a 1 behind them, for which `must` and `wish` are 0 and the squares of `moves` least.

    Where both cannot be 0 the wish is dropped, and False comes back with them.
    """
    count = moves.shape[1] - 1
    for equal in (np.concatenate([must, wish]), must):
        start, free = np.zeros(count), np.eye(count)
        if len(equal) and count:
            start = np.linalg.lstsq(equal[:, :-1], -equal[:, -1], rcond=None)[0]
            _, sizes, ways = np.linalg.svd(equal[:, :-1])
            free = ways[int((sizes > _RANK).sum()) :].T
        rest = moves[:, :-1] @ start + moves[:, -1]
        start = start + free @ np.linalg.lstsq(moves[:, :-1] @ free, -rest, rcond=None)[0]
        solved = np.append(start, 1.0)
        if float(np.abs(equal @ solved).max(initial=0.0)) <= _MISFIT:
            break
    return solved, len(equal) == len(must) + len(wish)


def by_outside(line: Line, ties: Sequence[Tie]) -> Shifts:
    """Shifts that keep the outer faces of the outermost plates; those between move as little as they can.

    They move only so that parts which may stand in several bays stay of one length. The line's parts keep
    their places.
    """
    places = [one.place for one in line.plates]
    # Layers glued to a plate lie beyond it, seen from the shoulders that look outward.
    beyond = {
        (plate, end.side * tie.sign): end.beyond
        for tie in ties
        for end, plate in ((tie.first, tie.low), (tie.second, tie.high))
    }
    lowest, highest = min(places), max(places)
    inner = [k for k, at in enumerate(places) if lowest + _ABREAST < at < highest - _ABREAST]
    plates = np.zeros((len(places), len(inner) + 1))
    plates[inner, np.arange(len(inner))] = 1.0
    for k, plate in enumerate(line.plates):
        if k not in inner:
            out = -1 if plate.place - lowest <= _ABREAST else 1
            plates[k, -1] = -out * (plate.change / 2 + beyond.get((k, out), 0.0))
    first: dict[object, Tie] = {}
    against = [(tie, other) for tie in ties if (other := first.setdefault(_whose(tie), tie)) is not tie]
    lengths = plates[:0]
    if against:
        lengths = np.array([_longer(tie, plates) - _longer(other, plates) for tie, other in against])
    equal = _alike_again(line, plates, lambda one, rows: _stations(one, rows)[0])
    solved, settled = _least(plates[inner], lengths, equal)
    loops = [
        Loop(((one,),), ((other,),), abs(misfit))
        for (one, other), misfit in zip(against, (lengths @ solved).tolist(), strict=True)
        if abs(misfit) > _MISFIT
    ]
    return Shifts(tuple((plates @ solved).tolist()), (0.0,) * len(line.hosted), tuple(loops[:1]), settled)


def _longer(tie: Tie, plates: Rows) -> Rows:
    """How much longer a part gets between its shoulders."""
    row: Rows = plates[tie.high] - plates[tie.low]
    row[-1] -= tie.change
    return row


def _whose(tie: Tie) -> object:
    """The frame's two shoulders, whichever way round they stand and whatever plates they meet."""
    return (tie.frame.part, frozenset((tie.first.features, tie.second.features)))


def _held(line: Line, ties: Sequence[Tie]) -> tuple[_Held, list[Loop]]:
    """The plates held, neighbours first, and the loops that do not close."""
    alike: dict[tuple[int, int, float], list[Tie]] = {}
    for tie in ties:
        alike.setdefault((tie.low, tie.high, tie.change), []).append(tie)
    places = [one.place for one in line.plates]
    order = sorted(alike, key=lambda two: (places[two[1]] - places[two[0]], places[two[0]], two))
    held = _Held()
    loops = [loop for two in order if (loop := held.hold(tuple(alike[two]))) is not None]
    return held, loops


def _groups(count: int, held: _Held) -> tuple[list[int], list[float]]:
    """For each plate the group that it is held in, and how far it moves more than the first of that group."""
    group, within, made = [-1] * count, [0.0] * count, 0
    for first in range(count):
        if group[first] < 0:
            for plate, (before, change, _) in held.ways(first).items():
                group[plate] = made
                within[plate] = within[before] + change
            made += 1
    return group, within
