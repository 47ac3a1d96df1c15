"""Reliefs as other people's drawings carry them: dogbones and T-bones of other cutters, as arcs or chords."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

__all__ = ["Relief", "relieved"]

Relief = Literal["dogbone", "t-bone before", "t-bone after"]
Vertex = tuple[float, float, float]


def relieved(
    loop: list[Vertex], corners: Mapping[int, Relief], radius: float, *, outward: bool, chords: int = 0
) -> list[Vertex]:
    """The loop with reliefs of `radius` at square corners, given by index.

    Every one is the far half of a circle through the corner: of a dogbone the circle's centre lies on the
    corner's bisector, of a T-bone on the line of the wall before or after the corner. `outward` for the
    corners of an opening drawn counter-clockwise, otherwise those of a slot in an outline. With `chords` the
    half circle is so many straight lines.
    """
    made: list[Vertex] = []
    for i, (x, y, bulge) in enumerate(loop):
        if i not in corners:
            made.append((x, y, bulge))
            continue
        before, after = _towards(loop, i, -1), _towards(loop, i, 1)
        back, on = {
            "dogbone": (math.sqrt(2) * radius, math.sqrt(2) * radius),
            "t-bone before": (2 * radius, 0.0),
            "t-bone after": (0.0, 2 * radius),
        }[corners[i]]
        a = (x + back * before[0], y + back * before[1])
        b = (x + on * after[0], y + on * after[1])
        if not chords:
            made += [(*a, 1.0 if outward else -1.0), (*b, 0.0)]
            continue
        cx, cy = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        first = math.atan2(a[1] - cy, a[0] - cx)
        way = math.pi if outward else -math.pi
        angles = [first + way * k / chords for k in range(chords + 1)]
        made += [(cx + radius * math.cos(t), cy + radius * math.sin(t), 0.0) for t in angles]
    return made


def _towards(loop: list[Vertex], i: int, step: int) -> tuple[float, float]:
    (x, y, _), (u, v, _) = loop[i], loop[(i + step) % len(loop)]
    long = math.hypot(u - x, v - y)
    return (u - x) / long, (v - y) / long
