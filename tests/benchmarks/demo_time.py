"""Machine time of the demo against a bound that owes nothing to the planner, and where the time goes.

Bound: every outline and opening once round its true offset, as often as the thickness takes passes; every
pocket by (reachable - pi r^2) / D a pass, since a path of length L sweeps at most L D + pi r^2; every bored
hole by a helix of 5 degrees and once round; every drilled one down at the plunge feed. At the job's feeds,
each of these from rest to rest under the machine's accelerations; no way between them.

Run: python tests/benchmarks/demo_time.py [JOB.toml]
"""

from __future__ import annotations

import math
import pathlib
import sys
from collections import Counter

import shapely

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from support.places import DEMO

from camkit.geometry.flatten import as_polygon
from camkit.geometry.offset import offset
from camkit.geometry.path import Arc, Path, region
from camkit.job.load import load
from camkit.job.model import Cutter, Job
from camkit.part import Pocket
from camkit.pipeline import JudgedProgram, Result, make
from camkit.simulation.judge import told_time

# The steepest helix of common practice (2 to 5 degrees).
HELIX_DEG = 5.0
# Ways of going that the split knows, in the order in which they are printed.
WAYS = ("rapid over", "rapid up", "rapid down", "straight down", "sinking", "rising", "level")


def rounds(path: Path, times: int, feed: float, job: Job) -> float:
    """Seconds for a closed path walked `times` times at the feed, from rest to rest."""
    lines = [f"G0 X{path.start[0]:.4f} Y{path.start[1]:.4f} Z0", f"G1 F{feed:g}"]
    for segment in path.segments * times:
        end = f"X{segment.end[0]:.4f} Y{segment.end[1]:.4f}"
        if isinstance(segment, Arc):
            i, j = segment.centre[0] - segment.start[0], segment.centre[1] - segment.start[1]
            lines.append(f"G{2 if segment.clockwise else 3} {end} I{i:.5f} J{j:.5f}")
        else:
            lines.append(f"G1 {end}")
    return told_time("\n".join(["G21 G90", *lines, "M30"]) + "\n", job.machine).verdict.time_s


def swept_at_least(area: shapely.Geometry, cutter: Cutter, passes: int) -> float:
    """Seconds at the feed of the shortest path that sweeps all that the cutter reaches of an area."""
    r = cutter.diameter / 2
    reached = area.buffer(-r, quad_segs=64).buffer(r, quad_segs=64).area
    return passes * max(0.0, reached - math.pi * r * r) / cutter.diameter / cutter.feed * 60


def _pocket(pocket: Pocket) -> shapely.Geometry:
    return as_polygon(region(pocket.outline, pocket.islands))


def _hole(diameter: float, depth: float, mill: Cutter, job: Job) -> float:
    """Seconds to drill a hole with a drill of its size, or to sink a helix in it and go round once."""
    for drill in job.cutter:
        if drill.kind == "drill" and abs(drill.diameter - diameter) < 0.05:
            return depth / drill.plunge * 60
    radius = (diameter - mill.diameter) / 2
    along = depth / math.tan(math.radians(HELIX_DEG)) + 2 * math.pi * radius
    return along / min(mill.feed / 60, math.sqrt(radius * min(job.machine.acceleration[:2])))


def bound(result: Result, *, milled: frozenset[tuple[str, int, int]] = frozenset()) -> Counter[str]:
    """Seconds that geometry asks for, by kind of cut.

    Openings named in `milled` (part, copy, place among its openings) count by their area.
    """
    job = result.job
    mill = max((c for c in job.cutter if c.kind != "drill"), key=lambda c: c.diameter)
    found: Counter[str] = Counter()
    thickness = {sheet.number: sheet.thickness for sheet in result.sheets}
    for piece in result.placed:
        through = thickness[piece.sheet] + job.machine.into_table
        passes = math.ceil(through / mill.depth_of_pass - 1e-9)
        for hole in piece.shape.holes:
            depth = through if hole.depth is None else hole.depth
            found["hole"] += _hole(hole.diameter, depth, mill, job)
        for pocket in piece.shape.pockets:
            found["pocket"] += swept_at_least(
                _pocket(pocket), mill, math.ceil(pocket.depth / mill.depth_of_pass - 1e-9)
            )
        for k, opening in enumerate(piece.shape.openings):
            if (piece.part.name, piece.copy, k) in milled:
                found["opening"] += swept_at_least(as_polygon(opening), mill, passes)
            else:
                (inside, *_) = offset(region(opening), -mill.diameter / 2)
                found["opening"] += rounds(inside.exterior, passes, mill.feed, job)
        (outside, *_) = offset(region(piece.shape.outline), mill.diameter / 2)
        found["profile"] += rounds(outside.exterior, passes, mill.feed, job)
    return found


