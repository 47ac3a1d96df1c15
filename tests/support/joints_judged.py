"""What was found of the joints that were drawn, and what was found that is none."""

from __future__ import annotations

import math
from collections import Counter

from camkit.geometry.path import Point
from camkit.joinery.features import Feature
from camkit.joinery.pairs import Pairs
from support.known_joints import Job, Truth

__all__ = ["judged"]

_SAME = 0.7  # a place is the place drawn
_ROWS = {
    "mortise": "mortise and tenon",
    "cross-lap": "cross-lap",
    "finger edge": "finger edge",
    "housing": "housing",
    "rabbet": "rabbet",
    "dowels": "dowels",
}


def judged(job: Job, found: Pairs) -> Counter[str]:
    """Counts by "kind, truth", "kind, found", "kind, false" and "kind, wrong mate" of shapes, not of pairs.

    Tenons are told apart from mortises; finger edges count once for each of their two boards.
    """
    told: Counter[str] = Counter()
    for kind, called in _ROWS.items():
        claims = [pair for pair in found.pairs if pair.kind == called]
        truths = [truth for truth in job.truths if truth.kind == kind]
        if kind == "finger edge":
            _edges(told, [pair.parts for pair in claims], truths)
            continue
        takes = [shape for pair in claims for shape in pair.takes]
        enters = [shape for pair in claims for shape in pair.enters]
        if kind == "mortise":
            for loose in (False, True):
                drawn = [spot for truth in truths if truth.loose == loose for spot in truth.takes]
                _shapes(told, "mortise, loose" if loose else "mortise", takes, drawn)
            _false(told, "mortise", takes, [spot for truth in truths for spot in truth.takes])
            drawn = [spot for truth in truths for spot in truth.enters]
            _shapes(told, "tenon", enters, drawn)
            _false(told, "tenon", enters, drawn)
        elif kind in ("cross-lap", "dowels"):
            for loose in (False, True):
                of = [truth for truth in truths if truth.loose == loose]
                drawn = [spot for truth in of for spot in (*truth.takes, *truth.enters)]
                _shapes(told, f"{kind}, loose" if loose else kind, [*takes, *enters], drawn)
            every = [spot for truth in truths for spot in (*truth.takes, *truth.enters)]
            _false(told, kind, [*takes, *enters], every)
        else:
            drawn = [spot for truth in truths for spot in truth.takes]
            _shapes(told, kind, takes, drawn)
            _false(told, kind, takes, drawn)
        known = {frozenset(spot[0] for spot in (truth.enters[0], truth.takes[0])) for truth in truths}
        told[f"{kind}, wrong mate"] += sum(frozenset(pair.parts) not in known for pair in claims)
    for kind in ("screw hole", "countersunk screw hole"):
        drawn = [spot for truth in job.truths if truth.kind == kind for spot in truth.takes]
        shapes = [shape for shape in found.features if shape.kind == kind]
        _shapes(told, kind, shapes, drawn)
        _false(told, kind, shapes, drawn)
    told["without a mate"] += len(found.lone)
    return told


def _edges(told: Counter[str], claims: list[tuple[int, int]], truths: list[Truth]) -> None:
    drawn = [frozenset((truth.enters[0][0], truth.takes[0][0])) for truth in truths]
    told["finger edge, truth"] += 2 * len(drawn)
    right = sum(frozenset(pair) in drawn for pair in claims)
    told["finger edge, found"] += 2 * right
    told["finger edge, false"] += 2 * (len(claims) - right)


def _shapes(told: Counter[str], name: str, shapes: list[Feature], drawn: list[tuple[int, Point]]) -> None:
    told[f"{name}, truth"] += len(drawn)
    told[f"{name}, found"] += sum(any(_is_at(shape, spot) for shape in shapes) for spot in drawn)


def _false(told: Counter[str], name: str, shapes: list[Feature], drawn: list[tuple[int, Point]]) -> None:
    told[f"{name}, false"] += sum(not any(_is_at(shape, spot) for spot in drawn) for shape in set(shapes))


def _is_at(shape: Feature, spot: tuple[int, Point]) -> bool:
    return shape.part == spot[0] and math.dist(shape.middle, spot[1]) <= _SAME
