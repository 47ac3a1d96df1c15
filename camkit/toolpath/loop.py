"""Cutting along a closed line right through the sheet: outer profiles and openings, held by tabs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camkit.cut import Feed, Move, Rapid, Tab, Turn
from camkit.geometry.measure import length
from camkit.geometry.path import Arc, Path, oriented
from camkit.job.model import Cutter, Machine
from camkit.toolpath.finish import Rough, arc_radius, cleared_beside, finish_begin, finish_moves
from camkit.toolpath.heights import Rise, over_tabs, pass_depths, ramped
from camkit.toolpath.lead import Room, lead_in, lead_out, run_of_lead
from camkit.toolpath.starts import Leads, Start, Starts, starts_of
from camkit.toolpath.tabs import Hold, TabPlan, plan_tabs
from camkit.toolpath.track import follow, nearest_distance, place_at, sloped_feed, starting_at

__all__ = ["ENTRY_HEIGHT", "approach", "climbing", "finish_alone", "loop_moves", "outline_starts", "withdraw"]

# Ramps begin this far above the sheet, which is never quite flat.
ENTRY_HEIGHT = 0.5
# Rapids come down to here; the rest of the way is fed.
_RAPID_DOWN_TO = 2.0
# The cutter leaves a finished wall by an arc that ends this far beside its path, so that it neither stops at
# the wall nor cuts much waste at full depth (common practice, no source).
_OFF_WALL = 0.5


def approach(
    x: float, y: float, machine: Machine, cutter: Cutter, down_to: float = ENTRY_HEIGHT
) -> list[Move]:
    """From safe height over (x, y) down to just above the wood."""
    near = min(machine.safe_height, _RAPID_DOWN_TO)
    return [Rapid(x, y, machine.safe_height), Rapid(x, y, near), Feed(x, y, down_to, cutter.plunge)]


def withdraw(x: float, y: float, machine: Machine) -> Move:
    """Straight up to safe height."""
    return Rapid(x, y, machine.safe_height)


def climbing(path: Path, machine: Machine, *, wood_inside: bool) -> Path:
    """The closed path turned for the machine's cutting direction, the spindle running clockwise (M3).

    A climb cut has the wood that stays on its right: clockwise round a part (`wood_inside`),
    counter-clockwise in an opening.
    """
    return oriented(path, clockwise=wood_inside == (machine.direction == "climb"))


def outline_starts(
    path: Path, cutter: Cutter, machine: Machine, thickness: float, rough: Rough | None, room: Room | None
) -> Starts:
    """Where `loop_moves` may begin with the path."""
    if rough is not None:
        lane = path if rough.thick else rough.path
        run = _sinking(lane, cutter, machine, thickness)[-1][0] % length(lane)
        ahead = 0.0 if rough.thick else run_of_lead(cutter.finish_pass, arc_radius(cutter))
        return starts_of(path, run + ahead, None, room, cutter.diameter / 2)
    run = _sinking(path, cutter, machine, thickness, _led_from(cutter))[-1][0]
    wide = cutter.diameter
    leads = Leads(wide, wide, min(_OFF_WALL, wide), left=machine.direction == "climb")
    return starts_of(path, run, leads, room, wide / 2)


def _led_from(cutter: Cutter) -> float:
    """The height at which an arc that sinks by the ramp angle brings the cutter to its path."""
    sunk = math.pi / 2 * cutter.diameter * math.tan(math.radians(cutter.ramp_angle))
    return max(0.0, ENTRY_HEIGHT - sunk)


def _led(
    path: Path, cutter: Cutter, machine: Machine, run: float, room: Room | None
) -> tuple[Arc, Arc] | None:
    """The arcs by which the cutter comes to the path's beginning and leaves it `run` mm on, if both fit."""
    if room is None:
        return None
    left, wide = machine.direction == "climb", cutter.diameter
    come = lead_in(path, 0.0, wide, wide, left=left)
    go = lead_out(path, run, min(_OFF_WALL, wide), wide, left=left)
    return (come, go) if room.holds(come) and room.holds(go) else None


def loop_moves(
    path: Path,
    cutter: Cutter,
    machine: Machine,
    thickness: float,
    hold: Hold | None,
    rough: Rough | None = None,
    room: Room | None = None,
    start: Start | None = None,
) -> tuple[tuple[Move, ...], tuple[Tab, ...], int]:
    """Moves along a closed centre path through the whole sheet; with the tabs left and how many were wanted.

    `hold` None leaves no tabs. The path is walked as given; where `rough` passes run beside it, it is walked
    once at full depth after them, or by passes too where they leave more than a little. Without them the
    cutter comes and leaves by arcs in the waste, where there is `room`. It begins at `start`, by default at
    the first of `outline_starts`.
    """
    if start is None:
        start = outline_starts(path, cutter, machine, thickness, rough, room).each[0]
    path = starting_at(path, nearest_distance(path, start.at))
    if rough is None:
        return _without_finish(path, start.further, cutter, machine, thickness, hold, room)
    lane = starting_at(rough.path, nearest_distance(rough.path, path.start))
    heights = _sinking(lane, cutter, machine, thickness)
    longer = _longer(heights, start.further)
    away = place_at(lane, longer[-1][0])
    begin = None if rough.thick else finish_begin(path, nearest_distance(path, away), away, cutter, machine)
    if begin is None:
        own = _longer(_sinking(path, cutter, machine, thickness), start.further)
        plan = _plan(path, cutter, machine, thickness, hold, own[-1][0])
        moves = _rounds(lane, heights, _beside(lane, path, plan), cutter, machine)
        return (*moves, *_rounds(path, own, plan.rises, cutter, machine)), plan.tabs, plan.wanted
    plan = _plan(begin.path, cutter, machine, thickness, hold, 0.0)
    moves = _rounds(lane, longer, _beside(lane, begin.path, plan), cutter, machine)
    finish = finish_moves(begin, thickness + machine.into_table, cutter, machine, plan.rises, moves[-2].z)
    last = finish[-1]
    return (*moves[:-1], *finish, withdraw(last.x, last.y, machine)), plan.tabs, plan.wanted


