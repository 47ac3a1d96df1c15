"""Many places along a closed path at once: where they lie, which way it runs there, how much it turns."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.geometry.corner import turn_between
from camkit.geometry.flatten import arc_points
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc, Path, arc_sweep

__all__ = ["Along", "along", "angle_between", "gaps"]

Floats = NDArray[np.float64]

# Arcs are followed this closely.
_CHORD = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Along:
    """A closed path as points, with their distances from its start in mm and how far it has turned (rad).

    `around` is its length. `marks` and `turned` step at every corner; the last point is the first again.
    """

    points: Floats
    marks: Floats
    turns_at: Floats
    turned: Floats
    around: float

    def at(self, distances: Floats) -> Floats:
        """The points (n, 2) so far along the path, taken round as often as needed."""
        s = np.mod(distances, self.around)
        return np.stack([np.interp(s, self.marks, self.points[:, k]) for k in (0, 1)], -1)

    def headings(self, distances: Floats) -> Floats:
        """Unit directions (n, 2) in which the path runs there."""
        step = min(0.05, self.around / 100)
        ahead = self.at(distances + step) - self.at(distances - step)
        return ahead / np.maximum(np.hypot(ahead[..., 0], ahead[..., 1]), 1e-12)[..., None]

    def turning(self, distances: Floats, half: float) -> Floats:
        """How much the path turns, either way, within `half` mm to both sides of each place (rad)."""
        return self._sum(distances + half) - self._sum(distances - half)

    def _sum(self, distances: Floats) -> Floats:
        rounds = np.floor(distances / self.around)
        within = np.interp(distances - rounds * self.around, self.turns_at, self.turned)
        found: Floats = rounds * self.turned[-1] + within
        return found

    @property
    def ring(self) -> shapely.LinearRing:
        """The path as a ring."""
        return shapely.LinearRing(self.points[:-1])


def along(path: Path) -> Along:
    """The places of a closed path."""
    points = [path.segments[0].start]
    marks, at, turned = [0.0], [0.0], [0.0]
    before = path.segments[-1]
    for segment in path.segments:
        corner = abs(turn_between(before, segment))
        if corner > 1e-9:
            at.append(marks[-1])
            turned.append(turned[-1] + corner)
        long = segment_length(segment)
        if isinstance(segment, Arc):
            found = arc_points(segment, _CHORD)[1:]
            points += [tuple(p) for p in found]
            marks += [marks[-1] + long * (k + 1) / len(found) for k in range(len(found))]
            at.append(marks[-1])
            turned.append(turned[-1] + arc_sweep(segment))
        else:
            points.append(segment.end)
            marks.append(marks[-1] + long)
            at.append(marks[-1])
            turned.append(turned[-1])
        before = segment
    return Along(np.array(points), np.array(marks), np.array(at), np.array(turned), marks[-1])


def gaps(places: Floats, to: float | Floats, around: float) -> Floats:
    """The shorter way round the path from each place to another one."""
    ahead = np.mod(places - to, around)
    found: Floats = np.minimum(ahead, around - ahead)
    return found


def angle_between(one: Floats, other: tuple[float, float]) -> Floats:
    """The acute angle between each direction and another one, in rad."""
    cross = np.abs(one[..., 0] * other[1] - one[..., 1] * other[0])
    found: Floats = np.arcsin(np.clip(cross / math.hypot(*other), 0.0, 1.0))
    return found
