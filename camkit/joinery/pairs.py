"""Which shapes of the parts belong together: tenons and mortises, finger edges, laps, housings, dowels.

Paired by length and spacing first, by thickness after; how far a tenon stands out decides nothing. Equal
parts are interchangeable. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from camkit.errors import Finding
from camkit.geometry.path import Point
from camkit.joinery.assign import assigned
from camkit.joinery.dowel_pairs import dowels, one_kind_each
from camkit.joinery.features import Feature, features, in_band, oblongs, sharpened
from camkit.joinery.fingers import FingerEdge, finger_edges, interlock, is_deep_enough
from camkit.joinery.looks import looks
from camkit.joinery.pair_findings import (
    by_its_looks,
    fits_nothing,
    lone_tenons,
    no_mate,
    other_stock,
    too_long,
    two_mates,
)
from camkit.joinery.plates import Plates, plates
from camkit.joinery.rows import Options, Row, fits, lined, needs, options
from camkit.joinery.simple_pairs import (
    Boards,
    Named,
    Pair,
    PairKind,
    beside,
    housings,
    laps,
    laps_on_edge,
    pair_of,
)
from camkit.part import Part

__all__ = ["Pair", "PairKind", "Pairs", "pairs"]


@dataclass(frozen=True, slots=True)
class Pairs:
    """All pairs, what else looks like a joint, and what is to be said.

    `wedges` are openings through tenons. `lone` are mortises, flush tenons and slots without a mate; `mates`
    are, by index of a part, the parts that may enter its mortises. `options` are all mortises that may take
    each row of tenons: of equal parts any, of which `pairs` names one.
    """

    features: tuple[Feature, ...]
    pairs: tuple[Pair, ...]
    wedges: tuple[Feature, ...] = ()
    lone: tuple[Feature, ...] = ()
    mates: dict[int, tuple[int, ...]] = field(default_factory=dict)
    options: Options = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def pairs(
    parts: Sequence[Part],
    thicknesses: Sequence[float],
    rows: Sequence[tuple[str, str]] = (),
    stacks: Sequence[tuple[int, ...]] = (),
    measured: Sequence[float] = (),
) -> Pairs:
    """The joints between parts drawn `thicknesses` thick; `rows` are names (tenon, mortise) that decide.

    `stacks` are the indices of layers that are glued together, in their order: a tenon that goes through
    several layers has the mortises of all of them as mates, tenons of several layers at one place are one.

    The cut differs where mates are `measured` unlike (without it, where they are drawn so). Findings:
    `two-mates` (an error where the cut would differ, else a note), `no-mate` (warning), `joint-fits-nothing`
    and `tenon-too-long` (errors), `other-stock` (note).
    """
    glued = plates(parts, stacks)
    wanted_thick = (*thicknesses, *_stacked(stacks, thicknesses))
    found = [f for k, part in enumerate(parts) for f in _of_part(k, part, thicknesses[k], wanted_thick)]
    alike, named = looks(parts, glued), _named(parts, rows)
    boards = Boards(thicknesses, alike, glued, named)
    joined, settled = _finger_pairs(parts, thicknesses)
    free = [f for f in found if not any(_on_edge(f, edge) for edge in settled)]
    # Laps before tenons: the wood between two slots is as square as a tenon.
    joined += laps(free, boards)
    free = _not_beside(free, joined)
    tenons = [f for f in free if f.kind in ("tenon", "step")]
    openings = [f for f in free if f.kind == "mortise"]
    wanted_by = needs(tenons, glued, thicknesses)
    entering = [
        t
        for t in tenons
        if any(glued.plate[m.part] != glued.plate[t.part] and fits(t, m, wanted_by[t]) for m in openings)
    ]
    wedges = [f for f in openings if any(_through(f, tenon) for tenon in entering)]
    mortises = [f for f in openings if f not in wedges]
    choices = {
        row: _decided(row, found_fits, parts, rows, glued)
        for row, found_fits in options(entering, mortises, wanted_by, glued).items()
    }
    given = assigned(choices, glued, thicknesses, alike)
    joined += [pair_of("mortise and tenon", row.members, fit) for row, fit in given]
    joined += laps_on_edge(_open_slots(free, joined), boards)
    free = _not_beside(free, joined)
    joined += dowels(free, parts, alike, glued.plate)
    joined += housings(free, thicknesses, alike, named, joined)
    found = one_kind_each(found, joined)
    wanted = {m for taken in choices.values() for fit in taken for m in fit}
    having = {t for row, taken in choices.items() if taken for t in row.members}
    lone = [m for m in mortises if m not in wanted and by_its_looks(m, thicknesses)]
    mates: dict[int, set[int]] = {}
    for row, taken in choices.items():
        for fit in taken:
            mates.setdefault(fit[0].part, set()).add(row.part)
    long_ones = list(too_long(parts, tenons, mortises, having, wanted, thicknesses))
    told = {f for one, other, _ in long_ones for f in (one, other)}
    others = [f for k, part in enumerate(parts) for f in _of_no_sheet(k, part, thicknesses)]
    used = {f for pair in joined for f in (*pair.enters, *pair.takes)} | having
    flush = _flush([t for t in free if t not in used])
    # What a row names and does not fit is told with the row.
    decided = {tenon for tenon, _ in rows}
    said = [
        *(finding for _, _, finding in long_ones),
        *two_mates(parts, measured or thicknesses, choices, given, alike),
        *no_mate(parts, [f for f in lone if f not in told]),
        *lone_tenons(parts, [f for f in flush if f not in told and parts[f.part].name not in decided]),
        *fits_nothing(parts, found, joined, rows, told),
        *other_stock(parts, others, thicknesses),
    ]
    return Pairs(
        tuple(found),
        tuple(joined),
        tuple(wedges),
        (*lone, *flush, *(f for f in _open_slots(free, joined) if f.layers == 1)),
        {part: tuple(sorted(others)) for part, others in sorted(mates.items())},
        choices,
        tuple(said),
    )


def _named(parts: Sequence[Part], rows: Sequence[tuple[str, str]]) -> Named:
    """Whether a row of the job joins two parts, whichever of them it calls the tenon's."""
    joined = {frozenset(row) for row in rows}
    return lambda one, other: frozenset((parts[one].name, parts[other].name)) in joined


