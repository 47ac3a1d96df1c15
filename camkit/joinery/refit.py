"""Re-fitting one part: walls move to where the sheet wants them, then corners are relieved. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from camkit.errors import Finding
from camkit.geometry.contour import Contour, Corner, contour_of, loop_of
from camkit.geometry.corner import arriving, move_walls
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Line, Path, Point
from camkit.job.model import Cutter
from camkit.joinery.breakthrough import breakthroughs
from camkit.joinery.fitted import FittedJoint, Relief, SizeChange
from camkit.joinery.relief import cutter_for, gap_relief, housing_corners, relieve_rectangle, slot_relief
from camkit.joinery.task import Task
from camkit.joinery.wanted import Loops, Opening, Shift, Wanted
from camkit.part import Part, Pocket

__all__ = ["Refitted", "SharpPart", "refit", "sharp_part"]

# Below a nanometre nothing moves: drawings hold six decimals.
_NONE = 1e-6
_HERE = 1e-6
# Drawn reliefs serve a cutter when they are no narrower, within what flattening takes, and not much wider.
_SAME_RADIUS, _WIDER = 0.005, 1.25
_ONE_WALL = 0.5


@dataclass(frozen=True, slots=True)
class SharpPart:
    """A part's loops as contours: drawn reliefs undone, fillets set aside."""

    outline: Contour
    openings: tuple[Contour, ...]
    pockets: tuple[Contour, ...]

    @property
    def loops(self) -> Loops:
        """Their walls alone."""
        return Loops(
            self.outline.walls,
            tuple(contour.walls for contour in self.openings),
            tuple(contour.walls for contour in self.pockets),
        )


@dataclass(frozen=True, slots=True)
class Refitted:
    """A part after re-fitting; `part` is the very same object when nothing of it was re-fitted."""

    part: Part
    joints: tuple[FittedJoint, ...] = ()
    sizes: tuple[SizeChange, ...] = ()
    findings: tuple[Finding, ...] = ()


def sharp_part(part: Part) -> SharpPart:
    """The part's outline, openings and pockets as contours."""
    return SharpPart(
        contour_of(part.outline, hollow=False),
        tuple(contour_of(loop, hollow=True) for loop in part.openings),
        tuple(contour_of(pocket.outline, hollow=True) for pocket in part.pockets),
    )


def refit(
    part: Part, sharp: SharpPart, wanted: Wanted, cutters: Sequence[Cutter], through: float
) -> Refitted:
    """The part as `wanted`, relieved for the cutters that will make its places, `through` mm deep.

    Depths stay, and so do the lengths of openings. A loop whose walls cannot be moved stays as drawn.
    Findings: `cannot-refit`, `no-cutter`, `relief-room`, `relief-breaks-through` (errors), `end-overcut` and
    `housing-ends-at-edge` (warnings).
    """
    if not (wanted.openings or wanted.shifts or wanted.holes):
        return Refitted(part, findings=wanted.findings)
    openings, pockets = list(part.openings), list(part.pockets)
    joints, findings = list[FittedJoint](), list(wanted.findings)
    for opening in wanted.openings:
        place, loop = opening.place, opening.place.loop
        if loop is None:
            continue
        in_pocket = place.kind in ("housing", "rabbet")
        contour = (sharp.pockets if in_pocket else sharp.openings)[loop]
        task = Task(part, opening, _cutter(part, opening, cutters, through))
        path, relief, said = _rectangle(task, contour)
        findings += said
        if relief is None:
            continue
        joints.append(_joint(task, relief))
        if in_pocket:
            pockets[loop] = Pocket(path, pockets[loop].depth, pockets[loop].islands)
        else:
            openings[loop] = path
    outline = _outline(part, sharp.outline, wanted, cutters, through)
    if not (joints or outline.joints or outline.sizes or wanted.holes):
        return Refitted(part, findings=(*findings, *outline.findings))
    holes = tuple(
        replace(hole, centre=_plus(hole.centre, wanted.holes[k])) if k in wanted.holes else hole
        for k, hole in enumerate(part.holes)
    )
    fitted = replace(
        part, outline=outline.path, openings=tuple(openings), pockets=tuple(pockets), holes=holes
    )
    return Refitted(
        fitted,
        (*joints, *outline.joints),
        (*_places(part, wanted), *outline.sizes),
        (*findings, *outline.findings, *breakthroughs(part, fitted)),
    )


def _cutter(part: Part, opening: Opening, cutters: Sequence[Cutter], through: float) -> Cutter | None:
    place = opening.place
    in_pocket = place.kind in ("housing", "rabbet") and place.loop is not None
    depth = part.pockets[place.loop].depth if in_pocket and place.loop is not None else through
    side = place.length if place.kind in ("slot", "finger gap") else math.inf
    return cutter_for(opening.width, depth, cutters, side=side)


