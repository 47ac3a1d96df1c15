"""How a program's cutter goes through the wood: sides, ramps, bites, passes, feeds and how near the line.

Each function gives complaints, one sentence each with line and figure; an empty list is a clean bill.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPoint, Polygon, union_all
from shapely.geometry.base import BaseGeometry

from support.carved import Bite, Board
from support.steps import Step, levels, of_kind
from support.trials import Trial

__all__ = [
    "bites_too_deep",
    "centre_line",
    "descents",
    "fed_points",
    "feeds",
    "mills",
    "off_the_line",
    "passes",
    "rapids_in_wood",
    "side",
]

NARROW, WIDE = -0.0011, 0.0111  # of a path against the true offset, in mm
_TAB_SLOPE = 30.0  # degrees that the cutter climbs over a ramped tab and sinks behind it (docs/job-file.md)
_LEAST_RAMP_IN_WASTE = 5.0  # in pockets and waste that is milled away (docs/job-file.md)


def mills(trial: Trial, step: Step) -> bool:
    """Whether the step is that of a cutter that cuts upright walls."""
    return trial.row(step.tool).get("kind", "straight") not in ("drill", "v-groove")


def rapids_in_wood(trial: Trial, run: Sequence[Step], bites: Sequence[Bite]) -> list[str]:
    """Rapids that take wood or go below the top, feeds that take it while the spindle stands."""
    said = [f"line {b.step.line}: rapid takes {b.deepest:.3f}" for b in bites if b.step.word == 0]
    said += [
        f"line {s.line}: rapid down to {s.points[:, 2].min():.3f}"
        for s in run
        if s.word == 0 and s.end[2] < -1e-6 and s.drop > 1e-6
    ]
    return said + [f"line {b.step.line}: spindle stands" for b in bites if not b.step.turning]


def _behind_tabs(trial: Trial, run: Sequence[Step]) -> set[int]:
    """Lines that come down from the top of a tab."""
    tab, found, down = -trial.thickness + trial.tabs.get("height", 3.0), set(), False
    for step in run:
        cut = step.mark is not None and step.mark.kind in ("PROFILE", "OPENING")
        down = cut and step.word > 0 and step.drop > 1e-4 and (down or abs(step.start[2] - tab) < 1e-3)
        if down:
            found.add(step.line)
    return found


def descents(trial: Trial, run: Sequence[Step], bites: Sequence[Bite]) -> list[str]:
    """Ways down into wood steeper than the job's ramp, and faster down than the plunge feed."""
    said = []
    behind = _behind_tabs(trial, run)
    square = trial.tabs.get("shape") == "square"
    for bite in bites:
        step, row = bite.step, trial.row(bite.step.tool)
        if step.drop < 1e-4 or bite.deepest < 0.02 or 0 < step.run < 0.05:
            continue
        down = step.drop / math.hypot(step.run, step.drop) * step.feed
        plunge = row.get("plunge", math.inf)
        if down > plunge * 1.005:
            said.append(f"line {step.line}: sinks at {down:.0f} mm/min, plunge is {plunge:.0f}")
        if not mills(trial, step) or (row.get("plunges") and step.mark and step.mark.kind == "HOLE"):
            continue
        angle = math.degrees(math.atan2(step.drop - 3e-4, step.run))  # both ends are rounded
        most = row.get("ramp_angle", 3.0)
        kind = step.mark.kind if step.mark else ""
        if kind in ("POCKET", "OPENING", "HOLE"):
            most = max(most, _LEAST_RAMP_IN_WASTE)
        if step.line in behind:
            most = 90.0 if square else max(most, _TAB_SLOPE)
        if angle > most + 0.1:
            said.append(f"line {step.line}: {kind} sinks at {angle:.2f} degrees, {most:g} asked")
    return said


