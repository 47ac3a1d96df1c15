"""The judge: what a program's text would do to the sheet, held against the parts that were asked for."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from functools import cache

import shapely

from camkit.errors import Finding
from camkit.geometry.tolerance import UNCUT
from camkit.job.model import Cutter, Job, Machine
from camkit.part import Placed
from camkit.program.motion import Reading
from camkit.program.read import read
from camkit.simulation.accounts import cut_times, cutter_times, feed_and_rapid_lengths
from camkit.simulation.as_run import as_run
from camkit.simulation.blend import rounded_corners
from camkit.simulation.chips import find_deep_passes, find_fast_plunges, find_wrong_chips
from camkit.simulation.fixtures import find_fixture_hits
from camkit.simulation.floors import find_uncut_floors
from camkit.simulation.gouge import find_gouges
from camkit.simulation.holding import Vacuum, find_loose
from camkit.simulation.machine_rules import (
    Tips,
    find_bad_end,
    find_missing_feeds,
    find_out_of_travel,
    find_stopped_spindle,
    find_stops_in_motion,
    find_table_cuts,
    find_too_deep_for_cutter,
    find_touches,
    find_wrong_cutters,
)
from camkit.simulation.rapids import find_rapids_in_wood
from camkit.simulation.sinks import find_unsunk
from camkit.simulation.situation import ALONE, Situation
from camkit.simulation.swept import Swept, swept
from camkit.simulation.timing import plan_times, total_time
from camkit.simulation.touch_off import find_cut_touch_off
from camkit.simulation.track import Edges, joined, track_below_top
from camkit.simulation.uncut import find_uncut, find_whole_part_uncut
from camkit.simulation.verdict import Judgement, Verdict
from camkit.simulation.wanted import wanted_parts

__all__ = ["judge", "judge_air", "run_of", "told_time"]

# Of findings with the same words about the text so many are listed, the rest is counted.
LISTED = 20


def judge(
    text: str,
    placed: Sequence[Placed],
    job: Job,
    *,
    sheet_size: tuple[float, float],
    thickness: float,
    situation: Situation = ALONE,
) -> Judgement:
    """What the program's text says, and whether it cuts the placed parts and nothing else.

    Believes only the text and the shapes of `placed`, which are the parts as they must be after cutting, in
    sheet coordinates. X0 Y0 lies where the job's xy_zero says, Z is 0 on the sheet's top in the program, or
    on the table when the job says so; findings speak of sheet coordinates, Z 0 on the top, and so does the
    reading that is given back but for its Z. Sheet and thickness in mm. Without a `situation` the sheet is
    whole before and every part must be cut. Never raises on any text.
    """
    reading = as_run(read(text), job, sheet_size)
    findings = _findings(reading, placed, job, sheet_size, thickness, situation)
    return Judgement(reading, _timed(reading, job.machine, job.cutter, tuple(findings)))


def judge_air(text: str, job: Job, *, sheet_size: tuple[float, float], thickness: float) -> Judgement:
    """What the program's text says, and whether the machine can run it without touching the sheet.

    As `judge`, but nothing is to be cut: for a program that runs in the air to be watched.
    """
    reading = as_run(read(text), job, sheet_size)
    top = thickness if job.machine.zero == "table" else 0.0
    tips = Tips(reading, top)
    findings = (
        *_about_machine(tips, job),
        *find_fixture_hits(reading, job, _edges(reading, job), top, thickness),
        *find_touches(tips),
    )
    return Judgement(reading, _timed(reading, job.machine, job.cutter, findings))


def run_of(text: str, job: Job, sheet_size: tuple[float, float]) -> Reading:
    """The program's reading as `judge` gives it back, without a verdict."""
    return as_run(read(text), job, sheet_size)


def told_time(text: str, machine: Machine, cutters: Sequence[Cutter] = ()) -> Judgement:
    """What the program's text says and how long the machine takes for it; nothing else is judged.

    Findings are those of the text alone. `cutters` only lend their diameters to the times.
    """
    reading = read(text)
    return Judgement(reading, _timed(reading, machine, cutters, tuple(_listed(reading.findings))))


