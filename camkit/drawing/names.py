"""Names of parts: the one text that is drawn inside, else "part 1", "part 2" and so on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from camkit.drawing.sketch import Label
from camkit.geometry.flatten import as_polygon
from camkit.part import Part

__all__ = ["named", "unique"]

# A longer text is a note, not a name.
_LONGEST = 60
_CHORDS = 0.05


def named(parts: Sequence[Part], labels: Sequence[Label]) -> tuple[Part, ...]:
    """The parts with names, in their order.

    A text names a part when it is anchored on that part's wood and no other text is.
    """
    texts: list[list[str]] = [[] for _ in parts]
    if parts and labels:
        tree = shapely.STRtree([shapely.make_valid(as_polygon(part.region(), _CHORDS)) for part in parts])
        numbers, on = tree.query(shapely.points([label.at for label in labels]), predicate="within")
        places: dict[int, list[int]] = {}
        for number, part in zip(numbers.tolist(), on.tolist(), strict=True):
            places.setdefault(number, []).append(part)
        for number in sorted(places):
            if len(places[number]) == 1:
                texts[places[number][0]].append(labels[number].text)
    wanted = [
        found[0] if len(found) == 1 and len(found[0]) <= _LONGEST else f"part {number}"
        for number, found in enumerate(texts, start=1)
    ]
    return tuple(replace(part, name=name) for part, name in zip(parts, unique(wanted), strict=True))


def unique(names: Sequence[str]) -> list[str]:
    """The names, numbered from the second of each on; letter case does not tell two apart."""
    taken = {name.casefold() for name in names}
    used: set[str] = set()
    result = []
    for name in names:
        chosen, count = name, 1
        while chosen.casefold() in used or (count > 1 and chosen.casefold() in taken):
            count += 1
            chosen = f"{name} {count}"
        used.add(chosen.casefold())
        result.append(chosen)
    return result
