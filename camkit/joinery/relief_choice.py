"""Which relief the square corners of a place get, by rule or as the job wishes.

Everything works on a loop with sharp corners and its material on the left; corners are counted by the wall
that ends in them. Radii are those of the reliefs. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import shapely

from camkit.errors import Level
from camkit.geometry.corner import corner_angle
from camkit.geometry.corner_relief import (
    CornerRelief,
    Past,
    opening_of,
    relieve_corners,
    tbone_overcut,
)
from camkit.geometry.end_overcut import overcut_ends
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path
from camkit.geometry.tolerance import CHAIN, SAME_POINT
from camkit.job.model import ReliefWish
from camkit.joinery.fitted import Relief
from camkit.joinery.webs import Opened, least_web, opened_by, web_left

__all__ = [
    "Choice",
    "Reliefs",
    "Said",
    "cover_wanted",
    "covered",
    "finger_relief",
    "housing_relief",
    "mortise_relief",
    "notch_relief",
    "opened_places",
    "room_for",
    "taken_of",
]

Reliefs = dict[int, CornerRelief]
# A shoulder hides a relief that it covers by this much (common practice, no source).
_COVER = 1.0


class Said(NamedTuple):
    """A finding without its place; the message goes on after the place's name."""

    level: Level
    rule: str
    message: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Choice:
    """Reliefs by the index of their corner, and the end walls that are cut over whole instead.

    `word` names what was chosen; "none" with an error in `said` where nothing can be cut.
    """

    reliefs: Mapping[int, CornerRelief] = field(default_factory=dict)
    word: Relief = "none"
    overcut: tuple[int, ...] = ()
    said: tuple[Said, ...] = ()


def taken_of(path: Path, reliefs: Mapping[int, CornerRelief]) -> dict[int, float]:
    """How much the reliefs take of each wall, by its index, those at both its ends together.

    Raises ValueError where a neighbour of a corner is no straight wall.
    """
    taken: dict[int, float] = {}
    for corner, relief in reliefs.items():
        following = (corner + 1) % len(path.segments)
        walls = (path.segments[corner], path.segments[following])
        if not all(isinstance(wall, Line) for wall in walls):
            raise ValueError(f"a relief needs two straight walls at {walls[0].end}")
        for wall, part in zip((corner, following), opening_of(relief, corner_angle(*walls)), strict=True):
            taken[wall] = taken.get(wall, 0.0) + part
    return taken


def room_for(path: Path, reliefs: Mapping[int, CornerRelief]) -> bool:
    """Whether every wall is longer than what the reliefs at its two ends take of it.

    In square corners two dogbones need 2 sqrt(2) r of a wall between them, two T-bones that pass it 4 r.
    """
    return all(
        part == 0 or part <= segment_length(path.segments[wall]) - CHAIN
        for wall, part in taken_of(path, reliefs).items()
    )


def cut_over(path: Path, choice: Choice, radius: float) -> Path:
    """The sharp path with a choice's reliefs cut, or its ends cut over by `radius`."""
    if choice.overcut:
        path = overcut_ends(path, choice.overcut, radius)
    return relieve_corners(path, choice.reliefs) if choice.reliefs else path


def opened_places(path: Path, choice: Choice, radius: float, *, loop: int, place: str) -> tuple[Opened, ...]:
    """The wood that a choice opens behind the walls of the sharp path, for `thin_webs`."""
    count = len(path.segments)
    corners = [
        Opened(
            opened_by(path, corner, relief), loop, (corner, (corner + 1) % count), place, least_web(radius)
        )
        for corner, relief in sorted(choice.reliefs.items())
    ]
    ends = [
        Opened(
            shapely.difference(as_polygon(overcut_ends(path, (end,), radius)), as_polygon(path)),
            loop,
            ((end - 1) % count, end, (end + 1) % count),
            place,
            least_web(radius),
        )
        for end in choice.overcut
    ]
    return (*corners, *ends)


def covered(shoulder: float, play: float = 0.0) -> float:
    """How far a shoulder surely reaches beyond its mortise's end: less by the play along the mortise."""
    return shoulder - max(0.0, play)


def cover_wanted(radius: float, angle: float = math.pi / 2) -> float:
    """How far a shoulder must reach beyond a mortise's end to hide a T-bone: r (1 + cos a) + 1."""
    return tbone_overcut(angle, radius) + _COVER


def mortise_relief(
    loop: Path,
    broad: tuple[int, int],
    radius: float,
    *,
    corners: Iterable[int] = (0, 1, 2, 3),
    cover: float = 0.0,
    through: bool = True,
    wish: ReliefWish = "by rule",
    others: shapely.Geometry | None = None,
) -> Choice:
    """The reliefs of a four-sided opening with long walls `broad`, at `corners` that must be square.

    By rule T-bones past the ends where a shoulder reaches `cover` beyond both and hides them (see
    `cover_wanted`), which leaves the broad walls whole; else dogbones. What has no room, or leaves too thin a
    web to `others`, gives way to dogbones, and where those merge (ends below 2 sqrt(2) r), the ends are cut
    over whole. A `through` mortise shows T-bones on the face where the tenon comes out: said in a note.
    """
    corners = tuple(corners)
    if wish == "none" or not corners:
        return Choice()
    tbones = {c: CornerRelief(radius, "after" if c in broad else "before") for c in corners}
    dogbones = {c: CornerRelief(radius) for c in corners}
    hidden = all(cover >= cover_wanted(radius, _angle(loop, c)) - SAME_POINT for c in corners)
    ways: list[tuple[Relief, Reliefs]] = []
    if wish == "t-bone" or (wish == "by rule" and hidden):
        ways.append(("t-bone", tbones))
    if wish != "t-bone":
        ways.append(("dogbone", dogbones))
    chosen = _first(loop, ways, radius, others)
    if chosen is None:
        ends = [wall for wall in range(4) if wall not in broad]
        return Choice({}, "overcut", tuple(e for e in ends if e in corners or (e - 1) % 4 in corners))
    word, reliefs = chosen
    shows = word == "t-bone" and wish == "by rule" and through
    return Choice(reliefs, word, (), (_SHOWS,) if shows else ())