def _timed(
    reading: Reading, machine: Machine, cutters: Sequence[Cutter], findings: tuple[Finding, ...]
) -> Verdict:
    timing = plan_times(reading, machine)
    feed, rapid = feed_and_rapid_lengths(reading)
    return Verdict(
        total_time(reading, timing),
        feed,
        rapid,
        cutter_times(reading, timing, cutters),
        cut_times(reading, timing),
        timing,
        findings,
    )


def _findings(
    reading: Reading,
    placed: Sequence[Placed],
    job: Job,
    sheet: tuple[float, float],
    thickness: float,
    situation: Situation,
) -> list[Finding]:
    top = thickness if job.machine.zero == "table" else 0.0
    tips = Tips(reading, top)
    return [
        *_about_machine(tips, job),
        *find_table_cuts(tips, thickness, job.machine.into_table),
        *find_too_deep_for_cutter(tips, job),
        *find_fixture_hits(reading, job, _edges(reading, job), top, thickness, situation.before),
        *_about_wood(reading, placed, job, sheet, thickness, top, situation),
        *find_wrong_chips(tips, job),
        *find_deep_passes(tips, job),
        *find_fast_plunges(tips, job),
    ]


def _about_machine(tips: Tips, job: Job) -> list[Finding]:
    """What needs no look at the sheet."""
    return [
        *_listed(tips.reading.findings),
        *find_bad_end(tips),
        *find_stopped_spindle(tips),
        *find_stops_in_motion(tips),
        *find_missing_feeds(tips),
        *find_wrong_cutters(tips, job),
        *find_out_of_travel(tips, job),
    ]


def _about_wood(
    reading: Reading,
    placed: Sequence[Placed],
    job: Job,
    sheet: tuple[float, float],
    thickness: float,
    top: float,
    situation: Situation,
) -> list[Finding]:
    whole, first = situation.whole(reading), situation.first
    edges = _edges(whole, job)
    track = track_below_top(whole.motions, edges, top)
    own = track.take(track.motion >= first)
    corners = rounded_corners(reading.motions, edges, top).later(first)
    wanted = wanted_parts(placed, thickness, job.cutter)
    board = shapely.box(0.0, 0.0, *sheet)

    @cache
    def below(depth: float) -> Swept:
        return swept(track, depth)

    bottom, anything = below(thickness - UNCUT), below(UNCUT)
    findings = [
        *find_gouges(joined(own, corners), wanted, whole),
        *find_rapids_in_wood(track, sheet, whole, first),
        *find_cut_touch_off(own, job, whole),
    ]
    holding = [job.holding(piece.part.name) for piece in placed]
    for piece, part, hold in zip(placed, wanted, holding, strict=True):
        if not situation.asks(piece):
            continue
        left = find_whole_part_uncut(part, anything)
        if left is None:
            skin = below(thickness - job.tabs.skin - UNCUT) if hold == "skin" else None
            findings += find_uncut(part, bottom, anything, job.tabs, board, skin)
            findings += find_uncut_floors(part, below, anything)
            findings += find_unsunk(part, below)
        else:
            findings.append(left)
    gone = below(thickness - job.tabs.skin / 2) if "skin" in holding else bottom
    vacuum = Vacuum([hold == "vacuum" for hold in holding], job.tabs.vacuum_area)
    return findings + find_loose(wanted, gone, anything, sheet, whole, first, vacuum)


def _edges(reading: Reading, job: Job) -> dict[int | None, Edges]:
    """Shape by cutter number; a number that the job lacks is judged with its smallest cutter."""
    known = {
        cutter.number: Edges(
            cutter.diameter / 2,
            math.tan(math.radians(cutter.point_angle / 2)) if cutter.point_length > 0 else math.inf,
        )
        for cutter in job.cutter
    }
    smallest = min(known.values(), key=lambda edges: edges.radius)
    met = {motion.cutter for motion in reading.motions}
    return {number: smallest if number is None else known.get(number, smallest) for number in met}


def _listed(findings: Sequence[Finding]) -> list[Finding]:
    """The reader's findings, those with equal words only so often."""
    counts: Counter[str] = Counter()
    kept = []
    for finding in findings:
        counts[finding.message] += 1
        if counts[finding.message] <= LISTED:
            kept.append(finding)
    for message, count in counts.items():
        if count > LISTED:
            level = next(f.level for f in findings if f.message == message)
            kept.append(Finding(level, "bad-block", f"{message}: so on {count - LISTED} lines more"))
    return kept