def _in_laps(joined: Sequence[Pair]) -> list[Feature]:
    return [f for pair in joined if pair.kind == "cross-lap" for f in (*pair.enters, *pair.takes)]


def _not_beside(free: Sequence[Feature], joined: Sequence[Pair]) -> list[Feature]:
    """The shapes, less the wood beside slots that are laps."""
    lapped = _in_laps(joined)
    return [f for f in free if not any(beside(f, slot) for slot in lapped)]


def _open_slots(free: Sequence[Feature], joined: Sequence[Pair]) -> list[Feature]:
    """Slots that are no laps, nor the gaps between tenons that have mates."""
    lapped = set(_in_laps(joined))
    tenons = [f for pair in joined if pair.kind == "mortise and tenon" for f in pair.enters]
    return [
        f
        for f in free
        if f.kind == "slot" and f not in lapped and not any(beside(tenon, f) for tenon in tenons)
    ]


def _flush(tenons: Sequence[Feature]) -> list[Feature]:
    """Flush tenons whose mates are missed: with roots at both sides, or several in a row."""
    rows = lined([t for t in tenons if t.kind == "step"])
    return [t for row in rows for t in row.members if len(row.members) > 1 or t.roots > 1]


def _of_no_sheet(k: int, part: Part, thicknesses: Sequence[float]) -> list[Feature]:
    """Four-sided openings that no sheet of the job fits, the wedges' too small to count."""
    return [
        f for f in oblongs(k, part) if all(in_band(f.width, t) is None for t in dict.fromkeys(thicknesses))
    ]


def _stacked(stacks: Sequence[tuple[int, ...]], thicknesses: Sequence[float]) -> list[float]:
    """How thick neighbouring layers of unlike sheets are together."""
    runs = (stack[i:j] for stack in stacks for i in range(len(stack)) for j in range(i + 2, len(stack) + 1))
    return [sum(thicknesses[k] for k in run) for run in runs if len({thicknesses[k] for k in run}) > 1]


