"""Plates in line: parts that hold the same plates are laid over one another, and shoulders tie plates.

Which plate is which is told by its mates and by its distance from the others. Lengths in mm.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from camkit.joinery.stations import Frame, Station

__all__ = ["Hosted", "Line", "Tie", "laid", "lines", "ties"]

# How far a drawing's rounding may put a plate from where it is looked for, beside the drawn play.
_ROUNDING = 0.1


@dataclass(frozen=True, slots=True)
class Hosted:
    """A part on a line: a place p on its axis lies at sign * p + offset. `at` are its stations' plates."""

    frame: Frame
    sign: int
    offset: float
    at: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """Plates one behind the other, as drawn, and the parts that say so; each plate is a station of theirs.

    `again` are other places where one of the parts fits as well with all its stations.
    """

    plates: tuple[Station, ...]
    hosted: tuple[Hosted, ...]
    again: tuple[Hosted, ...] = ()


@dataclass(frozen=True, slots=True)
class Tie:
    """A part of `frame` stands with its shoulders between two plates of a line, `low` before `high`.

    `first` and `second` are the stations of the frame that are the low and the high plate; where its axis
    runs against the line's, `sign` is -1. While its shoulders keep their distance, the high plate's
    middle moves by `change` more than the low one's.
    """

    frame: Frame
    first: Station
    second: Station
    low: int
    high: int
    sign: int
    change: float


def laid(frames: Sequence[Frame]) -> tuple[tuple[Frame, ...], list[tuple[Line, list[Tie]]]]:
    """Lines of the parts that receive plates, and where parts stand between these with two shoulders.

    Where it is not known which of glued layers a shoulder meets, the one that a line knows is kept, else the
    nearest: the frames come back with one station for each end.
    """
    found = _laid(frames)
    if all(len({_whose(one) for one in frame.ends}) == len(frame.ends) for frame in frames):
        return tuple(frames), found
    known: list[Tie] = []
    for line, tied in found:
        takers = {
            (one.frame.part, plate)
            for one in line.hosted
            for station, plate in zip(one.frame.stations, one.at, strict=True)
            if not station.side
        }
        for tie in tied:
            if all(
                any(p != tie.frame.part and k == plate for p, k in takers) for plate in (tie.low, tie.high)
            ):
                known.append(tie)
    # Both shoulders of a part are read together: it may stand between plates of two sheets.
    read: dict[tuple[Frame, object], Station] = {}
    for tie in sorted(known, key=lambda one: abs(one.first.before) + abs(one.second.before)):
        ends = {(tie.frame, _whose(end)): end for end in (tie.first, tie.second)}
        if all(read.get(key, end) == end for key, end in ends.items()):
            read |= ends
    kept = tuple(replace(frame, stations=tuple(_read(frame, read))) for frame in frames)
    return kept, _laid(kept)


def _read(frame: Frame, read: Mapping[tuple[Frame, object], Station]) -> Iterator[Station]:
    best: dict[object, Station] = {}
    for end in sorted(frame.ends, key=lambda one: (abs(one.before), one.place)):
        best.setdefault(_whose(end), read.get((frame, _whose(end)), end))
    yield from (one for one in frame.stations if not one.side or best[_whose(one)] == one)


def _whose(end: Station) -> object:
    """What the readings of one shoulder have in common."""
    return end.features if end.glued and end.features else (end.features, end.place)


def _laid(frames: Sequence[Frame]) -> list[tuple[Line, list[Tie]]]:
    between = [one for one in frames if len(one.ends) > 1]
    hosts = lines([one for one in frames if len(one.ends) < len(one.stations)])
    return [(line, [tie for frame in between for tie in ties(line, frame)]) for line in hosts]


def lines(frames: Sequence[Frame]) -> list[Line]:
    """Lines of plates: parts that share two plates or more, at the same distance, are on one line."""
    made: list[Line] = []
    for frame in sorted(frames, key=lambda one: (-len(one.stations), one.part)):
        plates = tuple(replace(one, features=(), side=0) for one in frame.stations)
        new = Line(plates, (Hosted(frame, 1, 0.0, tuple(range(len(plates)))),))
        kept = []
        for old in made:
            joined = _joined(old, new)
            if joined is None:
                kept.append(old)
            else:
                new = joined
        made = [*kept, new]
    return made


