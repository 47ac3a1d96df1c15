"""A search for the best mates of all rows of tenons together. Lengths in mm.

As many rows as possible get mates; then the ends of a part go to different plates, and its shoulders meet the
plates where a third part holds them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.joinery.features import Feature, in_band
from camkit.joinery.plates import Plates
from camkit.joinery.rows import Row

__all__ = ["Entering", "MateSearch", "Target"]

# What a choice is worth: a row with a mate, two ends in two plates, shoulders that meet both plates, ends in
# equal plates, a plate that gets a joint at all, each mm that a mortise is filled better. Where choices are
# worth the same, the place in the drawing decides.
_MATE, _TWO_PLATES, _SHOULDERS, _EQUAL_PLATES, _PLATE = 1000.0, 10.0, 5.0, 2.0, 1.0
_FILLED, _DRAWN_FIRST = 0.1, 1e-4
# Shoulders meet the plates to within the play drawn in mortises.
_MEETS = 0.3
_PARALLEL = 0.02
# Mortises shared by equal tenons that are not said to be glued are counted in sixths: 2 or 3 fit in.
_FULL = 6
# More trials than these are not made: then the choice stands as it is.
_MOST_TRIALS = 20_000
_NOWHERE = -1


@dataclass(frozen=True, slots=True)
class Target:
    """Mortises that take a row: at one place in every layer of a plate, for each layer in the row's order."""

    plate: int
    fits: tuple[tuple[Feature, ...], ...]


@dataclass(frozen=True, slots=True)
class Entering:
    """Rows of layers glued together that enter the same mortises, mostly one row; where they may go."""

    rows: tuple[Row, ...]
    targets: tuple[Target, ...]


@dataclass(frozen=True, slots=True)
class _Ends:
    """Two ends of one plate, by the numbers of their rows; `apart` are opposite shoulders."""

    one: int
    other: int
    apart: float | None