def _joint(task: Task, relief: Relief) -> FittedJoint:
    opening, place = task.opening, task.opening.place
    return FittedJoint(
        kind=place.kind,
        parts=(task.part.name, *opening.mates[:1]),
        drawn_mm=place.width,
        fitted_mm=opening.width,
        clearance_mm=opening.clearance,
        relief=relief,
        x=place.middle[0],
        y=place.middle[1],
        why=opening.why,
    )


def _places(part: Part, wanted: Wanted) -> list[SizeChange]:
    """Places and holes that went with the plates they take."""
    moved = [(f"place of {one.place.kind}", one.place.middle, one.move) for one in wanted.openings]
    moved += [("place of hole", part.holes[k].centre, move) for k, move in wanted.holes.items()]
    return [
        SizeChange(part.name, what, 0.0, math.hypot(*move), "goes with the plate behind it", *middle)
        for what, middle, move in moved
        if math.hypot(*move) > _NONE
    ]


def _plus(point: Point, move: Point) -> Point:
    return (point[0] + move[0], point[1] + move[1])


def _left(walls: Path, index: int) -> Point:
    ux, uy = arriving(walls.segments[index])
    return (-uy, ux)


def _shifts(opening: Opening, walls: Path) -> dict[int, float]:
    """How far an opening's walls go to their left, into the wood: half the change each, and its move.

    The one wall of a rabbet, or of a gap at a finger edge's end, takes all of the change.
    """
    first, second = opening.place.broad
    change = opening.width - opening.place.width
    half = change if first == second else change / 2
    moving = {first, second} if opening.place.loop is None else set(range(len(walls.segments)))
    shifts = {}
    for index in sorted(moving):
        nx, ny = _left(walls, index)
        shifts[index] = opening.move[0] * nx + opening.move[1] * ny
        shifts[index] += half if index in (first, second) else 0.0
    return {index: shift for index, shift in shifts.items() if abs(shift) > _NONE}


def _moved(walls: Path, shifts: Mapping[int, float]) -> Path:
    return move_walls(walls, shifts) if shifts else walls


def _rectangle(task: Task, contour: Contour) -> tuple[Path, Relief | None, list[Finding]]:
    """A mortise, housing or rabbet at its new width and place, relieved; no relief says it cannot be."""
    opening, place = task.opening, task.opening.place
    try:
        moved = _moved(contour.walls, _shifts(opening, contour.walls))
    except ValueError as reason:
        return contour.drawn, None, [task.cannot(str(reason))]
    if place.kind == "rabbet":
        return moved, "none", []
    if moved is contour.walls and _served(contour, place.corners, task):
        return contour.drawn, "as drawn", []
    if task.cutter is None:
        return moved, "none", [task.no_cutter()]
    corners, said = place.corners, list[Finding]()
    if place.kind == "housing":
        corners, near = housing_corners(task.part, moved, place.corners, task.radius)
        said += [task.at_edge()] if near else []
    if not corners:
        return moved, "none", said
    path, relief = relieve_rectangle(moved, place.broad, task.radius, corners, opening.wish)
    return path, relief, [*said, task.overcut()] if relief == "overcut" else said


def _served(contour: Contour, corners: Sequence[int], task: Task) -> bool:
    """Whether reliefs drawn in all these corners are made for this cutter."""
    if task.cutter is None or task.opening.wish == "none":
        return False
    radius = task.cutter.diameter / 2
    there = [contour.corners[k] for k in corners]
    return all(
        corner.kind == "relief"
        and radius - _SAME_RADIUS <= corner.radius <= _WIDER * radius
        and task.opening.wish in ("by rule", _drawn_kind(corner))
        for corner in there
    )


def _drawn_kind(corner: Corner) -> Relief:
    """A dogbone takes as much of both walls, a T-bone of one alone."""
    if corner.at is None:
        return "none"
    taken = [math.dist(corner.at, spot) for spot in (corner.pieces[0].start, corner.pieces[-1].end)]
    return "dogbone" if min(taken) > _ONE_WALL * max(taken) else "t-bone"


@dataclass(frozen=True, slots=True)
class _Outline:
    path: Path
    joints: tuple[FittedJoint, ...] = ()
    sizes: tuple[SizeChange, ...] = ()
    findings: tuple[Finding, ...] = ()


