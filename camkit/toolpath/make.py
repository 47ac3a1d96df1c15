"""The moves of one task: which way of cutting suits its feature."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from camkit.cut import Move, Tab
from camkit.geometry.flatten import as_polygon
from camkit.geometry.offset import offset
from camkit.geometry.path import Path, Point, Region, region, signed_area
from camkit.geometry.tolerance import PATH_ALLOWANCE
from camkit.job.model import Cutter, Job, Machine
from camkit.part import Placed
from camkit.toolpath.clear import clear_moves
from camkit.toolpath.feature import Feature
from camkit.toolpath.finish import Rough, rough_beside
from camkit.toolpath.heights import pass_depths
from camkit.toolpath.hold import given_tabs, ground_of
from camkit.toolpath.hole import bore_moves, can_bore, drill_moves
from camkit.toolpath.hole_choice import is_of_its_size, point_room
from camkit.toolpath.lead import Room, Wood
from camkit.toolpath.loop import climbing, finish_alone, loop_moves, outline_starts
from camkit.toolpath.order import Task
from camkit.toolpath.recess import recess_area
from camkit.toolpath.rest import rest_moves, swept_by
from camkit.toolpath.shared_tabs import ALONE, Others
from camkit.toolpath.sink import sink_moves
from camkit.toolpath.starts import Starts
from camkit.toolpath.tab_ground import Ground
from camkit.toolpath.tabs import Hold, given_places
from camkit.toolpath.wall_finish import with_walls_last

__all__ = ["Made", "Setting", "make", "starts"]

# Waste that an opening sets loose is milled away up to this width and area; larger waste is held by tabs.
_SLUG_DIAMETERS = 2.0
_SLUG_AREA = 2000.0
# Waste in several pieces would need tabs for each of them: up to this area together it is milled away too.
_BROKEN_AREA = 10_000.0
# An opening is the place of a joint where so much of its wall, reliefs apart, is joint faces this near.
_MOSTLY, _AT_WALL = 0.6, 0.1
# Tabs that a part or a held piece of waste should have (common practice, no source).
_FEWEST_TABS = 3


@dataclass(frozen=True, slots=True)
class Setting:
    """What surrounds a cut: the job, the parts on the sheet, its size (length, width), thickness and wood."""

    job: Job
    placed: Sequence[Placed]
    size: tuple[float, float]
    thickness: float
    wood: Wood

    @property
    def through(self) -> float:
        """Depth of a cut right through, into the table."""
        return self.thickness + self.job.machine.into_table

    def depth(self, feature: Feature) -> float:
        """How deep a cutter must reach for a feature, in mm; for a countersink, how deep its tip may go."""
        if feature.depth is None or feature.kind == "countersink":
            return self.through
        return feature.depth

    def point_room(self, feature: Feature) -> float:
        """How far the point of a drill may stand out below a hole's full width, in mm; else inf."""
        if feature.hole is None or feature.kind == "countersink":
            return math.inf
        return point_room(feature.hole, self.thickness, self.job.machine.into_table)

    def room(self, feature: Feature, cutter: Cutter) -> Room:
        """Where the cutter may come to the feature's walls and leave them."""
        faces = self.home(feature).shape.joint_faces
        return Room(self.wood, (feature.part, feature.copy), cutter.diameter / 2, faces)

    def home(self, feature: Feature) -> Placed:
        """The piece that the feature belongs to."""
        return self.placed[self.wood.place_of[(feature.part, feature.copy)]]

    def fewest_tabs(self, feature: Feature, area: float) -> int:
        """How many tabs a piece, or waste in it, of so many mm2 needs; 0 where something else holds it."""
        hold = self.job.holding(feature.part)
        free = hold == "skin" or (hold == "vacuum" and area >= self.job.tabs.vacuum_area)
        return 0 if free else _FEWEST_TABS

    def through_at(self, feature: Feature) -> tuple[Machine, float]:
        """The machine and the thickness by which the feature is cut free: less its skin, if one holds it."""
        machine = self.job.machine
        if self.job.holding(feature.part) != "skin":
            return machine, self.thickness
        return machine.model_copy(update={"into_table": 0.0}), self.thickness - self.job.tabs.skin

    def ground(self, feature: Feature) -> Ground:
        """What surrounds the feature's piece."""
        return ground_of(self.home(feature), self.placed, self.job, self.wood, self.size, self.thickness)