def asked_depth(trial: Trial, step: Step) -> float:
    """How deep a step may take at once: the pass depth, and what its flat end adds to that on a ramp."""
    row = trial.row(step.tool)
    if not mills(trial, step) or step.mark is None or row.get("plunges"):
        return math.inf
    most = row.get("pass_depth", row["diameter"])
    if row.get("kind") == "compression spiral":
        most = max(most, row.get("upcut_length", row["diameter"]) + 1.0)
    ramp = max(row.get("ramp_angle", 3.0), _LEAST_RAMP_IN_WASTE)
    return float(most + row["diameter"] * math.tan(math.radians(ramp)) + 0.02)


def bites_too_deep(trial: Trial, bites: Sequence[Bite], pitch: float) -> list[tuple[str, str]]:
    """Cuts that take more than the pass depth at once, over more than the width of a finish pass.

    Those of up to half a millimetre more are "bites by ramps", all others "bites".
    """
    said = []
    for bite in bites:
        row = trial.row(bite.step.tool)
        if bite.wide > row.get("finish_pass", 0.0) + 0.6 + 1.5 * pitch:
            most = asked_depth(trial, bite.step)
            said.append(
                (
                    "bites" if bite.deepest > most + 0.51 else "bites by ramps",
                    (
                        f"line {bite.step.line}: takes {bite.deepest:.3f} at once, {bite.wide:.2f} wide; "
                        f"{row.get('pass_depth', row['diameter'])} is its pass depth"
                    ),
                )
            )
    return said


def passes(trial: Trial, run: Sequence[Step], lengths: dict[tuple[str, str], float]) -> list[str]:
    """Uneven steps between the levels of a profile or opening, and a shallow first pass.

    `lengths` are perimeters by kind and part.
    """
    said = []
    for kind in ("PROFILE", "OPENING"):
        for mark, steps in of_kind(list(run), kind).items():
            row = trial.row(steps[-1].tool)
            tab = -trial.thickness + trial.tabs.get("height", 3.0)
            length = lengths.get((kind, mark.part), 100.0)
            found = [z for z in levels(steps, 0.4 * length) if abs(z - tab) > 1e-3 and z < 0]
            depths = [a - b for a, b in pairwise([0.0, *found])]
            first = 0.0
            if row.get("kind") == "compression spiral":
                first = row.get("upcut_length", row["diameter"]) + 1.0
            if kind == "OPENING" and not found:
                continue  # a helix, or waste that is milled away in short rings
            if not found or abs(found[-1] - trial.bottom) > 1e-3:
                said.append(f"cut {mark.number}: {kind} levels {found} do not end at {trial.bottom:.3f}")
                continue
            if depths[0] < min(first, -trial.bottom) - 1e-3:
                said.append(f"cut {mark.number}: first pass {depths[0]:.3f} deep, {first:.3f} wanted")
            # A ramp longer than the way round leaves no level at its depth: steps may be told in twos.
            rest = depths[1:] if first else depths
            if any(abs(a - round(a / min(rest)) * min(rest)) > 0.004 for a in rest):
                said.append(f"cut {mark.number}: steps {np.round(depths, 3)} are uneven")
    return said


def fed_points(steps: Sequence[Step], low: float, high: float, pitch: float = 1.0) -> np.ndarray:
    """Points of the fed way between two heights, with its direction: (n, 4) as x, y, dx, dy."""
    found = []
    for step in steps:
        if not step.word or step.points[:, 2].max() > high or step.points[:, 2].min() < low:
            continue
        for a, b in zip(step.points[:-1, :2], step.points[1:, :2], strict=True):
            length = math.hypot(*(b - a))
            if length < 1e-9:
                continue
            count = max(1, math.ceil(length / pitch)) if step.word == 1 else 1
            for share in np.arange(count + 1) / count:
                found.append((*(a + (b - a) * share), *((b - a) / length)))
    return np.array(found).reshape(-1, 4)


def centre_line(shape: Polygon, radius: float, *, outside: bool) -> BaseGeometry:
    """Where a cutter's centre runs along a shape: its true offset, as fine chords."""
    quads = max(16, math.ceil(math.pi / 4 / math.acos(1 - 0.0002 / radius)))
    grown = shape.buffer(radius if outside else -radius, quad_segs=quads)
    rims = [LineString(p.exterior) for p in shapely.get_parts(grown) if not p.is_empty]
    return MultiLineString(rims)


