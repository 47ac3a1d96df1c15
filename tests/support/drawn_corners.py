"""Loops whose corners are drawn with reliefs or fillets, by plane geometry alone; the truth is known."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from camkit.geometry.path import Arc, Line, Path, Point, Segment

__all__ = ["Way", "convex_corners", "flattened", "rounded", "with_corners"]

Way = Literal["sharp", "dogbone", "t-bone before", "t-bone after", "fillet"]


def with_corners(corners: Sequence[Point], ways: Sequence[Way], radius: float) -> Path:
    """The polygon through `corners`, walked as given, with material on its left, drawn with those corners.

    Reliefs are plain circles at every angle. A dogbone's centre stands `radius` from the corner on the
    bisector; a T-bone's `radius` from the corner, square off the wall that stays whole.
    """
    count = len(corners)
    cut = [
        _corner(corners[k - 1], corners[k], corners[(k + 1) % count], ways[k], radius) for k in range(count)
    ]
    segments: list[Segment] = []
    for (_, arc, last), (after, _, _) in zip(cut, cut[1:] + cut[:1], strict=True):
        if arc is not None:
            segments.append(arc)
        if math.dist(last, after) > 1e-9:
            segments.append(Line(last, after))
    return Path(tuple(segments))


def _corner(
    before: Point, at: Point, after: Point, way: Way, radius: float
) -> tuple[Point, Arc | None, Point]:
    if way == "sharp":
        return at, None, at
    (ux, uy), (vx, vy) = _unit(before, at), _unit(at, after)
    turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if way == "fillet":
        side = 1 if turn > 0 else -1
        back = radius * math.tan(abs(turn) / 2)
        first, last = (at[0] - back * ux, at[1] - back * uy), (at[0] + back * vx, at[1] + back * vy)
        centre = (first[0] - side * radius * uy, first[1] + side * radius * ux)
        return first, Arc(first, last, centre, turn < 0), last
    assert turn < 0, "a relief needs an inside corner"
    angle = math.pi + turn
    if way == "dogbone":
        size = math.hypot(vx - ux, vy - uy)
        centre = (at[0] + radius * (vx - ux) / size, at[1] + radius * (vy - uy) / size)
        taken = 2 * radius * math.cos(angle / 2)
        first, last = (at[0] - taken * ux, at[1] - taken * uy), (at[0] + taken * vx, at[1] + taken * vy)
        return first, Arc(first, last, centre, True), last
    taken = 2 * radius * math.sin(angle)
    if way == "t-bone after":
        centre, last = (at[0] + radius * uy, at[1] - radius * ux), (at[0] + taken * vx, at[1] + taken * vy)
        return at, Arc(at, last, centre, True), last
    centre, first = (at[0] + radius * vy, at[1] - radius * vx), (at[0] - taken * ux, at[1] - taken * uy)
    return first, Arc(first, at, centre, True), at


def _unit(a: Point, b: Point) -> Point:
    size = math.dist(a, b)
    return ((b[0] - a[0]) / size, (b[1] - a[1]) / size)


def flattened(path: Path, chords: int) -> Path:
    """The path with every arc as chords, `chords` of them on a half circle, at least three."""
    segments: list[Segment] = []
    for segment in path.segments:
        if isinstance(segment, Line):
            segments.append(segment)
            continue
        (cx, cy), radius = segment.centre, segment.radius
        first = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
        last = math.atan2(segment.end[1] - cy, segment.end[0] - cx)
        sweep = -((first - last) % (2 * math.pi)) if segment.clockwise else (last - first) % (2 * math.pi)
        count = max(3, math.ceil(chords * abs(sweep) / math.pi - 1e-9))
        row = [segment.start]
        for k in range(1, count):
            angle = first + sweep * k / count
            row.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
        row.append(segment.end)
        segments += [Line(a, b) for a, b in pairwise(row)]
    return Path(tuple(segments))


def rounded(path: Path, decimals: int) -> Path:
    """The path as a file with that many decimals stores it: ends of lines, and ends and centres of arcs.

    A rounded centre is moved so that both ends keep one radius, as a reader does.
    """

    def near(p: Point) -> Point:
        return (round(p[0], decimals), round(p[1], decimals))

    segments: list[Segment] = []
    for segment in path.segments:
        start, end = near(segment.start), near(segment.end)
        if math.dist(start, end) < 1e-6:
            continue
        if isinstance(segment, Line):
            segments.append(Line(start, end))
            continue
        mx, my = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        dx, dy = _unit(start, end)
        along = (segment.centre[0] - mx) * dx + (segment.centre[1] - my) * dy
        centre = (segment.centre[0] - along * dx, segment.centre[1] - along * dy)
        segments.append(Arc(start, end, centre, segment.clockwise))
    return Path(tuple(segments))


def convex_corners(chance: random.Random, least: float, largest: float = 120.0) -> list[Point]:
    """Corners of an opening, clockwise: angles 60 to 135 degrees, every side longer than `least`."""
    while True:
        count = chance.choice((3, 4, 4, 4, 5, 6))
        turns = [math.radians(180 - chance.uniform(60, 135)) for _ in range(count)]
        scale = 2 * math.pi / sum(turns)
        turns = [turn * scale for turn in turns]
        if not all(math.radians(45) <= turn <= math.radians(120) for turn in turns):
            continue
        heading, at = chance.uniform(0, 2 * math.pi), (chance.uniform(0, 2000), chance.uniform(0, 1000))
        corners = [at]
        headings = []
        for k in range(count):
            headings.append(heading)
            heading -= turns[k]
        # All sides but the last two are free; these two close the loop.
        sizes = [chance.uniform(least, largest) for _ in range(count - 2)]
        x = sum(s * math.cos(h) for s, h in zip(sizes, headings, strict=False))
        y = sum(s * math.sin(h) for s, h in zip(sizes, headings, strict=False))
        (ax, ay), (bx, by) = ((math.cos(h), math.sin(h)) for h in headings[-2:])
        cross = ax * by - ay * bx
        sizes += [(-x * by + y * bx) / cross, (-ax * y + ay * x) / cross]
        if not all(least <= size <= 3 * largest for size in sizes):
            continue
        for size, one in zip(sizes[:-1], headings, strict=False):
            at = (at[0] + size * math.cos(one), at[1] + size * math.sin(one))
            corners.append(at)
        return corners
