"""Corners of a loop that a drawing rounded or relieved: where they are, and which must stay as drawn.

Material lies on the left of the segments. Lengths in mm.

A relief is undone where `geometry.drawn_relief` finds one between two straight walls. Of chains that overlap
the longest counts, since the corner itself may poke through its circle and leave two halves that each look
like a relief. In an opening one radius goes all around, or nothing is undone: every relief has a neighbour,
and no other curve as small as a relief is left beside them. Circles about a corner may be holes for cables:
they count only where every inside corner of an opening has one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from camkit.geometry.corner import turn_between
from camkit.geometry.drawn_relief import LARGEST_RELIEF, LONGEST_CHORD, Rounding, rounding, void_circle
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc, Line, Point, Segment

__all__ = ["DrawnCorners", "Found", "LeftAlone", "drawn_corners", "wall_in_line"]

# A vertex this close to the line through its neighbours does not bend a wall.
_STRAIGHT = 1e-4
# The path kinks outward where it enters a relief or leaves it; chords of curves turn inward only.
_KINK, _CLEAR_KINK = math.radians(4), math.radians(20)
# Reliefs of one opening are one cutter's; flattened and fitted again they differ by hundredths.
_SAME_RADIUS, _SAME_SHARE = 0.06, 0.04
# The chain may go once round the largest relief.
_AROUND, _ACROSS = 2 * math.pi * LARGEST_RELIEF, 2 * LARGEST_RELIEF + 0.5
# Where the corner pokes through its circle the path turns outward twice, by a right angle in all.
_OUTWARD = math.radians(150)
_LEAST_WALL = 0.25
_FILLET_REACH = 100.0
_INSIDE = math.radians(20)


@dataclass(frozen=True, slots=True)
class Found:
    """Segments `first` to `stop` (not included; it may count past the end) round or relieve a corner."""

    first: int
    stop: int
    rounding: Rounding


@dataclass(frozen=True, slots=True)
class LeftAlone:
    """What looks like a relief and stays as drawn, where it is, and why."""

    at: Point
    radius: float
    reason: str


@dataclass(frozen=True, slots=True)
class DrawnCorners:
    """Fillets and reliefs of a loop, none overlapping, and what looks like a relief and is left alone."""

    found: tuple[Found, ...]
    left: tuple[LeftAlone, ...] = ()


def wall_in_line(pieces: Sequence[Segment]) -> bool:
    """Whether lines joined end to end are one straight wall."""
    if not all(isinstance(piece, Line) for piece in pieces):
        return False
    (ax, ay), (bx, by) = pieces[0].start, pieces[-1].end
    size = math.dist((ax, ay), (bx, by))
    return all(
        abs(turn_between(one, other)) < 1
        and abs((bx - ax) * (one.end[1] - ay) - (by - ay) * (one.end[0] - ax)) <= _STRAIGHT * size
        for one, other in pairwise(pieces)
    )


def drawn_corners(segments: Sequence[Segment], *, hollow: bool) -> DrawnCorners:
    """The fillets and reliefs of a closed loop of segments, all longer than nothing, material on the left."""
    if len(segments) < 4:
        return DrawnCorners(())
    ring = _Ring(segments)
    candidates = sorted(ring.candidates(), key=lambda one: (-ring.extent(one), one.first))
    reliefs = _apart([one for one in candidates if one.rounding.kind != "fillet"], (), ring.count)
    reliefs, left = _agreed(reliefs, ring, hollow)
    fillets = _apart([one for one in candidates if one.rounding.kind == "fillet"], reliefs, ring.count)
    rounds = [one for one in ring.rounds() if not ring.within(one, (*reliefs, *fillets))]
    if hollow and reliefs and rounds:
        left += [_left(one, "another corner of the opening is no plain relief") for one in reliefs]
        reliefs = []
    refused = [one for one in candidates if one.rounding.kind != "fillet"]
    rounds = [one for one in rounds if not ring.within(one, refused)]
    left += _unknown(rounds, ring)
    return DrawnCorners(tuple(sorted((*reliefs, *fillets), key=lambda one: one.first)), tuple(left))


def _apart(candidates: Sequence[Found], taken: Sequence[Found], count: int) -> list[Found]:
    """Candidates in their order of merit that share no piece; a piece of one is no wall of another."""
    pieces: set[int] = set()
    walls: set[int] = set()
    result: list[Found] = []

    def inner(one: Found) -> set[int]:
        return {index % count for index in range(one.first, one.stop)}

    def outer(one: Found) -> set[int]:
        return {(one.first - 1) % count, one.stop % count}

    for one in taken:
        pieces |= inner(one)
        walls |= outer(one)
    for one in candidates:
        if inner(one).isdisjoint(pieces | walls) and outer(one).isdisjoint(pieces):
            pieces |= inner(one)
            walls |= outer(one)
            result.append(one)
    return result


def _left(one: Found, reason: str) -> LeftAlone:
    return LeftAlone(one.rounding.corner, one.rounding.radius, reason)


_CENTRED = "a circle about the corner may be a hole for a cable"
_MERGED = "two reliefs run into each other: the wall between cannot be known"
_PROLONGED = "a relief prolonged by straight pieces"
_SHORT = "the wall beside it is too short to tell where the corner is"


def _agreed(reliefs: Sequence[Found], ring: _Ring, hollow: bool) -> tuple[list[Found], list[LeftAlone]]:
    """The reliefs that may be undone, by what stands in the loop's other corners."""
    plain = [one for one in reliefs if one.rounding.kind == "relief"]
    short = [one for one in reliefs if one.rounding.kind == "short wall"]
    centred = [one for one in reliefs if one.rounding.kind == "centred"]
    left = [_left(one, _SHORT) for one in short]
    if not hollow:
        return plain, left + [_left(one, _CENTRED) for one in centred]
    if len(centred) > 2 and len(centred) == len(reliefs) and not ring.inside_corners(centred):
        plain, centred = centred, []
    left += [_left(one, _CENTRED) for one in centred]
    radii = sorted(one.rounding.radius for one in plain)
    refused = None
    if short:
        refused = "another corner of the opening is not known"
    elif len(plain) == 1:
        refused = "no other corner of the opening has one"
    elif plain and radii[-1] - radii[0] > max(_SAME_RADIUS, _SAME_SHARE * radii[-1]):
        refused = f"radii in one opening differ, {radii[0]:.2f} to {radii[-1]:.2f}"
    if refused:
        return [], left + [_left(one, refused) for one in plain]
    return plain, left