_SHOWS = Said(
    "note",
    "relief-shows",
    "has T-bones that shoulders hide on one face and that show on the other, where the tenon comes out",
    'Write relief = "dogbone" for smaller ones, or relief = "none" and square the corners with a chisel',
)


def housing_relief(
    loop: Path,
    broad: tuple[int, int],
    radius: float,
    corners: Iterable[int],
    *,
    cover: float = 0.0,
    wish: ReliefWish = "by rule",
    others: shapely.Geometry | None = None,
) -> Choice:
    """The reliefs of a housing or rabbet at its inner `corners`: those of a mortise that comes out nowhere.

    An edge without shoulders covers nothing, so that they are dogbones; where the edge is notched back its
    shoulders hide T-bones as those of a tenon do.
    """
    return mortise_relief(
        loop, broad, radius, corners=corners, cover=cover, through=False, wish=wish, others=others
    )


def notch_relief(
    path: Path,
    bottom: int,
    radius: float,
    *,
    corners: Iterable[int] | None = None,
    wish: ReliefWish = "by rule",
    others: shapely.Geometry | None = None,
) -> Choice:
    """The reliefs of a slot's or cross-lap's two bottom corners, or those of `corners`, along wall `bottom`.

    By rule the first that has room and leaves its web: T-bones into the bottom, which the partner covers;
    dogbones; T-bones into the side walls, which show. The bottom is never cut over whole, since the partner
    seats on it: without room it is an error (`relief-room`).
    """
    return _notch(path, bottom, corners, radius, ("bottom", "both", "sides"), wish, others)


def finger_relief(
    path: Path,
    bottom: int,
    radius: float,
    *,
    corners: Iterable[int] | None = None,
    wish: ReliefWish = "by rule",
    others: shapely.Geometry | None = None,
) -> Choice:
    """The reliefs of a finger gap's two bottom corners, or those of `corners`, along wall `bottom`.

    The partner's finger ends flush with the gap, so that nothing covers a relief: by rule the smallest one,
    dogbones, first; then T-bones into the bottom, which leave the fingers whole; then T-bones into the
    fingers. Without room, or where only a breakthrough into the next gap is left, it is an error.
    """
    return _notch(path, bottom, corners, radius, ("both", "bottom", "sides"), wish, others)


def _notch(
    path: Path,
    bottom: int,
    corners: Iterable[int] | None,
    radius: float,
    order: Sequence[str],
    wish: ReliefWish,
    others: shapely.Geometry | None,
) -> Choice:
    count = len(path.segments)
    both = ((bottom - 1) % count, bottom % count)
    wanted = both if corners is None else tuple(corners)
    if wish == "none" or not wanted:
        return Choice()
    pasts: dict[str, tuple[Past, Past]] = {
        "bottom": ("after", "before"),
        "both": ("both", "both"),
        "sides": ("before", "after"),
    }
    words: dict[str, Relief] = {"bottom": "t-bone", "both": "dogbone", "sides": "t-bone"}
    ways: list[tuple[Relief, Reliefs]] = []
    for way in order:
        if wish in ("by rule", words[way]):
            sides = zip(both, pasts[way], strict=True)
            ways.append((words[way], {c: CornerRelief(radius, past) for c, past in sides if c in wanted}))
    chosen = _first(path, ways, radius, others)
    if chosen is None:
        return Choice(said=(_no_room(radius),))
    word, reliefs = chosen
    if web_left(path, reliefs, others) <= 0:
        return Choice(said=(_breaks_through(radius),))
    return Choice(reliefs, word)


def _no_room(radius: float) -> Said:
    return Said(
        "error",
        "relief-room",
        f"has no room for reliefs of radius {radius:.2f}; its bottom corners stay round and the "
        "partner cannot seat",
        "Use a smaller milling cutter",
    )


def _breaks_through(radius: float) -> Said:
    return Said(
        "error",
        "relief-breaks-through",
        f"leaves no wood for reliefs of radius {radius:.2f}: each kind breaks through into what "
        "is cut beside it",
        "Move them apart in the drawing, or use a smaller cutter",
    )


def _first(
    path: Path, ways: Sequence[tuple[Relief, Reliefs]], radius: float, others: shapely.Geometry | None
) -> tuple[Relief, Reliefs] | None:
    """The first way with room that leaves its web, else the one that leaves most; None without room."""
    roomy = [way for way in ways if room_for(path, way[1])]
    if others is None or not roomy:
        return roomy[0] if roomy else None
    webs = [web_left(path, reliefs, others) for _, reliefs in roomy]
    for way, web in zip(roomy, webs, strict=True):
        if web >= least_web(radius):
            return way
    return roomy[webs.index(max(webs))]


def _angle(path: Path, corner: int) -> float:
    return corner_angle(path.segments[corner], path.segments[(corner + 1) % len(path.segments)])