class MateSearch:
    """One choice for every row, made better step by step; parts that share a value of `looks` are equal."""

    def __init__(
        self,
        entering: Sequence[Entering],
        plates: Plates,
        thicknesses: Sequence[float],
        looks: Sequence[object],
    ) -> None:
        """Begin with no mates; `thicknesses` and `looks` are those of the parts."""
        self._entering = entering
        self._plates = plates
        self._thicknesses = thicknesses
        self._looks = looks
        self._own = [plates.plate[one.rows[0].part] for one in entering]
        self._uses = [[self._used(one, target) for target in one.targets] for one in entering]
        self._alone = [
            [
                _MATE - _DRAWN_FIRST * k - _FILLED * self._play(one, target)
                for k, target in enumerate(one.targets)
            ]
            for one in entering
        ]
        self._ends = [
            _Ends(j, i, _between_shoulders(entering[i].rows[0], entering[j].rows[0]))
            for i in range(len(entering))
            for j in range(i)
            if self._own[i] == self._own[j] and _turned(entering[i].rows[0], entering[j].rows[0])
        ]
        self._rows_of: dict[int, list[int]] = {}
        for k, own in enumerate(self._own):
            self._rows_of.setdefault(own, []).append(k)
        self._touched = [self._touched_by(k) for k in range(len(entering))]
        self._chosen = [_NOWHERE] * len(entering)
        self._held: dict[Feature, dict[int, int]] = {}
        self._joined: Counter[int] = Counter()
        self._trials = 0

    def best(self) -> list[Target | None]:
        """The target of each row, or None where it gets no mate."""
        self._begin()
        while self._trials < _MOST_TRIALS and self._improved():
            pass
        return [
            None if target == _NOWHERE else one.targets[target]
            for one, target in zip(self._entering, self._chosen, strict=True)
        ]

    def _begin(self) -> None:
        """Rows with the fewest choices first, each to the best place that is free."""
        order = sorted(
            range(len(self._entering)),
            key=lambda k: (len(self._entering[k].targets), -len(self._entering[k].rows[0].members)),
        )
        for k in order:
            worths = {}
            for target in range(len(self._entering[k].targets)):
                if not self._holders(k, target):
                    self._put(k, target)
                    worths[target] = self._worth((k,))
            self._put(k, max(worths, key=lambda target: worths[target], default=_NOWHERE))

    def _improved(self) -> bool:
        """Whether some rows were moved to better places, each alone or changing places with another."""
        better = False
        for k in range(len(self._entering)):
            for target in range(len(self._entering[k].targets)) if self._may_be_better(k) else ():
                if target != self._chosen[k]:
                    better |= self._moved(k, target)
        return better

    def _moved(self, k: int, target: int) -> bool:
        holders = self._holders(k, target)
        if len(holders) > 1:
            return False
        if not holders:
            return self._kept({k: target})
        (holder,) = holders
        return any(
            self._kept({k: target, holder: instead})
            for instead in range(len(self._entering[holder].targets))
            if instead != self._chosen[holder]
        )

    def _kept(self, moves: dict[int, int]) -> bool:
        """Try the moves and keep them where the whole is better for it."""
        self._trials += 1
        if self._trials > _MOST_TRIALS:
            return False
        rows = tuple(moves)
        before, stood = self._worth(rows), {k: self._chosen[k] for k in rows}
        for k in rows:
            self._put(k, _NOWHERE)
        for k, target in moves.items():
            if self._holders(k, target):
                break
            self._put(k, target)
        else:
            if self._worth(rows) > before + _DRAWN_FIRST / 2:
                return True
        for k in rows:
            self._put(k, _NOWHERE)
        for k, target in stood.items():
            self._put(k, target)
        return False

    def _put(self, k: int, target: int) -> None:
        now = self._chosen[k]
        if now != _NOWHERE:
            for mortise in self._uses[k][now]:
                del self._held[mortise][k]
            self._joined[self._entering[k].targets[now].plate] -= 1
        self._chosen[k] = target
        if target != _NOWHERE:
            for mortise, share in self._uses[k][target].items():
                self._held.setdefault(mortise, {})[k] = share
            self._joined[self._entering[k].targets[target].plate] += 1

    def _holders(self, k: int, target: int) -> list[int]:
        """Who must leave before the row can go there."""
        holding: dict[int, None] = {}
        full = False
        for mortise, share in self._uses[k][target].items():
            others = {row: part for row, part in self._held.get(mortise, {}).items() if row != k}
            holding |= dict.fromkeys(others)
            full |= sum(others.values()) + share > _FULL
        return list(holding) if full else []

    def _plate(self, k: int) -> int | None:
        target = self._chosen[k]
        return None if target == _NOWHERE else self._entering[k].targets[target].plate

    def _may_be_better(self, k: int) -> bool:
        """Whether the row has no mate, leaves plates without any, or its part has ends that should move."""
        if self._chosen[k] == _NOWHERE:
            return True
        if any(not self._joined[target.plate] for target in self._entering[k].targets):
            return True
        most = _TWO_PLATES + _EQUAL_PLATES
        return any(
            self._worth_of(ends) < most + (_SHOULDERS if ends.apart is not None else 0.0)
            for ends in self._ends
            if k in (ends.one, ends.other)
        )

    def _touched_by(self, k: int) -> list[int]:
        """Which ends are worth more or less by where the row goes: its part's, and those that may meet it."""
        own = self._own[k]
        return [
            number
            for number, ends in enumerate(self._ends)
            if k in (ends.one, ends.other)
            or any(
                target.plate == own
                for row in (ends.one, ends.other)
                for target in self._entering[row].targets
            )
        ]

    def _worth(self, rows: Sequence[int]) -> float:
        """What hangs on the choices of these rows; compare only what is computed for the same rows."""
        worth = _PLATE * sum(1 for count in self._joined.values() if count)
        worth += sum(self._alone[k][self._chosen[k]] for k in rows if self._chosen[k] != _NOWHERE)
        touched = dict.fromkeys(number for k in rows for number in self._touched[k])
        return worth + sum(self._worth_of(self._ends[number]) for number in touched)

    def _worth_of(self, ends: _Ends) -> float:
        one, other = self._plate(ends.one), self._plate(ends.other)
        if one is None or other is None or one == other:
            return 0.0
        worth = _TWO_PLATES + (_EQUAL_PLATES if self._looks[one] == self._looks[other] else 0.0)
        return worth + (_SHOULDERS if self._shoulders_meet(ends.apart, one, other) else 0.0)

    def _shoulders_meet(self, apart: float | None, one: int, other: int) -> bool:
        """Whether a third part holds two plates as far apart as these shoulders are."""
        if apart is None:
            return False
        second = list(self._mortises_for(other))
        return any(
            self._walls_meet(here, there, apart)
            for here in self._mortises_for(one)
            for there in second
            if here[1].part == there[1].part and here[1] != there[1]
        )

    def _mortises_for(self, plate: int) -> Iterator[tuple[Feature, Feature]]:
        """Tenons of the plate with the mortises that they go to now."""
        for k in self._rows_of.get(plate, ()):
            if self._chosen[k] != _NOWHERE:
                for fit in self._entering[k].targets[self._chosen[k]].fits:
                    yield from zip(self._entering[k].rows[0].members, fit, strict=True)

    def _walls_meet(
        self, first: tuple[Feature, Feature], second: tuple[Feature, Feature], apart: float
    ) -> bool:
        (ux, uy), (vx, vy) = first[1].along, second[1].along
        if abs(ux * vy - uy * vx) > _PARALLEL:
            return False
        (ax, ay), (bx, by) = first[1].middle, second[1].middle
        middles = abs((bx - ax) * uy - (by - ay) * ux)
        faces = [self._faces(two[0]) for two in (first, second)]
        thick = sum(self._thicknesses[two[0].part] for two in (first, second))
        play = max(first[1].width + second[1].width - thick, 0.0)
        return any(
            abs(middles + one + other - apart) <= _MEETS + play for one in faces[0] for other in faces[1]
        )

    def _faces(self, tenon: Feature) -> tuple[float, ...]:
        """How far both faces of the tenon's plate may lie from the middle of the layer that has the tenon."""
        layers = self._plates.layers(tenon.part)
        at, thick = layers.index(tenon.part), [self._thicknesses[layer] for layer in layers]
        below, above = sum(thick[: at + 1]) - thick[at] / 2, sum(thick[at:]) - thick[at] / 2
        # Which way round the plate stands, nobody has said.
        return tuple(dict.fromkeys((below, -below, above, -above)))

    def _used(self, entering: Entering, target: Target) -> dict[Feature, int]:
        """How much of each mortise the row fills."""
        used = {}
        for fit in target.fits:
            for tenon, mortise in zip(entering.rows[0].members, fit, strict=True):
                sheets = in_band(mortise.width, self._thicknesses[tenon.part])
                glued = len(self._plates.layers(tenon.part)) > 1
                used[mortise] = _FULL if glued or sheets is None else _FULL // sheets
        return used

    def _play(self, entering: Entering, target: Target) -> float:
        """How much larger than the tenons the mortises are at most, in length and width together."""
        thick = sum(self._thicknesses[row.part] for row in entering.rows)
        return max(
            abs(mortise.length - tenon.width) + abs(mortise.width - thick) % thick
            for fit in target.fits
            for tenon, mortise in zip(entering.rows[0].members, fit, strict=True)
        )


def _turned(one: Row, other: Row) -> bool:
    (ux, uy), (vx, vy) = one.members[0].along, other.members[0].along
    return ux * vx + uy * vy < 1 - _PARALLEL


def _between_shoulders(one: Row, other: Row) -> float | None:
    """How far the shoulders of two opposite ends are apart; None where the ends are not opposite."""
    first, second = one.members[0], other.members[0]
    (ux, uy), (vx, vy) = first.along, second.along
    if ux * vx + uy * vy > -1 + _PARALLEL:
        return None
    dx, dy = second.middle[0] - first.middle[0], second.middle[1] - first.middle[1]
    return abs(dx * uy - dy * ux) - first.length - second.length
