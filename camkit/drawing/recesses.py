"""Pockets and blind holes: loops whose layer gives a depth, put into the parts that they lie on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import shapely

from camkit.drawing.candidate import Candidate
from camkit.drawing.combine import united
from camkit.drawing.crossings import few, groups_of, is_relief, meeting, mended, share_a_stretch
from camkit.drawing.nest import Nest, nest, thick
from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path, oriented
from camkit.part import Hole, Part, Pocket

__all__ = ["with_recesses"]

# Which part a pocket lies on needs no finer chords.
_CHORDS = 0.05


def with_recesses(
    parts: Sequence[Part],
    recesses: Sequence[Candidate],
    file: str,
    findings: list[Finding],
    left: list[Path],
) -> list[Part]:
    """The parts with each recess added to the one whose wood it overlaps most.

    Findings are appended, and to `left` the loops that are not cut.

    A pocket may run past the outline. A loop directly inside a pocket of the same rule is an island. Pockets
    of one depth that overlap, or share a stretch of their edges, are one pocket.
    """
    result = list(parts)
    recesses = [it for it in recesses if not it.open]
    if not recesses:
        return result
    wood = [shapely.make_valid(as_polygon(part.region(), _CHORDS)) for part in parts]
    tree = shapely.STRtree(wood)
    recesses, nested = _settled(recesses, file, findings)
    around = [_around(i, recesses, nested) for i in range(len(recesses))]
    islands: dict[int, list[int]] = {}
    for number, outer in enumerate(around):
        if len(outer) % 2 and nested.faults[number] is None:
            islands.setdefault(outer[0], []).append(number)
    for number, it in enumerate(recesses):
        fault, shape = nested.faults[number], nested.shapes[number]
        inside = islands.get(number, [])
        if fault is not None:
            said = f"the loop crosses or touches itself and is not cut{_with_islands(inside)}"
            told = it.finding("error", "refused-loop", said, "Redraw it there", file, fault)
        elif len(around[number]) % 2:
            continue
        else:
            near = sorted(tree.query(shape, predicate="intersects").tolist())
            on = [(wood[i].intersection(shape), -i) for i in near]
            on = sorted((pair for pair in on if thick(pair[0])), key=lambda pair: (-pair[0].area, -pair[1]))
            if on:
                best = -on[0][1]
                paths = [oriented(recesses[i].path, clockwise=True) for i in inside]
                deep = shapely.difference(shape, shapely.union_all([nested.shapes[i] for i in inside]))
                findings += _doubts(it, wood[best], deep, [common for common, _ in on[1:]], file)
                result[best] = _recessed(result[best], it, paths, file, findings)
                continue
            what = "a blind hole" if it.meaning == "hole" else "a pocket"
            said = (
                f"the loop is {what} by its layer, but lies on no part; it is not cut{_with_islands(inside)}"
            )
            remedy = "Move it, or mend the meaning of its layer"
            told = it.finding("warning", "stray-feature", said, remedy, file)
        findings.append(replace(told, count=1 + len(inside)))
        left += [it.path, *(recesses[i].path for i in inside)]
    return result


def _with_islands(inside: Sequence[int]) -> str:
    return f", nor are the loops inside it: {len(inside)}" if inside else ""


def _settled(
    recesses: Sequence[Candidate], file: str, findings: list[Finding]
) -> tuple[Sequence[Candidate], Nest]:
    """Loops drawn twice are dropped, those that cross themselves mended, those that overlap made one."""
    nested = nest([it.path for it in recesses])
    if not (nested.crossings or nested.touches or nested.copies or any(f is not None for f in nested.faults)):
        return recesses, nested
    loops = list(recesses)
    gone = {b for a, b in nested.copies if loops[a].depth == loops[b].depth}
    for number in sorted(gone):
        said = "the loop is drawn twice and counted once"
        findings.append(loops[number].finding("note", "duplicate-loop", said, "", file))
    for number, fault in enumerate(nested.faults):
        if fault is not None and number not in gone:
            loops[number] = mended(loops[number], fault, file, findings, is_opening=True)
    loops = [it for number, it in enumerate(loops) if number not in gone]
    nested = nest([it.path for it in loops])
    gone, notes = set(), list[Finding]()
    for group, pair in groups_of(_overlapping(loops, nested), len(loops)):
        union = united([loops[i].path for i in group])
        if union is None:
            continue
        first = max(group, key=lambda i: (nested.areas[i], -i))
        it = loops[first]
        assert it.rule is not None  # its depth came from there
        said = f"{len(group)} loops of one depth that overlap were cut as one pocket"
        told = it.finding("note", "merged", said, "", file, meeting(nested, *pair))
        notes.append(replace(told, count=len(group) - 1))
        loops[first] = replace(it.redrawn(union), rule=replace(it.rule, meaning="pocket"))
        gone |= set(group) - {first}
    findings += few(notes, "pockets were made of loops that overlap")
    if gone:
        loops = [it for number, it in enumerate(loops) if number not in gone]
        nested = nest([it.path for it in loops])
    return loops, nested


def _overlapping(loops: Sequence[Candidate], nested: Nest) -> list[tuple[int, int]]:
    """Pairs of one depth that are cut as one; a larger loop mostly in the other may be an island."""
    pairs = []
    for a, b in (*nested.crossings, *nested.touches):
        if loops[a].depth != loops[b].depth or nested.faults[a] is not None or nested.faults[b] is not None:
            continue
        if nested.parent[b] == a:
            if is_relief(loops[b]):
                pairs.append((a, b))
        elif (a, b) in nested.crossings or share_a_stretch(nested, a, b):
            pairs.append((a, b))
    return pairs


def _doubts(it: Candidate, wood: Any, deep: Any, others: Sequence[Any], file: str) -> list[Finding]:
    """What a maker should look at: a pocket over two parts, or over the whole of one."""
    doubts = []
    if others:
        at = others[0].representative_point()
        said = "the loop lies on other parts too and is cut only in the one that it covers most of"
        remedy = "Draw a loop of its own for each part"
        doubts.append(it.finding("warning", "over-two-parts", said, remedy, file, (at.x, at.y)))
    if it.meaning == "pocket" and not thick(wood.difference(deep)):
        said = f"the pocket covers the whole part, which becomes {it.depth:g} mm thinner"
        doubts.append(
            it.finding("warning", "whole-face", said, "Look whether its layer means a pocket", file)
        )
    return doubts


def _around(number: int, recesses: Sequence[Candidate], nested: Nest) -> list[int]:
    """Pockets of the same rule around a loop, from the inside out; blind holes have none."""
    found: list[int] = []
    at = nested.parent[number] if recesses[number].meaning == "pocket" else None
    while at is not None:
        if recesses[at].rule == recesses[number].rule:
            found.append(at)
        at = nested.parent[at]
    return found


def _recessed(part: Part, it: Candidate, islands: list[Path], file: str, findings: list[Finding]) -> Part:
    depth = it.depth or 0.0
    if it.meaning == "hole":
        if it.circle is not None:
            return replace(part, holes=(*part.holes, Hole(*it.circle, depth)))
        said = "the loop is a blind hole by its layer, but not round; it was read as a pocket of that depth"
        findings.append(it.finding("note", "not-round", said, "", file))
    return replace(part, pockets=(*part.pockets, Pocket(oriented(it.path), depth, tuple(islands))))
