"""Which of several mortises that would take a row of tenons are its mates.

Equal parts are interchangeable, so most rows may go to several places; see `MateSearch` for the choice.
"""

from __future__ import annotations

from collections.abc import Sequence

from camkit.joinery.features import Feature
from camkit.joinery.mate_search import Entering, MateSearch, Target
from camkit.joinery.plates import Plates
from camkit.joinery.rows import Options, Row

__all__ = ["assigned"]


def _targets(fits: Sequence[tuple[Feature, ...]], plates: Plates) -> tuple[Target, ...]:
    """The fits of a row, those at one place in layers of one plate together."""
    gathered: list[list[tuple[Feature, ...]]] = []
    for fit in fits:
        for group in gathered:
            if fit[0].part not in {other[0].part for other in group} and all(
                plates.together(one, other) for one, other in zip(group[0], fit, strict=True)
            ):
                group.append(fit)
                break
        else:
            gathered.append([fit])
    return tuple(Target(plates.plate[group[0][0].part], tuple(group)) for group in gathered)


def assigned(
    choices: Options, plates: Plates, thicknesses: Sequence[float], looks: Sequence[object]
) -> list[tuple[Row, tuple[Feature, ...]]]:
    """Each row with its mates, once for every layer that takes it; rows that have none are left out.

    Parts that share a value of `looks` are equal.
    """
    groups = _entering(choices, plates)
    found = MateSearch(groups, plates, thicknesses, looks).best()
    return [
        (row, fit)
        for entering, target in zip(groups, found, strict=True)
        if target is not None
        for row in entering.rows
        for fit in target.fits
    ]


def _entering(choices: Options, plates: Plates) -> list[Entering]:
    left = [row for row in choices if choices[row]]
    groups = []
    while left:
        first = left.pop(0)
        twins = [row for row in left if _twins(first, row, plates)]
        left = [row for row in left if row not in twins]
        groups.append(Entering((first, *twins), _targets(choices[first], plates)))
    return groups


def _twins(one: Row, other: Row, plates: Plates) -> bool:
    return (
        one.part != other.part
        and len(one.members) == len(other.members)
        and all(plates.together(a, b) for a, b in zip(one.members, other.members, strict=True))
    )
