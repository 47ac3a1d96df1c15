"""Which of several mortises that would take a row of tenons are its mates.

Equal parts are interchangeable, so most rows may go to several places. A choice is sought in which as many
rows as possible have mates, the ends of a part go to different plates, and the shoulders of a part meet the
plates where a third part holds them. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.joinery.features import Feature, in_band
from camkit.joinery.plates import Plates
from camkit.joinery.rows import Options, Row

__all__ = ["Target", "assigned", "targets"]

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
# More trials than these are not made: then the first choice stands.
_MOST_TRIALS = 4_000


@dataclass(frozen=True, slots=True)
class Target:
    """Mortises that take a row: at one place in every layer of a plate, for each layer in the row's order."""

    plate: int
    fits: tuple[tuple[Feature, ...], ...]


@dataclass(frozen=True, slots=True)
class _Entering:
    """Rows of layers glued together that enter the same mortises, mostly one row; where they may go."""

    rows: tuple[Row, ...]
    targets: tuple[Target, ...]


def targets(fits: Sequence[tuple[Feature, ...]], plates: Plates) -> tuple[Target, ...]:
    """The fits of a row, those at one place in layers of one plate together."""
    gathered: list[list[tuple[Feature, ...]]] = []
    for fit in fits:
        for group in gathered:
            if fit[0].part not in {other[0].part for other in group} and all(
                plates.together(one, other) for one, other in zip(group[0], fit, strict=True)
            ):
                group.append(fit)
                break
        else:
            gathered.append([fit])
    return tuple(Target(plates.plate[group[0][0].part], tuple(group)) for group in gathered)


def assigned(
    choices: Options, plates: Plates, thicknesses: Sequence[float], looks: Sequence[object]
) -> list[tuple[Row, tuple[Feature, ...]]]:
    """Each row with its mates, once for every layer that takes it; rows that have none are left out.

    Parts that share a value of `looks` are equal.
    """
    search = _Search(_entering(choices, plates), plates, thicknesses, looks)
    search.begin()
    search.improve()
    return [
        (row, fit)
        for entering, target in zip(search.entering, search.chosen, strict=True)
        if target is not None
        for row in entering.rows
        for fit in target.fits
    ]


def _entering(choices: Options, plates: Plates) -> list[_Entering]:
    left = [row for row in choices if choices[row]]
    groups = []
    while left:
        first = left.pop(0)
        twins = [row for row in left if _twins(first, row, plates)]
        left = [row for row in left if row not in twins]
        groups.append(_Entering((first, *twins), targets(choices[first], plates)))
    return groups


def _twins(one: Row, other: Row, plates: Plates) -> bool:
    return (
        one.part != other.part
        and len(one.members) == len(other.members)
        and all(plates.together(a, b) for a, b in zip(one.members, other.members, strict=True))
    )


