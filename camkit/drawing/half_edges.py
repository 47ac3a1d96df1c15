"""Half edges, 2 i along edge i and 2 i + 1 against it, and the walks that go around areas along them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = ["area_walks", "next_around"]


def next_around(turning: Iterable[Sequence[int]]) -> dict[int, int]:
    """For each half edge the next one around the area on its left.

    `turning` has, for each point, the half edges that leave it, counter-clockwise.
    """
    after: dict[int, int] = {}
    for halves in turning:
        for before, half in zip([halves[-1], *halves], halves, strict=False):
            after[half ^ 1] = before
    return after


def area_walks(after: dict[int, int]) -> list[tuple[int, ...]]:
    """Every half edge exactly once, in walks that keep their area on the left."""
    walks, seen = [], set()
    for start in sorted(after):
        walk: list[int] = []
        half = start
        while half not in seen:
            seen.add(half)
            walk.append(half)
            half = after[half]
        if walk:
            walks.append(tuple(walk))
    return walks