def split(programs: tuple[JudgedProgram, ...]) -> dict[str, Counter[str]]:
    """Seconds of the programs by kind of cut and way of going."""
    found: dict[str, Counter[str]] = {}
    for program in programs:
        marks = program.reading.marks
        kind, k = "", 0
        for n, (motion, timed) in enumerate(
            zip(program.reading.motions, program.verdict.timing, strict=True)
        ):
            while k < len(marks) and marks[k].before <= n:
                kind, k = marks[k].kind.lower(), k + 1
            drop = motion.start[2] - motion.end[2]
            still = math.dist(motion.start[:2], motion.end[:2]) < 1e-9 and motion.kind != "arc"
            if motion.kind == "rapid":
                way = "rapid over" if not still else "rapid down" if drop > 0 else "rapid up"
            elif still:
                way = "straight down" if drop > 0 else "rising"
            else:
                way = "level" if abs(drop) < 1e-6 else "sinking" if drop > 0 else "rising"
            found.setdefault(kind, Counter())[way] += timed.ends_s - timed.begins_s
    return found


def left_without_tabs(result: Result) -> frozenset[tuple[str, int, int]]:
    """Openings whose waste no tab holds: it is milled away."""
    found = set()
    for piece in result.placed:
        tabs = [
            shapely.Point(tab.x, tab.y)
            for cut in result.cuts
            if cut.kind == "opening" and (cut.part, cut.copy) == (piece.part.name, piece.copy)
            for tab in cut.tabs
        ]
        for k, opening in enumerate(piece.shape.openings):
            area = as_polygon(opening)
            if not any(area.contains(tab) for tab in tabs):
                found.add((piece.part.name, piece.copy, k))
    return frozenset(found)


def told(path: pathlib.Path) -> float:
    """Print the split and the ratios for one job; gives the ratio to the bound."""
    result = make(load(path), path.parent, path.stem)
    ways = split(result.programs)
    taken = sum(program.verdict.time_s for program in result.programs)
    print(f"{path.parent.name}: {'sound' if result.ok else 'UNSOUND'}, {taken:.0f} s")
    whole, by_area = bound(result), bound(result, milled=left_without_tabs(result))
    print(f"{'':10}" + "".join(f"{way:>14}" for way in WAYS) + f"{'all':>10}{'bound':>10}{'ratio':>8}")
    for kind, seconds in ways.items():
        spent = sum(seconds.values())
        print(
            f"{kind or 'other':10}"
            + "".join(f"{seconds[way]:14.1f}" for way in WAYS)
            + f"{spent:10.1f}{whole[kind]:10.1f}"
            + (f"{spent / whole[kind]:8.3f}" if whole[kind] else "")
        )
    least = sum(whole.values())
    feeding = sum(
        abs(timed.ends_s - timed.begins_s)
        for program in result.programs
        for motion, timed in zip(program.reading.motions, program.verdict.timing, strict=True)
        if motion.kind != "rapid"
    )
    plain = sum(p.verdict.feed_mm for p in result.programs)
    feed = max(c.feed for c in result.job.cutter if c.kind != "drill")
    print(f"bound {least:.0f} s: {taken / least:.3f} (wanted 1.15)")
    print(
        f"with openings milled away counted by area {sum(by_area.values()):.0f} s: "
        f"{taken / sum(by_area.values()):.3f}"
    )
    length = plain / feed * 60
    print(f"feeding {feeding:.0f} s; fed length / feed {length:.0f} s: {taken / length:.3f}")
    return taken / least


if __name__ == "__main__":
    for name in sys.argv[1:] or [str(DEMO)]:
        told(pathlib.Path(name).resolve())