@dataclass(frozen=True, slots=True)
class _Round:
    """Segments `first` to `stop` (not included) go round the outside of one small circle."""

    first: int
    stop: int
    radius: float


def _unknown(rounds: Sequence[_Round], ring: _Ring) -> list[LeftAlone]:
    """Reliefs that run into each other, so that the wall between them is gone, and reliefs made longer."""
    told: list[LeftAlone] = []
    merged: set[_Round] = set()
    for one in rounds:
        for other in rounds:
            between = [(one.stop + k) % ring.count for k in range((other.first - one.stop) % ring.count)]
            meets = len(between) < 2 and all(ring.lengths[k] <= one.radius for k in between)
            kinked = (
                ring.turns[one.stop % ring.count] > _KINK and ring.turns[other.first % ring.count] > _KINK
            )
            alike = abs(one.radius - other.radius) <= max(_SAME_RADIUS, _SAME_SHARE * one.radius)
            if one is not other and meets and kinked and alike:
                merged |= {one, other}
                told.append(LeftAlone(ring.segments[other.first % ring.count].start, one.radius, _MERGED))
    for one in rounds:
        before, after = (one.first - 1) % ring.count, one.stop % ring.count
        prolonged = any(
            isinstance(ring.segments[piece], Line)
            and ring.lengths[piece] <= 3 * one.radius
            and ring.turns[kink % ring.count] > _CLEAR_KINK
            for piece, kink in ((before, before), (after, after + 1))
        )
        if prolonged and one not in merged:
            told.append(LeftAlone(ring.segments[one.first % ring.count].start, one.radius, _PROLONGED))
    return told


def _chord_of(wall: Line, piece: Segment) -> bool:
    """Whether a wall that runs smoothly into a chord is no longer than one itself."""
    return isinstance(piece, Line) and segment_length(wall) < 2 * segment_length(piece)


