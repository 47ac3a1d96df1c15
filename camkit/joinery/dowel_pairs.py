"""Dowel holes of two parts that lie on each other: same diameters at the same distances. Lengths in mm."""

from __future__ import annotations

import cmath
from collections.abc import Iterator, Sequence
from itertools import combinations, permutations

import shapely

from camkit.geometry.flatten import as_polygon
from camkit.joinery.features import Feature
from camkit.joinery.simple_pairs import Pair, pair_of
from camkit.part import Part

__all__ = ["dowels", "one_kind_each"]

# Dowels are set out far more exactly than tenons.
_SPACING = 0.1
# More holes of one kind are a grid of vents or shelf pins.
_MOST = 24
# Patterns are laid on each other so often at most.
_MOST_TRIALS = 5_000
_CHORDS = 0.02


def dowels(
    found: Sequence[Feature], parts: Sequence[Part], looks: Sequence[object], plate: Sequence[int]
) -> list[Pair]:
    """Holes that two parts have alike, at least two of them, as many as fit at once.

    Parts that look alike and have their holes at the same places are copies, no mates, unless they are layers
    of one `plate`.
    """
    holes: dict[int, list[Feature]] = {}
    for one in found:
        if one.kind == "dowel hole":
            holes.setdefault(one.part, []).append(one)
    inwards = {part: _inwards(own, parts[part]) for part, own in holes.items()}
    joined = []
    for first, second in combinations(sorted(holes), 2):
        if max(len(holes[first]), len(holes[second])) > _MOST:
            continue
        apart = plate[first] != plate[second] and looks[first] == looks[second]
        if apart and _in_one_place(inwards[first], inwards[second]):
            continue
        enters, takes = _laid_on(holes[first], holes[second])
        if len(takes) > 1:
            joined.append(pair_of("dowels", enters, takes))
    return joined


def _inwards(holes: Sequence[Feature], part: Part) -> list[float]:
    """How far the holes lie from the part's edge, in mm, the nearest first."""
    rim = as_polygon(part.outline, _CHORDS).boundary
    return sorted(rim.distance(shapely.Point(hole.middle)) for hole in holes)


def _in_one_place(mine: Sequence[float], theirs: Sequence[float]) -> bool:
    """Whether the holes of two equal parts lie equally far from their edges."""
    return len(mine) == len(theirs) and all(abs(a - b) <= _SPACING for a, b in zip(mine, theirs, strict=True))


def _laid_on(
    mine: Sequence[Feature], theirs: Sequence[Feature]
) -> tuple[tuple[Feature, ...], tuple[Feature, ...]]:
    """The most holes of both that fall on each other in one position, either face up."""
    best: tuple[tuple[Feature, ...], tuple[Feature, ...]] = ((), ())
    for turn, shift, flipped in _positions(mine, theirs):
        on = []
        free = list(theirs)
        for one in mine:
            at = complex(*one.middle)
            at = turn * (at.conjugate() if flipped else at) + shift
            hit = next((o for o in free if abs(complex(*o.middle) - at) <= _SPACING and _alike(one, o)), None)
            if hit is not None:
                free.remove(hit)
                on.append((one, hit))
        if len(on) > len(best[0]):
            best = (tuple(one for one, _ in on), tuple(other for _, other in on))
        if len(best[0]) == min(len(mine), len(theirs)):
            break
    return best


def _positions(mine: Sequence[Feature], theirs: Sequence[Feature]) -> Iterator[tuple[complex, complex, bool]]:
    """Turns and shifts, after a flip or without, that lay two holes of the one on two of the other."""
    trials = 0
    for a, b in combinations(mine, 2):
        for c, d in permutations(theirs, 2):
            if not (_alike(a, c) and _alike(b, d)):
                continue
            p, q, r, s = (complex(*hole.middle) for hole in (a, b, c, d))
            if abs(abs(q - p) - abs(s - r)) > _SPACING or abs(q - p) <= _SPACING:
                continue
            for flipped in (False, True):
                here, there = (p.conjugate(), q.conjugate()) if flipped else (p, q)
                turn = cmath.rect(1, cmath.phase((s - r) / (there - here)))
                yield turn, (r + s) / 2 - turn * (here + there) / 2, flipped
            trials += 1
            if trials >= _MOST_TRIALS:
                return


def _alike(one: Feature, other: Feature) -> bool:
    return abs(one.width - other.width) <= _SPACING


def one_kind_each(found: Sequence[Feature], joined: Sequence[Pair]) -> list[Feature]:
    """The shapes, holes of 6 being either a dowel's, where they are `joined`, or a screw's."""
    both = {(one.part, one.loop) for one in found if one.kind == "dowel hole"} & {
        (one.part, one.loop) for one in found if one.kind == "screw hole"
    }
    used = {
        (one.part, one.loop)
        for pair in joined
        if pair.kind == "dowels"
        for one in (*pair.enters, *pair.takes)
    }
    kept = []
    for one in found:
        doubtful = one.kind in ("dowel hole", "screw hole") and (one.part, one.loop) in both
        if not doubtful or (one.kind == "dowel hole") == ((one.part, one.loop) in used):
            kept.append(one)
    return kept
