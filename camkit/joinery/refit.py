"""Re-fitting one part: its mortises, slots and housings follow the sheet, and their corners are relieved."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from camkit.errors import Finding, Level
from camkit.geometry.corner import move_walls
from camkit.geometry.corner_relief import CornerRelief, relieve_corners
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Path
from camkit.geometry.tolerance import CHAIN, RELIEF
from camkit.geometry.walls import walls_of
from camkit.job.model import Cutter, ReliefWish
from camkit.joinery.breakthrough import breakthroughs
from camkit.joinery.fitted import FittedJoint, Relief
from camkit.joinery.recognise import Place, places
from camkit.joinery.relief import cutter_for, largest_for, relieve_rectangle, slot_relief
from camkit.part import Part

__all__ = ["Measures", "Refitted", "refit"]


@dataclass(frozen=True, slots=True)
class Measures:
    """What joints are fitted to: `drawn` and measured `thickness`, `clearance` across the whole joint.

    `through` is how deep a cutter goes to cut through the sheet, `relief` how the job wants corners relieved.
    """

    drawn: float
    thickness: float
    clearance: float
    cutters: tuple[Cutter, ...]
    through: float
    relief: ReliefWish = "by rule"


@dataclass(frozen=True, slots=True)
class Refitted:
    """A part after re-fitting; `part` is the very same object when nothing of it was re-fitted."""

    part: Part
    joints: tuple[FittedJoint, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Task:
    """One place of a part, the width it must get, and the cutter that will make it (None: all too large)."""

    part: Part
    place: Place
    width: float
    cutter: Cutter | None
    wish: ReliefWish = "by rule"

    @property
    def radius(self) -> float:
        """Radius of a relief, somewhat more than the cutter's."""
        return self.cutter.diameter / 2 + RELIEF if self.cutter else 0.0

    def finding(self, level: Level, rule: str, message: str, remedy: str) -> Finding:
        """A finding about this place; the message goes on after its kind, size and middle."""
        place, (x, y) = self.place, self.place.middle
        return Finding(
            level,
            rule,
            f"{place.kind} of {self.width:.2f} x {place.length:.2f} mm at ({x:.1f}, {y:.1f}) {message}",
            remedy,
            x_mm=x,
            y_mm=y,
            part=self.part.name,
            file=self.part.source.file or None,
        )


@dataclass(frozen=True, slots=True)
class _Done:
    """What became of a task; without `relief` its walls could not be moved and it stays as drawn."""

    task: _Task
    relief: Relief | None
    findings: tuple[Finding, ...] = ()


def refit(part: Part, measures: Measures, mate: str | None = None) -> Refitted:
    """The part with each place that takes a part made n thickness + clearance wide, and relieved.

    Widths change about the middle; lengths and depths stay. `mate` is named in the joints when it is known.
    Findings: `cannot-refit`, `no-cutter`, `relief-room`, `relief-breaks-through` (errors), `end-overcut` and
    `housing-ends-at-edge` (warnings).
    """
    tasks = [_task(part, place, measures) for place in places(part, measures.drawn)]
    openings, pockets, done = list(part.openings), list(part.pockets), list[_Done]()
    for task in tasks:
        index = task.place.loop
        if task.place.kind == "mortise" and index is not None:
            openings[index], one = _rectangle(task, openings[index])
            done.append(one)
        elif task.place.kind == "housing" and index is not None:
            loop, one = _rectangle(task, pockets[index].outline)
            pockets[index] = replace(pockets[index], outline=loop)
            done.append(one)
    outline, notched = _slots(part.outline, [task for task in tasks if task.place.kind == "slot"])
    done.extend(notched)
    joints = tuple(_joint(one, measures.clearance, mate) for one in done if one.relief)
    findings = tuple(finding for one in done for finding in one.findings)
    if not joints:
        return Refitted(part, (), findings)
    fitted = replace(part, outline=outline, openings=tuple(openings), pockets=tuple(pockets))
    return Refitted(fitted, joints, (*findings, *breakthroughs(part, fitted)))


def _task(part: Part, place: Place, measures: Measures) -> _Task:
    width = place.layers * measures.thickness + measures.clearance
    depth = measures.through
    if place.kind == "housing" and place.loop is not None:
        depth = part.pockets[place.loop].depth
    side = place.length if place.kind == "slot" else math.inf
    return _Task(part, place, width, cutter_for(width, depth, measures.cutters, side=side), measures.relief)


