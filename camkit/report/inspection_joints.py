"""Joints of a drawing as `inspect` tells them: how many of each kind, and which parts meet, by letters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from camkit.drawing.drawn import Drawn
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Point
from camkit.job.model import Job
from camkit.joinery.features import Feature
from camkit.joinery.guess import Guess, guessed_thickness
from camkit.joinery.layers import stacks
from camkit.joinery.mates import Stock, stocks_leaning
from camkit.joinery.pairs import Pair, Pairs, pairs
from camkit.part import Part
from camkit.report.words import length_text

__all__ = ["JointRow", "Joints", "joint_lines", "joints_of", "told"]

_MOST = 60
_MANY = {
    "mortise and tenon": ("mortise", "mortises"),
    "cross-lap": ("cross-lap", "cross-laps"),
    "finger edge": ("finger edge", "finger edges"),
    "housing": ("housing", "housings"),
    "rabbet": ("rabbet", "rabbets"),
    "dowels": ("dowel hole", "dowel holes"),
    "mortise": ("mortise", "mortises"),
    "tenon": ("tenon", "tenons"),
    "step": ("flush tenon", "flush tenons"),
    "slot": ("slot", "slots"),
}
_CHORDS = 0.05


@dataclass(frozen=True, slots=True)
class JointRow:
    """All joints of one kind between two parts, under one letter: in words, and the shapes of both sides.

    Finger edges have `places` instead of shapes.
    """

    letter: str
    text: str
    enters: tuple[Feature, ...]
    takes: tuple[Feature, ...]
    places: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Joints:
    """Joints found for the `thicknesses` of parts, rising, each once; a `guess` where no job states them."""

    thicknesses: tuple[float, ...]
    guess: Guess | None
    found: Pairs
    rows: tuple[JointRow, ...]

    @property
    def spare(self) -> tuple[Feature, ...]:
        """Mortises that tenons fit which have other mates."""
        used = {shape for pair in self.found.pairs for shape in pair.takes}
        fitting = (shape for fits in self.found.options.values() for fit in fits for shape in fit)
        return tuple(shape for shape in dict.fromkeys(fitting) if shape not in used)


def joints_of(
    parts: Sequence[Part], thicknesses: Sequence[float] | None, job: Job | None = None
) -> Joints | None:
    """The joints for the parts' drawn thicknesses, or for the width that most pairs share; None without both.

    With a job its [[part]] rows give the names, its [[joint]] rows decide and its glue-ups are plates.
    """
    guess = guessed_thickness(parts) if thicknesses is None else None
    drawn_for = [guess.width] * len(parts) if guess is not None else thicknesses
    if not drawn_for:
        return None
    called = _called(parts, job) if job is not None else list(parts)
    named = job.joint if job is not None else ()
    rows = [(row.tenon, row.mortise) for row in named if row.tenon is not None]
    glued = stacks(job.glue_up, called) if job is not None else ()
    found = pairs(called, _meeting(called, drawn_for, job), rows, glued)
    return Joints(tuple(sorted(set(drawn_for))), guess, found, _rows(called, found))


def _meeting(parts: Sequence[Part], thicknesses: Sequence[float], job: Job | None) -> list[float]:
    """How thick the parts are where they meet others: plates that lean are thicker."""
    stocks = [Stock(thickness, thickness) for thickness in thicknesses]
    leaning = stocks_leaning(parts, stocks, job) if job is not None else stocks
    return [stock.drawn for stock in leaning]


def told(drawn: Drawn, joints: Joints | None) -> Drawn:
    """The drawing with what is to be said of its joints, unless their thickness is only a guess."""
    if joints is None or joints.guess is not None:
        return drawn
    return replace(drawn, findings=(*drawn.findings, *joints.found.findings))


def _called(parts: Sequence[Part], job: Job) -> list[Part]:
    """The parts under the names that the job's rows give to the points in them."""
    called = []
    for part in parts:
        points = [(row.name, row.at) for row in job.part if row.at is not None]
        outline = as_polygon(part.outline, _CHORDS) if points else None
        name = next((name for name, at in points if outline and outline.contains(shapely.Point(at))), None)
        called.append(part if name is None else replace(part, name=name))
    return called


