"""Which shapes of the parts belong together: tenons and mortises, finger edges, laps, housings, dowels.

Paired by length and spacing first, by thickness after; how far a tenon stands out decides nothing. Equal
parts are interchangeable. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from camkit.errors import Finding
from camkit.geometry.measure import length
from camkit.geometry.path import signed_area
from camkit.joinery.assign import assigned
from camkit.joinery.features import LONGER, Feature, features
from camkit.joinery.fingers import FingerEdge, finger_edges, interlock
from camkit.joinery.plates import Plates, plates
from camkit.joinery.rows import Options, Row, fits, needs, options
from camkit.joinery.simple_pairs import Pair, PairKind, dowels, housings, laps, pair_of
from camkit.joinery.squared import squared
from camkit.part import Part

__all__ = ["Pair", "PairKind", "Pairs", "pairs"]

_ASPECT, _BAND = 1.5, 0.6


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
) -> Pairs:
    """The joints between parts drawn `thicknesses` thick; `rows` are names (tenon, mortise) that decide.

    `stacks` are the indices of layers that are glued together, in their order: a tenon that goes through
    several layers has the mortises of all of them as mates, tenons of several layers at one place are one.

    Findings: `two-mates` (an error where the mates differ in thickness, else a note), `no-mate` (warning),
    `tenon-too-long` (error).
    """
    found = [f for k, part in enumerate(parts) for f in _of_part(k, part, thicknesses)]
    joined, settled = _finger_pairs(parts, thicknesses)
    free = [f for f in found if not any(_on_edge(f, edge) for edge in settled)]
    tenons = [f for f in free if f.kind in ("tenon", "step")]
    openings = [f for f in free if f.kind == "mortise"]
    glued = plates(parts, stacks)
    wanted_by = needs(tenons, glued, thicknesses)
    entering = [
        t
        for t in tenons
        if any(glued.plate[m.part] != glued.plate[t.part] and fits(t, m, wanted_by[t]) for m in openings)
    ]
    wedges = [f for f in openings if any(_through(f, tenon) for tenon in entering)]
    mortises = [f for f in openings if f not in wedges]
    looks = _looks(parts, glued)
    choices = {
        row: _decided(row, found_fits, parts, rows, glued)
        for row, found_fits in options(entering, mortises, wanted_by, glued).items()
    }
    given = assigned(choices, glued, thicknesses)
    joined += [pair_of("mortise and tenon", row.members, fit) for row, fit in given]
    lapped = laps(free, looks)
    joined += lapped
    joined += housings(free, thicknesses, looks)
    joined += dowels(free)
    wanted = {m for taken in choices.values() for fit in taken for m in fit}
    having = {t for row, taken in choices.items() if taken for t in row.members}
    in_laps = {f for pair in lapped for f in (*pair.enters, *pair.takes)}
    lone = [m for m in mortises if m not in wanted and _by_its_looks(m, thicknesses)]
    flush = [t for t in tenons if t.kind == "step" and t not in having]
    open_slots = [f for f in free if f.kind == "slot" and f not in in_laps]
    mates: dict[int, set[int]] = {}
    for row, taken in choices.items():
        for fit in taken:
            mates.setdefault(fit[0].part, set()).add(row.part)
    too_long = list(_too_long(parts, tenons, mortises, having, wanted, thicknesses))
    told = {f for one, other, _ in too_long for f in (one, other)}
    said = [
        *(finding for _, _, finding in too_long),
        *_two_mates(parts, thicknesses, choices, looks),
        *_no_mate(parts, [f for f in lone if f not in told]),
    ]
    return Pairs(
        tuple(found),
        tuple(joined),
        tuple(wedges),
        (*lone, *flush, *open_slots),
        {part: tuple(sorted(others)) for part, others in sorted(mates.items())},
        choices,
        tuple(said),
    )


def _of_part(k: int, part: Part, thicknesses: Sequence[float]) -> Iterator[Feature]:
    """Features for every thickness that a mate may have, each shape once."""
    seen = set()
    for thickness in (thicknesses[k], *dict.fromkeys(thicknesses)):
        for one in features(k, part, thickness):
            family = "tenon" if one.kind == "step" else one.kind
            if (family, one.loop, one.middle) not in seen:
                seen.add((family, one.loop, one.middle))
                yield one


def _looks(parts: Sequence[Part], glued: Plates) -> list[object]:
    """What equal parts have in common, mirrored ones too; layers of equal plates look alike."""
    alone = [_look(part) for part in parts]
    return [tuple(sorted(alone[layer] for layer in glued.layers(k))) for k in range(len(parts))]


def _look(part: Part) -> tuple[int, int, tuple[tuple[int, int], ...]]:
    loops = sorted((round(abs(signed_area(p))), round(length(p))) for p in part.openings)
    return (round(abs(signed_area(part.outline))), round(length(part.outline)), tuple(loops))


def _finger_pairs(parts: Sequence[Part], thicknesses: Sequence[float]) -> tuple[list[Pair], list[FingerEdge]]:
    edges = []
    for k, part in enumerate(parts):
        outline = squared(part.outline, hollow=False)
        for thickness in dict.fromkeys(thicknesses):
            edges += [e for e in finger_edges(k, outline, thickness) if e not in edges]
    joined, settled, used = [], list[FingerEdge](), set[int]()
    for i, one in enumerate(edges):
        fits = [j for j, other in enumerate(edges) if other.part != one.part and interlock(one, other)]
        settled += [one] if fits else []
        free = next((j for j in fits if j not in used and i not in used), None)
        if free is not None:
            used |= {i, free}
            joined.append(Pair("finger edge", (one.part, edges[free].part), (), (), *one.middle))
    return joined, settled


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


def _by_its_looks(opening: Feature, thicknesses: Sequence[float]) -> bool:
    near = any(abs(opening.width - opening.layers * t) <= _BAND for t in thicknesses)
    return near and opening.length >= _ASPECT * opening.width


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


def _too_long(
    parts: Sequence[Part],
    tenons: Sequence[Feature],
    mortises: Sequence[Feature],
    having: set[Feature],
    wanted: set[Feature],
    thicknesses: Sequence[float],
) -> Iterator[tuple[Feature, Feature, Finding]]:
    """Tenons and mortises without mates that would be each other's but for a little length."""
    used: set[Feature] = set()
    for mortise in mortises:
        if mortise in wanted or not _by_its_looks(mortise, thicknesses):
            continue
        for tenon in tenons:
            over = tenon.width - mortise.length
            near = -LONGER[0] < over <= LONGER[1] and tenon.part != mortise.part
            if near and tenon not in having and tenon not in used:
                used.add(tenon)
                one, other = parts[tenon.part], parts[mortise.part]
                said = _finding(
                    "error",
                    "tenon-too-long",
                    f"the tenon of {one.name} is {tenon.width:.2f} mm wide, the mortise of {other.name} at "
                    f"({mortise.middle[0]:.1f}, {mortise.middle[1]:.1f}) only {mortise.length:.2f} mm long",
                    "Draw the mortise 0.2 to 0.5 mm longer than the tenon is wide, or the tenon narrower",
                    other,
                    mortise,
                )
                yield tenon, mortise, said
                break


