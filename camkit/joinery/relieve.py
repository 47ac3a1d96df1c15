"""Cutting the reliefs of a part whose walls have moved, with the cutters that will make it. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from camkit.errors import Finding
from camkit.geometry.contour import Contour, loop_of
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.path import Line, Path, Point, circle
from camkit.job.model import Cutter
from camkit.joinery.fitted import Relief
from camkit.joinery.moved import Moved
from camkit.joinery.relief_choice import Choice, cut_over
from camkit.joinery.relief_plan import Planned, plan_reliefs
from camkit.joinery.relief_told import fillet_gone, reliefs_told
from camkit.joinery.seats import Seated, seats_of
from camkit.joinery.task import Task
from camkit.joinery.undo import Undone
from camkit.joinery.wanted import Rooted
from camkit.part import Part

__all__ = ["Relieved", "relieved_part"]

_HERE = 1e-6


@dataclass(frozen=True, slots=True)
class Relieved:
    """The loops to cut; `outline` is None where it stays as drawn.

    `reliefs` tell of each task of the moved part how it is relieved, None where it stays as drawn after all.
    """

    outline: Path | None
    openings: tuple[Path, ...]
    pockets: tuple[Path, ...]
    reliefs: tuple[Relief | None, ...]
    findings: tuple[Finding, ...] = ()


def relieved_part(
    part: Part,
    sharp: Undone,
    moved: Moved,
    rooted: Sequence[Rooted],
    cutters: Sequence[Cutter],
    through: float,
) -> Relieved:
    """The moved loops with their joints' corners relieved, fillets and other reliefs back as drawn.

    Findings: `no-cutter`, `cannot-refit`, `relief-room`, `root-room`, `relief-breaks-through` (errors),
    `end-overcut`, `housing-ends-at-edge`, `round-corners`, `thin-web` (warnings), `relief-shows`,
    `roots-round`, `roots-relieved` (notes).
    """
    seated = seats_of(part, sharp, moved, rooted, cutters, through)
    loops = (moved.loops.outline, *moved.loops.openings, *moved.loops.pockets)
    holes = [circle(hole.centre, hole.diameter) for hole in part.holes if hole.depth is None]
    planned = plan_reliefs(loops, [one.seat for one in seated.seats], holes)
    findings = [*seated.findings, *reliefs_told(part, seated.seats, planned)]
    openings, pockets = list(part.openings), list(part.pockets)
    reliefs: list[Relief | None] = []
    cut_pockets = [pocket.outline for pocket in pockets]
    for task in moved.tasks:
        if any(task is one for one in seated.served):
            reliefs.append("as drawn")
            continue
        choice = _choice(task, seated.seats, planned)
        loop = task.opening.place.loop
        if loop is not None:
            contour = (sharp.pockets if task.in_pocket else sharp.openings)[loop]
            walls = (moved.loops.pockets if task.in_pocket else moved.loops.openings)[loop]
            try:
                path = _cut(contour, walls, choice, task.radius)
            except ValueError as reason:
                findings.append(task.cannot(str(reason)))
                reliefs.append(None)
                continue
            (cut_pockets if task.in_pocket else openings)[loop] = path
        reliefs.append(choice.word)
    outline, said = _outline(part, sharp.outline, moved, seated.seats, planned)
    if said is not None:
        findings.append(said)
        reliefs = [
            None if task.opening.place.loop is None else word
            for task, word in zip(moved.tasks, reliefs, strict=True)
        ]
    return Relieved(outline, tuple(openings), tuple(cut_pockets), tuple(reliefs), tuple(findings))


def _choice(task: Task, seats: Sequence[Seated], planned: Planned) -> Choice:
    return next(
        (choice for one, choice in zip(seats, planned.choices, strict=True) if one.task is task), Choice()
    )


def _outline(
    part: Part, contour: Contour, moved: Moved, seats: Sequence[Seated], planned: Planned
) -> tuple[Path | None, Finding | None]:
    """The outline relieved, None where nothing of it changes, and why it stays as drawn if it must."""
    ways: dict[int, CornerRelief] = {}
    for one, choice in zip(seats, planned.choices, strict=True):
        if one.seat.loop == 0:
            ways |= choice.reliefs
    if moved.loops.outline is contour.walls and not ways:
        return None, None
    try:
        return _with_fillets(contour, moved.loops.outline, ways), None
    except ValueError as reason:
        tasks = [task for task in moved.tasks if task.opening.place.loop is None]
        return None, tasks[0].cannot(str(reason)) if tasks else fillet_gone(part, str(reason))


def _cut(contour: Contour, walls: Path, choice: Choice, radius: float) -> Path:
    if choice.overcut:
        return cut_over(walls, choice, radius)
    return _with_fillets(contour, walls, choice.reliefs)


def _with_fillets(contour: Contour, walls: Path, ways: Mapping[int, CornerRelief]) -> Path:
    """The loop in one: fillets and other reliefs back as drawn, and the joints' corners relieved.

    Raises ValueError where a fillet or a relief no longer fits.
    """
    drawn = contour.walls.segments
    corners = []
    for k, corner in enumerate(contour.corners):
        if k in ways:
            corners.append(replace(corner, kind="sharp", pieces=()))
        elif corner.kind == "relief" and drawn[k].end == walls.segments[k].end:
            corners.append(replace(corner, kind="fillet"))
        else:
            corners.append(corner)
    path = loop_of(replace(contour, walls=walls, corners=tuple(corners)))
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
