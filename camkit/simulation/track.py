"""The tip of the cutter as straight pieces in numpy arrays: what every rule about wood looks at.

Sheet coordinates: Z is 0 on the sheet's top, and depth counts downward from there. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from camkit.program.motion import Motion

__all__ = ["Edges", "Floats", "Ints", "Mask", "Track", "arc_angles", "joined", "track_below_top"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

# Arcs become chords this close, so that a chord, which runs nearer to a convex part than its arc, never looks
# like a gouge.
CHORD = 0.0005
# Chords of one arc at most; reached only beyond 3 m of radius, and keeps any text finite.
MOST_CHORDS = 4096
# Chords of all arcs together at most; coarser chords beyond, so that no text fills the memory.
MOST_PIECES = 2_000_000
# Pieces alike to this grain are one piece.
GRAIN = 1e-6


@dataclass(frozen=True, slots=True)
class Edges:
    """What a turning cutter sweeps: a disc of `radius`, or a cone up to that.

    `spread` is how much the cone's radius grows for each mm above the tip, inf for a flat end.
    """

    radius: float
    spread: float = math.inf


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Pieces in the order of the program; `start` and `end` are (n, 3), the rest (n,).

    `motion` is the index in the reading, `radius` the cutter's and `spread` that of its cone (see Edges),
    `rapid` tells G0.
    """

    start: Floats
    end: Floats
    motion: Ints
    radius: Floats
    spread: Floats
    rapid: Mask

    def __len__(self) -> int:
        return len(self.motion)

    @property
    def depth(self) -> Floats:
        """Deepest depth of each piece below the sheet's top."""
        return -np.minimum(self.start[:, 2], self.end[:, 2])

    @property
    def straight_up(self) -> Mask:
        """Pieces that only raise the cutter from where it stands: they cut nothing new."""
        still: Mask = (self.start[:, :2] == self.end[:, :2]).all(axis=1)
        return still & (self.end[:, 2] > self.start[:, 2])

    def take(self, chosen: Mask | Ints) -> Track:
        """The pieces of a mask or of indices."""
        return Track(
            self.start[chosen],
            self.end[chosen],
            self.motion[chosen],
            self.radius[chosen],
            self.spread[chosen],
            self.rapid[chosen],
        )

    def later(self, motions: int) -> Track:
        """The pieces as those of motions that stand so many places further on."""
        return replace(self, motion=self.motion + motions)

    def below(self, depth: float) -> Track:
        """The portions of the pieces whose tip lies deeper than `depth`: ramps and helices are clipped.

        The radius of a cone becomes what it is at that depth; along a slope, at the deeper end.
        """
        cut = self.take(self.depth > depth)
        first, last = -cut.start[:, 2], -cut.end[:, 2]
        fall = np.where(first == last, 1.0, last - first)
        share = ((depth - first) / fall)[:, None]
        crossing = cut.start + (cut.end - cut.start) * share
        return Track(
            np.where((first < depth)[:, None], crossing, cut.start),
            np.where((last < depth)[:, None], crossing, cut.end),
            cut.motion,
            np.minimum(cut.radius, (cut.depth - depth) * cut.spread),
            cut.spread,
            cut.rapid,
        )

    def distinct(self) -> tuple[Track, Ints]:
        """One piece for all over the same XY line with the same radius: the deepest, of equals the first.

        Returns them in program order, and for each piece of this track the index of its stand-in.
        """
        a, b = (np.round(p[:, :2] / GRAIN).astype(np.int64) for p in (self.start, self.end))
        swap = (a[:, 0] > b[:, 0]) | ((a[:, 0] == b[:, 0]) & (a[:, 1] > b[:, 1]))
        a, b = np.where(swap[:, None], b, a), np.where(swap[:, None], a, b)
        keys = np.column_stack((a, b, np.round(self.radius / GRAIN).astype(np.int64)))
        depth = -np.round(self.depth / GRAIN)
        order = np.lexsort((np.arange(len(self)), depth, *keys.T))
        sorted_keys = keys[order]
        fresh = np.ones(len(self), dtype=bool)
        fresh[1:] = (sorted_keys[1:] != sorted_keys[:-1]).any(axis=1)
        chosen = order[fresh]
        group = np.empty(len(self), dtype=np.int64)
        group[order] = np.cumsum(fresh) - 1
        ranks = np.argsort(chosen, kind="stable")
        place = np.empty(len(chosen), dtype=np.int64)
        place[ranks] = np.arange(len(chosen))
        return self.take(chosen[ranks]), place[group]


