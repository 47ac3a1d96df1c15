"""Uprights under a seat with shelves between them, drawn as plain parts; lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from camkit.geometry.path import Line, Path, Point, polygon, rectangle
from camkit.part import Hole, Part, Pocket

__all__ = ["board", "mapped", "shelf", "turned", "upright"]

DEEP = 300.0  # all parts, across the line of uprights
TENON, MORTISE = 80.0, 80.3


def board(
    name: str,
    places: Iterable[float],
    *,
    wide: float = 18.0,
    span: float = MORTISE,
    at: float = DEEP / 2,
    length: float = 2400.0,
    holes: Iterable[Point] = (),
) -> Part:
    """A seat or a back: upright mortises at `places` along x, `span` long about y = `at`."""
    loops = [rectangle(x - wide / 2, at - span / 2, x + wide / 2, at + span / 2) for x in places]
    bored = tuple(Hole(centre, 4.5) for centre in holes)
    return Part(name, rectangle(-100, 0, length, DEEP), tuple(loops), bored)


def upright(
    name: str,
    tenons: Sequence[float] = (TENON,),
    mortises: Sequence[tuple[float, float, float]] = (),
    *,
    proud=18.0,
) -> Part:
    """300 deep, 400 high, tenons of these widths on top (first) and on its right (second) edge.

    `mortises` lie across it: (height, length, width).
    """
    points: list[Point] = [(0, 0), (DEEP, 0)]
    if len(tenons) > 1:
        low = 200 - tenons[1] / 2
        points += [(DEEP, low), (DEEP + proud, low), (DEEP + proud, low + tenons[1]), (DEEP, low + tenons[1])]
    points += [(DEEP, 400)]
    right = (DEEP + tenons[0]) / 2
    points += [(right, 400), (right, 400 + proud), (right - tenons[0], 400 + proud), (right - tenons[0], 400)]
    points += [(0, 400)]
    loops = [
        rectangle((DEEP - span) / 2, high - wide / 2, (DEEP + span) / 2, high + wide / 2)
        for high, span, wide in mortises
    ]
    return Part(name, polygon(points), tuple(loops))


def shelf(
    name: str, shoulders: float, tenon: float = 100.0, *, out: float = 8.0, slots: Iterable[float] = ()
) -> Part:
    """`shoulders` long between its shoulders (at x = 0 and there), a tenon in the middle of both ends."""
    low, high = (DEEP - tenon) / 2, (DEEP + tenon) / 2
    right = [(shoulders, low), (shoulders + out, low), (shoulders + out, high), (shoulders, high)]
    left = [(0, high), (-out, high), (-out, low), (0, low)]
    points = [(0, 0), (shoulders, 0), *right, (shoulders, DEEP), (0, DEEP), *left]
    loops = tuple(rectangle(x - 9, 110, x + 9, 110 + MORTISE) for x in slots)
    return Part(name, polygon(points), loops)


def mapped(part: Part, place: Callable[[Point], Point]) -> Part:
    """The part with every point moved; straight walls only."""

    def loop(path: Path) -> Path:
        return Path(tuple(Line(place(wall.start), place(wall.end)) for wall in path.segments))

    return replace(
        part,
        outline=loop(part.outline),
        openings=tuple(loop(path) for path in part.openings),
        holes=tuple(replace(hole, centre=place(hole.centre)) for hole in part.holes),
        pockets=tuple(Pocket(loop(pocket.outline), pocket.depth) for pocket in part.pockets),
    )


def turned(part: Part, degrees: float, *, mirrored: bool = False) -> Part:
    """The part mirrored left to right first where asked, then turned about (0, 0)."""
    cos, sin, sign = math.cos(math.radians(degrees)), math.sin(math.radians(degrees)), -1 if mirrored else 1
    return mapped(part, lambda p: (sign * p[0] * cos - p[1] * sin, sign * p[0] * sin + p[1] * cos))
