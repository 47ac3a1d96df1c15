"""Cutting along a closed line right through the sheet: outer profiles and openings, held by tabs."""

from __future__ import annotations

from camkit.cut import Feed, Move, Rapid, Tab
from camkit.geometry.measure import Bounds, length
from camkit.geometry.path import Line, Path, oriented
from camkit.job.model import Cutter, Machine, Tabs
from camkit.toolpath.heights import over_tabs, pass_depths, ramped
from camkit.toolpath.tabs import plan_tabs
from camkit.toolpath.track import follow, place_at, starting_at

__all__ = ["ENTRY_HEIGHT", "approach", "climbing", "loop_moves", "withdraw"]

# Ramps begin this far above the sheet, which is never quite flat.
ENTRY_HEIGHT = 0.5
# Rapids come down to here; the rest of the way is fed.
_RAPID_DOWN_TO = 2.0


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


def _begin(path: Path) -> Path:
    """Begun in the middle of its longest straight run, where a ramp has room; on an arc if there is none."""
    best, begin, place = -1.0, 0.0, 0.0
    for segment in path.segments:
        long = length(Path((segment,)))
        rank = long if isinstance(segment, Line) else long * 1e-3
        if rank > best + 1e-6:
            best, place = rank, begin + long / 2
        begin += long
    return starting_at(path, place)


def loop_moves(
    path: Path,
    cutter: Cutter,
    machine: Machine,
    thickness: float,
    tabs: Tabs | None,
    at_least: int,
    wood: Bounds | None = None,
) -> tuple[tuple[Move, ...], tuple[Tab, ...], int]:
    """Moves along a closed centre path through the whole sheet; with the tabs left and how many were wanted.

    `tabs` None leaves none; tabs hang on `wood`, the extent of the sheet. The path is walked as given.
    """
    path = _begin(path)
    around = length(path)
    depth = thickness + machine.into_table
    heights = ramped(around, pass_depths(depth, cutter.depth_of_pass), ENTRY_HEIGHT)
    left: tuple[Tab, ...] = ()
    wanted = 0
    if tabs is not None:
        plan = plan_tabs(path, cutter.diameter / 2, thickness, machine.into_table, tabs, at_least, wood)
        heights, left, wanted = over_tabs(heights, around, plan.rises), plan.tabs, plan.wanted
    x, y = path.start
    end = place_at(path, heights[-1][0])
    moves = (*approach(x, y, machine, cutter), *follow(path, heights, cutter), withdraw(*end, machine))
    return moves, left, wanted
