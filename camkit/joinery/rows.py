"""Rows of tenons on one edge, and the mortises that take them as they stand. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from camkit.joinery.features import LONGER, WIDER, Feature
from camkit.joinery.plates import Plates

__all__ = ["Needs", "Options", "Row", "fits", "lined", "needs", "options", "twins"]

# Tenons of one edge keep their distances in the mate to within half the play of both.
_SPACING = 0.65
_IN_ROW = 0.3
_PARALLEL = 0.01


@dataclass(frozen=True, slots=True)
class Row:
    """Features of one part on one line, by their places along it."""

    part: int
    members: tuple[Feature, ...]
    places: tuple[float, ...]


# Of each tenon the thicknesses that enter a mortise together: its own, or that of all layers glued.
Needs = Mapping[Feature, tuple[float, ...]]
_LAYERS = (2, 3)
_ALIKE = 0.3


def fits(tenon: Feature, mortise: Feature, wanted: Sequence[float]) -> bool:
    """Whether the mortise takes the tenon by its length, and one of the thicknesses `wanted` by its width."""
    longer = mortise.length - tenon.width
    return LONGER[0] <= longer <= LONGER[1] and any(
        WIDER[0] <= mortise.width - thickness <= WIDER[1] for thickness in wanted
    )


def twins(tenon: Feature, tenons: Sequence[Feature], plates: Plates) -> list[Feature]:
    """Tenons of layers that lie on the tenon's own, at its place and as wide: together they are one tenon."""
    places = plates.layers(tenon.part)
    if len(places) < 2:
        return [tenon]
    at = {
        other.part: other
        for other in tenons
        if abs(other.width - tenon.width) <= _ALIKE and plates.together(tenon, other)
    }
    at[tenon.part] = tenon
    run: list[Feature] = []
    for part in places:
        if part in at:
            run.append(at[part])
        elif tenon in run:
            break
        else:
            run.clear()
    return run


def needs(tenons: Sequence[Feature], plates: Plates, thicknesses: Sequence[float]) -> Needs:
    """How thick each tenon is, its twins in glued layers counted.

    Where nothing is said to be glued, equal tenons of two or three parts may lie in one mortise.
    """
    wanted: dict[Feature, tuple[float, ...]] = {}
    for tenon in tenons:
        if len(plates.layers(tenon.part)) > 1:
            wanted[tenon] = (sum(thicknesses[one.part] for one in twins(tenon, tenons, plates)),)
            continue
        thick = thicknesses[tenon.part]
        alike = {
            other.part
            for other in tenons
            if abs(other.width - tenon.width) <= _ALIKE
            and abs(other.length - tenon.length) <= _ALIKE
            and thicknesses[other.part] == thick
        }
        wanted[tenon] = (thick, *(n * thick for n in _LAYERS if n <= len(alike)))
    return wanted


def lined(found: Sequence[Feature]) -> list[Row]:
    """Features in rows: those of one part whose long sides lie on one line."""
    rows: list[list[Feature]] = []
    for one in found:
        for row in rows:
            first = row[0]
            (ux, uy) = first.along
            dx, dy = one.middle[0] - first.middle[0], one.middle[1] - first.middle[1]
            parallel = abs(ux * one.along[1] - uy * one.along[0]) <= _PARALLEL
            same_way = one.kind == "mortise" or ux * one.along[0] + uy * one.along[1] > 0
            if one.part == first.part and parallel and same_way and abs(dx * uy - dy * ux) <= _IN_ROW:
                row.append(one)
                break
        else:
            rows.append([one])
    return [_row(row) for row in rows]


def _row(members: Sequence[Feature]) -> Row:
    (ux, uy) = members[0].along
    placed = sorted(((f.middle[0] * ux + f.middle[1] * uy, k) for k, f in enumerate(members)))
    return Row(members[0].part, tuple(members[k] for _, k in placed), tuple(place for place, _ in placed))


Options = dict[Row, list[tuple[Feature, ...]]]


def options(tenons: Sequence[Feature], mortises: Sequence[Feature], wanted: Needs, plates: Plates) -> Options:
    """Where each row of tenons may go; tenons go singly where no mate takes their row.

    `tenons` are those that a mortise takes when they are seen alone: what is none must not keep its
    neighbours from their mates.
    """
    lines = lined(mortises)
    choices: Options = {}
    for row in lined(tenons):
        others = [line for line in lines if plates.plate[line.part] != plates.plate[row.part]]
        whole = list(_rigid(row, others, wanted))
        if whole or len(row.members) == 1:
            choices[row] = whole
        else:
            for one in row.members:
                single = _row([one])
                choices[single] = list(_rigid(single, others, wanted))
    return choices


def _rigid(row: Row, lines: Sequence[Row], wanted: Needs) -> Iterator[tuple[Feature, ...]]:
    """Mortises of one part on one line that take all tenons of the row at their spacing."""
    for line in lines:
        given = set()
        for sign in (1, -1):
            order = range(len(row.places))[::sign]
            tenons = [(sign * row.places[k], row.members[k]) for k in order]
            for start in line.places:
                taken = []
                for place, tenon in tenons:
                    want = start + place - tenons[0][0]
                    fit = next(
                        (
                            m
                            for at, m in zip(line.places, line.members, strict=True)
                            if abs(at - want) <= _SPACING and fits(tenon, m, wanted[tenon])
                        ),
                        None,
                    )
                    if fit is None:
                        break
                    taken.append(fit)
                else:
                    taking = tuple(taken[::sign])
                    if frozenset(taking) not in given:
                        given.add(frozenset(taking))
                        yield taking
