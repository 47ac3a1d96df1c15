"""How far the plates of one line move, and which loops of shoulders cannot close. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from camkit.joinery.plate_lines import Line, Tie

__all__ = ["Loop", "Shifts", "by_outside", "by_shoulders"]

# A loop that misses by more cannot close; less is rounding of the drawing.
_MISFIT = 0.01
# Plates whose middles are no farther apart stand beside one another, not one behind the other.
_ABREAST = 0.3


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

    With loops that cannot close nothing moves.
    """

    plates: tuple[float, ...]
    parts: tuple[float, ...]
    loops: tuple[Loop, ...] = ()


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
            end, plate = next(two for two in zip(one.frame.stations, one.at, strict=True) if two[0].side)
            parts[k] = one.sign * plates[plate]
            parts[k, -1] -= end.shift
    moves = np.array(
        [
            one.sign * plates[plate] - parts[k]
            for k, one in enumerate(hosted)
            for station, plate in zip(one.frame.stations, one.at, strict=True)
            if not station.side
        ]
    )
    solved = np.append(np.linalg.lstsq(moves[:, :-1], -moves[:, -1], rcond=None)[0], 1.0)
    return Shifts(tuple((plates @ solved).tolist()), tuple((parts @ solved).tolist()))


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
    shifts = np.zeros(len(places))
    inner = []
    for k, plate in enumerate(line.plates):
        if plate.place - min(places) <= _ABREAST:
            shifts[k] = plate.change / 2 + beyond.get((k, -1), 0.0)
        elif max(places) - plate.place <= _ABREAST:
            shifts[k] = -plate.change / 2 - beyond.get((k, 1), 0.0)
        else:
            inner.append(k)
    first: dict[tuple[int, float, float], Tie] = {}
    against: list[tuple[Tie, Tie]] = []
    rows, rest = [], []
    for tie in ties:
        other = first.setdefault(_whose(tie), tie)
        row = np.zeros(len(places))
        for one, sign in ((tie, 1.0), (other, -1.0)):
            row[one.high] += sign
            row[one.low] -= sign
        if row.any():
            against.append((tie, other))
            rows.append(row)
            rest.append(-(row @ shifts))
    if rows and inner:
        shifts[inner] += np.linalg.lstsq(np.array(rows)[:, inner], np.array(rest), rcond=None)[0]
    loops = [
        Loop(((one,),), ((other,),), abs(misfit))
        for (one, other), row in zip(against, rows, strict=True)
        if abs(misfit := float(row @ shifts)) > _MISFIT
    ]
    return Shifts(tuple(shifts.tolist()), (0.0,) * len(line.hosted), tuple(loops[:1]))


def _whose(tie: Tie) -> tuple[int, float, float]:
    """The frame's two shoulders, whichever way round they stand."""
    one, other = sorted((tie.first.place, tie.second.place))
    return (tie.frame.part, one, other)


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