class _Ring:
    """A closed loop of segments with their lengths, the turns before them and the walls they belong to."""

    def __init__(self, segments: Sequence[Segment]) -> None:
        self.segments = segments
        self.count = len(segments)
        self.lengths = [segment_length(segment) for segment in segments]
        self.turns = [turn_between(segments[k - 1], segments[k]) for k in range(self.count)]
        self.walls = self._walls()
        self.to_kink = self._to_kink()

    def _to_kink(self) -> list[float]:
        """For each piece the length from its end to the next kink; infinite where there is none."""
        result = [math.inf] * self.count
        ahead = math.inf
        for index in reversed(range(2 * self.count)):
            k = index % self.count
            result[k] = ahead
            ahead = 0.0 if self.turns[k] > _KINK else ahead + self.lengths[k]
        return result

    def _walls(self) -> list[Line | None]:
        """For each line the longest piece of its straight wall: that one knows the direction best."""
        result: list[Line | None] = [s if isinstance(s, Line) else None for s in self.segments]
        begin = next((k for k in range(self.count) if not self._goes_on(k)), 0)
        row = [(begin + step) % self.count for step in range(self.count)]
        first = 0
        for stop in range(1, self.count + 1):
            if stop < self.count and self._goes_on(row[stop]):
                continue
            members = row[first:stop]
            best = self.segments[max(members, key=lambda k: self.lengths[k])]
            if len(members) > 1 and isinstance(best, Line):
                for index in members:
                    result[index] = best
            first = stop
        return result

    def _goes_on(self, index: int) -> bool:
        return wall_in_line([self.segments[index - 1], self.segments[index]])

    def extent(self, one: Found) -> float:
        """Length of the pieces of a found place."""
        return sum(self.lengths[index % self.count] for index in range(one.first, one.stop))

    def within(self, one: _Round, found: Sequence[Found]) -> bool:
        """Whether the round belongs to what was found."""
        taken = {index % self.count for other in found for index in range(other.first, other.stop)}
        return any(index % self.count in taken for index in range(one.first, one.stop))

    def inside_corners(self, found: Sequence[Found]) -> int:
        """How many sharp inside corners there are besides those found."""
        taken = {index % self.count for one in found for index in range(one.first, one.stop + 1)}
        return sum(
            self.turns[k] < -_INSIDE
            for k in range(self.count)
            if k not in taken
            and isinstance(self.segments[k], Line)
            and isinstance(self.segments[k - 1], Line)
        )

    def candidates(self) -> Iterator[Found]:
        """All chains between two straight walls that round or relieve the corner of these."""
        for before, wall in enumerate(self.walls):
            if wall is not None and segment_length(wall) >= _LEAST_WALL:
                yield from self._from(before, wall)

    def _from(self, before: int, wall: Line) -> Iterator[Found]:
        kinked = self.turns[(before + 1) % self.count] > _KINK
        size = segment_length(wall)
        walked = chord = outward = 0.0
        near = True
        pieces: list[Segment] = []
        for step in range(1, self.count - 1):
            piece = self.segments[(before + step) % self.count]
            walked += self.lengths[(before + step) % self.count]
            if isinstance(piece, Line):
                chord = max(chord, self.lengths[(before + step) % self.count])
            if pieces:
                outward += max(0.0, self.turns[(before + step) % self.count])
            near = near and math.dist(self.segments[before].end, piece.end) <= _ACROSS
            pieces.append(piece)
            may_fillet = 2 * chord <= size and walked <= _FILLET_REACH
            may_relieve = (
                near and outward <= _OUTWARD and walked <= _AROUND and chord <= min(LONGEST_CHORD, 1.7 * size)
            )
            if not (may_fillet or may_relieve):
                return
            # A relief has a kink at one end: without any ahead the chain may end here.
            smooth = self.to_kink[(before + step) % self.count] > _AROUND - walked
            if smooth and not (may_fillet or kinked):
                return
            last = (before + step + 1) % self.count
            after = self.walls[last]
            if after is None or segment_length(after) < max(_LEAST_WALL, chord / 1.7):
                continue
            if len(pieces) < 3 and not any(isinstance(one, Arc) for one in pieces):
                continue
            fillet = may_fillet and 2 * chord <= segment_length(after)
            kinks = self.turns[last] > _KINK
            relief = (
                may_relieve
                and (kinked or (kinks and not _chord_of(wall, pieces[0])))
                and (kinks or not _chord_of(after, pieces[-1]))
            )
            if fillet or relief:
                found = rounding(self.segments[before], pieces, self.segments[last], (wall, after))
                if found is not None:
                    yield Found((before + 1) % self.count, (before + 1) % self.count + step, found)

    def rounds(self) -> list[_Round]:
        """Curves no larger than a relief that the cutter runs through on their inside."""
        found = []
        for index, segment in enumerate(self.segments):
            if isinstance(segment, Arc) and segment.clockwise:
                circle = void_circle([segment], None, clockwise=True)
                if circle is not None and circle[1] <= LARGEST_RELIEF and circle[2] >= math.radians(60):
                    found.append(_Round(index, index + 1, circle[1]))
        return found + list(self._chord_rounds())

    def _chord_rounds(self) -> Iterator[_Round]:
        inward = [
            isinstance(self.segments[k], Line)
            and isinstance(self.segments[k - 1], Line)
            and math.radians(-50) <= self.turns[k] <= math.radians(-0.5)
            and max(self.lengths[k], self.lengths[k - 1]) <= LONGEST_CHORD
            for k in range(self.count)
        ]
        if all(inward):
            return
        begin = inward.index(False)
        row = [begin + step for step in range(self.count)]
        first = 0
        for stop in range(1, self.count + 1):
            if stop < self.count and inward[row[stop] % self.count]:
                continue
            low, high = row[first], row[first] + stop - first
            first = stop
            for one, other in ((low, high), (low + 1, high), (low, high - 1), (low + 1, high - 1)):
                if other - one < 3:
                    continue
                pieces = [self.segments[k % self.count] for k in range(one, other)]
                circle = void_circle(pieces, None, clockwise=True)
                if circle is not None and circle[1] <= LARGEST_RELIEF and circle[2] >= math.radians(60):
                    yield _Round(one, other, circle[1])
                    break
