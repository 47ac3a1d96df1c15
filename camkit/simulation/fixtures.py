"""Rule `fixture-hit`: the cutter meets a clamp, a screw or a pod. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from shapely import Polygon, STRtree

from camkit.errors import Finding
from camkit.job.fixtures import HoldDown, KeepOut
from camkit.job.model import Job
from camkit.program.motion import Reading
from camkit.simulation.hit import Hit, fold
from camkit.simulation.swept import Shapes, piece_lines
from camkit.simulation.track import Edges, Track, track_below_top

__all__ = ["find_fixture_hits"]

# Rounding in the program must not count as contact.
ROUNDING = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class _Fixture:
    """An area that no cutter may enter below `height` above the sheet's top, from the motion `since` on."""

    said: str
    area: Polygon
    height: float
    since: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class _Ways:
    """Pieces of the cutter's way with their lines and an index of them."""

    track: Track
    lines: Shapes
    index: STRtree


def find_fixture_hits(
    reading: Reading,
    job: Job,
    edges: Mapping[int | None, Edges],
    top: float,
    thickness: float,
    earlier: Sequence[Reading] = (),
) -> list[Finding]:
    """Motions, fed or rapid, in which a cutter's edges come into a fixture; the amount is how far.

    Clamps and screws are met below their height; a pod, which lies under the sheet, by what comes through.
    Hold-down screws stand in the holes that the text marks as theirs once the last of these is cut, and in
    those of programs run `earlier`, or where the job says they stand when no text drills any.
    """
    fixtures = [_kept_out(row, thickness) for row in job.keep_out]
    if job.hold_down is not None:
        fixtures += _screws(reading, earlier, job.hold_down, top)
    found: list[Finding] = []
    ways: dict[float, _Ways] = {}
    for fixture in fixtures:
        if fixture.height not in ways:
            ways[fixture.height] = _ways(reading, edges, top + fixture.height)
        hits = _hits(fixture, ways[fixture.height])
        found += fold(
            "fixture-hit",
            [replace(hit, cause=len(found)) for hit in hits],
            reading,
            partial(_said, fixture.said),
            "Move it, or lead the cutter round it or over it",
        )
    return found


def _said(what: str, hit: Hit) -> str:
    return f"the cutter comes {hit.amount:.2f} mm into {what}"


def _ways(reading: Reading, edges: Mapping[int | None, Edges], height: float) -> _Ways:
    """All that runs below a height in the program, but from where nobody knows the machine to stand."""
    track = track_below_top(reading.motions, edges, height).below(ROUNDING)
    track = track.take((track.motion > 0) & np.isfinite(track.start).all(axis=1))
    lines = piece_lines(track)
    return _Ways(track, lines, STRtree(lines))


def _hits(fixture: _Fixture, ways: _Ways) -> list[Hit]:
    track = ways.track
    widest = float(track.radius.max(initial=0.0))
    near = np.sort(ways.index.query(fixture.area, "dwithin", distance=widest))
    near = near[track.motion[near] >= fixture.since]
    reach = track.radius[near] - shapely.distance(ways.lines[near], fixture.area)
    hits = []
    for n, amount in zip(near[reach > ROUNDING], reach[reach > ROUNDING], strict=True):
        x, y = shapely.get_coordinates(shapely.shortest_line(ways.lines[n], fixture.area))[0].tolist()
        z = fixture.height - float(track.depth[n])
        hits.append(Hit(int(track.motion[n]), x, y, z, float(amount)))
    return hits


def _kept_out(row: KeepOut, thickness: float) -> _Fixture:
    area = shapely.box(*row.box) if row.box is not None else _disc(row.at, row.diameter)
    return _Fixture(row.said, area, -thickness if row.height is None else row.height)


def _disc(at: tuple[float, float] | None, diameter: float | None) -> Polygon:
    return shapely.Point(at or (0.0, 0.0)).buffer((diameter or 0.0) / 2, quad_segs=32)


def _screws(reading: Reading, earlier: Sequence[Reading], hold: HoldDown, top: float) -> list[_Fixture]:
    here, since = _drilled(reading, top)
    before = [place for one in earlier for place in _drilled(one, top)[0]]
    standing = [*((place, 0) for place in before), *((place, since) for place in here)]
    return [
        _Fixture(
            f"the hold-down screw at ({x:.1f}, {y:.1f})", _disc((x, y), hold.head), hold.head_height, then
        )
        for (x, y), then in standing or [(place, 0) for place in hold.places]
    ]


def _drilled(reading: Reading, top: float) -> tuple[list[tuple[float, float]], int]:
    """Middles of the hold-down holes that the text cuts, and the first motion after the last of them."""
    marks, motions = reading.marks, reading.motions
    places, since = [], 0
    for n, mark in enumerate(marks):
        if mark.kind.upper() != "HOLD-DOWN":
            continue
        end = marks[n + 1].before if n + 1 < len(marks) else len(motions)
        here = [m.end for m in motions[mark.before : end] if m.kind != "rapid" and m.end[2] < top]
        if here and math.isfinite(sum(map(sum, here))):
            x, y = np.array(here)[:, 0], np.array(here)[:, 1]
            places.append(((x.min() + x.max()) / 2, (y.min() + y.max()) / 2))
            since = end
    return places, since
