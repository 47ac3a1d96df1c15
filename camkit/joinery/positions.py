"""Where plates stand once the sheet is thinner or thicker than drawn, so that loops of joints still close.

Shoulders hold the faces of the plates between them, so plates of another thickness stand elsewhere; the
openings that receive them move along. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from camkit.errors import Finding
from camkit.geometry.path import Point
from camkit.joinery.features import Feature
from camkit.joinery.pairs import Pairs
from camkit.joinery.plate_lines import Hosted, laid, lines, ties
from camkit.joinery.plate_shifts import Shifts, by_outside, by_shoulders
from camkit.joinery.positions_told import cannot_close, drawn_off, names_of, not_kept, not_settled
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
    `fits-several-places` (a part that should move unlike in each).

    `found` are the pairs as drawn; `stacks` are indices of layers glued together, in their order.
    """
    located: list[Located] = []
    shoulders: dict[tuple[Frame, tuple[Feature, ...]], list[float]] = {}
    findings: list[Finding] = []
    known, on_lines = laid(frames(parts, found, drawn, measured, stacks))
    if keep == "outside" and any(one != other for one, other in zip(drawn, measured, strict=True)):
        standing = {tie.frame for _, tied in on_lines for tie in tied}
        lonely = [one for one in known if len(one.ends) > 1 and one not in standing]
        sure = [one for one in lonely if all(end.sure and end.features for end in one.ends)]
        unsure = [one for one in lonely if one not in sure]
        fingered = [one for one in known if len(one.ends) > 1 and not all(end.features for end in one.ends)]
        findings += [not_kept(parts[one.part]) for one in dict.fromkeys((*unsure, *fingered))]
        on_lines += [(line, [tie for frame in sure for tie in ties(line, frame)]) for line in lines(sure)]
    for line, tied in on_lines:
        if not tied:
            continue
        # Fingers have no shoulders to move, so what they hold stays held.
        outside = keep == "outside" and all(tie.first.features and tie.second.features for tie in tied)
        shifts = by_outside(line, tied) if outside else by_shoulders(line, tied)
        findings += drawn_off(line, tied, parts)
        findings += [cannot_close(loop, parts, line, tied) for loop in shifts.loops]
        if shifts.loops:
            continue
        findings += [] if shifts.settled else [not_settled(line, parts)]
        reason = "outer faces stay"
        if not outside:
            holding = names_of(dict.fromkeys(parts[tie.frame.part].name for tie in tied))
            reason = f"the shoulders of {holding} keep their distances"
        for k, one in enumerate(line.hosted):
            located += _located(one, shifts, k, parts, found, reason)
        if outside:
            for tie in tied:
                for end, plate in ((tie.first, tie.low), (tie.second, tie.high)):
                    moved = tie.sign * shifts.plates[plate] - end.shift
                    shoulders.setdefault((tie.frame, end.features), []).append(moved)
    return Positions(tuple(located), tuple(_shoulder_moves(shoulders)), tuple(findings))


def _located(
    hosted: Hosted, shifts: Shifts, k: int, parts: Sequence[Part], found: Pairs, reason: str
) -> Iterator[Located]:
    """What moves of one part: the openings at each station, and holes on the middle of their plates."""
    frame, (ax, ay) = hosted.frame, hosted.frame.axis
    bored: dict[int | None, Feature] = {}
    for feature in found.features:
        if feature.part == frame.part and feature.kind in _HOLES:
            bored.setdefault(feature.loop, feature)
    for station, plate in zip(frame.stations, hosted.at, strict=True):
        move = hosted.sign * shifts.plates[plate] - shifts.parts[k]
        if station.side or abs(move) <= _NOTHING:
            continue
        name = names_of(dict.fromkeys(parts[one].name for one in sorted(station.plates)), "or")
        holes = [f for f in bored.values() if abs(frame.along(f.middle) - station.place) <= _CENTRED]
        for feature in (*station.features, *holes):
            why = f"moves {abs(move):.2f} mm with {name}: {reason}"
            yield Located(feature, (move * ax + 0.0, move * ay + 0.0), why)


def _shoulder_moves(
    moves: Mapping[tuple[Frame, tuple[Feature, ...]], Sequence[float]],
) -> Iterator[ShoulderMove]:
    """How far shoulders move, the mean of all bays where their part may stand: in each it is as long."""
    for (frame, tenons), amounts in moves.items():
        move, (ax, ay) = sum(amounts) / len(amounts), frame.axis
        if abs(move) > _NOTHING:
            why = f"the shoulder moves {abs(move):.2f} mm, so that outer faces stay"
            yield ShoulderMove(frame.part, tenons, (move * ax + 0.0, move * ay + 0.0), why)
