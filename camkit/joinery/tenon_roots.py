"""How the roots of tenons are relieved, so that their shoulders seat against a sharp mortise mouth.

The outline has sharp corners and its material on the left; corners are counted by the wall that ends in them.
Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import shapely

from camkit.geometry.corner import corner_angle, turn_between
from camkit.geometry.corner_relief import CornerRelief, opening_of
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path
from camkit.geometry.tolerance import CHAIN, RELIEF
from camkit.job.model import ReliefWish
from camkit.joinery.fitted import Relief
from camkit.joinery.relief_choice import Choice, Reliefs, Said
from camkit.joinery.webs import least_web, web_left

__all__ = ["BROAD", "Root", "inside_corners", "root_relief", "roots_of"]

# Into the tenon's side from this width on, in radii of the relief (common practice, no source).
BROAD = 20.0
# A tenon keeps this share of its width at the root where there is no choice (common practice, no source).
_KEPT = 0.5
# A shoulder keeps this much to seat on (common practice, no source).
_SEAT = 1.0
# An inside corner turns by this at least; drawn in nearly straight on, a wall has no root.
_TURN = math.radians(15)


class Root(NamedTuple):
    """A tenon's root: the corner at the end of wall `corner`, between the tenon's side and its shoulder."""

    corner: int
    side: int
    shoulder: int


def roots_of(path: Path, tip: int) -> tuple[Root, ...]:
    """The roots of the tenon that ends in wall `tip`; none where a side runs on flush or is bent."""
    count = len(path.segments)
    ends = (
        Root((tip - 2) % count, (tip - 1) % count, (tip - 2) % count),
        Root((tip + 1) % count, (tip + 1) % count, (tip + 2) % count),
    )
    return inside_corners(path, ends)


def inside_corners(path: Path, roots: Iterable[Root]) -> tuple[Root, ...]:
    """Those of the roots that are inside corners of straight walls; a hook's corner turns the other way."""
    count = len(path.segments)
    return tuple(
        root
        for root in roots
        if isinstance(path.segments[root.side], Line)
        and isinstance(path.segments[root.shoulder], Line)
        and turn_between(path.segments[root.corner], path.segments[(root.corner + 1) % count]) < -_TURN
    )


def root_relief(
    path: Path,
    found: Sequence[Root],
    radius: float,
    *,
    width: float,
    hidden: float = math.inf,
    wish: ReliefWish = "by rule",
    roots: Iterable[int] = (),
    others: shapely.Geometry | None = None,
) -> Choice:
    """The reliefs at the roots of a tenon of that width.

    By rule T-bones into the tenon's sides, hidden in a mortise `hidden` deep, where the tenon is 20 radii
    wide; else into the shoulders, which keeps the tenon's strength and shows. Where one has no room or leaves
    too thin a web to `others`: the other (but never more than half the tenon), then dogbones. `roots` are all
    corners of the path that are to be relieved: walls between two of them are shared by halves. A root
    without room for any is left alone, with an error (`root-room`).
    """
    if not found or wish == "none":
        return Choice(said=(_round(radius),) if found else ())
    relieved = {root.corner for root in found}.union(roots)
    reliefs: Reliefs = {}
    words: list[Relief] = []
    for root in found:
        chosen = _chosen(path, root, radius, _ways(path, width, root, radius, hidden, wish), relieved, others)
        if chosen is not None:
            words.append("dogbone" if chosen.past == "both" else "t-bone")
            reliefs[root.corner] = chosen
    said: tuple[Said, ...] = ()
    if len(reliefs) < len(found):
        said = (_no_room(radius, _largest(path, found, radius, width, hidden, wish, relieved)),)
    word: Relief = "none" if not words else "dogbone" if "dogbone" in words else "t-bone"
    return Choice(reliefs, word, (), said)


def _largest(
    path: Path,
    found: Sequence[Root],
    radius: float,
    width: float,
    hidden: float,
    wish: ReliefWish,
    relieved: set[int],
) -> float:
    """Diameter of the largest cutter, in whole tenths, whose reliefs have room at all roots; 0 without."""
    for tenths in range(math.floor(20 * (radius - RELIEF)), 0, -1):
        smaller = tenths / 20 + RELIEF
        if all(
            any(
                _has_room(path, root, way, relieved)
                for way in _ways(path, width, root, smaller, hidden, wish)
            )
            for root in found
        ):
            return tenths / 10
    return 0.0


def _ways(
    path: Path, width: float, root: Root, radius: float, hidden: float, wish: ReliefWish
) -> list[CornerRelief]:
    first = root.side == root.corner
    side = CornerRelief(radius, "before" if first else "after")
    shoulder = CornerRelief(radius, "after" if first else "before")
    taken = max(opening_of(side, _angle(path, root.corner)))
    within = taken <= hidden
    narrowed = width - 2 * radius >= _KEPT * width
    ways = [side, shoulder] if width >= BROAD * radius and within else [shoulder]
    if wish == "by rule":
        ways.append(CornerRelief(radius))
    if side not in ways and narrowed:
        ways.append(side)
    return [CornerRelief(radius)] if wish == "dogbone" else ways


def _chosen(
    path: Path,
    root: Root,
    radius: float,
    ways: Sequence[CornerRelief],
    relieved: set[int],
    others: shapely.Geometry | None,
) -> CornerRelief | None:
    roomy = [way for way in ways if _has_room(path, root, way, relieved)]
    webs = [web_left(path, {root.corner: way}, others) for way in roomy]
    for way, web in zip(roomy, webs, strict=True):
        if web >= least_web(radius):
            return way
    return roomy[webs.index(max(webs))] if roomy and max(webs) > 0 else None


def _has_room(path: Path, root: Root, way: CornerRelief, relieved: set[int]) -> bool:
    """Whether the root's side and shoulder hold the relief, half of a wall that another root ends as well."""
    count = len(path.segments)
    walls = (root.corner, (root.corner + 1) % count)
    for wall, taken in zip(walls, opening_of(way, _angle(path, root.corner)), strict=True):
        shared = {(wall - 1) % count, wall} <= relieved
        share = segment_length(path.segments[wall]) / (2 if shared else 1)
        kept = _SEAT / (2 if shared else 1) if wall == root.shoulder and taken else CHAIN
        if taken > share - kept:
            return False
    return True


def _angle(path: Path, corner: int) -> float:
    return corner_angle(path.segments[corner], path.segments[(corner + 1) % len(path.segments)])


def _round(radius: float) -> Said:
    return Said(
        "note",
        "roots-round",
        "keeps the round roots that the cutter leaves, and its shoulders stand off a sharp mortise mouth",
        f"Chamfer the mortise's mouth by {_leg(radius):.1f} mm, or square the roots with a chisel",
    )


def _no_room(radius: float, largest: float) -> Said:
    cutter = f"a milling cutter of at most {largest:.1f} mm" if largest else "a smaller milling cutter"
    return Said(
        "error",
        "root-room",
        f"has sides or shoulders too short for a relief of radius {radius:.2f} at its roots; its shoulders "
        "will not seat against a sharp mortise mouth",
        f"Use {cutter}, draw longer shoulders, or chamfer the mortise's mouth by "
        f'{_leg(radius):.1f} mm and write relief = "none"',
    )


def _leg(radius: float) -> float:
    """Leg of a chamfer that clears a root of this radius, in whole tenths."""
    return math.ceil(10 * radius - 1e-6) / 10