def _outline(
    part: Part, contour: Contour, wanted: Wanted, cutters: Sequence[Cutter], through: float
) -> _Outline:
    """The outline with its slots, fingers and tenons moved, then relieved; the same object without any."""
    tasks = [
        Task(part, one, _cutter(part, one, cutters, through))
        for one in wanted.openings
        if one.place.loop is None
    ]
    if not tasks and not wanted.shifts:
        return _Outline(part.outline)
    walls, findings = contour.walls, list[Finding]()
    moved_tasks = []
    for task in tasks:
        try:
            walls = _moved(walls, _shifts(task.opening, walls))
        except ValueError as reason:
            findings.append(task.cannot(str(reason)))
        else:
            moved_tasks.append(task)
    walls, sizes, said = _shifted(part, walls, wanted.shifts)
    ways, joints, unrelieved = _ways(contour, walls, moved_tasks)
    if walls is contour.walls and not ways:
        return _Outline(part.outline, tuple(joints), findings=(*findings, *said, *unrelieved))
    try:
        path = _relieved(contour, walls, ways)
    except ValueError as reason:
        told = tasks[0].cannot(str(reason)) if tasks else _fillet_gone(part, reason)
        return _Outline(part.outline, findings=(*findings, *said, told))
    return _Outline(path, tuple(joints), tuple(sizes), (*findings, *said, *unrelieved))


def _shifted(
    part: Part, walls: Path, shifts: Sequence[Shift]
) -> tuple[Path, list[SizeChange], list[Finding]]:
    sizes, findings = list[SizeChange](), list[Finding]()
    done: set[tuple[int, Point]] = set()
    for shift in shifts:
        # Two tenons share the shoulder between them: it goes once.
        new = [(wall, move) for wall, move in shift.walls if (wall, move) not in done]
        along = {}
        for wall, (dx, dy) in new:
            nx, ny = _left(walls, wall)
            along[wall] = dx * nx + dy * ny
        try:
            walls = _moved(walls, {wall: by for wall, by in along.items() if abs(by) > _NONE})
        except ValueError as reason:
            findings.append(_cannot_shift(part, shift, reason))
            continue
        done.update(new)
        sizes.append(shift.size)
    return walls, sizes, findings


def _cannot_shift(part: Part, shift: Shift, reason: ValueError) -> Finding:
    size = shift.size
    return Finding(
        "error",
        "cannot-refit",
        f"{size.what} at ({size.x:.1f}, {size.y:.1f}) cannot become {size.fitted_mm:.2f}: {reason}",
        "Draw straight walls that meet at clear corners, or draw for the measured thickness",
        x_mm=size.x,
        y_mm=size.y,
        part=part.name,
        file=part.source.file or None,
    )


def _fillet_gone(part: Part, reason: ValueError) -> Finding:
    return Finding(
        "error",
        "cannot-refit",
        f"the outline cannot follow the sheet: {reason}",
        "Draw smaller fillets beside its joints, or draw for the measured thickness",
        part=part.name,
        file=part.source.file or None,
    )


def _ways(
    contour: Contour, walls: Path, tasks: Sequence[Task]
) -> tuple[dict[int, CornerRelief], list[FittedJoint], list[Finding]]:
    """Reliefs of slots and finger gaps by corner, the joints that they make, and what has no room."""
    ways, joints, findings = dict[int, CornerRelief](), list[FittedJoint](), list[Finding]()
    for task in tasks:
        place, opening = task.opening.place, task.opening
        if task.cutter is None:
            findings.append(task.no_cutter())
            joints.append(_joint(task, "none"))
            continue
        if not _shifts(opening, contour.walls) and _served(contour, place.corners, task):
            joints.append(_joint(task, "as drawn"))
            continue
        depth = min(segment_length(walls.segments[index]) for index in place.broad)
        relief_of = gap_relief if place.kind == "finger gap" else slot_relief
        chosen = relief_of(place.corners, task.radius, width=opening.width, depth=depth, wish=opening.wish)
        if chosen is None:
            findings.append(task.no_room(depth))
            joints.append(_joint(task, "none"))
        else:
            ways |= chosen[0]
            joints.append(_joint(task, chosen[1]))
    return ways, joints, findings


def _relieved(contour: Contour, walls: Path, ways: Mapping[int, CornerRelief]) -> Path:
    """The outline in one: fillets and other reliefs back as drawn, and the joints' corners relieved.

    Raises ValueError where a fillet or a relief no longer fits.
    """
    drawn = contour.walls.segments
    corners = tuple(
        replace(corner, kind="fillet")
        if corner.kind == "relief" and k not in ways and drawn[k].end == walls.segments[k].end
        else corner
        for k, corner in enumerate(contour.corners)
    )
    path = loop_of(replace(contour, walls=walls, corners=corners))
    return relieve_corners(path, {_ending(path, walls.segments[k].end): way for k, way in ways.items()})


def _ending(path: Path, spot: Point) -> int:
    """The wall that ends in a sharp corner."""
    near = [
        index
        for index, wall in enumerate(path.segments)
        if isinstance(wall, Line) and math.dist(wall.end, spot) <= _HERE
    ]
    if not near:
        raise ValueError(f"the corner at ({spot[0]:.2f}, {spot[1]:.2f}) is rounded in the drawing")
    return near[0]
