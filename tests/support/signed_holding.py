"""What holds the pieces of a program, and in which order it cuts: measured in the wood that it leaves."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPoint, Point, Polygon

from support.carved import Bite, Board
from support.signed_paths import centre_line
from support.steps import Step
from support.trials import Piece, Trial

__all__ = ["Held", "changes", "held", "loose", "order", "ridges", "tab_faults"]

_PITCH = 0.15  # mm between the points of the kerf that tabs are measured at


@dataclass(frozen=True, slots=True)
class Held:
    """A tab as it stands in the kerf: its middle, the length of its top, its height above the table, and
    whether the kerf runs straight all along it and as far beyond as the cutter is wide."""

    x: float
    y: float
    width: float
    height: float
    straight: bool
    corner: float  # distance from its middle to the next corner of the outline


def _along(line: shapely.LineString) -> np.ndarray:
    count = max(8, math.ceil(line.length / _PITCH))
    return shapely.get_coordinates(
        shapely.line_interpolate_point(line, np.arange(count) * line.length / count)
    )


def held(trial: Trial, run: Sequence[Step], shape: Polygon, radius: float, corners: np.ndarray,
         *, outside: bool = True) -> list[Held]:  # fmt: skip
    """The tabs along a shape's kerf, from the height of the wood on the line of the cutter's centre."""
    found = []
    for line in shapely.get_parts(centre_line(shape, radius, outside=outside)):
        at = _along(line)
        board = Board(at)
        board.carve(run, trial.tools())
        high = board.height > trial.bottom + 0.02
        if high.all():
            continue
        first = int(np.argmin(high))
        at, height, high = np.roll(at, -first, 0), np.roll(board.height, -first), np.roll(high, -first)
        step = line.length / len(at)
        starts = np.flatnonzero(high & ~np.roll(high, 1))
        ends = np.flatnonzero(high & ~np.roll(high, -1))
        for a, b in zip(starts, ends, strict=True):
            top = height[a : b + 1].max()
            flat = a + np.flatnonzero(height[a : b + 1] > top - 0.02)
            width = (flat[-1] - flat[0] + 1) * step
            middle = at[(flat[0] + flat[-1]) // 2]
            more = int(radius / step)
            ends_at = at[np.arange(a - more, b + more + 1) % len(at)]
            bow = _bow(ends_at)
            near = np.hypot(*(corners - middle).T).min() if len(corners) else math.inf
            found.append(
                Held(*middle.tolist(), float(width), float(top + trial.thickness), bow < 0.01, float(near))
            )
    return found


def _bow(points: np.ndarray) -> float:
    chord = points[-1] - points[0]
    length = max(1e-9, math.hypot(*chord))
    away = points - points[0]
    return float(np.abs(away[:, 0] * chord[1] - away[:, 1] * chord[0]).max() / length)


def tab_faults(trial: Trial, piece: Piece, tabs: Sequence[Held], diameter: float) -> list[str]:
    """What is wrong with a piece's tabs: count, width (up to the cutter's diameter), height, balance."""
    said = []
    name, outline = piece.name, piece.outline.polygon()
    least, height = trial.tabs.get("width", 8.0), trial.tabs.get("height", 3.0)
    width = max(diameter, least)
    whole = [tab for tab in tabs if abs(tab.height - height) <= 0.005 and tab.width > least - 0.25]
    if len(whole) < 3:  # beside them parts of a neighbour's tabs may stand, which its cut has to leave too
        said.append(f"{name}: {len(whole)} whole tabs")
    for tab in tabs:
        if tab.width > width + 0.25:
            said.append(f"{name}: tab at ({tab.x:.1f}, {tab.y:.1f}) is {tab.width:.2f} wide, {width} asked")
        if tab.height > height + 0.005:
            said.append(f"{name}: tab at ({tab.x:.1f}, {tab.y:.1f}) is {tab.height:.3f} high, {height} asked")
    hull = MultiPoint([(t.x, t.y) for t in tabs]).convex_hull
    if len(tabs) >= 3 and not hull.buffer(1e-6).contains(Point(outline.centroid)):
        said.append(f"{name}: the centre of area lies outside its tabs")
    return said


def loose(trial: Trial, board: Board, pitch: float) -> list[str]:
    """Pieces of wood that hang on nothing at the end, larger than dust; `board` is a grid of that pitch."""
    columns = round((board.points[-1, 0] - board.points[0, 0]) / pitch) + 1
    wood = (board.height > -trial.thickness + 0.05).reshape(columns, -1)
    label = np.where(wood, np.arange(1, wood.size + 1).reshape(wood.shape), 0)
    while True:  # every cell takes the largest label of its row and column run until nothing changes
        before = label.copy()
        for axis in (0, 1):
            label = _spread(label, wood, axis)
        if np.array_equal(before, label):
            break
    names, counts = np.unique(label[wood], return_counts=True)
    rim = np.concatenate((label[0], label[-1], label[:, 0], label[:, -1]))
    said = []
    for name, count in zip(names, counts, strict=True):
        if name not in rim and count * pitch**2 > 4:
            at = board.points.reshape(*wood.shape, 2)[label == name].mean(0)
            said.append(f"{count * pitch**2:.0f} mm2 of wood about ({at[0]:.1f}, {at[1]:.1f}) lie loose")
    return said


def _spread(label: np.ndarray, wood: np.ndarray, axis: int) -> np.ndarray:
    """Each run of wood along an axis takes its largest label."""
    rows = np.moveaxis(label, axis, 1)
    flat, there = rows.reshape(-1), np.moveaxis(wood, axis, 1)
    begins = there.copy()
    begins[:, 1:] &= ~there[:, :-1]
    begins = begins.reshape(-1)
    on = there.reshape(-1)
    group = np.cumsum(begins)[on] - 1
    top = np.zeros(group[-1] + 1 if len(group) else 0, dtype=label.dtype)
    np.maximum.at(top, group, flat[on])
    out = np.zeros_like(flat)
    out[on] = top[group]
    return np.moveaxis(out.reshape(rows.shape), 1, axis)


def ridges(trial: Trial, run: Sequence[Step], shape: Polygon, radius: float, tabs: Sequence[Held],
           *, outside: bool = True) -> list[str]:  # fmt: skip
    """Wood that stands in the kerf beside the wall or on its far side, away from tabs and tight corners."""
    said = []
    middle = centre_line(shape, radius, outside=outside)
    for aside in (0.03, 2 * radius - 0.05):
        for line in shapely.get_parts(centre_line(shape, aside, outside=outside)):
            at = _along(line)
            board = Board(at)
            board.carve(run, trial.tools())
            high = board.height > trial.bottom + 0.02
            high &= shapely.distance(middle, shapely.points(at)) < radius - 0.02
            for tab in tabs:
                high &= np.hypot(*(at - (tab.x, tab.y)).T) > tab.width / 2 + 4 * radius + 7
            if high.any():
                where = at[int(np.argmax(high))]
                said.append(f"wood stands {aside:.2f} from the wall at ({where[0]:.2f}, {where[1]:.2f})")
    return said


def changes(run: Sequence[Step]) -> tuple[int, int]:
    """How often the cutter changes, and how often it must for cuts in the trade's order of kinds."""
    used: list[tuple[int, int]] = []
    for step in run:
        if step.mark is not None and step.word:
            now = (_TIERS[step.mark.kind], step.tool)
            if not used or used[-1] != now:
                used.append(now)
    tools = [tool for _, tool in used]
    done = sum(a != b for a, b in itertools.pairwise(tools))
    best: dict[int, int] = {}
    for tier in sorted({tier for tier, _ in used}):
        here = {tool for t, tool in used if t == tier}
        least: dict[int, int] = {}
        for last in here:
            for first in here:
                if len(here) > 1 and first == last:
                    continue
                before = min((cost + (tool != first) for tool, cost in best.items()), default=0)
                least[last] = min(least.get(last, 10**6), before + len(here) - 1)
        best = least
    return done, min(best.values(), default=0)


