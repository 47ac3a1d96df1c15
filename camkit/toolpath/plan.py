"""From placed parts to ordered cuts: which cutter makes each feature, and its moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from camkit.cut import Cut, Move, Tab
from camkit.errors import CannotBeMadeError, Finding
from camkit.geometry.measure import bounds
from camkit.geometry.offset import offset
from camkit.geometry.path import Path, Region, region
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Job
from camkit.part import Placed
from camkit.toolpath.clear import clear_moves
from camkit.toolpath.doubts import corner_notes, few_tabs, no_cutter
from camkit.toolpath.feature import features
from camkit.toolpath.heights import pass_depths
from camkit.toolpath.hole import bore_moves, can_bore, drill_moves
from camkit.toolpath.loop import climbing, loop_moves
from camkit.toolpath.order import Task, in_order
from camkit.toolpath.reach import choose
from camkit.toolpath.recess import recess_area

__all__ = ["Plan", "plan"]

# Waste that an opening sets loose is milled away up to this width and area; larger waste is held by tabs.
_SLUG_DIAMETERS = 2.0
_SLUG_AREA = 2000.0


@dataclass(frozen=True, slots=True)
class Plan:
    """The cuts of one sheet in order, and what could not be cut or should be known."""

    cuts: tuple[Cut, ...]
    findings: tuple[Finding, ...]


def plan(placed: Sequence[Placed], job: Job, thickness: float, *, first_number: int = 1) -> Plan:
    """Cuts for the parts of one sheet, numbered from `first_number`.

    A feature that no cutter on hand can make is left out and named in a finding of level error.
    """
    tasks: list[Task] = []
    findings: list[Finding] = []
    for feature in features(placed):
        deep = feature.depth if feature.depth is not None else thickness + job.machine.into_table
        choice = choose(feature, job.cutter, deep)
        if choice is None:
            findings.append(no_cutter(feature, job.cutter, deep))
        else:
            tasks.append(Task(feature, choice))
    cuts: list[Cut] = []
    for task in in_order(tasks):
        feature = task.feature
        try:
            moves, tabs, wanted = _moves(task, placed, job, thickness)
        except CannotBeMadeError as error:
            findings += [replace(finding, part=feature.part) for finding in error.findings]
            continue
        findings += few_tabs(feature, len(tabs), wanted)
        number = first_number + len(cuts)
        sheet = placed[0].sheet
        cuts.append(
            Cut(
                number,
                feature.kind,
                feature.part,
                feature.copy,
                sheet,
                task.choice.cutter.number,
                tuple(moves),
                tabs,
            )
        )
    findings += corner_notes(tasks)
    return Plan(tuple(cuts), tuple(findings))


Made = tuple[list[Move], tuple[Tab, ...], int]


def _moves(task: Task, placed: Sequence[Placed], job: Job, thickness: float) -> Made:
    feature, cutter, machine = task.feature, task.choice.cutter, job.machine
    through = thickness + machine.into_table
    if feature.kind == "pocket":
        return _pocket(task, placed, job), (), 0
    if feature.hole is not None:
        hole = feature.hole
        deep = hole.depth if hole.depth is not None else through
        if cutter.kind == "drill":
            return drill_moves(hole.centre, deep, cutter, machine), (), 0
        if can_bore(hole.diameter, cutter):
            return bore_moves(hole.centre, hole.diameter, deep, cutter, machine), (), 0
        if hole.depth is not None:
            depths = pass_depths(deep, cutter.depth_of_pass)
            return clear_moves(region(feature.outline), depths, cutter, machine), (), 0
    if feature.kind == "profile":
        outside = offset(region(feature.outline), cutter.diameter / 2 + PATH_ALLOWANCE)[0].exterior
        return loop_moves(
            climbing(outside, machine, wood_inside=True), cutter, machine, thickness, job.tabs, 3
        )
    return _opening(task, job, thickness)


def _pocket(task: Task, placed: Sequence[Placed], job: Job) -> list[Move]:
    feature, cutter = task.feature, task.choice.cutter
    home = next(p.shape.outline for p in placed if p.part.name == feature.part and p.copy == feature.copy)
    others = [p.shape.outline for p in placed if p.shape.outline is not home]
    depths = pass_depths(feature.depth or 0.0, cutter.depth_of_pass)
    areas = recess_area(feature.outline, feature.islands, home, others, cutter.diameter)
    return [move for area in areas for move in clear_moves(area, depths, cutter, job.machine)]


def _opening(task: Task, job: Job, thickness: float) -> Made:
    """An opening right through: its waste milled away when small, else held by tabs."""
    feature, cutter, machine = task.feature, task.choice.cutter, job.machine
    area = region(feature.outline)
    loose = offset(area, -(cutter.diameter + PATH_ALLOWANCE))
    if loose and not feature.holds_parts and _is_slug(loose, cutter.diameter):
        depths = pass_depths(thickness + machine.into_table, cutter.depth_of_pass)
        return clear_moves(area, depths, cutter, machine), (), 0
    inside = offset(area, -(cutter.diameter / 2 + PATH_ALLOWANCE))[0].exterior
    path: Path = climbing(inside, machine, wood_inside=False)
    return loop_moves(path, cutter, machine, thickness, job.tabs if loose else None, 3)


def _is_slug(waste: Sequence[Region], diameter: float) -> bool:
    """Whether the waste is so small or narrow that it is better milled away than held."""
    x0, y0, x1, y1 = bounds(waste[0].exterior)
    small = (x1 - x0) * (y1 - y0) <= _SLUG_AREA
    return small or not any(offset(piece, -_SLUG_DIAMETERS * diameter / 2) for piece in waste)
