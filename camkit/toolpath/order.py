"""In which order features are cut: tiers first, then few cutter changes, then the shortest travel."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.measure import Bounds, bounds
from camkit.geometry.path import Point, signed_area
from camkit.job.model import Cutter
from camkit.toolpath.feature import Feature
from camkit.toolpath.reach import Choice
from camkit.toolpath.tour import open_way, way_length

__all__ = ["Task", "in_order"]

Floats = NDArray[np.float64]

# A part of at most this share of a neighbour's area, this near to it (mm between their extents), is cut
# before it, while the sheet about it is still stiff (common practice, no source).
_SMALL = 0.25
_NEAR = 30.0


# What is cut before anything is freed, in this order.
_BEFORE = ("pocket", "hole", "countersink")


@dataclass(frozen=True, slots=True)
class Task:
    """A feature with the cutter that makes it, or takes what the cutter `after` leaves of it."""

    feature: Feature
    choice: Choice
    after: Cutter | None = None


def _tier(task: Task) -> tuple[int, int, int, bool]:
    """Pockets, holes, countersinks, then openings and profiles; what lies inside an opening before that."""
    feature, rest = task.feature, task.after is not None
    if feature.kind == "hold-down":
        return (-1, 0, 0, rest)
    if feature.kind in _BEFORE:
        return (0, 0, _BEFORE.index(feature.kind), rest)
    return (1, -feature.nested, ("opening", "profile").index(feature.kind), rest)


def _groups(tasks: Sequence[Task]) -> list[list[int]]:
    """Numbers of the tasks, tier by tier and cutter by cutter; the cutter in the spindle goes on first."""
    tiers: dict[tuple[int, int, int, bool], dict[int, list[int]]] = {}
    for i, task in enumerate(tasks):
        tiers.setdefault(_tier(task), {}).setdefault(task.choice.cutter.number, []).append(i)
    found: list[list[int]] = []
    cutter = 0
    for tier in sorted(tiers):
        here = tiers[tier]
        # The cutter for a later tier comes last, so that it can stay in the spindle.
        later = {number for other in tiers if other > tier for number in tiers[other]}
        for number in sorted(here, key=lambda n: (n != cutter, n in later, n)):
            found.append(here[number])
            cutter = number
    return found


def in_order(tasks: Sequence[Task], ends: Sequence[tuple[Point, Point]]) -> tuple[int, ...]:
    """The order of the tasks, as their numbers in `tasks`.

    By tier, in a tier by cutter (the one in the spindle first), then the shortest travel found from X0 Y0.
    `ends` are where each task's moves come down and where they leave. A small part is cut before a large one
    near it.
    """
    enters = np.array([first for first, _ in ends], dtype=float).reshape(-1, 2)
    leaves = np.array([last for _, last in ends], dtype=float).reshape(-1, 2)
    groups = _groups(tasks)
    ordered: list[int] = []
    at = np.zeros(2)
    for group, following in itertools.pairwise([*groups, []]):
        onwards = np.zeros(len(group))
        if following:
            steps = leaves[group][:, None, :] - enters[following][None, :, :]
            onwards = np.sqrt((steps**2).sum(axis=2)).min(axis=1)
        way = open_way(enters[group], leaves[group], at, onwards)
        smaller = _smaller_first([tasks[group[i]].feature for i in range(len(group))])
        if smaller:
            ways = [_before(order, smaller) for order in (way, way[::-1])]
            own = enters[group], leaves[group]
            way = min(ways, key=lambda order: way_length(order, *own, at) + float(onwards[order[-1]]))
        ordered += [group[i] for i in way]
        at = leaves[ordered[-1]]
    return tuple(ordered)


def _smaller_first(features: Sequence[Feature]) -> dict[int, list[int]]:
    """For each outline that has any, the far smaller ones near it; numbers in `features`."""
    found: dict[int, list[int]] = {}
    outlines = [i for i, feature in enumerate(features) if feature.kind == "profile"]
    extents = {i: bounds(features[i].outline) for i in outlines}
    areas = {i: abs(signed_area(features[i].outline)) for i in outlines}
    for large in outlines:
        small = [
            i
            for i in outlines
            if areas[i] <= _SMALL * areas[large] and _gap(extents[i], extents[large]) <= _NEAR
        ]
        if small:
            found[large] = small
    return found


def _gap(a: Bounds, b: Bounds) -> float:
    """The larger of the gaps along X and Y between two extents; negative where they overlap."""
    return max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])


def _before(way: Sequence[int], smaller: dict[int, list[int]]) -> list[int]:
    """The same way, but at each place first those that must come before it and have not yet been."""
    place = {i: k for k, i in enumerate(way)}
    done: dict[int, None] = {}

    def visit(i: int) -> None:
        if i in done:
            return
        for j in sorted(smaller.get(i, ()), key=place.__getitem__):
            visit(j)
        done[i] = None

    for i in way:
        visit(i)
    return list(done)