_TIERS = {"HOLD-DOWN": 0, "POCKET": 1, "HOLE": 2, "COUNTERSINK": 2, "OPENING": 3, "PROFILE": 4}


def order(trial: Trial, run: Sequence[Step], bites: Sequence[Bite], board: Board) -> list[str]:
    """Cuts out of the trade's order, and wood taken in a part whose outline has been cut."""
    said, last, seen = [], -1, []
    for step in run:
        if step.mark is not None and (not seen or seen[-1] != step.mark):
            seen.append(step.mark)
            tier = _TIERS[step.mark.kind]
            if tier < last:
                said.append(f"cut {step.mark.number}: {step.mark.kind} comes after a later kind")
            last = max(last, tier)
    if len({m.number for m in seen}) != len(seen) or [m.number for m in seen] != sorted(
        m.number for m in seen
    ):
        said.append("cuts are not numbered through")
    ends = {m.part: max(b.step.line for b in bites if b.step.mark == m) for m in seen if m.kind == "PROFILE"
            and any(b.step.mark == m for b in bites)}  # fmt: skip
    for piece in trial.pieces:
        freed = ends.get(piece.name.upper())
        if freed is None:
            said.append(f"{piece.name}: no profile is cut")
            continue
        inner = piece.outline.polygon().buffer(-0.3)
        shapely.prepare(inner)
        for bite in bites:
            if bite.step.line > freed and shapely.contains_xy(inner, *board.points[bite.points].T).any():
                said.append(f"line {bite.step.line}: {piece.name} is cut after it was freed")
                break
    return said
