"""From placed parts to ordered cuts: which cutter makes each feature, and its moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from camkit.cut import Cut
from camkit.errors import CannotBeMadeError, Finding
from camkit.geometry.path import Point
from camkit.job.model import Job
from camkit.part import Placed
from camkit.toolpath.arc_feed import eased
from camkit.toolpath.doubts import (
    corner_notes,
    few_tabs,
    lifted_veneer,
    no_cutter,
    no_finish,
    poor_tabs,
    stray_tabs,
)
from camkit.toolpath.feature import features
from camkit.toolpath.fixtures import blocked, keeping_out, refused
from camkit.toolpath.hold_down import hold_down
from camkit.toolpath.hold_told import hold_told, low_tabs
from camkit.toolpath.lead import Wood
from camkit.toolpath.make import Made, Setting
from camkit.toolpath.make_all import make_all
from camkit.toolpath.order import Task, in_order
from camkit.toolpath.reach import choose
from camkit.toolpath.share import shared
from camkit.toolpath.start_choice import begun
from camkit.toolpath.touch_off import touch_off_spot

__all__ = ["Plan", "plan"]


@dataclass(frozen=True, slots=True)
class Plan:
    """The cuts of one sheet in order, and what could not be cut or should be known."""

    cuts: tuple[Cut, ...]
    findings: tuple[Finding, ...]


def plan(
    placed: Sequence[Placed], job: Job, size: tuple[float, float], thickness: float, *, first_number: int = 1
) -> Plan:
    """Cuts for the parts of one sheet of `size` (length, width) mm, numbered from `first_number`.

    A feature that no cutter on hand can make, or whose cut comes too near to a fixture, is left out and named
    in a finding of level error. Holes of hold-down screws come first.
    """
    kept_out = (*keeping_out(job.keep_out), *touch_off_spot(job))
    screws = hold_down(placed, job, size, kept_out)
    standing = (*kept_out, *screws.heads)
    wood = Wood(placed, size, blocked(standing), job.machine.ranges())
    setting = Setting(job, placed, size, thickness, wood)
    tasks: list[Task] = []
    findings: list[Finding] = [*screws.findings]
    for feature in (*screws.holes, *features(placed)):
        depth = setting.depth(feature)
        room = setting.point_room(feature)
        choice = choose(feature, job.cutter, depth, room)
        if choice is None and feature.kind == "hold-down" and feature.copy > 1:
            continue  # told of the first already
        if choice is None:
            findings.append(no_cutter(feature, job.cutter, depth, room))
        else:
            tasks += shared(Task(feature, choice), setting)
    ready: list[tuple[Task, Made]] = []
    todo = begun(tasks, setting)
    for task, made in zip(todo, make_all(todo, setting), strict=True):
        if isinstance(made, CannotBeMadeError):
            findings += [replace(finding, part=task.feature.part) for finding in made.findings]
            continue
        here = kept_out if task.feature.kind == "hold-down" else standing
        hindered = refused(task.feature, made.moves, task.choice.cutter, here, thickness)
        if hindered is None:
            ready.append((task, made))
        else:
            findings.append(hindered)
    cuts: list[Cut] = []
    ends = [_ends(*one) for one in ready]
    for i in in_order([task for task, _ in ready], ends, known=range(len(ready))):
        (task, made), number = ready[i], first_number + len(cuts)
        feature, cutter = task.feature, task.choice.cutter
        findings += lifted_veneer(task)
        findings += no_finish(task, finished=made.finished)
        findings += stray_tabs(feature, made.stray)
        findings += few_tabs(feature, len(made.tabs), made.wanted_tabs)
        findings += poor_tabs(feature, made.tabs)
        where = (feature.part, feature.copy, placed[0].sheet, cutter.number)
        moves = eased(made.moves, cutter, job.machine)
        cuts.append(Cut(number, feature.kind, *where, moves, made.tabs))
    findings += corner_notes(tasks)
    findings += hold_told(placed, job)
    findings += low_tabs(cuts, job, thickness)
    return Plan(tuple(cuts), tuple(findings))


def _ends(task: Task, made: Made) -> tuple[Point, Point]:
    """Where the cutter comes down for a task and where it leaves."""
    if not made.moves:
        return task.feature.outline.start, task.feature.outline.start
    first, last = made.moves[0], made.moves[-1]
    return (first.x, first.y), (last.x, last.y)
