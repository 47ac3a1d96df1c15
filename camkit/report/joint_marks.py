"""Joints marked in the picture of a drawing: a line along every shape, and the letter of it and its mate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from camkit.geometry.path import Point
from camkit.joinery.features import Feature
from camkit.report.boxes import Box, Taken, around
from camkit.report.inspection_joints import Joints
from camkit.report.labels import text_width
from camkit.report.palette import JOINT
from camkit.report.paper import Paper
from camkit.report.svg import lettering, number

__all__ = ["joint_legend", "joint_marks"]

_LETTERS, _HIGH = 1.9, 2.9
_DISTANCES = (0.5, 1.2, 2.2, 3.5, 5.0, 7.0)
# Lines along shapes shorter than this on paper are drawn so long.
_LEAST_LINE = 0.8
# Of more shapes than these only the lines are drawn.
_MOST_TAGS = 400
_TAKES, _ENTERS, _ASIDE = "takes", "enters", "aside"


@dataclass(frozen=True, slots=True)
class _Tag:
    """A sign at a place; what takes a mate is filled, what enters one is not."""

    sign: str
    look: str
    place: Point
    line: tuple[Point, Point] | None


def joint_marks(joints: Joints | None, paper: Paper, taken: Taken) -> list[str]:
    """A line along every shape that is part of a joint, and its letter beside it, clear of the boxes taken.

    The boxes filled are added to `taken`. A letter that finds no room is left out, its line stays.
    """
    if joints is None:
        return []
    tags = list(_tags(joints))
    lines = [_line(tag, paper) for tag in tags]
    lettered: list[str] = []
    for tag in tags if len(tags) <= _MOST_TAGS else ():
        box = _spot(tag, paper, taken)
        if box is not None:
            taken.add(box)
            lines += _leader(tag, box, paper)
            lettered += _lettered(tag, box, paper)
    return [*lines, *lettered]


def joint_legend(joints: Joints | None, x: float, y: float, paper: Paper) -> tuple[list[str], float]:
    """What the signs mean, from x on; and where the legend ends."""
    if joints is None or not (joints.rows or joints.found.wedges or joints.found.lone):
        return [], x
    said = [("A", _TAKES, "takes its mate"), ("A", _ENTERS, "enters its mate")] if joints.rows else []
    said += [("w", _ASIDE, "for a wedge")] if joints.found.wedges else []
    said += [("+", _ASIDE, "left over")] if joints.spare else []
    said += [("?", _ASIDE, "without a mate")] if joints.found.lone else []
    rows: list[str] = []
    for sign, look, words in said:
        wide, _ = _size(sign, paper)
        tag = _Tag(sign, look, (0, 0), None)
        rows += _lettered(tag, Box(x + wide / 2, y, *_size(sign, paper)), paper)
        rows.append(lettering(x + wide + 1 * paper.mm, y + 0.8 * paper.mm, 2.3 * paper.mm, words))
        x += wide + (len(words) * 1.35 + 5) * paper.mm
    return rows, x


def _tags(joints: Joints) -> Iterator[_Tag]:
    for row in joints.rows:
        yield from (_tag(row.letter, _TAKES, shape) for shape in dict.fromkeys(row.takes))
        yield from (_tag(row.letter, _ENTERS, shape) for shape in dict.fromkeys(row.enters))
        yield from (_Tag(row.letter, _TAKES, place, None) for place in row.places)
    yield from (_tag("w", _ASIDE, shape) for shape in joints.found.wedges)
    yield from (_tag("+", _ASIDE, shape) for shape in joints.spare)
    yield from (_tag("?", _ASIDE, shape) for shape in joints.found.lone)


def _tag(sign: str, look: str, shape: Feature) -> _Tag:
    (x, y), (ux, uy) = shape.middle, shape.along
    if "hole" in shape.kind:
        return _Tag(sign, look, (x, y), None)
    half = (shape.width if shape.kind in ("tenon", "step", "edge") else shape.length) / 2
    return _Tag(sign, look, (x, y), ((x - half * ux, y - half * uy), (x + half * ux, y + half * uy)))


def _line(tag: _Tag, paper: Paper) -> str:
    mm = paper.mm
    stroke = f'fill="none" stroke="{JOINT}" stroke-width="{number(0.5 * mm)}"'
    if tag.line is None:
        x, y = paper.at(*tag.place)
        return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(_LEAST_LINE * mm)}" {stroke}/>'
    (ax, ay), (bx, by) = (paper.at(*end) for end in tag.line)
    return f'<path d="M{number(ax)} {number(ay)}L{number(bx)} {number(by)}" {stroke}/>'


def _size(sign: str, paper: Paper) -> Point:
    return text_width(sign, _LETTERS * paper.mm) + 1.4 * paper.mm, _HIGH * paper.mm


def _spot(tag: _Tag, paper: Paper, taken: Taken) -> Box | None:
    mm = paper.mm
    wide, high = _size(tag.sign, paper)
    for box in around(paper.at(*tag.place), wide, high, (away * mm for away in _DISTANCES)):
        inside = wide / 2 < box.x < paper.width - wide / 2 and paper.top - 3 * mm < box.y
        if inside and box.y < paper.bottom + 3 * mm and taken.is_free(box):
            return box
    return None


def _leader(tag: _Tag, box: Box, paper: Paper) -> list[str]:
    (x, y), mm = paper.at(*tag.place), paper.mm
    ends = f"M{number(x)} {number(y)}L{number(box.x)} {number(box.y)}"
    return [f'<path d="{ends}" stroke="{JOINT}" stroke-width="{number(0.15 * mm)}"/>']


def _lettered(tag: _Tag, box: Box, paper: Paper) -> list[str]:
    mm = paper.mm
    fill, ink = (JOINT, "#ffffff") if tag.look == _TAKES else ("#ffffff", JOINT)
    dash = f' stroke-dasharray="{number(0.6 * mm)} {number(0.4 * mm)}"' if tag.look == _ASIDE else ""
    frame = (
        f'<path d="M{number(box.x - box.wide / 2)} {number(box.y - box.high / 2)}h{number(box.wide)}'
        f'v{number(box.high)}h{number(-box.wide)}Z" fill="{fill}" stroke="{JOINT}" '
        f'stroke-width="{number(0.3 * mm)}"{dash}/>'
    )
    y = box.y + 0.36 * _LETTERS * mm
    return [frame, lettering(box.x, y, _LETTERS * mm, tag.sign, anchor="middle", fill=ink)]