def _two_mates(
    parts: Sequence[Part], thicknesses: Sequence[float], choices: Options, looks: Sequence[object]
) -> Iterator[Finding]:
    """Rows of tenons that unlike parts may take; of equal parts that may enter each is told once."""
    told = set()
    for row, taken in choices.items():
        mates = {looks[fit[0].part]: fit[0].part for fit in reversed(taken)}
        if len(mates) < 2:
            continue
        first, second = sorted(mates.values())[:2]
        if (looks[row.part], first, second) in told:
            continue
        told.add((looks[row.part], first, second))
        differs = len({thicknesses[mate] for mate in mates.values()}) > 1
        name, one, other = (parts[k].name for k in (row.part, first, second))
        lines = [f'[[joint]]\ntenon = "{name}"\nmortise = "{mate}"' for mate in (one, other)]
        yield _finding(
            "error" if differs else "note",
            "two-mates",
            f"the tenons of {name} fit the mortises of {one} as well as those of {other}"
            + ("" if differs else "; the cut is the same either way"),
            f"Write into the job {lines[0]}\nor {lines[1]}" if differs else "",
            parts[row.part],
            row.members[0],
        )


def _no_mate(parts: Sequence[Part], lone: Sequence[Feature]) -> Iterator[Finding]:
    for one in lone:
        x, y = one.middle
        yield _finding(
            "warning",
            "no-mate",
            f"no tenon fits the mortise of {one.width:.2f} x {one.length:.2f} mm at ({x:.1f}, {y:.1f})",
            "Draw a tenon up to 1.3 mm narrower than the mortise is long, or take the opening for no joint",
            parts[one.part],
            one,
        )


def _finding(
    level: Literal["error", "warning", "note"],
    rule: str,
    message: str,
    remedy: str,
    part: Part,
    at: Feature,
) -> Finding:
    return Finding(
        level,
        rule,
        message,
        remedy,
        x_mm=at.middle[0],
        y_mm=at.middle[1],
        part=part.name,
        file=part.source.file or None,
    )
