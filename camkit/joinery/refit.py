"""Re-fitting one part: walls move to where the sheet wants them, then corners are relieved. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from camkit.errors import Finding
from camkit.geometry.path import Point
from camkit.job.model import Cutter
from camkit.joinery.breakthrough import breakthroughs
from camkit.joinery.fitted import FittedJoint, Relief, SizeChange
from camkit.joinery.moved import moved_part
from camkit.joinery.relief import cutter_for
from camkit.joinery.relieve import relieved_part
from camkit.joinery.task import Task
from camkit.joinery.undo import Undone
from camkit.joinery.wanted import Loops, Opening, Wanted, loops_of
from camkit.part import JointFace, Part

__all__ = ["Refitted", "refit"]

# Below a nanometre nothing moves: drawings hold six decimals.
_NONE = 1e-6


@dataclass(frozen=True, slots=True)
class Refitted:
    """A part after re-fitting; `part` is the very same object when nothing of it was re-fitted.

    `loops` are its sharp loops, with walls where they are cut; `reliefs` are the radii of its reliefs as
    drawn, in mm; none where nothing was re-fitted. `faces` are the walls that bear on other parts.
    """

    part: Part
    loops: Loops
    joints: tuple[FittedJoint, ...] = ()
    sizes: tuple[SizeChange, ...] = ()
    findings: tuple[Finding, ...] = ()
    reliefs: tuple[float, ...] = ()
    faces: tuple[JointFace, ...] = ()


def refit(part: Part, sharp: Undone, wanted: Wanted, cutters: Sequence[Cutter], through: float) -> Refitted:
    """The part as `wanted`, relieved for the cutters that will make its places, `through` mm deep.

    Depths stay, and so do the lengths of openings. A loop whose walls cannot be moved stays as drawn.
    Findings: `cannot-refit` (error) and those of `relieved_part`.
    """
    if not (wanted.openings or wanted.shifts or wanted.holes or wanted.roots):
        return Refitted(part, loops_of(sharp), findings=wanted.findings)
    tasks = [Task(part, one, _cutter(part, one, cutters, through)) for one in wanted.openings]
    moved = moved_part(part, sharp, wanted, tasks)
    relieved = relieved_part(part, sharp, moved, wanted.roots, cutters, through)
    findings = (*wanted.findings, *moved.findings, *relieved.findings)
    joints = tuple(
        _joint(task, relief) for task, relief in zip(moved.tasks, relieved.reliefs, strict=True) if relief
    )
    if not (joints or relieved.outline or wanted.holes):
        return Refitted(part, loops_of(sharp), findings=findings)
    holes = tuple(
        replace(hole, centre=_plus(hole.centre, wanted.holes[k])) if k in wanted.holes else hole
        for k, hole in enumerate(part.holes)
    )
    fitted = replace(
        part,
        outline=relieved.outline or part.outline,
        openings=relieved.openings,
        pockets=tuple(
            replace(pocket, outline=loop) for pocket, loop in zip(part.pockets, relieved.pockets, strict=True)
        ),
        holes=holes,
    )
    sizes = moved.sizes if relieved.outline else ()
    return Refitted(
        fitted,
        moved.loops,
        joints,
        (*_places(part, wanted), *sizes),
        (*findings, *breakthroughs(part, fitted)),
        sharp.radii,
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
