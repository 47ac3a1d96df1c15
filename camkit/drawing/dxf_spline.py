"""Points on a B-spline of a DXF file, over the part of its parameter where the curve is defined."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from camkit.geometry.path import Point

__all__ = ["spline_points"]

_MOST_HALVINGS = 16
# A bow may be highest an eighth of the step from where it is looked at, where 1 - (1 / 4)^2 of its height is
# seen if it is a parabola; a little more is allowed for other curves.
_SEEN = 0.9
# No program draws splines of a higher degree; the work at each point grows with its square.
_HIGHEST_DEGREE = 25
_MOST_POINTS = 200_000


def spline_points(tool: Any, tolerance: float) -> list[Point]:
    """Points on the curve in plan from end to end, chords within `tolerance` (both in drawing units).

    A periodic spline is not clamped: its curve begins at knot number degree and ends as many before the
    last (Piegl and Tiller, The NURBS Book, section 12.2); outside of that its basis does not add up to 1.
    """
    if tool.order > _HIGHEST_DEGREE + 1:
        raise ValueError(f"its degree is {tool.order - 1}, higher than {_HIGHEST_DEGREE}")
    knots = np.asarray(tool.knots(), dtype=np.float64)
    if not np.isfinite(knots).all() or (np.diff(knots) < 0).any():
        raise ValueError("its knots are no rising row of numbers")
    first, last = knots[tool.order - 1], knots[tool.count]
    steps = np.unique(knots[(knots >= first) & (knots <= last)])
    pieces = 1 if tool.order == 2 else 4
    spans = [np.linspace(a, b, pieces, endpoint=False) for a, b in pairwise(steps)]
    if pieces * len(spans) > _MOST_POINTS:
        raise ValueError(f"it takes more than {_MOST_POINTS} points")
    times = np.append(np.concatenate(spans) if spans else np.empty(0), last)
    points = _at(tool, times)
    checked = np.zeros(len(times) - 1, dtype=bool) if pieces > 1 else np.ones(len(times) - 1, dtype=bool)
    for _ in range(_MOST_HALVINGS):
        open_ = np.flatnonzero(~checked)
        if not len(open_):
            break
        # A curve bent like an S may cross its chord in the middle, so the quarters are looked at too.
        width = times[open_ + 1] - times[open_]
        quarters = times[open_, None] + width[:, None] * np.array((0.25, 0.5, 0.75))
        inner = _at(tool, quarters.ravel()).reshape(-1, 3, 2)
        with np.errstate(invalid="ignore", over="ignore"):  # points that are no numbers are the caller's find
            away = _from_chord(inner, points[open_], points[open_ + 1]).max(axis=1)
        checked[open_] = True
        split = open_[away > _SEEN * tolerance]
        if len(times) + len(split) > _MOST_POINTS:
            raise ValueError(f"it takes more than {_MOST_POINTS} points")
        times = np.insert(times, split + 1, quarters[away > _SEEN * tolerance, 1])
        points = np.insert(points, split + 1, inner[away > _SEEN * tolerance, 1], axis=0)
        checked = np.insert(checked, split + 1, False)
        checked[split + np.arange(len(split))] = False
    return [(float(x), float(y)) for x, y in points]


def _at(tool: Any, times: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([(p.x, p.y) for p in tool.points(times.tolist())], dtype=np.float64).reshape(-1, 2)


def _from_chord(
    inner: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    chord = (end - start)[:, None, :]
    size = (chord**2).sum(axis=2)
    to = inner - start[:, None, :]
    # Where the curve turns back it runs past the end of its chord, so that its line alone does not tell.
    share = np.clip((to * chord).sum(axis=2) / np.where(size > 0, size, 1.0), 0.0, 1.0)
    away = to - share[..., None] * chord
    return np.asarray(np.hypot(away[..., 0], away[..., 1]))