@dataclass(frozen=True, slots=True)
class Made:
    """Moves of a task, the tabs they leave, how many there should be, and whether a finish pass ends it.

    `stray` are places given for tabs that lie too far from the outline.
    """

    moves: tuple[Move, ...]
    tabs: tuple[Tab, ...] = ()
    wanted_tabs: int = 0
    finished: bool = False
    stray: tuple[Point, ...] = ()


def make(task: Task, setting: Setting, others: Others = ALONE) -> Made:
    """The moves of the task; raises CannotBeMadeError when an area cannot be cleared.

    Tabs of `others` are left standing in its cut; see `tabs.Hold`.
    """
    feature, cutter, machine = task.feature, task.choice.cutter, setting.job.machine
    if task.after is not None:
        return _rest(task, task.after, setting)
    if feature.kind == "pocket":
        return _pocket(task, setting)
    if feature.kind == "profile":
        path, rough, room = _walked(task, setting)
        given = given_tabs(setting.home(feature), setting.job)
        area = as_polygon(setting.home(feature).shape.region()).area
        fewest = setting.fewest_tabs(feature, area)
        hold = Hold(setting.job.tabs, fewest, setting.ground(feature), True, given, others)
        made = loop_moves(path, cutter, *setting.through_at(feature), hold, rough, room, task.start)
        stray = tuple(p for p in given if not given_places(path, (p,), cutter.diameter / 2))
        return Made(*made, finished=rough is not None, stray=stray)
    if feature.kind == "countersink" and feature.hole is not None:
        return Made(sink_moves(feature.hole, cutter, setting.through, machine))
    if feature.hole is not None:
        hole = feature.hole
        depth = hole.depth if hole.depth is not None else setting.through
        if is_of_its_size(cutter, hole):
            tip = depth if hole.depth is None else depth + cutter.point_length
            return Made(drill_moves(hole.centre, tip, cutter, machine))
        if can_bore(hole.diameter, cutter):
            return Made(bore_moves(hole.centre, hole.diameter, depth, cutter, machine))
        if hole.depth is not None:
            return _cleared(region(feature.outline), depth, task, setting)
    return _opening(task, setting, others)


def _cleared(area: Region, depth: float, task: Task, setting: Setting) -> Made:
    cutter = task.choice.cutter
    depths = pass_depths(depth, cutter.depth_of_pass, cutter.first_pass)
    return Made(clear_moves(area, depths, cutter, setting.job.machine))


def _pocket(task: Task, setting: Setting) -> Made:
    feature = task.feature
    areas = _recess(feature, task.choice.cutter, setting)
    depth, cutter = feature.depth or 0.0, task.choice.cutter
    moves: list[Move] = []
    finished = True
    for area in areas:
        rim = with_walls_last(area, depth, cutter, setting.job.machine)
        smaller, last = (area, ()) if rim is None else rim
        moves += [*_cleared(smaller, depth, task, setting).moves, *last]
        finished = finished and rim is not None
    return Made(tuple(moves), finished=finished)


def _recess(feature: Feature, cutter: Cutter, setting: Setting) -> tuple[Region, ...]:
    """Where the cutter may sweep to make a pocket, or an opening."""
    if feature.kind == "opening":
        return (region(feature.outline),)
    home = setting.home(feature)
    others = [p.shape.outline for p in setting.placed if p is not home]
    outline = home.shape.outline
    return recess_area(feature.outline, feature.islands, outline, others, cutter.diameter, feature.deeper)


def _rest(task: Task, larger: Cutter, setting: Setting) -> Made:
    """What the larger cutter leaves of a pocket or an opening."""
    feature, cutter = task.feature, task.choice.cutter
    depth = setting.depth(feature)
    if feature.kind == "opening" and not _is_milled(feature, _loose(feature, larger), larger, setting):
        below, thickness = setting.through_at(feature)
        depth = thickness + below.into_table
    depths = pass_depths(depth, cutter.depth_of_pass, cutter.first_pass)
    moves = rest_moves(
        _recess(feature, cutter, setting),
        swept_by(_recess(feature, larger, setting), larger.diameter),
        as_polygon(region(feature.outline, feature.islands)),
        depths,
        cutter,
        setting.job.machine,
    )
    return Made(moves, finished=True)


