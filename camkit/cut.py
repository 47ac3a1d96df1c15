"""`Cut`: one feature, one cutter, and the moves that make it. Lengths in mm, feeds in mm/min."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from camkit.geometry.path import Point

__all__ = ["Cut", "CutKind", "Drill", "Feed", "Move", "Rapid", "Tab", "Turn"]

CutKind = Literal["hold-down", "pocket", "hole", "countersink", "opening", "profile"]


@dataclass(frozen=True, slots=True)
class Rapid:
    """Travel without cutting to (x, y, z); Z is 0 on the sheet's top, up is positive."""

    x: float
    y: float
    z: float


@dataclass(frozen=True, slots=True)
class Feed:
    """A straight cut to (x, y, z)."""

    x: float
    y: float
    z: float
    feed_mm_min: float


@dataclass(frozen=True, slots=True)
class Turn:
    """A circular or helical cut about `centre` to (x, y, z), seen from above; below one full turn."""

    x: float
    y: float
    z: float
    centre: Point
    clockwise: bool
    feed_mm_min: float


@dataclass(frozen=True, slots=True)
class Drill:
    """A drilling cycle at (x, y): down to z from `retract`, where the cutter stands, and out again to there.

    Every `peck` mm, counted from `retract`, it comes up to there to clear its chips.
    """

    x: float
    y: float
    z: float
    retract: float
    peck: float
    feed_mm_min: float


Move = Rapid | Feed | Turn | Drill


@dataclass(frozen=True, slots=True)
class Tab:
    """Wood left to hold a part: its middle on the cutter's path, length of its top along it, and height.

    The height is measured from the sheet's underside. `fault` says in words what its place lacks.
    """

    x: float
    y: float
    width: float
    height: float
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """One feature made with one cutter on one sheet; `moves` begin and end at safe height."""

    number: int
    kind: CutKind
    part: str
    copy: int
    sheet: int
    cutter: int
    moves: tuple[Move, ...]
    tabs: tuple[Tab, ...] = ()
