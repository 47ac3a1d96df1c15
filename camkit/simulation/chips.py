"""What the cutter's edges take, as the text feeds them: chips, depth of passes, plunges. Lengths in mm."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import partial

from camkit.errors import Finding, Level
from camkit.job.chips import DEEPEST_SLOT, GENTLE_CHIP, PLUNGE_SHARE, RUBBING_CHIP, chip_range
from camkit.job.model import Cutter, Job
from camkit.program.motion import Motion
from camkit.simulation.hit import Hit, fold
from camkit.simulation.machine_rules import Tips

__all__ = ["find_deep_passes", "find_fast_plunges", "find_wrong_chips"]

# Levels of a cut that are run along for less than this share of its longest one are no passes: tops of tabs.
_PASS = 1 / 3
# Levels nearer than this are one.
_SAME_LEVEL = 0.01
# Turns of a ramp go around a pass when they come this near to all of it.
_ROUND = 0.5
# The chart's figures have one or two digits, feeds along arcs are whole tens: so little is no fault.
_CHIP_ROUNDING = 0.02
# The text's feeds are rounded.
_FEED_ROUNDING = 1.0
# So are its places, to 0.0001 mm or 0.00001 in: on moves of a few um that alone makes a slope steeper.
_PLACE_ROUNDING = 0.0003
# Chords of an arc turn by no more than this from one to the next, in radians.
_CHORDS_TURN = 1.0


def _milling(job: Job) -> dict[int | None, Cutter]:
    return {cutter.number: cutter for cutter in job.cutter if cutter.mills}


def _run(motion: Motion) -> float:
    """Length along the table, of an arc along the arc."""
    chord = math.dist(motion.start[:2], motion.end[:2])
    if motion.centre is None:
        return chord
    (x, y), (ax, ay), (bx, by) = motion.centre, motion.start[:2], motion.end[:2]
    turned = math.atan2(by - y, bx - x) - math.atan2(ay - y, ax - x)
    swept = (-turned if motion.clockwise else turned) % (2 * math.pi)
    if chord < 1e-6:
        swept = 2 * math.pi
    return (swept + 2 * math.pi * motion.turns) * math.dist(motion.start[:2], motion.centre)


def _bites(tips: Tips) -> dict[int, float]:
    """How much deeper than the pass before it each level motion in the wood lies, by the motion's index.

    Passes are told from the text: the depths that one numbered cut (the whole text, where none are numbered)
    runs along with one cutter. Where the cutter sank to a depth by turns around the whole of it, a pass is
    what one turn takes.
    """
    begins = [mark.before for mark in tips.reading.marks]
    groups: dict[tuple[int, int | None], dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    for n, motion in tips.where(lambda m: m.start[2] == m.end[2] and tips.cuts(m)):
        level = round(tips.depth(motion) / _SAME_LEVEL)
        groups[bisect_right(begins, n), motion.cutter][level].append(n)
    sinking: dict[tuple[int, int | None], list[Motion]] = defaultdict(list)
    for n, motion in tips.where(lambda m: m.start[2] > m.end[2] and tips.cuts(m)):
        sinking[bisect_right(begins, n), motion.cutter].append(motion)
    found: dict[int, float] = {}
    for group, levels in groups.items():
        runs = {level: sum(_run(tips.reading.motions[n]) for n in ns) for level, ns in levels.items()}
        enough = _PASS * max(runs.values())
        above = 0
        for level in sorted(levels):
            along = [tips.reading.motions[n] for n in levels[level]]
            down = [m for m in sinking[group] if above < tips.depth(m) / _SAME_LEVEL <= level + 0.5]
            turns = max(1.0, sum(map(_run, down)) / max(runs[level], 1e-9)) if _covers(down, along) else 1.0
            found |= dict.fromkeys(levels[level], (level - above) * _SAME_LEVEL / turns)
            if runs[level] >= enough:
                above = level
    return found


def _covers(down: Sequence[Motion], along: Sequence[Motion]) -> bool:
    """Whether sinking motions go around all that is run along afterwards, by their extents."""
    if not down:
        return False
    (x0, y0, x1, y1), (u0, v0, u1, v1) = _extent(down), _extent(along)
    return x0 <= u0 + _ROUND and y0 <= v0 + _ROUND and x1 >= u1 - _ROUND and y1 >= v1 - _ROUND


def _extent(motions: Sequence[Motion]) -> tuple[float, float, float, float]:
    points = [point for m in motions for point in (m.start, m.end)]
    xs, ys = [point[0] for point in points], [point[1] for point in points]
    return min(xs), min(ys), max(xs), max(ys)


def _at_the_rim(motions: Sequence[Motion], n: int, radius: float) -> float:
    """How much faster than the cutter's centre its outermost edge passes the wood along an arc; else 1.

    Straight moves that turn evenly and little from one to the next are an arc in chords.
    """
    motion = motions[n]
    if motion.centre is None:
        return 1.0 + radius * max(_bend(motions, n), _bend(motions, n + 1))
    around = math.dist(motion.start[:2], motion.centre)
    return (around + radius) / around if around > 1e-6 else math.inf


def _bend(motions: Sequence[Motion], n: int) -> float:
    """Curvature, 1/mm, of the way where motion n begins, as far as it may be part of an arc; else 0."""
    if not 0 < n < len(motions) or motions[n - 1].end != motions[n].start:
        return 0.0
    a, b = (_step(motions[k]) for k in (n - 1, n))
    long, next_long = math.hypot(*a), math.hypot(*b)
    if min(long, next_long) < 1e-6:
        return 0.0
    turned = abs(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))
    return turned / min(long, next_long) if turned <= _CHORDS_TURN else 0.0


def _step(motion: Motion) -> tuple[float, float]:
    return (motion.end[0] - motion.start[0], motion.end[1] - motion.start[1])


def find_wrong_chips(tips: Tips, job: Job) -> list[Finding]:
    """Where level cuts make chips that plywood and a cutter of that diameter and depth of pass do not like.

    Chip per edge is feed / (speed x flutes). A warning below 0.05 mm and above the chart, a note below the
    chart and general routing. Ramps, plunges and drills are left out: they are fed slower on purpose. Along
    an arc it is thin only where its outer edge is, which passes the wood faster than the cutter's centre
    runs. One finding a cutter and kind, for its worst cut.
    """
    cutters, bites = _milling(job), _bites(tips)
    worst: dict[tuple[int, str], tuple[float, int, float, float]] = {}
    for n, bite in bites.items():
        m = tips.reading.motions[n]
        cutter = cutters.get(m.cutter)
        if cutter is None or m.feed_mm_min is None or m.spindle_rev_min <= 0:
            continue
        chip = m.feed_mm_min / (m.spindle_rev_min * cutter.flutes)
        low, high = chip_range(cutter.diameter, bite)
        low = min(low, GENTLE_CHIP)
        rim = chip * _at_the_rim(tips.reading.motions, n, cutter.diameter / 2)
        if chip > high * (1 + _CHIP_ROUNDING):
            kind, off, limit = "thick", chip / high, high
        elif rim < min(RUBBING_CHIP, low) * (1 - _CHIP_ROUNDING):
            kind, chip, limit = "rubs", rim, low
            off = limit / chip
        elif rim < low * (1 - _CHIP_ROUNDING):
            kind, chip, limit = "thin", rim, low
            off = limit / chip
        else:
            continue
        if off > worst.get((cutter.number, kind), (0.0, 0, 0.0, 0.0))[0] + 1e-9:
            worst[cutter.number, kind] = (off, n, chip, limit)
    return [
        finding
        for (number, kind), (_, n, chip, limit) in sorted(worst.items())
        if kind != "thin" or (number, "rubs") not in worst
        for finding in _told(tips, cutters[number], kind, n, chip, limit, bites[n])
    ]


def _told(
    tips: Tips, cutter: Cutter, kind: str, n: int, chip: float, limit: float, bite: float
) -> list[Finding]:
    motion = tips.reading.motions[n]
    whole = limit / chip * (motion.feed_mm_min or 0.0) / 10
    slower = chip / limit * motion.spindle_rev_min / 100
    level: Level = "note" if kind == "thin" else "warning"
    if kind == "thick":
        why = f"so thick that it may break: at most {limit:.3f} in plywood, {bite:.1f} mm deep"
        remedy = f"Feed at {math.floor(whole + 1e-6) * 10} mm/min or less"
        if slower * 100 <= 24000:
            remedy += f", or turn at {math.ceil(slower - 1e-6) * 100} rev/min or more"
        if bite > cutter.diameter:
            remedy += ", or cut shallower passes"
    else:
        more = "so thin that it rubs, burns and may set the dust alight" if kind == "rubs" else "rather thin"
        why = f"{more}: {limit:.3f} or more in plywood, {bite:.1f} mm deep"
        remedy = f"Feed at {math.ceil(whole - 1e-6) * 10} mm/min or more"
        remedy += f", or turn at {math.floor(slower + 1e-6) * 100} rev/min or less"
    return fold(
        "chip-load",
        [tips.hit(n, chip)],
        tips.reading,
        lambda hit: f"cutter {cutter.number} makes chips of {hit.amount:.3f} mm, {why}",
        remedy,
        level,
    )


def find_deep_passes(tips: Tips, job: Job) -> list[Finding]:
    """Warnings where one pass is deeper than the chart for plywood goes; one a cutter, for its deepest."""
    cutters = _milling(job)
    worst: dict[int, tuple[float, int]] = {}
    for n, bite in _bites(tips).items():
        cutter = cutters.get(tips.reading.motions[n].cutter)
        if cutter is not None and bite > DEEPEST_SLOT * cutter.diameter + _SAME_LEVEL:
            worst[cutter.number] = max(worst.get(cutter.number, (0.0, n)), (bite, n), key=lambda w: w[0])
    return [
        finding
        for number, (bite, n) in sorted(worst.items())
        for finding in fold(
            "deep-pass",
            [tips.hit(n, bite)],
            tips.reading,
            lambda hit: (
                f"cutter {tips.reading.motions[hit.motion].cutter} cuts {hit.amount:.1f} mm in one pass, "
                f"over {DEEPEST_SLOT:g} times its diameter: it may break, and chips pack in the slot"
            ),
            f"Cut passes of {cutters[number].diameter:g} mm, or at most {_times(cutters, number):g}",
            "warning",
        )
    ]


def _times(cutters: Mapping[int | None, Cutter], number: int) -> float:
    return round(DEEPEST_SLOT * cutters[number].diameter, 2)


def _sinks(number: int, down: float, feed: float, hit: Hit) -> str:
    del hit
    return (
        f"cutter {number} sinks at {down:.0f} mm/min, more than a third of its feed of {feed:.0f}: it may "
        "burn or break"
    )


def find_fast_plunges(tips: Tips, job: Job) -> list[Finding]:
    """Warnings where a milling cutter sinks into wood faster than a third of its feed; one a cutter.

    Its feed is the fastest that the text gives it along a level; what counts of a ramp is its downward share.
    """
    cutters, motions = _milling(job), tips.reading.motions
    fastest: dict[int | None, float] = defaultdict(float)
    for n in _bites(tips):
        fastest[motions[n].cutter] = max(fastest[motions[n].cutter], motions[n].feed_mm_min or 0.0)
    worst: dict[int, tuple[float, int]] = {}
    for n, m in tips.where(lambda m: m.end[2] < m.start[2] and tips.cuts(m)):
        cutter, drop = cutters.get(m.cutter), max(0.0, m.start[2] - m.end[2] - _PLACE_ROUNDING)
        if cutter is None or not fastest[m.cutter]:
            continue
        down = (m.feed_mm_min or 0.0) * drop / max(math.hypot(drop, _run(m)), 1e-9)
        if down > fastest[m.cutter] * PLUNGE_SHARE + _FEED_ROUNDING:
            worst[cutter.number] = max(worst.get(cutter.number, (0.0, n)), (down, n), key=lambda w: w[0])
    return [
        finding
        for number, (down, n) in sorted(worst.items())
        for finding in fold(
            "fast-plunge",
            [tips.hit(n)],
            tips.reading,
            partial(_sinks, number, down, fastest[number]),
            f"Sink at {math.floor(fastest[number] * PLUNGE_SHARE):.0f} mm/min or less, or along a ramp",
            "warning",
        )
    ]
