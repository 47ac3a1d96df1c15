"""Heights along a closed path: even passes, ramps between them, and rises over tabs."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

__all__ = ["SQUARE_DEG", "TAB_SLOPE_DEG", "Rise", "over_tabs", "pass_depths", "ramped"]

# Flanks of a tab: steep enough to keep tabs short, shallow enough not to be a plunge (common practice).
TAB_SLOPE_DEG = 30.0
# Flanks of a square tab, as good as upright: heights along a path may not step.
SQUARE_DEG = 89.9
# The last pass runs on by this much past its own beginning, so that no ridge stands there.
_OVERLAP = 1.0


def pass_depths(total: float, deepest_pass: float, first_pass: float = 0.0) -> tuple[float, ...]:
    """Depths (positive, mm) of as few even passes as reach `total` with none deeper than `deepest_pass`.

    Where even passes would make the first shallower than `first_pass`, it is as deep as that, or as `total`,
    and the rest is divided evenly.
    """
    count = max(1, math.ceil(total / deepest_pass - 1e-9))
    if total / count >= first_pass - 1e-9:
        return tuple(total * (k + 1) / count for k in range(count))
    first = min(first_pass, total)
    rest = total - first
    more = math.ceil(rest / deepest_pass - 1e-9)
    return (first, *(first + rest * (k + 1) / more for k in range(more)))


def ramped(
    around: float, depths: Sequence[float], from_z: float, ramp_deg: float
) -> list[tuple[float, float]]:
    """Heights that sink to each depth by a ramp and go round a path of length `around` mm.

    Each pass sinks where the last one sank below z = 0, so that no bite is deeper than a pass; the last pass
    goes once round at full depth after its ramp. `depths` are positive below z = 0; `from_z` is where it
    begins.
    """
    heights = [(0.0, from_z)]
    slope = math.tan(math.radians(ramp_deg))
    begin, z = 0.0, from_z
    for depth in depths:
        end = begin + (z + depth) / slope
        heights.append((end, -depth))
        begin = max(end, begin + max(0.0, z) / slope + around)
        if begin > end and depth != depths[-1]:
            heights.append((begin, -depth))
        z = -depth
    heights.append((heights[-1][0] + around + min(_OVERLAP, around), z))
    return heights


@dataclass(frozen=True, slots=True)
class Rise:
    """A tab as the cutter's centre meets it: at or above `z` from `first` to `last` mm along the path.

    Its flanks fall at `slope_deg`.
    """

    first: float
    last: float
    z: float
    slope_deg: float = TAB_SLOPE_DEG

    def about(self, middle: float) -> Rise:
        """The same rise about another place, on a path beside its own."""
        half = (self.last - self.first) / 2
        return replace(self, first=middle - half, last=middle + half)

    def foot(self, lowest: float) -> float:
        """Length of each flank down to z = `lowest`."""
        return max(0.0, self.z - lowest) / math.tan(math.radians(self.slope_deg))


def over_tabs(
    heights: Sequence[tuple[float, float]], around: float, rises: Sequence[Rise]
) -> list[tuple[float, float]]:
    """The heights lifted over every rise, on each round; where they are higher already nothing changes."""
    lowest = min(z for _, z in heights)
    lid: list[list[tuple[float, float]]] = []
    for turn in range(math.floor(heights[0][0] / around) - 1, math.ceil(heights[-1][0] / around) + 1):
        for rise in rises:
            a, b, foot = rise.first + turn * around, rise.last + turn * around, rise.foot(lowest)
            lid.append([(a - foot, lowest), (a, rise.z), (b, rise.z), (b + foot, lowest)])
    breaks = sorted(
        {s for s, _ in heights} | {s for hump in lid for s, _ in hump if heights[0][0] < s < heights[-1][0]}
    )
    humps = [hump for hump in lid if hump[-1][0] > heights[0][0] and hump[0][0] < heights[-1][0]]
    lifted: list[tuple[float, float]] = []
    for s0, s1 in itertools.pairwise(breaks):
        lines = [(_at(heights, s0, s1), _at(heights, s1, s0))]
        lines += [(_at(h, s0, s1), _at(h, s1, s0)) for h in humps if h[0][0] <= s0 and s1 <= h[-1][0]]
        lifted += _highest(s0, s1, lines)
    return _tidy(lifted)


def _at(line: Sequence[tuple[float, float]], s: float, towards: float) -> float:
    """Height of a piecewise line at s, taken from the side of `towards` where it steps."""
    for (s0, z0), (s1, z1) in itertools.pairwise(line):
        if s0 <= min(s, towards) and max(s, towards) <= s1 and s1 > s0:
            return z0 + (z1 - z0) * (s - s0) / (s1 - s0)
    raise ValueError(f"{s} lies outside the heights given")


def _highest(s0: float, s1: float, lines: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The upper hull of straight lines over one interval, as points from s0 to s1."""
    cuts = {0.0, 1.0}
    for (a0, a1), (b0, b1) in itertools.combinations(lines, 2):
        if (a0 - b0) * (a1 - b1) < 0:
            cuts.add((a0 - b0) / ((a0 - b0) - (a1 - b1)))
    return [(s0 + t * (s1 - s0), max(z0 + (z1 - z0) * t for z0, z1 in lines)) for t in sorted(cuts)]


def _tidy(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Without points that repeat or lie on the line between their neighbours."""
    kept: list[tuple[float, float]] = []
    for point in points:
        if kept and abs(kept[-1][0] - point[0]) < 1e-9 and abs(kept[-1][1] - point[1]) < 1e-9:
            continue
        if len(kept) > 1:
            (s0, z0), (s1, z1) = kept[-2], kept[-1]
            straight = abs((z1 - z0) * (point[0] - s0) - (point[1] - z0) * (s1 - s0)) < 1e-9 * max(
                1.0, point[0] - s0
            )
            if straight and s1 > s0:
                kept.pop()
        kept.append(point)
    return kept