def _joint(done: _Done, clearance: float, mate: str | None) -> FittedJoint:
    task, place = done.task, done.task.place
    return FittedJoint(
        kind=place.kind,
        parts=(task.part.name, mate) if mate else (task.part.name,),
        drawn_mm=place.width,
        fitted_mm=task.width,
        clearance_mm=clearance,
        relief=done.relief or "none",
        x=place.middle[0],
        y=place.middle[1],
    )


def _moved(task: _Task, loop: Path) -> Path | Finding:
    """The loop with the place's walls at their new distance, or why that cannot be."""
    try:
        return move_walls(loop, dict.fromkeys(task.place.broad, (task.width - task.place.width) / 2))
    except ValueError as reason:
        return task.finding(
            "error",
            "cannot-refit",
            f"cannot get that width: {reason}",
            "Draw straight walls that meet at clear corners, or draw for the measured thickness",
        )


def _no_cutter(task: _Task) -> Finding:
    largest = largest_for(task.width, task.place.length if task.place.kind == "slot" else None)
    return task.finding(
        "error",
        "no-cutter",
        "is too narrow for every milling cutter of the job",
        f"Add a milling cutter of at most {largest:.1f} mm",
    )


def _rectangle(task: _Task, loop: Path) -> tuple[Path, _Done]:
    """A mortise or housing at its new width, relieved; the loop as drawn when its walls cannot move."""
    moved = _moved(task, walls_of(loop, hollow=True))
    if isinstance(moved, Finding):
        return loop, _Done(task, None, (moved,))
    if task.cutter is None:
        return moved, _Done(task, "none", (_no_cutter(task),))
    corners, said = task.place.corners, tuple[Finding, ...]()
    if task.place.kind == "housing":
        corners, said = _housing_corners(task, moved)
    if not corners:
        return moved, _Done(task, "none", said)
    relief_loop, relief = relieve_rectangle(moved, task.place.broad, task.radius, corners, task.wish)
    if relief == "overcut":
        tbones = task.wish == "t-bone"
        kind = "T-bones" if tbones else "dogbones"
        largest = largest_for(task.width, tbones=tbones)
        said += (
            task.finding(
                "warning",
                "end-overcut",
                f"has ends too short for two {kind} of the {task.cutter.diameter:g} mm cutter: these are "
                f"cut over whole by {task.radius:.2f} mm and no longer locate a tenon's ends",
                f"Use a milling cutter of at most {largest:.1f} mm to keep them",
            ),
        )
    return relief_loop, _Done(task, relief, said)


def _housing_corners(task: _Task, loop: Path) -> tuple[tuple[int, ...], tuple[Finding, ...]]:
    """Corners of a housing that a part must fill: those inside the outline. Open ends need no relief."""
    outline = as_polygon(task.part.outline)
    corners: list[int] = []
    at_edge = False
    for index in task.place.corners:
        corner = shapely.Point(loop.segments[index].end)
        away = outline.boundary.distance(corner)
        if outline.contains(corner) and away > CHAIN:
            corners.append(index)
        else:
            at_edge |= away < task.radius - RELIEF
    said = task.finding(
        "warning",
        "housing-ends-at-edge",
        "ends too near the part's edge: the cutter leaves its corners uncut",
        f"Draw it past the edge by at least {task.radius:.1f} mm",
    )
    return tuple(corners), (said,) if at_edge else ()


def _slots(outline: Path, tasks: Sequence[_Task]) -> tuple[Path, list[_Done]]:
    """The outline with every slot at its new width and relieved; the same object when there is no slot."""
    walls, done, ways = walls_of(outline, hollow=False), list[_Done](), dict[int, CornerRelief]()
    for task in tasks:
        moved = _moved(task, walls)
        if isinstance(moved, Finding):
            done.append(_Done(task, None, (moved,)))
            continue
        walls = moved
        depth = min(segment_length(walls.segments[index]) for index in task.place.broad)
        if task.cutter is None:
            done.append(_Done(task, "none", (_no_cutter(task),)))
            continue
        first, second = task.place.corners
        chosen = slot_relief((first, second), task.radius, width=task.width, depth=depth, wish=task.wish)
        if chosen is None:
            done.append(_Done(task, "none", (_no_room(task, task.cutter, depth),)))
        else:
            ways |= chosen[0]
            done.append(_Done(task, chosen[1]))
    return relieve_corners(walls, ways) if any(one.relief for one in done) else outline, done


def _no_room(task: _Task, cutter: Cutter, depth: float) -> Finding:
    return task.finding(
        "error",
        "relief-room",
        f"has no room for reliefs of the {cutter.diameter:g} mm cutter; its bottom corners stay round and "
        "the partner cannot seat",
        f"Use a milling cutter of at most {largest_for(task.width, depth):.1f} mm",
    )