def _opening(task: Task, setting: Setting, others: Others) -> Made:
    """An opening right through: its waste milled away when small, else held by tabs."""
    feature, cutter, machine = task.feature, task.choice.cutter, setting.job.machine
    area = region(feature.outline)
    loose = _loose(feature, cutter)
    # Only openings that are not milled away are given a start.
    slug = task.start is None and _is_milled(feature, loose, cutter, setting)
    if slug and cutter.finish_pass <= 0:
        return _cleared(area, setting.through, task, setting)
    path, rough, room = _walked(task, setting)
    finished = rough is not None
    if slug and rough is None:
        return _cleared(area, setting.through, task, setting)
    if slug and rough is not None:
        (smaller,) = offset(area, -cutter.finish_pass)
        cleared = _cleared(smaller, setting.through, task, setting).moves
        last = None if rough.thick else finish_alone(path, cutter, machine, setting.through)
        if last is None:
            last = loop_moves(path, cutter, machine, setting.thickness, None)[0]
        return Made((*cleared, *last), finished=True)
    if not loose:
        made = loop_moves(path, cutter, machine, setting.thickness, None, rough, room, task.start)
        return Made(*made, finished=finished)
    fewest = setting.fewest_tabs(feature, min(_area((piece,)) for piece in loose))
    hold = Hold(setting.job.tabs, fewest, replace(setting.ground(feature), centre=None), False, (), others)
    made = loop_moves(path, cutter, *setting.through_at(feature), hold, rough, room, task.start)
    return Made(*made, finished=finished)


def _loose(feature: Feature, cutter: Cutter) -> tuple[Region, ...]:
    """The waste that a cut along an opening sets loose."""
    return offset(region(feature.outline), -(cutter.diameter + PATH_ALLOWANCE))


def _walked(task: Task, setting: Setting) -> tuple[Path, Rough | None, Room]:
    """The closed path along the wall of an outline or an opening, rough passes beside it, and its room."""
    feature, cutter, machine = task.feature, task.choice.cutter, setting.job.machine
    outside, wall = feature.kind == "profile", region(feature.outline)
    away = cutter.diameter / 2 + PATH_ALLOWANCE
    if task.start is not None:
        path = task.start.path
    else:
        path = climbing(offset(wall, away if outside else -away)[0].exterior, machine, wood_inside=outside)
    room = setting.room(feature, cutter)
    return path, rough_beside(wall, path, cutter, machine, room, outside=outside), room


def starts(task: Task, setting: Setting) -> Starts | None:
    """Where the cut of an outline or of an opening with tabs may begin; None for every other task."""
    feature, cutter = task.feature, task.choice.cutter
    if task.after is not None:
        return None
    if feature.kind == "opening":
        if _is_milled(feature, _loose(feature, cutter), cutter, setting):
            return None
    elif feature.kind != "profile":
        return None
    path, rough, room = _walked(task, setting)
    return outline_starts(path, cutter, *setting.through_at(feature), rough, room)


def _is_milled(feature: Feature, loose: Sequence[Region], cutter: Cutter, setting: Setting) -> bool:
    """Whether the waste that an opening sets loose is milled away."""
    slug = bool(loose) and not feature.holds_parts and _is_slug(loose, cutter.diameter)
    return slug or _in_a_joint(feature, setting, loose)


def _in_a_joint(feature: Feature, setting: Setting, waste: Sequence[Region]) -> bool:
    """Whether waste that is not too large fills the place of a joint, where a tab would stand in its way."""
    faces = setting.home(feature).shape.joint_faces
    if not waste or feature.holds_parts or not faces or _area(waste) > _BROKEN_AREA:
        return False
    walls = as_polygon(feature.outline).exterior
    joints = shapely.MultiLineString(list(faces)).buffer(_AT_WALL)
    return bool(walls.intersection(joints).length > _MOSTLY * walls.length)


def _area(waste: Sequence[Region]) -> float:
    return sum(signed_area(piece.exterior) for piece in waste)


def _is_slug(waste: Sequence[Region], diameter: float) -> bool:
    """Whether the waste is so small, narrow or broken up that it is better milled away than held."""
    if _area(waste) <= (_SLUG_AREA if len(waste) == 1 else _BROKEN_AREA):
        return True
    return not any(offset(piece, -_SLUG_DIAMETERS * diameter / 2) for piece in waste)
