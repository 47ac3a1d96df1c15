"""What each closed loop means: by the rule for its layer, else by how it is nested."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from camkit.drawing.candidate import SMALLEST_PART, Candidate
from camkit.drawing.nest import Nest
from camkit.errors import Finding, Level
from camkit.geometry.path import Point
from camkit.geometry.tolerance import CHAIN

__all__ = ["Roles"]

_IF_CROSSED = (
    "Move it inside, make one line of both, or give its layer a meaning: opening or { pocket = depth }"
)


class Roles:
    """Outlines and what belongs to them, decided from the outside in.

    On bare sheet a loop is an outline; in an outline it is an opening or a hole; in an opening an outline
    again. A rule says otherwise: a profile is an outline anywhere, an opening or a hole never is. `inside`
    gives, for the number of each outline, the numbers of its openings and through holes.
    """

    def __init__(self, candidates: Sequence[Candidate], nested: Nest, frame: set[int], file: str) -> None:
        """Decide; `frame` holds the borders of sheets, inside which lies bare sheet."""
        self.inside: dict[int, list[int]] = {}
        self.findings: list[Finding] = []
        self._candidates = candidates
        self._nested = nested
        self._frame = frame
        self._children = nested.children()
        self._file = file
        # What lies inside a loop: the wood of an outline (its number) or bare sheet (None).
        self._wood: dict[int, int | None] = dict.fromkeys(frame)
        # The refused loop that a loop lies in; nobody knows whether there is wood.
        self._lost: dict[int, int] = {}
        self._crossed: dict[int, list[int]] = {}
        for large, small in nested.crossings:
            self._crossed.setdefault(small, []).append(large)
        self._touched: dict[int, list[int]] = {}
        for large, small in nested.touches:
            self._touched.setdefault(small, []).append(large)
        self._copied = copied = _copied(candidates, nested)
        for a, b in nested.copies:
            if a not in copied and b not in copied:  # an opening as large as its part
                self._touched.setdefault(b, []).append(a)
                self._touched.setdefault(a, []).append(b)
        for number in sorted(
            range(len(candidates)),
            key=lambda i: (-float(nested.areas[copied.get(i, i)]), i in copied, i),
        ):
            if number in copied:
                self._copy(number, copied[number])
            elif number not in frame:
                self._decide(number)
        self._tell_lost(copied)

    def _say(
        self,
        number: int,
        level: Level,
        rule: str,
        message: str,
        remedy: str,
        at: Point | None = None,
        count: int = 1,
    ) -> None:
        found = self._candidates[number].finding(level, rule, message, remedy, self._file, at)
        self.findings.append(replace(found, count=count))

    def _copy(self, number: int, first: int) -> None:
        self._say(number, "note", "duplicate-loop", "the loop is drawn twice and counted once", "")
        if first in self._lost:
            self._lost[number] = self._lost[first]
        else:
            self._wood[number] = self._wood.get(first)

    def _decide(self, number: int) -> None:
        it, parent = self._candidates[number], self._nested.parent[number]
        while parent is not None and self._copied.get(parent) == number:  # it lies in its own copy
            parent = self._nested.parent[parent]
        if parent is not None and parent in self._lost:
            self._lost[number] = self._lost[parent]
            return
        wood = None if parent is None else self._wood[parent]
        outline = it.meaning == "profile" or (it.meaning == "" and wood is None)
        if it.open or self._is_refused(number, outline):
            self._lost[number] = number
        elif outline and it.meaning == "" and parent is not None and self._is_inside_hole(parent, it):
            said = f"the loop lies inside a hole and is only {it.size:.1f} mm wide; it was left out"
            remedy = "Give the layers a meaning (a countersink, a blind hole, a pocket, ignore)"
            self._say(number, "warning", "inside-hole", said, remedy)
            self._lost[number] = number
        elif outline:
            self.inside[number] = []
            self._wood[number] = number
            if wood is not None:
                said = "the loop is a profile by its layer, but lies on the wood of another part"
                self._say(
                    number, "warning", "overlap", said, "Look at the picture; mend the meanings of layers"
                )
        else:
            if wood is not None and it.meaning == "" and self._is_step(number):
                said = "the line lies on wood and has small loops inside, as a step has; it is not cut"
                remedy = "Give its layer a meaning: opening, profile, ignore or { pocket = depth }"
                self._say(number, "warning", "step-line", said, remedy)
                self._wood[number] = wood
                return
            self._wood[number] = None
            if wood is not None:
                self.inside[wood].append(number)
                return
            article = "an opening" if it.meaning == "opening" else "a hole"
            said = f"the loop is {article} by its layer, but lies in no part; it is not cut"
            self._say(number, "warning", "stray-feature", said, "Move it, or mend the meaning of its layer")

    def _is_step(self, number: int) -> bool:
        # What falls out of an opening may hold parts; it never is a row of discs of 2 mm.
        inside = [self._candidates[c] for c in self._children[number]]
        return len(inside) >= 2 and 2 * sum(not c.is_part_sized for c in inside) >= len(inside)

    def _is_inside_hole(self, parent: int, it: Candidate) -> bool:
        around = self._candidates[parent]
        return it.size < SMALLEST_PART and (around.meaning == "hole" or around.is_small_round)

    def _is_refused(self, number: int, outline: bool) -> bool:
        it = self._candidates[number]
        fault = self._nested.faults[number]
        if fault is not None:
            said = "the loop crosses or touches itself and is not cut"
            self._say(number, "error", "refused-loop", said, "Redraw it there", fault)
            return True
        for large in self._crossed.get(number, ()):
            if large in self._lost:
                continue
            other = self._candidates[large].loop.entity
            at = self._crossing(large, number)
            if not outline or not (it.is_part_sized or it.meaning == "profile"):
                said = f"the loop crosses {other} and is not cut"
                self._say(number, "error", "refused-loop", said, _IF_CROSSED, at)
                return True
            if large in self._frame:
                said, remedy = "the outline crosses the border of the sheet", "Look at the picture; move one"
                self._say(number, "warning", "overlap", said, remedy, at)
            else:
                self._tell_overlap(large, number)
        for large in () if outline else self._touched.get(number, ()):
            if large not in self._lost and large not in self._frame:
                said = f"the loop touches {self._candidates[large].loop.entity} and is not cut"
                at = self._crossing(large, number)
                self._say(
                    number, "error", "refused-loop", said, "Leave wood between, or make one line of both", at
                )
                return True
        return False

    def _tell_overlap(self, large: int, number: int) -> None:
        shapes, other = self._nested.shapes, self._candidates[large].loop.entity
        if self._wood.get(large) is None:
            common, what = shapes[number].difference(shapes[large]), f"the edge of the opening {other}"
        else:
            common, what = shapes[number].intersection(shapes[large]), f"another outline, {other},"
        reach = shapely.maximum_inscribed_circle(common, tolerance=CHAIN)
        width, (x, y) = 2 * float(reach.length), reach.coords[0]
        said = f"the outline overlaps {what} by {width:.2f} mm; both would be cut wrong"
        told = self._candidates[number].finding(
            "error", "overlap", said, "Move one of them, or give its layer a meaning", self._file, (x, y)
        )
        self.findings.append(replace(told, amount_mm=width))

    def _crossing(self, a: int, b: int) -> Point:
        line = shapely.shortest_line(self._nested.shapes[a].boundary, self._nested.shapes[b].boundary)
        x, y = line.coords[0]
        return (float(x), float(y))

    def _tell_lost(self, copied: dict[int, int]) -> None:
        counts: dict[int, int] = {}
        for number, top in self._lost.items():
            if number != top and number not in copied and not self._candidates[number].open:
                counts[top] = counts.get(top, 0) + 1
        for top, count in sorted(counts.items()):
            said = f"loops inside it, left out with it: {count}"
            self._say(top, "warning", "left-out-with", said, "Mend this one first", count=count)


def _copied(candidates: Sequence[Candidate], nested: Nest) -> dict[int, int]:
    """For each loop that only repeats another: the one that counts.

    Of two with one meaning the first counts; a loop whose layer means nothing repeats one whose layer does,
    but on bare sheet none that is an opening or a hole.
    """
    first: dict[int, int] = {}
    for a, b in nested.copies:
        one, other = candidates[a].meaning, candidates[b].meaning
        if one != other and nested.parent[a] is None and "profile" not in (one, other):
            continue
        if not other or one == other:
            first[b] = a
        elif not one:
            first[a] = b
    copied = {}
    for number in sorted(first):
        counts = first[number]
        while counts in first:
            counts = first[counts]
        copied[number] = counts
    return copied
