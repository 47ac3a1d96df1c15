"""`Path`: lines and arcs joined end to end, and `Region`: an area with openings; all in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from camkit.geometry.tolerance import SAME_POINT

__all__ = [
    "Arc",
    "Line",
    "Path",
    "Point",
    "Region",
    "Segment",
    "arc_sweep",
    "circle",
    "oriented",
    "polygon",
    "rectangle",
    "region",
    "reversed_path",
    "signed_area",
]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight segment from `start` to `end`."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular segment about `centre`; never a full circle (use `circle`, two halves).

    `start` and `end` lie equally far from `centre` to within rounding.
    """

    start: Point
    end: Point
    centre: Point
    clockwise: bool

    def __post_init__(self) -> None:
        if math.dist(self.start, self.end) <= SAME_POINT:
            raise ValueError(f"an arc needs two different ends, not {self.start} twice")

    @property
    def radius(self) -> float:
        """Distance from the centre to the start."""
        return math.dist(self.centre, self.start)


Segment = Line | Arc


@dataclass(frozen=True, slots=True)
class Path:
    """Segments joined end to end; closed when the last ends where the first starts.

    Raises ValueError when it is empty or when neighbours do not meet.
    """

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("a path needs at least one segment")
        for before, after in zip(self.segments, self.segments[1:], strict=False):
            if math.dist(before.end, after.start) > SAME_POINT:
                raise ValueError(f"segments do not meet: {before.end} and {after.start}")

    @property
    def start(self) -> Point:
        """Where the path begins."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """Where the path ends."""
        return self.segments[-1].end

    @property
    def closed(self) -> bool:
        """Whether it ends where it began."""
        return math.dist(self.start, self.end) <= SAME_POINT


@dataclass(frozen=True, slots=True)
class Region:
    """An area: `exterior` runs counter-clockwise, each of `interiors` clockwise (material on the left)."""

    exterior: Path
    interiors: tuple[Path, ...] = ()


def arc_sweep(arc: Arc) -> float:
    """Angle turned through, in radians, always positive and below 2 pi."""
    first = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    last = math.atan2(arc.end[1] - arc.centre[1], arc.end[0] - arc.centre[0])
    return (first - last if arc.clockwise else last - first) % (2 * math.pi)


def signed_area(path: Path) -> float:
    """Area enclosed by a closed path, in mm2, arcs exact; positive when it runs counter-clockwise."""
    total = 0.0
    x0, y0 = path.start  # measured from the start: far from the origin, differences stay exact
    for segment in path.segments:
        (ax, ay), (bx, by) = segment.start, segment.end
        total += ((ax - x0) * (by - y0) - (bx - x0) * (ay - y0)) / 2
        if isinstance(segment, Arc):
            sweep = arc_sweep(segment)
            bulge = segment.radius**2 * (sweep - math.sin(sweep)) / 2
            total += -bulge if segment.clockwise else bulge
    return total


def reversed_path(path: Path) -> Path:
    """The same curve walked from its end to its start."""
    return Path(
        tuple(
            Line(s.end, s.start) if isinstance(s, Line) else Arc(s.end, s.start, s.centre, not s.clockwise)
            for s in reversed(path.segments)
        )
    )


def oriented(path: Path, *, clockwise: bool = False) -> Path:
    """The closed path walked counter-clockwise, or clockwise when asked."""
    return path if (signed_area(path) < 0) == clockwise else reversed_path(path)


def region(exterior: Path, interiors: Iterable[Path] = ()) -> Region:
    """A region with its loops turned the way `Region` wants them."""
    return Region(oriented(exterior), tuple(oriented(loop, clockwise=True) for loop in interiors))


def circle(centre: Point, diameter: float) -> Path:
    """A full circle, counter-clockwise from its rightmost point, as two half arcs."""
    (x, y), r = centre, diameter / 2
    right, left = (x + r, y), (x - r, y)
    return Path((Arc(right, left, centre, False), Arc(left, right, centre, False)))


def polygon(points: Iterable[Point]) -> Path:
    """A closed path of straight lines through `points` (the first is not repeated)."""
    corners = list(points)
    return Path(tuple(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True) if a != b))


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Path:
    """An upright rectangle, counter-clockwise from its lower left corner."""
    return polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