def _rows(parts: Sequence[Part], found: Pairs) -> tuple[JointRow, ...]:
    meeting: dict[tuple[str, int, int], list[Pair]] = {}
    for pair in found.pairs:
        meeting.setdefault((pair.kind, *pair.parts), []).append(pair)
    rows = []
    for number, ((kind, one, other), joined) in enumerate(meeting.items()):
        enters = tuple(shape for pair in joined for shape in pair.enters)
        takes = tuple(shape for pair in joined for shape in pair.takes)
        places = tuple(at for pair in joined for at in ((pair.x, pair.y), pair.far) if at and not pair.takes)
        text = _said(kind, parts[one].name, parts[other].name, takes, len(joined))
        rows.append(JointRow(_letter(number), text, enters, takes, places))
    return tuple(rows)


def _letter(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    said = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        said = chr(ord("A") + rest) + said
    return said


def _said(kind: str, one: str, other: str, takes: Sequence[Feature], pairs_: int) -> str:
    count = len(takes) or pairs_
    if kind == "mortise and tenon":
        sizes = Counter(f"{length_text(shape.width)} x {length_text(shape.length)}" for shape in takes)
        return f"{_count(count, 'tenon')} of {one} into {other}, mortise{_s(count)} {', '.join(sizes)}"
    if kind in ("housing", "rabbet"):
        return f"{_count(count, kind)} of {other} for {one}"
    if kind == "dowels":
        return f"{_count(count, kind)} of {one} on as many of {other}"
    return f"{_count(count, kind)} of {one} and {other}"


def _s(count: int) -> str:
    return "" if count == 1 else "s"


def _count(count: int, kind: str) -> str:
    return f"{count} {_MANY[kind][count != 1]}"


def _heading(joints: Joints) -> str:
    """How many joints of each kind there are, and for which thickness."""
    counts: Counter[str] = Counter()
    shapes: dict[str, set[Feature]] = {}
    for pair in joints.found.pairs:
        if pair.takes:
            shapes.setdefault(pair.kind, set()).update(pair.takes)
        else:
            counts[pair.kind] += 1
    counts.update({kind: len(taking) for kind, taking in shapes.items()})
    counted = ", ".join(_count(count, kind) for kind, count in counts.items()) or "none"
    drawn_for = " and ".join(length_text(thickness) for thickness in joints.thicknesses)
    if joints.guess is None:
        return f"joints, drawn for {drawn_for} as the job says: {counted}"
    return (
        f"joints, if drawn for {drawn_for}: {counted}. A guess: so wide are {joints.guess.votes} paired "
        "mortises and slots, drawn play included; a job says drawn_thickness"
    )


def _rest(joints: Joints) -> list[str]:
    """What else was found: openings for wedges, mortises that are left over, and shapes without a mate."""
    said = []
    if joints.found.wedges:
        said.append(f"w  {len(joints.found.wedges)} for wedges, through tenons: no joints of the sheet")
    if joints.spare:
        said.append(f"+  {_count(len(joints.spare), 'mortise')} more than there are tenons to fit")
    lone = Counter(one.kind for one in joints.found.lone)
    said += [f"?  {_count(count, kind)} without a mate" for kind, count in sorted(lone.items())]
    return said


def joint_lines(joints: Joints | None, most: int = _MOST) -> list[str]:
    """A heading, then the joints in words, each kind and two parts in a line; empty where none is found."""
    if joints is None or not (joints.rows or joints.found.wedges or joints.found.lone):
        return []
    wide = max((len(row.letter) for row in joints.rows), default=1)
    lines = [f"  {row.letter:{wide}}  {row.text}" for row in joints.rows[:most]]
    if len(joints.rows) > most:
        lines.append(f"  and {len(joints.rows) - most} more, all in the words of inspect --json")
    return [_heading(joints), *lines, *(f"  {text}" for text in _rest(joints))]
