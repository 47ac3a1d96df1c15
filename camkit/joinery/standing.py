"""Which of several like parts stands where in a line, told by what their joints take. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from camkit.geometry.path import Point
from camkit.joinery.features import Feature
from camkit.joinery.plate_lines import Hosted, Line, Tie
from camkit.joinery.rows import Options

__all__ = ["Standing", "standings"]

# More parts in line than this have too many orders to try.
_MOST = 7
# Mortises of two parts are at one level when they are no farther apart.
_LEVEL = 0.6


@dataclass(frozen=True, slots=True)
class Standing:
    """Parts in the order in which they stand along a line, the line as it fits them, and the ties left."""

    order: tuple[int, ...]
    line: Line
    ties: tuple[Tie, ...]


def standings(line: Line, ties: Sequence[Tie], options: Options) -> Iterator[Standing]:
    """Orders in which each part stands once, what is between is level, and each mortise for it has its tenon.

    `options` are the mortises that rows of tenons fit. Nothing comes where parts and plates are unlike in
    number or more than seven, or where it is not clear which tenons a mortise takes.
    """
    parts = sorted({part for plate in line.plates for part in plate.plates})
    takers = _takers(line, ties, options)
    if len(parts) != len(line.plates) or len(parts) > _MOST or takers is None:
        return
    between = {tie.frame for tie in ties}
    places = sorted(range(len(parts)), key=lambda k: line.plates[k].place)
    looks = {part: _looks(part, line, ties, takers) for part in parts}
    for order in _orders([line.plates[k].plates for k in places], looks, ()):
        stands = dict(zip(places, order, strict=True))
        fitting = _fitting(line, stands)
        left = [t for t in ties if stands[t.low] in t.first.plates and stands[t.high] in t.second.plates]
        filled = _filled(left, stands, takers) if fitting is not None else None
        if fitting is not None and filled is not None and {t.frame for t in filled} == between:
            yield Standing(order, fitting, filled)


def _orders(
    choices: Sequence[frozenset[int]], looks: Mapping[int, object], chosen: tuple[int, ...]
) -> Iterator[tuple[int, ...]]:
    """All ways to choose a part for each plate, each part once, as drawn first; of equal looks one way."""
    if len(chosen) == len(choices):
        yield chosen
        return
    seen = []
    for part in sorted(choices[len(chosen)] - set(chosen)):
        if looks[part] not in seen:
            seen.append(looks[part])
            yield from _orders(choices, looks, (*chosen, part))


def _looks(part: int, line: Line, ties: Sequence[Tie], takers: _Takers) -> object:
    """What it depends on where a part may stand: where it fits, and which mortises it has at which levels."""
    stations = [one for there in (*line.hosted, *line.again) for one in there.frame.stations]
    stations += [*line.plates, *(end for tie in ties for end in (tie.first, tie.second))]
    fits = tuple(part in one.plates for one in stations)
    return fits, [sorted(mortises.get(part, {}).items()) for _, mortises in takers.values()]


def _fitting(line: Line, stands: Mapping[int, int]) -> Line | None:
    """The line with its parts only where they take what stands there; None where one has no such place."""
    places: dict[int, list[Hosted]] = {}
    for one in (*line.hosted, *line.again):
        fits = all(
            stands[plate] in station.plates for station, plate in zip(one.frame.stations, one.at, strict=True)
        )
        places.setdefault(one.frame.part, []).extend([one] if fits else [])
    if not all(places.values()):
        return None
    hosted = tuple(places[one.frame.part][0] for one in line.hosted)
    return replace(line, hosted=hosted, again=tuple(one for fits in places.values() for one in fits[1:]))


# A level is a height of mortises below the tenons with which parts stand in the line's first part.
_Level = int
# By the tenons of an end the ends that take the same mortises, and by part at which levels these are.
_Takers = Mapping[tuple[Feature, ...], tuple[object, Mapping[int, Counter[_Level]]]]


def _takers(line: Line, ties: Sequence[Tie], options: Options) -> _Takers | None:
    """What each end of the parts between takes; None where ends share some mortises and not others.

    Nor is it told where a part has no tenons in the line's first part.
    """
    ends = dict.fromkeys(end.features for tie in ties for end in (tie.first, tie.second))
    owner = {tenon: end for end in ends for tenon in end}
    taken: dict[tuple[Feature, ...], set[Feature]] = {}
    for row, fits in options.items():
        mortises = {mortise for fit in fits for mortise in fit}
        taken.setdefault(owner.get(row.members[0], row.members), set()).update(mortises)
    wanted = {mortise for end in ends for mortise in taken.get(end, ())}
    levels = _levels(wanted, line.hosted[0].frame.part, options)
    made: dict[tuple[Feature, ...], tuple[object, Mapping[int, Counter[_Level]]]] = {}
    for end in ends:
        mine = taken.get(end, set())
        alike = [other for other, theirs in taken.items() if theirs & mine]
        if not mine or levels is None or any(o not in ends or taken[o] != mine for o in alike):
            return None
        at: dict[int, Counter[_Level]] = {}
        for mortise in mine:
            at.setdefault(mortise.part, Counter())[levels[mortise]] += 1
        made[end] = (frozenset(alike), at)
    return made


def _levels(mortises: Iterable[Feature], host: int, options: Options) -> dict[Feature, _Level] | None:
    """Mortises of all parts by how far they lie below the shoulders that bear on the host."""
    shoulders: dict[int, tuple[Point, float]] = {}
    for row, fits in options.items():
        if any(fit[0].part == host for fit in fits):
            (ux, uy) = row.members[0].along
            face = max(f.middle[0] * uy - f.middle[1] * ux - f.length for f in row.members)
            shoulders.setdefault(row.part, ((uy, -ux), face))
    if any(mortise.part not in shoulders for mortise in mortises):
        return None
    depths = []
    for mortise in mortises:
        (ox, oy), face = shoulders[mortise.part]
        depths.append((face - mortise.middle[0] * ox - mortise.middle[1] * oy, mortise))
    depths.sort(key=lambda two: two[0])
    levels, level = {}, 0
    for k, (depth, mortise) in enumerate(depths):
        level += k > 0 and depth - depths[k - 1][0] > _LEVEL
        levels[mortise] = level
    return levels


# Where shoulders of one kind may stand: low and high plate, kinds of both ends, and the level.
_Kind = tuple[int, int, object, object, _Level]


def _filled(ties: Sequence[Tie], stands: Mapping[int, int], takers: _Takers) -> tuple[Tie, ...] | None:
    """The ties with which every mortise is filled, of each kind as many as need be; None if none fill all."""
    room = {
        (plate, kind, level): count
        for kind, mortises in takers.values()
        for plate, part in stands.items()
        for level, count in mortises.get(part, Counter[_Level]()).items()
    }
    kinds: dict[_Kind, list[Tie]] = {}
    for tie in ties:
        one, other = takers[tie.first.features], takers[tie.second.features]
        for level in one[1].get(stands[tie.low], ()):
            if level in other[1].get(stands[tie.high], ()):
                kinds.setdefault((tie.low, tie.high, one[0], other[0], level), []).append(tie)
    order = sorted(kinds, key=lambda kind: (kinds[kind][0].frame.part, kind[:2], kind[4]))
    chosen = _choose(order, kinds, room)
    return None if chosen is None else tuple(dict.fromkeys(tie for kind in chosen for tie in kinds[kind]))


def _choose(
    kinds: Sequence[_Kind],
    ties: Mapping[_Kind, Sequence[Tie]],
    room: Mapping[tuple[int, object, _Level], int],
) -> list[_Kind] | None:
    """Kinds of ties that leave no room, each as often as there is; the more of the first the better."""
    within_reach = {
        place for low, high, one, other, at in kinds for place in ((low, one, at), (high, other, at))
    }
    if any(count and place not in within_reach for place, count in room.items()):
        return None
    if not kinds:
        return []
    (low, high, one, other, level), tie = kinds[0], ties[kinds[0]][0]
    needs = Counter({(low, one, level): len(tie.first.features)})
    needs[(high, other, level)] += len(tie.second.features)
    most = min(room.get(place, 0) // count for place, count in needs.items())
    for often in range(most, -1, -1):
        left = {place: count - often * needs[place] for place, count in room.items()}
        rest = _choose(kinds[1:], ties, left)
        if rest is not None:
            return [kinds[0], *rest] if often else rest
    return None
