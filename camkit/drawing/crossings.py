"""Loops that cross themselves or each other: which are mended, cut as one or cut off, by stated rules.

- A loop that crosses itself in small lobes, as drawn reliefs do where they pass over the neighbouring edge,
  is mended: an opening takes in the lobes along its edges, since all that the line encloses falls out; an
  outline loses them all.
- Openings and holes of one part that overlap, or share a stretch of their edges, are one opening.
- A small circle over an inner corner of an outline is a relief and is cut out of it; an opening or a hole by
  its layer is cut out of it anywhere.

Whatever else crosses stays as it is, for the meanings of loops to refuse.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import shapely

from camkit.drawing.candidate import Candidate
from camkit.drawing.combine import LARGEST_RELIEF, less, united, without_lobes
from camkit.drawing.ends import Groups
from camkit.drawing.nest import Nest, nest
from camkit.drawing.sheets import is_rectangle
from camkit.errors import Finding
from camkit.geometry.measure import point_along, segment_length
from camkit.geometry.path import Path, Point, oriented
from camkit.geometry.tolerance import CHAIN

__all__ = ["Settled", "few", "groups_of", "is_relief", "meeting", "mended", "settled", "share_a_stretch"]

# Round things seem to touch a wall over a millimetre or two when seen through CHAIN; a shared edge is longer.
_STRETCH = 3.0
# A loop that leaves an opening by less than this share of its area may be a part that lies in it.
_STICKS_OUT = 0.1
_CORNER_DEG = 20.0
# Parts fill this much of the border around them, and each of them this much at least.
_FILLED = 0.4
_PIECE = 0.05
_TOLD_ONE_BY_ONE = 12

_Kind = Literal["border", "outline", "opening"]


@dataclass(frozen=True, slots=True)
class Settled:
    """The loops that are left, their nest, and what was done."""

    candidates: tuple[Candidate, ...]
    nested: Nest
    findings: tuple[Finding, ...]


def settled(candidates: Sequence[Candidate], nested: Nest, frame: set[int], file: str) -> Settled:
    """Mend and unite loops that are cut through; `frame` holds the borders of sheets."""
    findings: list[Finding] = []
    loops = list(candidates)
    if any(fault is not None for fault in nested.faults):
        kinds = _Scene(loops, nested, frame).kinds
        for number, fault in enumerate(nested.faults):
            if fault is not None and not loops[number].open and kinds[number] != "border":
                is_opening = kinds[number] == "opening"
                loops[number] = mended(loops[number], fault, file, findings, is_opening=is_opening)
        if any(now is not before for now, before in zip(loops, candidates, strict=True)):
            nested = nest([it.path for it in loops])
    if nested.crossings or nested.touches:
        scene = _Scene(loops, nested, frame)
        gone = _unite(scene, loops, file, findings) | _cut_off(scene, loops, file, findings)
        if gone:
            loops = [it for number, it in enumerate(loops) if number not in gone]
            nested = nest([it.path for it in loops])
    return Settled(tuple(loops), nested, tuple(findings))


class _Scene:
    """The loops as drawn, what each would be if it crossed nothing, and what lies around it uncrossed."""

    def __init__(self, loops: Sequence[Candidate], nested: Nest, frame: set[int]) -> None:
        self.loops = tuple(loops)
        self.nested = nested
        self.crossed: dict[int, set[int]] = {}
        for large, small in nested.crossings:
            self.crossed.setdefault(large, set()).add(small)
            self.crossed.setdefault(small, set()).add(large)
        self.around = [self._around(number) for number in range(len(loops))]
        self.kinds: list[_Kind] = ["outline"] * len(loops)
        for number in sorted(range(len(loops)), key=lambda i: (-float(nested.areas[i]), i)):
            around, meaning = self.around[number], loops[number].meaning
            if number in frame:
                self.kinds[number] = "border"
            elif meaning:
                self.kinds[number] = "outline" if meaning == "profile" else "opening"
            elif around is not None and self.kinds[around] == "outline":
                self.kinds[number] = "opening"

    def _around(self, number: int) -> int | None:
        crossed = self.crossed.get(number, ())
        at = self.nested.parent[number]
        while at is not None and at in crossed:
            at = self.nested.parent[at]
        return at

    def is_sound(self, number: int) -> bool:
        """Whether a loop is closed and does not cross itself."""
        return not self.loops[number].open and self.nested.faults[number] is None

    def share_inside(self, small: int, large: int) -> float:
        """How much of the smaller loop's area lies in the larger one, 0 to 1."""
        common = self.nested.shapes[small].intersection(self.nested.shapes[large]).area
        return float(common / self.nested.areas[small])