def _of_part(k: int, part: Part, own: float, thicknesses: Sequence[float]) -> list[Feature]:
    """Features for every thickness that a mate may have, each shape once: as for the fewest sheets."""
    best: dict[tuple[str, int | None, Point], Feature] = {}
    for thickness in dict.fromkeys((own, *thicknesses)):
        for one in features(k, part, thickness):
            key = ("tenon" if one.kind == "step" else one.kind, one.loop, one.middle)
            other = best.setdefault(key, one)
            if (one.layers, one.width) < (other.layers, other.width):
                best[key] = one
    return list(best.values())


def _finger_pairs(parts: Sequence[Part], thicknesses: Sequence[float]) -> tuple[list[Pair], list[FingerEdge]]:
    """Edges that interlock, each with one other, and all that could; two parts meet twice last of all."""
    edges: list[FingerEdge] = []
    for k, part in enumerate(parts):
        outline = sharpened(part).outline
        for thickness in dict.fromkeys(thicknesses):
            edges += [e for e in finger_edges(k, outline, thickness) if e not in edges]
    fitting = [
        (i, j)
        for i, one in enumerate(edges)
        for j, other in enumerate(edges[:i])
        if other.part != one.part
        and interlock(one, other)
        and is_deep_enough(one, thicknesses[other.part])
        and is_deep_enough(other, thicknesses[one.part])
    ]
    joined, used, met = [], set[int](), set[tuple[int, int]]()
    for again in (False, True):
        for i, j in sorted(fitting, key=lambda two: (two[1], two[0])):
            both = (edges[j].part, edges[i].part)
            if used.isdisjoint((i, j)) and (again or both not in met):
                used |= {i, j}
                met.add(both)
                joined.append(Pair("finger edge", both, (), (), *edges[j].middle, edges[i].middle))
    return joined, [edges[k] for k in sorted({k for two in fitting for k in two})]


def _on_edge(feature: Feature, edge: FingerEdge) -> bool:
    """Whether a tenon or slot is a finger or a gap of a settled finger edge."""
    if feature.part != edge.part or feature.kind not in ("tenon", "step", "slot"):
        return False
    dx, dy = feature.middle[0] - edge.middle[0], feature.middle[1] - edge.middle[1]
    along = abs(dx * edge.along[0] + dy * edge.along[1])
    across = abs(dx * edge.along[1] - dy * edge.along[0])
    # The first and the last finger may lie outside the outermost steps.
    return along <= edge.length / 2 + feature.width and across <= 2 * max(feature.length, 1.0)


def _through(opening: Feature, tenon: Feature) -> bool:
    """Whether the opening lies in the tenon, between its end and its root."""
    if opening.part != tenon.part or opening.length >= tenon.width:
        return False
    dx, dy = opening.middle[0] - tenon.middle[0], opening.middle[1] - tenon.middle[1]
    (ux, uy) = tenon.along
    return abs(dx * ux + dy * uy) <= tenon.width / 2 and 0 < uy * -dx + ux * dy <= tenon.length


def _decided(
    row: Row,
    fits: list[tuple[Feature, ...]],
    parts: Sequence[Part],
    rows: Sequence[tuple[str, str]],
    glued: Plates,
) -> list[tuple[Feature, ...]]:
    """The fits that the job's rows leave: theirs where they name the tenon's or the mortise's part.

    A row that names one layer means the plate that it is glued into.
    """
    names = {parts[layer].name for layer in glued.layers(row.part)}
    wanted = {mortise for mine, mortise in rows if mine in names}
    into = [{parts[layer].name for layer in glued.layers(fit[0].part)} for fit in fits]
    named = [fit for fit, layers in zip(fits, into, strict=True) if layers & wanted]
    if named:
        return named
    claimed = {mortise for _, mortise in rows}
    return [fit for fit, layers in zip(fits, into, strict=True) if not layers & claimed]
