"""Where plates stand once the sheet is thinner or thicker than drawn, so that loops of joints still close.

Shoulders hold the faces of the plates between them, so plates of another thickness stand elsewhere; the
openings that receive them move along. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from camkit.errors import Finding
from camkit.geometry.path import Point
from camkit.joinery.features import Feature
from camkit.joinery.pairs import Pairs
from camkit.joinery.plate_lines import Hosted, Line, Tie, laid, lines, ties
from camkit.joinery.plate_shifts import Shifts, by_outside, by_shoulders
from camkit.joinery.positions_told import cannot_close, drawn_off, in_order, names_of, not_kept, not_settled
from camkit.joinery.standing import standings
from camkit.joinery.stations import Frame, frames
from camkit.part import Part

__all__ = ["Keep", "Located", "Positions", "ShoulderMove", "positions"]

Keep = Literal["shoulders", "outside"]

# A move below a nanometre is rounding.
_NOTHING = 1e-6
# Holes lie on the middle of a plate when they are no farther from it.
_CENTRED = 0.5
_HOLES = ("screw hole", "countersunk screw hole", "pilot hole", "dowel hole")


@dataclass(frozen=True, slots=True)
class Located:
    """A receiving feature whose middle moves by `move` in its own part's drawing.

    Features that are not listed keep their middle. Of a bored hole only one feature is listed; what is bored
    on the same centre (a countersink) goes with it.
    """

    feature: Feature
    move: Point
    why: str


@dataclass(frozen=True, slots=True)
class ShoulderMove:
    """Tenons in a row, or an edge in a housing, that move whole (roots and ends) by `move` in the drawing."""

    part: int
    tenons: tuple[Feature, ...]
    move: Point
    why: str


@dataclass(frozen=True, slots=True)
class Positions:
    """What moves because plates are thinner or thicker than drawn, and which loops cannot close."""

    located: tuple[Located, ...] = ()
    shoulders: tuple[ShoulderMove, ...] = ()
    findings: tuple[Finding, ...] = ()


def positions(
    parts: Sequence[Part],
    found: Pairs,
    drawn: Sequence[float],
    measured: Sequence[float],
    keep: Keep = "shoulders",
    stacks: Sequence[tuple[int, ...]] = (),
) -> Positions:
    """Moves that let every part between two plates fit at the measured thicknesses, each part's own.

    With `keep` "shoulders" all distances between shoulders stay as drawn and openings move: the middles of
    two plates come to stand S + (T1 + T2) / 2 apart. What is free is shared out by least squares, so that two
    plates keep their inner faces and what no shoulder locates stays about its middle. With "outside" the
    outer faces of the outermost plates stay, the others stay about their middles as far as parts that fit
    several bays keep one length, and shoulders move. Nothing moves where nothing ties plates, and in a loop
    that cannot close: finding `loop-cannot-close` (error) names its parts and by how much they miss.
    Warnings: `drawn-off` (openings that shoulders do not meet as drawn), `outside-not-kept`, and
    `fits-several-places` (a part that should move unlike in each), `stand-in-order` (parts that look alike to
    the openings, yet their loops close in some orders only).

    `found` are the pairs as drawn; `stacks` are indices of layers glued together, in their order.
    """
    findings: list[Finding] = []
    known, on_lines = laid(frames(parts, found, drawn, measured, stacks))
    if keep == "outside" and any(one != other for one, other in zip(drawn, measured, strict=True)):
        between = [one for one in known if len(one.ends) > 1]
        on_lines = [(line, [tie for tie in tied if _stands(tie, line)]) for line, tied in on_lines]
        standing = {tie.frame for _, tied in on_lines for tie in tied}
        lonely = [one for one in between if one not in standing and all(end.sure for end in one.ends)]
        on_lines += [(line, [tie for frame in lonely for tie in ties(line, frame)]) for line in lines(lonely)]
        kept = [one for one in between if one not in standing and one not in lonely]
        kept = [one for one in kept if any(end.sure for end in one.ends)]
        kept += [one for one in between if not all(end.features for end in one.ends)]
        findings += [not_kept(parts[part]) for part in dict.fromkeys(one.part for one in kept)]
    located: list[Located] = []
    moves: _Moves = {}
    for line, tied in on_lines:
        if tied:
            solved = _solve(line, tied, keep, parts, found)
            findings += solved.findings
            located += _located(solved, parts, found)
            for end, amounts in solved.shoulders.items():
                moves.setdefault(end, []).extend(amounts)
    return Positions(tuple(located), tuple(_shoulder_moves(moves)), tuple(findings))


def _stands(tie: Tie, line: Line) -> bool:
    """Whether both shoulders are sure, or another part receives both of their plates."""
    received = {
        plate
        for one in line.hosted
        if one.frame.part != tie.frame.part
        for station, plate in zip(one.frame.stations, one.at, strict=True)
        if not station.side
    }
    return (tie.first.sure and tie.second.sure) or {tie.low, tie.high} <= received


# How far the shoulders of these tenons move along the axis of their part, in each bay where it may stand.
_Moves = dict[tuple[Frame, tuple[Feature, ...]], list[float]]


@dataclass(frozen=True, slots=True)
class _Solved:
    """What came of one line: how its plates and parts shift and why, and how far shoulders move."""

    line: Line
    shifts: Shifts
    why: str
    shoulders: _Moves
    findings: tuple[Finding, ...]


def _solve(line: Line, tied: Sequence[Tie], keep: Keep, parts: Sequence[Part], found: Pairs) -> _Solved:
    """The line solved; where its loops do not close as drawn, in another order of like parts."""
    # Fingers have no shoulders to move, so what they hold stays held.
    outside = keep == "outside" and all(tie.first.features and tie.second.features for tie in tied)
    solve = by_outside if outside else by_shoulders
    shifts, said = solve(line, tied), list[Finding]()
    if shifts.loops or not shifts.settled:
        ways = [(one, solve(one.line, one.ties)) for one in standings(line, tied, found.options)]
        closing = sorted((way for way in ways if not way[1].loops), key=lambda way: not way[1].settled)
        way = closing[0] if closing else None
        if way is not None and (shifts.loops or way[1].settled):
            line, tied, shifts = way[0].line, way[0].ties, way[1]
            said.append(in_order(way[0], parts))
    said += drawn_off(line, tied, parts)
    said += [cannot_close(loop, parts, tied) for loop in shifts.loops]
    said += [] if shifts.settled else [not_settled(line, parts)]
    shoulders: _Moves = {}
    if outside and not shifts.loops:
        for tie in tied:
            for end, plate in ((tie.first, tie.low), (tie.second, tie.high)):
                moved = tie.sign * shifts.plates[plate] - end.shift
                shoulders.setdefault((tie.frame, end.features), []).append(moved)
    holding = names_of(dict.fromkeys(parts[tie.frame.part].name for tie in tied))
    why = "outer faces stay" if outside else f"the shoulders of {holding} keep their distances"
    return _Solved(line, shifts, why, shoulders, tuple(said))


def _located(solved: _Solved, parts: Sequence[Part], found: Pairs) -> Iterator[Located]:
    """The openings that move, and the holes on the middle of their plates."""
    if not solved.shifts.loops:
        for hosted, moved in zip(solved.line.hosted, solved.shifts.parts, strict=True):
            yield from _in_part(hosted, moved, solved, parts, found)


def _in_part(
    hosted: Hosted, moved: float, solved: _Solved, parts: Sequence[Part], found: Pairs
) -> Iterator[Located]:
    frame, (ax, ay) = hosted.frame, hosted.frame.axis
    bored: dict[int | None, Feature] = {}
    for feature in found.features:
        if feature.part == frame.part and feature.kind in _HOLES:
            bored.setdefault(feature.loop, feature)
    for station, plate in zip(frame.stations, hosted.at, strict=True):
        move = hosted.sign * solved.shifts.plates[plate] - moved
        if station.side or abs(move) <= _NOTHING:
            continue
        name = names_of(dict.fromkeys(parts[one].name for one in sorted(station.plates)), "or")
        holes = [f for f in bored.values() if abs(frame.along(f.middle) - station.place) <= _CENTRED]
        for feature in (*station.features, *holes):
            why = f"moves {abs(move):.2f} mm with {name}: {solved.why}"
            yield Located(feature, (move * ax + 0.0, move * ay + 0.0), why)


def _shoulder_moves(moves: _Moves) -> Iterator[ShoulderMove]:
    """How far shoulders move, the mean of all bays where their part may stand: in each it is as long."""
    for (frame, tenons), amounts in moves.items():
        move, (ax, ay) = sum(amounts) / len(amounts), frame.axis
        if abs(move) > _NOTHING:
            why = f"the shoulder moves {abs(move):.2f} mm, so that outer faces stay"
            yield ShoulderMove(frame.part, tenons, (move * ax + 0.0, move * ay + 0.0), why)