def off_the_line(
    name: str, steps: Sequence[Step], shape: Polygon, radius: float, bottom: float, *, outside: bool
) -> list[str]:
    """Where the way at full depth enters the part's side or leaves the true offset uncovered.

    Stretches that no move at `bottom` covers (tabs) are not looked at.
    """
    at = fed_points(steps, bottom - 1e-3, bottom + 1e-3)
    if not len(at):
        return [f"{name}: nothing is fed at {bottom:.3f}"]
    spots = shapely.points(at[:, :2])
    rim = shape.exterior
    inside = shapely.contains(shape, spots)
    away = shapely.distance(rim, spots)
    wrong = inside if outside else ~inside
    off = np.where(wrong, -away, away) - radius
    said = []
    if off.min() < NARROW:
        said.append(f"{name}: the path lies {-off.min() * 1000:.1f} um inside the true offset")
    chains = _chains(steps, bottom)
    way = union_all([LineString(chain) for chain in chains])
    # Beside the end of a move the nearest way lies along the line, not across it.
    ends = MultiPoint([point for chain in chains for point in (chain[0], chain[-1])])
    along = centre_line(shape, radius, outside=outside)
    for line in shapely.get_parts(along):
        samples = shapely.line_interpolate_point(line, np.arange(0, line.length, 0.5))
        gap = shapely.distance(way, samples)
        grey = (gap > WIDE) & (gap < 0.3)
        grey &= shapely.distance(ends, samples) > gap + 1e-6
        corner = shapely.distance(rim, samples) > radius + 2e-4
        if (grey & ~corner).any():
            worst = float(gap[grey & ~corner].max())
            said.append(f"{name}: the path lies {worst * 1000:.1f} um outside the true offset")
    return said


def _chains(steps: Sequence[Step], bottom: float) -> list[np.ndarray]:
    return [
        step.points[:, :2]
        for step in steps
        if step.word and step.run > 1e-6 and np.abs(step.points[:, 2] - bottom).max() < 1e-3
    ]


def side(
    name: str, at: np.ndarray, shape: Polygon, radius: float, *, climb: bool, outside: bool
) -> list[str]:
    """Moves along the wall (`at` as fed_points gives them) with the wood that stays on the wrong hand."""
    if not len(at):
        return []
    spots = shapely.points(at[:, :2])
    along = np.abs(shapely.distance(shape.exterior, spots) - radius) < 0.012
    hand = np.stack((at[:, 3], -at[:, 2]), 1) * (radius + 0.3)
    right = shapely.contains(shape, shapely.points(at[:, :2] + hand)) == outside
    left = shapely.contains(shape, shapely.points(at[:, :2] - hand)) == outside
    sure = along & (right != left)
    wrong = sure & (right != climb)
    if wrong.sum() > 2 and wrong.sum() > 0.05 * max(1, sure.sum()):
        return [f"{name}: {wrong.sum()} of {sure.sum()} spots along the wall are on the wrong hand"]
    return []


def feeds(trial: Trial, bites: Sequence[Bite]) -> list[str]:
    """Feeds above the cutter's."""
    said = []
    for bite in bites:
        most = trial.row(bite.step.tool).get("feed", math.inf)
        if mills(trial, bite.step) and bite.step.feed > most * 1.001:
            said.append(f"line {bite.step.line}: fed at {bite.step.feed:.0f}, {most:.0f} is the cutter's")
    return said


def carved(trial: Trial, run: Sequence[Step], pitch: float = 0.5) -> tuple[Board, list[Bite]]:
    """The sheet on a grid after the program, and what each step took of it."""
    board = Board.grid((0.0, 0.0, *trial.size), pitch)
    return board, board.carve(run, trial.tools(), lambda step: asked_depth(trial, step))
