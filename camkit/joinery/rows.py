"""Rows of tenons on one edge, and the mortises that take them as they stand. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.joinery.features import LONGER, Feature, in_band

__all__ = ["Options", "Row", "assigned", "fits", "options"]

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


def fits(tenon: Feature, mortise: Feature, thickness: float) -> bool:
    """Whether the mortise takes a tenon of a sheet so thick, by length and by width."""
    longer = mortise.length - tenon.width
    return LONGER[0] <= longer <= LONGER[1] and in_band(mortise.width, thickness) is not None


def _lined(found: Sequence[Feature]) -> list[Row]:
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


def options(tenons: Sequence[Feature], mortises: Sequence[Feature], thicknesses: Sequence[float]) -> Options:
    """Where each row of tenons may go; tenons go singly where no mate takes their row.

    `tenons` are those that a mortise takes when they are seen alone: what is none must not keep its
    neighbours from their mates. `thicknesses` are those of the parts.
    """
    lines = _lined(mortises)
    choices: Options = {}
    for row in _lined(tenons):
        whole = list(_rigid(row, lines, thicknesses[row.part]))
        if whole or len(row.members) == 1:
            choices[row] = whole
        else:
            for one in row.members:
                single = _row([one])
                choices[single] = list(_rigid(single, lines, thicknesses[row.part]))
    return choices


def _rigid(row: Row, lines: Sequence[Row], thickness: float) -> Iterator[tuple[Feature, ...]]:
    """Mortises of one part on one line that take all tenons of the row at their spacing."""
    for line in lines:
        if line.part == row.part:
            continue
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
                            if abs(at - want) <= _SPACING and fits(tenon, m, thickness)
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


def assigned(choices: Options) -> list[tuple[Row, tuple[Feature, ...]]]:
    """Each row of tenons in mortises of its own, those with the fewest choices first."""
    used: set[Feature] = set()
    given = []
    for row in sorted(choices, key=lambda row: (len(choices[row]), -len(row.members))):
        fit = next((fit for fit in choices[row] if not used.intersection(fit)), None)
        if fit is not None:
            used.update(fit)
            given.append((row, fit))
    return given