def joined(first: Track, second: Track) -> Track:
    """The pieces of both, the second's behind the first's."""
    return Track(
        np.concatenate((first.start, second.start)),
        np.concatenate((first.end, second.end)),
        np.concatenate((first.motion, second.motion)),
        np.concatenate((first.radius, second.radius)),
        np.concatenate((first.spread, second.spread)),
        np.concatenate((first.rapid, second.rapid)),
    )


def arc_angles(motions: Sequence[Motion]) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Of arcs: centres (n, 2), radii at start and end, first angle, sweep (counter-clockwise positive).

    A radius that differs between start and end is taken to change evenly with the angle.
    """
    start = np.array([m.start[:2] for m in motions], dtype=np.float64).reshape(-1, 2)
    end = np.array([m.end[:2] for m in motions], dtype=np.float64).reshape(-1, 2)
    centre = np.array([m.centre or m.start[:2] for m in motions], dtype=np.float64).reshape(-1, 2)
    clockwise = np.array([m.clockwise for m in motions], dtype=bool)
    turns = np.array([m.turns for m in motions], dtype=np.float64)
    p, q = start - centre, end - centre
    first = np.arctan2(p[:, 1], p[:, 0])
    last = np.arctan2(q[:, 1], q[:, 0])
    swept = np.where(clockwise, first - last, last - first) % (2 * math.pi)
    full = (start == end).all(axis=1) | (swept == 0)
    swept = np.where(full, 2 * math.pi, swept) + 2 * math.pi * turns
    return centre, np.hypot(*p.T), np.hypot(*q.T), first, np.where(clockwise, -swept, swept)


def track_below_top(motions: Sequence[Motion], edges: Mapping[int | None, Edges], top: float) -> Track:
    """Pieces of all motions that go below the sheet's top, which lies at `top` in the program.

    `edges` gives the shape of each cutter number met.
    """
    chosen = [n for n, m in enumerate(motions) if min(m.start[2], m.end[2]) < top]
    picked = [motions[n] for n in chosen]
    start = np.array([m.start for m in picked], dtype=np.float64).reshape(-1, 3) - (0, 0, top)
    end = np.array([m.end for m in picked], dtype=np.float64).reshape(-1, 3) - (0, 0, top)
    curved = np.array([m.kind == "arc" for m in picked], dtype=bool)
    arcs = [m for m in picked if m.kind == "arc"]
    centre, r0, r1, first, swept = arc_angles(arcs)
    step = 2 * np.arccos(np.clip(1 - CHORD / np.maximum(np.maximum(r0, r1), CHORD), 0.0, 1.0))
    counts = np.ones(len(picked), dtype=np.int64)
    chords = np.clip(np.ceil(np.abs(swept) / np.maximum(step, 1e-9)), 1, MOST_CHORDS)
    counts[curved] = np.maximum(chords / max(1.0, chords.sum() / MOST_PIECES), 1)
    which = np.repeat(np.arange(len(picked)), counts)
    within = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    total = counts[which]
    a, b = start[which], end[which]
    on_arc = curved[which]
    arc = (np.cumsum(curved) - 1)[which[on_arc]]

    def along(share: Floats) -> Floats:
        angle = first[arc] + swept[arc] * share
        radius = r0[arc] + (r1[arc] - r0[arc]) * share
        low, high = start[which[on_arc], 2], end[which[on_arc], 2]
        return np.column_stack(
            (
                centre[arc, 0] + radius * np.cos(angle),
                centre[arc, 1] + radius * np.sin(angle),
                low + (high - low) * share,
            )
        )

    k, n = within[on_arc], total[on_arc]
    a[on_arc] = np.where((k > 0)[:, None], along(k / n), a[on_arc])
    b[on_arc] = np.where((k < n - 1)[:, None], along((k + 1) / n), b[on_arc])
    return Track(
        a,
        b,
        np.array(chosen, dtype=np.int64)[which],
        np.array([edges[m.cutter].radius for m in picked], dtype=np.float64)[which],
        np.array([edges[m.cutter].spread for m in picked], dtype=np.float64)[which],
        np.array([m.kind == "rapid" for m in picked], dtype=bool)[which],
    )
