"""The walls of a part where the sheet wants them, corners still sharp. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from camkit.errors import Finding
from camkit.geometry.corner import arriving, move_walls
from camkit.geometry.path import Path, Point
from camkit.joinery.fitted import SizeChange
from camkit.joinery.task import Task
from camkit.joinery.undo import Undone
from camkit.joinery.wanted import Loops, Opening, Shift, Wanted
from camkit.part import Part

__all__ = ["Moved", "moved_part"]

# Below a nanometre nothing moves: drawings hold six decimals.
_NONE = 1e-6


@dataclass(frozen=True, slots=True)
class Moved:
    """A part's loops with sharp corners, moved; `tasks` are the places whose walls could be moved.

    `sizes` are what changed of the outline.
    """

    loops: Loops
    tasks: tuple[Task, ...]
    sizes: tuple[SizeChange, ...] = ()
    findings: tuple[Finding, ...] = ()


def moved_part(part: Part, sharp: Undone, wanted: Wanted, tasks: Sequence[Task]) -> Moved:
    """The loops with the walls of all `tasks` and shifts moved; what cannot move stays where it was.

    Findings: `cannot-refit` (error).
    """
    outline, openings = sharp.outline.walls, [one.walls for one in sharp.openings]
    pockets = [one.walls for one in sharp.pockets]
    done, findings = list[Task](), list[Finding]()
    for task in tasks:
        place = task.opening.place
        try:
            if place.loop is None:
                outline = _moved(outline, _shifts(task.opening, outline))
            else:
                loops = pockets if task.in_pocket else openings
                loops[place.loop] = _moved(loops[place.loop], _shifts(task.opening, loops[place.loop]))
        except ValueError as reason:
            findings.append(task.cannot(str(reason)))
        else:
            done.append(task)
    outline, sizes, said = _shifted(part, outline, wanted.shifts)
    return Moved(
        Loops(outline, tuple(openings), tuple(pockets)),
        tuple(done),
        tuple(sizes),
        (*findings, *said),
    )


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
