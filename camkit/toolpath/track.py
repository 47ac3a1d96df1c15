"""Following a closed path at heights that change along it."""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from collections import deque
from collections.abc import Sequence

from camkit.cut import Feed, Move, Turn
from camkit.geometry.corner import leaving
from camkit.geometry.measure import point_along, segment_length
from camkit.geometry.path import Arc, Line, Path, Point, Segment, arc_sweep
from camkit.geometry.tolerance import SAME_POINT
from camkit.job.model import Cutter

__all__ = [
    "Heights",
    "at_a_joint",
    "beginning",
    "direction_at",
    "follow",
    "nearest_distance",
    "place_at",
    "sloped_feed",
    "starting_at",
]

# (distance along the path in mm, height z in mm), distances always increasing; beyond the path's length they
# go round again.
Heights = Sequence[tuple[float, float]]

# The paths measured last, with their marks.
_asked: deque[tuple[Path, list[float]]] = deque(maxlen=4)


# Shorter pieces are not worth a stop of the machine, mm.
_CRUMB = 0.2


def _marks(path: Path) -> list[float]:
    """Distance from the start at which each segment begins, and the whole length last."""
    # A path is asked for one place after the other: measured anew for each, a path of many segments would
    # take the square of its number.
    for known, marks in _asked:
        if known is path:
            return marks
    marks = [0.0, *itertools.accumulate(segment_length(s) for s in path.segments)]
    _asked.append((path, marks))
    return marks


def place_at(path: Path, distance: float) -> Point:
    """The point `distance` mm along a closed path (taken round as often as needed)."""
    marks = _marks(path)
    along = distance % marks[-1]
    i = min(bisect_right(marks, along) - 1, len(path.segments) - 1)
    return point_along(path.segments[i], (along - marks[i]) / (marks[i + 1] - marks[i]))


def direction_at(path: Path, distance: float) -> Point:
    """Unit direction of a closed path `distance` mm along it; at a corner, the one in which it goes on."""
    marks = _marks(path)
    along = distance % marks[-1]
    i = min(bisect_right(marks, along) - 1, len(path.segments) - 1)
    share = (along - marks[i]) / (marks[i + 1] - marks[i])
    segment = path.segments[i]
    return leaving(_piece(segment, share, 1) if 0 < share < 1 - 1e-9 else segment)


def _piece(segment: Segment, first: float, last: float) -> Segment:
    """The part of a segment between two shares of its length."""
    start = segment.start if first <= 0 else point_along(segment, first)
    end = segment.end if last >= 1 else point_along(segment, last)
    return (
        Line(start, end) if isinstance(segment, Line) else Arc(start, end, segment.centre, segment.clockwise)
    )


def starting_at(path: Path, distance: float) -> Path:
    """The same closed path, begun `distance` mm along it."""
    marks = _marks(path)
    along = distance % marks[-1]
    i = min(bisect_right(marks, along) - 1, len(path.segments) - 1)
    share = (along - marks[i]) / (marks[i + 1] - marks[i])
    rest = path.segments[i + 1 :] + path.segments[:i]
    if along - marks[i] <= SAME_POINT * 10:
        return Path((path.segments[i], *rest))
    if marks[i + 1] - along <= SAME_POINT * 10:
        return Path((*rest, path.segments[i]))
    return Path((_piece(path.segments[i], share, 1), *rest, _piece(path.segments[i], 0, share)))


def beginning(path: Path, run: float) -> Path:
    """The first `run` mm of a path; all of it when it is not longer."""
    kept: list[Segment] = []
    for segment in path.segments:
        long = segment_length(segment)
        if run < long - SAME_POINT:
            if run > SAME_POINT or not kept:
                kept.append(_piece(segment, 0.0, run / long))
            break
        kept.append(segment)
        run -= long
    return Path(tuple(kept))


def at_a_joint(path: Path, distance: float) -> float:
    """The nearest joint of a closed path's segments where one lies very near; so that no crumb is cut off."""
    marks = _marks(path)
    along = distance % marks[-1]
    nearest = min(marks, key=lambda mark: abs(mark - along))
    return nearest if abs(nearest - along) < _CRUMB else along


def nearest_distance(path: Path, point: Point) -> float:
    """How far along a closed path its place nearest to `point` lies, in mm."""
    best = (math.inf, 0.0)
    for mark, segment in zip(_marks(path), path.segments, strict=False):
        share = _nearest_share(segment, point)
        away = math.dist(point_along(segment, share), point)
        best = min(best, (away, mark + share * segment_length(segment)))
    return best[1]


def _nearest_share(segment: Segment, point: Point) -> float:
    (ax, ay), (bx, by) = segment.start, segment.end
    if isinstance(segment, Line):
        run2 = (bx - ax) ** 2 + (by - ay) ** 2
        return min(1.0, max(0.0, ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / run2))
    cx, cy = segment.centre
    first, here = math.atan2(ay - cy, ax - cx), math.atan2(point[1] - cy, point[0] - cx)
    turned = (first - here if segment.clockwise else here - first) % (2 * math.pi)
    sweep = arc_sweep(segment)
    if turned <= sweep:
        return turned / sweep
    return 0.0 if math.dist(point, segment.start) <= math.dist(point, segment.end) else 1.0


def _stretches(path: Path, heights: Heights) -> list[tuple[Segment, float, float]]:
    """The path cut at every change of segment or slope, arcs at most a half turn, with z at both ends."""
    marks = _marks(path)
    around = marks[-1]
    found = []
    for (s0, z0), (s1, z1) in itertools.pairwise(heights):
        at, slope = s0, (z1 - z0) / (s1 - s0)
        while at < s1 - SAME_POINT:
            turn, along = divmod(at + SAME_POINT, around)
            i = min(bisect_right(marks, along) - 1, len(path.segments) - 1)
            segment, begin, long = path.segments[i], turn * around + marks[i], marks[i + 1] - marks[i]
            stop = min(s1, begin + long)
            if isinstance(segment, Arc):
                stop = min(stop, at + math.pi * segment.radius)
            if stop - at > SAME_POINT:
                first = (at - begin) / long if at - begin > SAME_POINT else 0.0
                last = (stop - begin) / long if begin + long - stop > SAME_POINT else 1.0
                found.append((_piece(segment, first, last), z0 + slope * (at - s0), z0 + slope * (stop - s0)))
            at = max(stop, at + SAME_POINT)
    return found


def sloped_feed(run: float, drop: float, cutter: Cutter) -> float:
    """Feed along a slope: the downward share never exceeds the plunge feed."""
    if drop <= 0:
        return cutter.feed
    return min(cutter.feed, cutter.plunge * math.hypot(run, drop) / drop)


def follow(path: Path, heights: Heights, cutter: Cutter) -> list[Move]:
    """Cutting moves along the closed path, from the first of `heights` to the last.

    The cutter stands at the first place and height already.
    """
    moves: list[Move] = []
    for piece, from_z, to_z in _stretches(path, heights):
        x, y = piece.end
        feed = sloped_feed(segment_length(piece), from_z - to_z, cutter)
        if isinstance(piece, Arc):
            moves.append(Turn(x, y, to_z, piece.centre, piece.clockwise, feed))
        else:
            moves.append(Feed(x, y, to_z, feed))
    return moves