class _Search:
    """One choice for every row, made better step by step."""

    def __init__(
        self,
        entering: Sequence[_Entering],
        plates: Plates,
        thicknesses: Sequence[float],
        looks: Sequence[object],
    ) -> None:
        self.entering = entering
        self.plates = plates
        self.thicknesses = thicknesses
        self.looks = looks
        self.chosen: list[Target | None] = [None] * len(entering)
        self.trials = 0
        self.ends = [
            (i, j)
            for i, one in enumerate(entering)
            for j, other in enumerate(entering[:i])
            if plates.plate[one.rows[0].part] == plates.plate[other.rows[0].part]
            and _turned(one.rows[0], other.rows[0])
        ]

    def begin(self) -> None:
        """Rows with the fewest choices first, each to the first place that is free."""
        order = sorted(
            range(len(self.entering)),
            key=lambda k: (len(self.entering[k].targets), -len(self.entering[k].rows[0].members)),
        )
        for k in order:
            worths = {}
            for target in self.entering[k].targets:
                if self._holders(k, target) == []:
                    self.chosen[k] = target
                    worths[target] = self._worth()
            self.chosen[k] = max(worths, key=lambda target: worths[target], default=None)

    def improve(self) -> None:
        """Move single rows, or let two change places, as long as the whole becomes better."""
        best = self._worth()
        better = True
        while better and self.trials < _MOST_TRIALS:
            better = False
            for trial in self._trials():
                before, self.chosen = self.chosen, trial
                worth = self._worth()
                if worth > best + _DRAWN_FIRST / 2:
                    best, better = worth, True
                    break
                self.chosen = before
                self.trials += 1

    def _trials(self) -> Iterator[list[Target | None]]:
        for k, entering in enumerate(self.entering):
            for target in entering.targets if self._may_be_better(k) else ():
                if target is self.chosen[k]:
                    continue
                holders = self._holders(k, target)
                if len(holders) > 1:
                    continue
                moved = list(self.chosen)
                moved[k] = target
                if not holders:
                    yield moved
                    continue
                for instead in self.entering[holders[0]].targets:
                    moved[holders[0]] = instead
                    if self._allowed(moved, holders[0]):
                        yield list(moved)

    def _may_be_better(self, k: int) -> bool:
        """Whether the row has no mate, leaves plates without any, or its part has ends that should move."""
        chosen = self.chosen[k]
        if chosen is None:
            return True
        used = {target.plate for target in self.chosen if target is not None}
        if any(target.plate not in used for target in self.entering[k].targets):
            return True
        for i, j in self.ends:
            one, other = self.chosen[i], self.chosen[j]
            if k not in (i, j) or one is None or other is None:
                continue
            equal = one.plate != other.plate and self.looks[one.plate] == self.looks[other.plate]
            if not equal or not self._shoulders_meet(i, j):
                return True
        return False

    def _uses(self, k: int, target: Target) -> dict[Feature, int]:
        entering = self.entering[k]
        used = {}
        for fit in target.fits:
            for tenon, mortise in zip(entering.rows[0].members, fit, strict=True):
                sheets = in_band(mortise.width, self.thicknesses[tenon.part])
                glued = len(self.plates.layers(tenon.part)) > 1
                used[mortise] = _FULL if glued or sheets is None else _FULL // sheets
        return used

    def _holders(self, k: int, target: Target) -> list[int]:
        """Who must leave before the row can go there."""
        wanted = self._uses(k, target)
        holding = []
        filled = dict.fromkeys(wanted, 0)
        for other, theirs in enumerate(self.chosen):
            if other != k and theirs is not None:
                shared = {m: n for m, n in self._uses(other, theirs).items() if m in wanted}
                holding += [other] if shared else []
                for mortise, share in shared.items():
                    filled[mortise] += share
        full = any(filled[mortise] + share > _FULL for mortise, share in wanted.items())
        return holding if full else []

    def _allowed(self, chosen: list[Target | None], k: int) -> bool:
        before, self.chosen = self.chosen, chosen
        target = chosen[k]
        free = target is None or self._holders(k, target) == []
        self.chosen = before
        return free

    def _worth(self) -> float:
        worth = 0.0
        for entering, target in zip(self.entering, self.chosen, strict=True):
            if target is not None:
                worth += _MATE - _DRAWN_FIRST * entering.targets.index(target)
                worth -= _FILLED * self._play(entering, target)
        worth += _PLATE * len({target.plate for target in self.chosen if target is not None})
        for i, j in self.ends:
            one, other = self.chosen[i], self.chosen[j]
            if one is not None and other is not None and one.plate != other.plate:
                worth += _TWO_PLATES
                worth += _EQUAL_PLATES if self.looks[one.plate] == self.looks[other.plate] else 0.0
                worth += _SHOULDERS if self._shoulders_meet(i, j) else 0.0
        return worth

    def _play(self, entering: _Entering, target: Target) -> float:
        """How much larger than the tenons the mortises are at most, in length and width together."""
        thick = sum(self.thicknesses[row.part] for row in entering.rows)
        return max(
            abs(mortise.length - tenon.width) + abs(mortise.width - thick) % thick
            for fit in target.fits
            for tenon, mortise in zip(entering.rows[0].members, fit, strict=True)
        )

    def _shoulders_meet(self, i: int, j: int) -> bool:
        """Whether a third part holds the two plates as far apart as the shoulders of these two rows are."""
        one, other = self.chosen[i], self.chosen[j]
        apart = _between_shoulders(self.entering[i].rows[0], self.entering[j].rows[0])
        if one is None or other is None or apart is None:
            return False
        holding = [list(self._mortises_for(target.plate)) for target in (one, other)]
        return any(
            self._walls_meet(first, second, apart)
            for first in holding[0]
            for second in holding[1]
            if first[1].part == second[1].part and first[1] != second[1]
        )

    def _mortises_for(self, plate: int) -> Iterator[tuple[Feature, Feature]]:
        """Tenons of the plate with the mortises that they go to now."""
        for entering, target in zip(self.entering, self.chosen, strict=True):
            if target is not None and self.plates.plate[entering.rows[0].part] == plate:
                for fit in target.fits:
                    yield from zip(entering.rows[0].members, fit, strict=True)

    def _walls_meet(
        self, first: tuple[Feature, Feature], second: tuple[Feature, Feature], apart: float
    ) -> bool:
        (ux, uy), (vx, vy) = first[1].along, second[1].along
        if abs(ux * vy - uy * vx) > _PARALLEL:
            return False
        (ax, ay), (bx, by) = first[1].middle, second[1].middle
        middles = abs((bx - ax) * uy - (by - ay) * ux)
        faces = [self._faces(two[0]) for two in (first, second)]
        play = (
            first[1].width + second[1].width - sum(self.thicknesses[two[0].part] for two in (first, second))
        )
        return any(
            abs(middles + one + other - apart) <= _MEETS + max(play, 0.0)
            for one in faces[0]
            for other in faces[1]
        )

    def _faces(self, tenon: Feature) -> tuple[float, ...]:
        """How far both faces of the tenon's plate may lie from the middle of the layer that has the tenon."""
        layers = self.plates.layers(tenon.part)
        at, thick = layers.index(tenon.part), [self.thicknesses[layer] for layer in layers]
        below, above = sum(thick[: at + 1]) - thick[at] / 2, sum(thick[at:]) - thick[at] / 2
        # Which way round the plate stands, nobody has said.
        return tuple(dict.fromkeys((below, -below, above, -above)))


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
