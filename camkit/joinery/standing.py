"""Which of several like parts stands where in a line, told by what their joints take. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from camkit.joinery.plate_lines import Line, Tie

__all__ = ["orders"]

# More parts in line than this have too many orders to try.
_MOST = 7


def orders(line: Line, ties: Sequence[Tie]) -> Iterator[tuple[tuple[int, ...], list[Tie]]]:
    """Orders in which as many parts as plates stand in a line, and the ties that are left in each.

    A tie is left where both parts take its shoulders; every part that stands between two others must keep a
    tie. Nothing comes where parts and plates are unlike in number, or more than seven.
    """
    parts = sorted({part for plate in line.plates for part in plate.plates})
    if len(parts) != len(line.plates) or len(parts) > _MOST:
        return
    places = sorted(range(len(parts)), key=lambda k: line.plates[k].place)
    between = {tie.frame for tie in ties}
    for order in _orders([line.plates[k].plates for k in places], ()):
        stands = dict(zip(places, order, strict=True))
        left = [t for t in ties if stands[t.low] in t.first.plates and stands[t.high] in t.second.plates]
        if len(left) < len(ties) and {tie.frame for tie in left} == between:
            yield order, left


def _orders(choices: Sequence[frozenset[int]], chosen: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """All ways to choose a part for each plate, each part once, as drawn first."""
    if len(chosen) == len(choices):
        yield chosen
        return
    for part in sorted(choices[len(chosen)] - set(chosen)):
        yield from _orders(choices, (*chosen, part))