def _beside(lane: Path, path: Path, plan: TabPlan) -> list[Rise]:
    """The rises of a plan for the path as they are met on the lane beside it."""
    middles = [place_at(path, (rise.first + rise.last) / 2) for rise in plan.rises]
    return [
        rise.about(nearest_distance(lane, middle)) for rise, middle in zip(plan.rises, middles, strict=True)
    ]


def _without_finish(
    path: Path,
    further: float,
    cutter: Cutter,
    machine: Machine,
    thickness: float,
    hold: Hold | None,
    room: Room | None,
) -> tuple[tuple[Move, ...], tuple[Tab, ...], int]:
    """As `loop_moves` without rough passes, begun with the path and run on by `further` mm at its end."""
    from_z = _led_from(cutter)
    heights = _longer(_sinking(path, cutter, machine, thickness, from_z), further)
    arcs = _led(path, cutter, machine, heights[-1][0], room)
    if arcs is None:
        heights = _longer(_sinking(path, cutter, machine, thickness), further)
        plan = _plan(path, cutter, machine, thickness, hold, heights[-1][0])
        return _rounds(path, heights, plan.rises, cutter, machine), plan.tabs, plan.wanted
    come, go = arcs
    plan = _plan(path, cutter, machine, thickness, hold, heights[-1][0])
    out = () if _at_a_tab(path, heights[-1][0], plan, cutter, machine, thickness) else (go,)
    heights = over_tabs(heights, length(path), plan.rises) if plan.rises else heights
    feed = sloped_feed(math.pi / 2 * cutter.diameter, ENTRY_HEIGHT - from_z, cutter)
    moves = (
        *approach(*come.start, machine, cutter),
        Turn(*come.end, from_z, come.centre, come.clockwise, feed),
        *follow(path, heights, cutter),
        *(Turn(*arc.end, heights[-1][1], arc.centre, arc.clockwise, cutter.feed) for arc in out),
    )
    return (*moves, withdraw(moves[-1].x, moves[-1].y, machine)), plan.tabs, plan.wanted


def _at_a_tab(
    path: Path, end: float, plan: TabPlan, cutter: Cutter, machine: Machine, thickness: float
) -> bool:
    """Whether an arc that leaves the path `end` mm along it would cut into a tab from the side."""
    around = length(path)
    reach = run_of_lead(min(_OFF_WALL, cutter.diameter), cutter.diameter)
    for rise in plan.rises:
        half = (rise.last - rise.first) / 2 + rise.foot(-thickness - machine.into_table)
        ahead = ((rise.first + rise.last) / 2 - end + half) % around
        if ahead <= 2 * half + reach:
            return True
    return False


def finish_alone(path: Path, cutter: Cutter, machine: Machine, depth: float) -> tuple[Move, ...] | None:
    """The finish pass of a closed path whose inside is cleared to `depth` (positive, mm) but for its rim.

    None where its arcs fit nowhere.
    """
    for start in starts_of(path, 0.0, None, None, cutter.diameter / 2).each:
        begin = finish_begin(path, nearest_distance(path, start.at), None, cutter, machine)
        if begin is None:
            continue
        left = machine.direction == "climb"
        come = lead_in(begin.path, 0.0, cutter.finish_pass, begin.radius, left=left)
        at = cleared_beside(begin, come, cutter)
        down = approach(*at, machine, cutter)
        down.append(Feed(*at, -depth, cutter.plunge))
        finish = finish_moves(begin, depth, cutter, machine, (), -depth)
        return (*down, *finish, withdraw(finish[-1].x, finish[-1].y, machine))
    return None


def _sinking(
    path: Path, cutter: Cutter, machine: Machine, thickness: float, from_z: float = ENTRY_HEIGHT
) -> list[tuple[float, float]]:
    """The heights that sink along the path through the sheet."""
    depths = pass_depths(thickness + machine.into_table, cutter.depth_of_pass, cutter.first_pass)
    return ramped(length(path), depths, from_z, cutter.ramp_angle)


def _longer(heights: Sequence[tuple[float, float]], further: float) -> list[tuple[float, float]]:
    """The heights with their last round run on by so many mm."""
    along, z = heights[-1]
    return [*heights[:-1], (along + further, z)]


def _plan(
    path: Path, cutter: Cutter, machine: Machine, thickness: float, hold: Hold | None, end: float
) -> TabPlan:
    """The tabs of a path that is left `end` mm along it."""
    if hold is None:
        return TabPlan((), (), 0)
    return plan_tabs(path, cutter.diameter / 2, thickness, machine.into_table, hold, end)


def _rounds(
    path: Path,
    heights: Sequence[tuple[float, float]],
    rises: Sequence[Rise],
    cutter: Cutter,
    machine: Machine,
) -> tuple[Move, ...]:
    """Down from above, along the path at its heights, lifted over tabs, and out again."""
    heights = over_tabs(heights, length(path), rises) if rises else heights
    end = place_at(path, heights[-1][0])
    return (
        *approach(*path.start, machine, cutter),
        *follow(path, heights, cutter),
        withdraw(*end, machine),
    )