def mended(it: Candidate, fault: Point, file: str, findings: list[Finding], *, is_opening: bool) -> Candidate:
    """The loop, which crosses itself at `fault`, without its small lobes; as it was where that cannot be."""
    found = without_lobes(it.path, keep=is_opening)
    if found is None:
        return it
    kept = "along its edge are cut with it" if is_opening else "do not belong to the part"
    said = f"the loop crosses itself; its lobes, up to {found[1]:.1f} mm, {kept}"
    told = it.finding("warning", "lobes-mended", said, "Look at the picture there", file, fault)
    findings.append(replace(told, amount_mm=found[1]))
    return it.redrawn(found[0])


def groups_of(pairs: Sequence[tuple[int, int]], count: int) -> list[tuple[list[int], tuple[int, int]]]:
    """Numbers that the pairs join, in their order, and the first pair of each group."""
    joined = Groups(count)
    for a, b in pairs:
        joined.join(a, b)
    groups: dict[int, list[int]] = {}
    for number in sorted({number for pair in pairs for number in pair}):
        groups.setdefault(joined.of(number), []).append(number)
    first: dict[int, tuple[int, int]] = {}
    for pair in pairs:
        first.setdefault(joined.of(pair[0]), pair)
    return [(group, first[root]) for root, group in groups.items()]


def share_a_stretch(nested: Nest, a: int, b: int) -> bool:
    """Whether two loops run along each other, and do not only touch."""
    near = nested.shapes[a].boundary.buffer(CHAIN).intersection(nested.shapes[b].boundary)
    return bool(near.length > _STRETCH)


def _unite(scene: _Scene, loops: list[Candidate], file: str, findings: list[Finding]) -> set[int]:
    """Openings that overlap become one, in the place of the largest; returns the others."""
    nested, gone, notes = scene.nested, set[int](), list[Finding]()
    for group, pair in groups_of(_overlapping(scene), len(loops)):
        first = max(group, key=lambda i: (nested.areas[i], -i))
        union = united([scene.loops[i].path for i in group])
        if union is None:
            continue
        it = scene.loops[first]
        rule = it.rule if it.rule is None else replace(it.rule, meaning="opening")
        loops[first] = replace(it.redrawn(union), rule=rule)
        gone |= set(group) - {first}
        said = f"{len(group)} loops that overlap were cut as one opening"
        told = it.finding("note", "merged", said, "", file, meeting(nested, *pair))
        told = replace(told, count=len(group) - 1)
        if any(_may_be_a_part(scene, i, first) for i in group if i != first):
            remedy = "Look at the picture: is one of them a part?"
            findings.append(replace(told, level="warning", remedy=remedy))
        else:
            notes.append(told)
    findings += few(notes, "openings were made of loops that overlap")
    return gone


def few(notes: Sequence[Finding], said: str) -> list[Finding]:
    """The findings, those beyond the first dozen as one that counts for all of them."""
    if len(notes) <= _TOLD_ONE_BY_ONE + 1:
        return list(notes)
    shown, rest = notes[:_TOLD_ONE_BY_ONE], notes[_TOLD_ONE_BY_ONE:]
    message = f"{len(rest)} more {said}; the first, at ({rest[0].x_mm:.2f}, {rest[0].y_mm:.2f})"
    return [*shown, replace(rest[0], message=message, count=sum(note.count for note in rest))]


def _overlapping(scene: _Scene) -> list[tuple[int, int]]:
    nested, kinds = scene.nested, scene.kinds

    def may_join(i: int) -> bool:
        crosses_more = any(kinds[other] != "opening" for other in scene.crossed.get(i, ()))
        return scene.is_sound(i) and kinds[i] == "opening" and not crosses_more

    pairs = []
    for large, small in nested.crossings:
        same_part = scene.around[large] == scene.around[small] is not None
        apart = _lies_in(scene, small, large) or _may_be_parts(scene, small, large)
        if may_join(large) and may_join(small) and same_part and not apart:
            pairs.append((large, small))
    for large, small in nested.touches:
        if not may_join(large) or not scene.is_sound(small):
            continue
        if scene.around[small] == large:
            # A relief may lie all inside the opening, up against its walls.
            if not scene.loops[small].meaning and is_relief(scene.loops[small]):
                pairs.append((large, small))
            continue
        same_part = scene.around[large] == scene.around[small] is not None
        apart = _may_be_parts(scene, small, large)
        if may_join(small) and same_part and not apart and share_a_stretch(nested, large, small):
            pairs.append((large, small))
    touched = {number for pair in pairs for number in pair}
    copies = [(a, b) for a, b in nested.copies if scene.is_sound(a) and scene.is_sound(b)]
    return pairs + [(a, b) for a, b in copies if a in touched or b in touched]


