"""Which corners of a part must be square, and which radius its cutters want there. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from camkit.errors import Finding
from camkit.geometry.contour import Contour, Corner
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Path
from camkit.geometry.tolerance import RELIEF
from camkit.job.model import Cutter, ReliefWish
from camkit.joinery.fitted import Relief
from camkit.joinery.moved import Moved
from camkit.joinery.relief import housing_corners, milling_cutters
from camkit.joinery.relief_need import least_shortness, no_relief_because
from camkit.joinery.relief_plan import Seat
from camkit.joinery.task import Task
from camkit.joinery.tenon_roots import Root, root_relief
from camkit.joinery.undo import Undone
from camkit.joinery.wanted import Rooted
from camkit.part import Part

__all__ = ["Seated", "Seats", "seats_of"]


# Drawn reliefs serve a cutter when they are no narrower, within what flattening takes, and not much wider.
_SAME_RADIUS, _WIDER = 0.005, 1.25
_ONE_WALL = 0.5


@dataclass(frozen=True, slots=True)
class Seated:
    """A seat with the task or the tenon that it belongs to, one of the two; `depth` is a slot's or gap's."""

    seat: Seat
    task: Task | None = None
    rooted: Rooted | None = None
    depth: float = 0.0


@dataclass(frozen=True, slots=True)
class Seats:
    """All seats of a part, and what was found on the way.

    `served` are places that do not move and whose drawn reliefs are made for their cutter: they stay.
    """

    seats: tuple[Seated, ...]
    findings: tuple[Finding, ...]
    served: tuple[Task, ...] = ()


def seats_of(
    part: Part,
    sharp: Undone,
    moved: Moved,
    rooted: Sequence[Rooted],
    cutters: Sequence[Cutter],
    through: float,
) -> Seats:
    """The seats of the moved part: its places with a cutter, then its tenons' roots.

    Corners that nothing square enters, or that are drawn rounder than the cutter, are left out. Roots go with
    the smallest cutter of the outline's places, else with the largest whose reliefs have room.
    """
    seats, findings = list[Seated](), list[Finding]()
    served = [task for task in moved.tasks if _served(task, sharp, moved)]
    for task in moved.tasks:
        if any(task is one for one in served):
            continue
        if task.cutter is None:
            # A rabbet is open to the edge: a cutter wider than it stands over the edge.
            findings += [task.no_cutter()] if task.opening.place.kind != "rabbet" else []
            continue
        seat, said = _seat(task, sharp, moved)
        findings += said
        if seat.corners:
            seats.append(Seated(seat, task, depth=_depth(task, moved)))
    outline = [one.task.cutter for one in seats if one.seat.loop == 0 and one.task]
    radius = _root_radius(rooted, moved, [c for c in outline if c] or milling_cutters(cutters, through))
    if radius is not None:
        for one in rooted:
            roots, said = _square_roots(part, one, sharp.outline, moved.loops.outline, radius)
            findings += said
            if roots:
                seats.append(Seated(_tenon(one, roots, radius + RELIEF), rooted=one))
    return Seats(tuple(seats), tuple(findings), tuple(served))


def _depth(task: Task, moved: Moved) -> float:
    """How deep a slot or gap of the outline has become: its shorter side."""
    if task.opening.place.loop is not None:
        return 0.0
    return min(segment_length(moved.loops.outline.segments[wall]) for wall in task.opening.place.broad)


def _served(task: Task, sharp: Undone, moved: Moved) -> bool:
    place = task.opening.place
    wish = task.opening.wish
    if task.cutter is None or wish == "none" or not place.corners:
        return False
    if place.loop is None:
        return _serve(sharp.outline, moved.loops.outline, place.corners, task.bare_radius, wish)
    contour = (sharp.pockets if task.in_pocket else sharp.openings)[place.loop]
    walls = (moved.loops.pockets if task.in_pocket else moved.loops.openings)[place.loop]
    return walls is contour.walls and _serve(contour, walls, place.corners, task.bare_radius, wish)


def _serve(contour: Contour, walls: Path, corners: Sequence[int], radius: float, wish: ReliefWish) -> bool:
    """Whether reliefs drawn in all these corners are made for a cutter of this radius, and have not moved."""
    return all(
        contour.corners[k].kind == "relief"
        and radius - _SAME_RADIUS <= contour.corners[k].radius <= _WIDER * radius
        and contour.walls.segments[k].end == walls.segments[k].end
        and wish in ("by rule", _drawn_kind(contour.corners[k]))
        for k in corners
    )


def _drawn_kind(corner: Corner) -> Relief:
    """A dogbone takes as much of both walls, a T-bone of one alone."""
    if corner.at is None:
        return "none"
    taken = [math.dist(corner.at, spot) for spot in (corner.pieces[0].start, corner.pieces[-1].end)]
    return "dogbone" if min(taken) > _ONE_WALL * max(taken) else "t-bone"


def _seat(task: Task, sharp: Undone, moved: Moved) -> tuple[Seat, list[Finding]]:
    opening, place = task.opening, task.opening.place
    found = list[Finding]()
    if place.loop is None:
        corners, round_ones = _sharp_corners(place.corners, sharp.outline, task)
        found += [task.round_corners(round_ones)] if round_ones else []
        kind: Literal["finger gap", "slot"] = "finger gap" if place.kind == "finger gap" else "slot"
        count = len(moved.loops.outline.segments)
        bottom = (place.corners[0] + 1) % count if place.corners[0] in place.broad else place.corners[0]
        return Seat(kind, 0, (bottom,), task.radius, task.name, tuple(corners), wish=opening.wish), found
    contour = (sharp.pockets if task.in_pocket else sharp.openings)[place.loop]
    corners = list(place.corners)
    if task.in_pocket:
        loop = moved.loops.pockets[place.loop]
        if place.kind == "rabbet":
            corners = [(place.broad[0] - 1) % 4, place.broad[0]]
        inner, near = housing_corners(task.part, loop, corners, task.radius)
        corners = list(inner)
        found += [task.at_edge()] if near and place.kind != "rabbet" else []
    square, round_ones = _sharp_corners(corners, contour, task)
    if round_ones and opening.entry.short < least_shortness(round_ones, opening.clearance):
        found.append(task.round_corners(round_ones))
    short = no_relief_because(task.bare_radius, short=opening.entry.short, clearance=opening.clearance)
    first, second = place.broad
    offset = 1 + (len(sharp.openings) if task.in_pocket else 0)
    seat = Seat(
        "housing" if task.in_pocket else "mortise",
        offset + place.loop,
        (first, (first + 2) % 4 if first == second else second),
        task.radius,
        task.name,
        () if short and opening.mates else tuple(square),
        cover=opening.entry.cover,
        through=opening.shows,
        wish=opening.wish,
    )
    return seat, found


def _sharp_corners(corners: Sequence[int], contour: Contour, task: Task) -> tuple[list[int], float]:
    """Corners to be made square, and the largest radius of those drawn as round as the cutter or rounder."""
    square, largest = list[int](), 0.0
    for corner in corners:
        drawn = contour.corners[corner]
        radius = drawn.radius if drawn.kind == "fillet" else 0.0
        if no_relief_because(task.bare_radius, drawn_radius=radius) is None:
            square.append(corner)
        else:
            largest = max(largest, radius)
    return square, largest


def _root_radius(rooted: Sequence[Rooted], moved: Moved, cutters: Sequence[Cutter]) -> float | None:
    """Radius of the cutter for roots: the largest whose reliefs all have room, else the smallest."""
    radii = sorted({cutter.diameter / 2 for cutter in cutters}, reverse=True)
    if not rooted or not radii:
        return None
    path = moved.loops.outline
    shared = {root.corner for one in rooted for root in one.roots}
    return next(
        (
            radius
            for radius in radii
            if not any(
                said.level == "error"
                for one in rooted
                for said in root_relief(
                    path,
                    one.roots,
                    radius + RELIEF,
                    width=one.width,
                    hidden=one.hidden,
                    wish=one.wish,
                    roots=shared,
                ).said
            )
        ),
        radii[-1],
    )


def _square_roots(
    part: Part, one: Rooted, contour: Contour, walls: Path, radius: float
) -> tuple[tuple[Root, ...], list[Finding]]:
    """The roots to be relieved: not those relieved in the drawing for this cutter or as round as it.

    Rounded ones are told.
    """
    fillets = {
        root: contour.corners[root.corner].radius
        for root in one.roots
        if contour.corners[root.corner].kind == "fillet"
    }
    wide = [fillet for fillet in fillets.values() if no_relief_because(radius, drawn_radius=fillet)]
    roots = tuple(
        root
        for root in one.roots
        if not no_relief_because(radius, drawn_radius=fillets.get(root, 0.0))
        and not _serve(contour, walls, (root.corner,), radius, one.wish)
    )
    return roots, [_round_roots(part, one, max(wide))] if wide else []


def _round_roots(part: Part, one: Rooted, radius: float) -> Finding:
    (x, y), leg = one.middle, math.ceil(10 * radius - 1e-6) / 10
    return Finding(
        "warning",
        "round-corners",
        f"the tenon at ({x:.1f}, {y:.1f}) is drawn with roots rounded by {radius:.2f} mm, which stay; its "
        "shoulders stand off a sharp mortise mouth",
        f"Draw the roots sharp to have them relieved, or chamfer the mortise's mouth by {leg:.1f} mm",
        x_mm=x,
        y_mm=y,
        part=part.name,
        file=part.source.file or None,
    )


def _tenon(one: Rooted, roots: tuple[Root, ...], radius: float) -> Seat:
    (x, y) = one.middle
    place = f"the tenon at ({x:.1f}, {y:.1f})"
    return Seat("tenon", 0, (), radius, place, roots=roots, hidden=one.hidden, width=one.width, wish=one.wish)
