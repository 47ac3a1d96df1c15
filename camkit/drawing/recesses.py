"""Pockets and blind holes: loops whose layer gives a depth, put into the parts that they lie on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from camkit.drawing.candidate import Candidate
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

    A pocket may run past the outline. A loop directly inside a pocket of the same rule is an island.
    """
    result = list(parts)
    if not recesses:
        return result
    wood = [shapely.make_valid(as_polygon(part.region(), _CHORDS)) for part in parts]
    tree = shapely.STRtree(wood)
    nested = nest([c.path for c in recesses])
    around = [_around(i, recesses, nested) for i in range(len(recesses))]
    islands: dict[int, list[Path]] = {}
    for number, outer in enumerate(around):
        if len(outer) % 2 and nested.faults[number] is None and not recesses[number].open:
            islands.setdefault(outer[0], []).append(oriented(recesses[number].path, clockwise=True))
    for number, it in enumerate(recesses):
        fault, shape = nested.faults[number], nested.shapes[number]
        if it.open:
            continue
        if fault is not None:
            said = "the loop crosses or touches itself and is not cut"
            findings.append(it.finding("error", "refused-loop", said, "Redraw it there", file, fault))
            left.append(it.path)
            continue
        if len(around[number]) % 2:
            continue
        near = sorted(tree.query(shape).tolist())
        best = max(near, key=lambda i: (wood[i].intersection(shape).area, -i), default=None)
        if best is None or not thick(wood[best].intersection(shape)):
            said = "the loop is a pocket or a blind hole by its layer, but lies on no part; it is not cut"
            remedy = "Move it, or mend the meaning of its layer"
            findings.append(it.finding("warning", "stray-feature", said, remedy, file))
            left.append(it.path)
            continue
        result[best] = _recessed(result[best], it, islands.get(number, []), file, findings)
    return result


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