def _same(one: Station, other: Station) -> bool:
    return bool(one.plates & other.plates) and (one.thickness, one.change) == (other.thickness, other.change)


def _joined(line: Line, other: Line) -> Line | None:
    """Both in one, laid so that most plates meet; None when fewer than two do."""
    ways = sorted(
        (way for sign in (1, -1) for way in _meetings(line.plates, other.plates, sign)),
        key=lambda way: (-len(way.met), way.spread, -way.sign),
    )
    if not ways:
        return None
    best = ways[0]
    plates, index = list(line.plates), dict[int, int]()
    whole = [way for way in ways[1:] if len(way.met) == len(other.plates) and len(other.hosted) == 1]
    for mine, theirs in best.met:
        one, two = plates[mine], other.plates[theirs]
        # A part that fits elsewhere too does not tell which plates stand here.
        narrower = one.plates if whole else one.plates & two.plates
        plates[mine] = replace(one, plates=narrower, slack=max(one.slack, two.slack))
        index[theirs] = mine
    for theirs, plate in enumerate(other.plates):
        if theirs not in index:
            index[theirs] = len(plates)
            plates.append(replace(plate, place=best.sign * plate.place + best.shift))
    again = [best.lay(one, index) for one in other.again]
    again += [way.lay(other.hosted[0], {theirs: mine for mine, theirs in way.met}) for way in whole]
    hosted = (*line.hosted, *(best.lay(one, index) for one in other.hosted))
    return Line(tuple(plates), hosted, (*line.again, *again))


@dataclass(frozen=True, slots=True)
class _Meeting:
    """One way to lay plates over others: turned by `sign` and shifted, these (mine, theirs) meet."""

    sign: int
    shift: float
    met: tuple[tuple[int, int], ...]
    spread: float

    def lay(self, hosted: Hosted, index: Mapping[int, int]) -> Hosted:
        """A part on their line as it lies on mine."""
        at = tuple(index[k] for k in hosted.at)
        return Hosted(hosted.frame, self.sign * hosted.sign, self.sign * hosted.offset + self.shift, at)


def _meetings(plates: Sequence[Station], others: Sequence[Station], sign: int) -> Iterator[_Meeting]:
    """All ways in which two plates or more meet when the others are turned by `sign` and shifted."""
    shifts = sorted(
        (one.place - sign * other.place, k, m)
        for k, one in enumerate(plates)
        for m, other in enumerate(others)
        if _same(one, other)
    )
    reach = _ROUNDING + max(one.slack for one in plates) + max(one.slack for one in others)
    first = 0
    for last in range(len(shifts)):
        while shifts[last][0] - shifts[first][0] > reach:
            first += 1
        if last + 1 < len(shifts) and shifts[last + 1][0] - shifts[first][0] <= reach:
            continue
        met: dict[int, int] = {}
        for _, k, m in shifts[first : last + 1]:
            if k not in met and m not in met.values():
                met[k] = m
        if len(met) > 1:
            inside = [shift for shift, _, _ in shifts[first : last + 1]]
            middle = sum(inside) / len(inside)
            yield _Meeting(sign, middle, tuple(sorted(met.items())), inside[-1] - inside[0])


def ties(line: Line, frame: Frame) -> Iterator[Tie]:
    """Every place on the line where two shoulders of the frame can stand: equal bays take equal parts."""
    order = sorted(range(len(line.plates)), key=lambda k: line.plates[k].place)
    places = [line.plates[k].place for k in order]
    widest = 2 * max(one.slack for one in line.plates) + _ROUNDING
    ends = frame.ends
    for k, one in enumerate(ends):
        for other in ends[k + 1 :]:
            apart = other.place - one.place
            if apart <= widest:
                continue
            change = other.shift - one.shift
            for low in order:
                start = line.plates[low]
                if not (_same(start, one) or _same(start, other)):
                    continue
                begin = bisect_left(places, start.place + apart - widest)
                for high in order[begin:]:
                    stop = line.plates[high]
                    over = stop.place - start.place - apart
                    if over > widest:
                        break
                    if abs(over) > _ROUNDING + start.slack + stop.slack:
                        continue
                    if _same(start, one) and _same(stop, other):
                        yield Tie(frame, one, other, low, high, 1, change)
                    if _same(start, other) and _same(stop, one):
                        yield Tie(frame, other, one, low, high, -1, change)