def is_relief(it: Candidate) -> bool:
    """Whether a loop is round and as small as reliefs of corners are."""
    return it.is_small_round and it.circle is not None and it.circle[1] <= LARGEST_RELIEF + CHAIN


def _lies_in(scene: _Scene, small: int, large: int) -> bool:
    """Whether a loop without a rule looks like a part in an opening that it hardly leaves."""
    it = scene.loops[small]
    return not it.meaning and it.is_part_sized and scene.share_inside(small, large) > 1 - _STICKS_OUT


def _may_be_parts(scene: _Scene, small: int, large: int) -> bool:
    """Whether two loops fill so much of a rectangle that they may be parts in the border of a sheet."""
    around, areas = scene.around[large], scene.nested.areas
    if around is None or any(
        scene.loops[i].meaning or not scene.loops[i].is_part_sized for i in (small, large)
    ):
        return False
    filled = areas[small] + areas[large] >= _FILLED * areas[around] and areas[small] >= _PIECE * areas[around]
    return bool(filled) and is_rectangle(scene.loops[around].path, float(areas[around]))


def _may_be_a_part(scene: _Scene, small: int, large: int) -> bool:
    it = scene.loops[small]
    if it.meaning or not it.is_part_sized:
        return False
    return small in scene.nested.parent or scene.share_inside(small, large) > 0.5


def meeting(nested: Nest, a: int, b: int) -> Point:
    """A place where two loops meet."""
    line = shapely.shortest_line(nested.shapes[a].boundary, nested.shapes[b].boundary)
    x, y = line.coords[0]
    return (float(x), float(y))


def _cut_off(scene: _Scene, loops: list[Candidate], file: str, findings: list[Finding]) -> set[int]:
    """Reliefs and openings by their layer are cut out of the outline that they cross; returns them."""
    of_outline: dict[int, list[int]] = {}
    flush = {
        (large, small)
        for large, small in scene.nested.touches
        if scene.loops[small].meaning
        and scene.around[small] == large
        and share_a_stretch(scene.nested, large, small)
    }
    for large, small in sorted({*scene.nested.crossings, *flush}):
        if scene.kinds[large] == "outline" and scene.is_sound(large) and _is_cut_off(scene, large, small):
            of_outline.setdefault(large, []).append(small)
    gone: set[int] = set()
    for outline, cut in sorted(of_outline.items()):
        rest = less(scene.loops[outline].path, [scene.loops[i].path for i in cut])
        if rest is None:
            continue
        loops[outline] = scene.loops[outline].redrawn(rest)
        gone |= set(cut)
        by_rule = [i for i in cut if scene.loops[i].meaning]
        for numbers, rule, what in (
            (by_rule, "runs-off-edge", "openings that run off the part's edge"),
            ([i for i in cut if i not in by_rule], "relief-cut", "reliefs over inner corners of the outline"),
        ):
            if numbers:
                it = scene.loops[numbers[0]]
                said = f"{what}, cut out of the part: {len(numbers)}; look at the first"
                at = meeting(scene.nested, outline, numbers[0])
                findings.append(replace(it.finding("note", rule, said, "", file, at), count=len(numbers)))
    return gone


def _is_cut_off(scene: _Scene, outline: int, small: int) -> bool:
    it = scene.loops[small]
    others = scene.crossed.get(small, set()) - {outline}
    if not scene.is_sound(small) or any(not is_relief(scene.loops[i]) for i in others):
        return False
    if it.meaning:
        return scene.kinds[small] == "opening"
    if not is_relief(it) or it.circle is None:
        return False
    centre, diameter = it.circle
    return any(
        math.dist(corner, centre) <= diameter / 2 + CHAIN
        for corner in _inner_corners(scene.loops[outline].path)
    )


def _inner_corners(path: Path) -> list[Point]:
    """Corners where the wood inside an outline reaches around more than half a turn."""
    segments = oriented(path).segments
    corners = []
    for before, after in zip((segments[-1], *segments), segments, strict=False):
        look = min(0.1, segment_length(before) / 2, segment_length(after) / 2)
        x, y = after.start
        ax, ay = point_along(before, 1 - look / segment_length(before))
        bx, by = point_along(after, look / segment_length(after))
        turn = math.atan2(
            (x - ax) * (by - y) - (y - ay) * (bx - x), (x - ax) * (bx - x) + (y - ay) * (by - y)
        )
        if turn < -math.radians(_CORNER_DEG):
            corners.append((x, y))
    return corners
