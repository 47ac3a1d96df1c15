"""In which order features are cut: tiers first, then few cutter changes, then the shortest travel."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.geometry.measure import bounds
from camkit.geometry.path import Point, signed_area
from camkit.job.model import Cutter
from camkit.toolpath.feature import Feature
from camkit.toolpath.free_starts import Stops, Way, chosen_along, free_way
from camkit.toolpath.reach import Choice
from camkit.toolpath.starts import Start

__all__ = ["Task", "in_order", "ordered"]

Floats = NDArray[np.float64]

# A part of at most this share of a neighbour's area, this near to it (mm between their extents), is cut
# before it, while the sheet about it is still stiff (common practice, no source).
_SMALL = 0.25
_NEAR = 30.0


# What is cut before anything is freed, in this order.
_BEFORE = ("pocket", "hole", "countersink")


@dataclass(frozen=True, slots=True)
class Task:
    """A feature with the cutter that makes it, or takes what the cutter `after` leaves of it.

    `start` is where its cut begins, if that is chosen.
    """

    feature: Feature
    choice: Choice
    after: Cutter | None = None
    start: Start | None = None


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
    for tier, numbers in zip(
        sorted(tiers), _fewest_changes([set(tiers[k]) for k in sorted(tiers)]), strict=True
    ):
        found += [tiers[tier][number] for number in numbers]
    return found


def _fewest_changes(tiers: Sequence[set[int]]) -> list[list[int]]:
    """The cutters of each tier in an order by which they are changed least often; of equals by number.

    Only the first and the last of a tier matter: which cutter is in the spindle already, and which stays.
    """
    ways: dict[int, tuple[int, list[list[int]]]] = {0: (0, [])}
    for here in tiers:
        onwards: dict[int, tuple[int, list[list[int]]]] = {}
        for now, (changes, before) in ways.items():
            for first, last in itertools.product(sorted(here), repeat=2):
                if (first == last) != (len(here) == 1):
                    continue
                order = [first, *sorted(here - {first, last}), *([last] if last != first else [])]
                cost = changes + len(here) - (first == now)
                if last not in onwards or (cost, [*before, order]) < onwards[last]:
                    onwards[last] = (cost, [*before, order])
        ways = onwards
    return min(ways.values())[1]


def in_order(
    tasks: Sequence[Task], ends: Sequence[tuple[Point, Point]], known: Sequence[int] | None = None
) -> tuple[int, ...]:
    """The order of the tasks, as their numbers in `tasks`, as `ordered` finds it.

    `ends` are where each task's moves come down and where they leave.
    """
    return ordered(tasks, [Stops(np.array([one]), np.array([other])) for one, other in ends], known).order


def ordered(tasks: Sequence[Task], stops: Sequence[Stops], known: Sequence[int] | None = None) -> Way:
    """The order of the tasks, and where each begins among its `stops` (one or more for each task).

    By tier, in a tier by cutter (the one in the spindle first), then the shortest travel found from X0 Y0;
    an order that is `known` already is shortened. A small part is cut before a large one near it.
    """
    groups = _groups(tasks)
    rank = None if known is None else {i: k for k, i in enumerate(known)}
    order: list[int] = []
    chosen = [0] * len(tasks)
    at, travel = np.zeros(2), 0.0
    for group, following in itertools.pairwise([*groups, []]):
        here = [stops[i] for i in group]
        onwards = _onwards(here, [stops[i] for i in following])
        before = None if rank is None else sorted(range(len(group)), key=lambda k: rank[group[k]])
        way = free_way(here, at, onwards, before)
        smaller = _smaller_first([tasks[i].feature for i in group])
        if smaller:
            turns = [_before(turn, smaller) for turn in (way.order, way.order[::-1])]
            if turns[0] != list(way.order):
                way = min((chosen_along(here, turn, at, onwards) for turn in turns), key=lambda w: w.length)
        for k, i in enumerate(group):
            chosen[i] = way.chosen[k]
        for i in (group[k] for k in way.order):
            order.append(i)
            travel += math.dist(at, stops[i].enters[chosen[i]])
            at = stops[i].leaves[chosen[i]]
    return Way(tuple(order), tuple(chosen), travel)


def _onwards(here: Sequence[Stops], following: Sequence[Stops]) -> list[Floats]:
    """How far it is from each stop to the nearest of the group that follows; nothing where none does."""
    if not following:
        return [np.zeros(len(cut.leaves)) for cut in here]
    tree = shapely.STRtree(shapely.points(np.concatenate([cut.enters for cut in following])))
    leaves = shapely.points(np.concatenate([cut.leaves for cut in here]))
    (which, _), away = tree.query_nearest(leaves, all_matches=False, return_distance=True)
    far = np.zeros(len(leaves))
    far[which] = away
    return np.split(far, np.cumsum([len(cut.leaves) for cut in here])[:-1])


def _smaller_first(features: Sequence[Feature]) -> dict[int, list[int]]:
    """For each outline that has any, the far smaller ones near it; numbers in `features`."""
    outlines = [i for i, feature in enumerate(features) if feature.kind == "profile"]
    if len(outlines) < 2:
        return {}
    x0, y0, x1, y1 = np.array([bounds(features[i].outline) for i in outlines]).T
    area = np.abs([signed_area(features[i].outline) for i in outlines])
    gap_x = np.maximum(x0[:, None] - x1[None, :], x0[None, :] - x1[:, None])
    gap_y = np.maximum(y0[:, None] - y1[None, :], y0[None, :] - y1[:, None])
    small = (area[None, :] <= _SMALL * area[:, None]) & (np.maximum(gap_x, gap_y) <= _NEAR)
    found: dict[int, list[int]] = {}
    for large, one in np.argwhere(small).tolist():
        found.setdefault(outlines[large], []).append(outlines[one])
    return found


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
