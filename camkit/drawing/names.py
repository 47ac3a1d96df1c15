"""Names of parts: the one text that is drawn on or beside each, else "part 1", "part 2" and so on."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.label_words import is_note, is_quantity, quantity_of
from camkit.drawing.sketch import Label
from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.part import Part

__all__ = ["Named", "named", "unique"]

_CHORDS = 0.05
# A text beside a part belongs to it up to here, if it is clearly nearer to it than to any other.
_BESIDE = 30.0
_CLEARLY = 2.0
# A number beside a part is the text of a dimension, unless it is short enough to count parts.
_MEASURE = re.compile(r"[\d.,]{3,}")
_TOLD_ONE_BY_ONE = 12


@dataclass(frozen=True, slots=True)
class Named:
    """The parts with names, in their order, and what was found about texts."""

    parts: tuple[Part, ...]
    findings: tuple[Finding, ...] = ()


def named(parts: Sequence[Part], labels: Sequence[Label], file: str) -> Named:
    """Name parts by their texts.

    A text names a part when it is anchored on that part's wood and no other name is. A part without any is
    named by a text beside it, at most 30 mm away and less than half as far as from any other part. What is
    only a quantity, only sizes, or several lines with sizes is no name, nor is a measure beside a
    part. A quantity is told and not used; a
    text that names no part is counted.
    """
    texts: list[list[int]] = [[] for _ in parts]
    if parts and labels:
        spots = shapely.points([label.at for label in labels])
        wood = np.array([shapely.make_valid(as_polygon(part.region(), _CHORDS)) for part in parts])
        on = _on_wood(wood, spots)
        for number, part in on.items():
            texts[part].append(number)
        beside = _beside(wood, spots, [n for n in range(len(labels)) if n not in on])
        for number, part in beside.items():
            measure = _MEASURE.fullmatch(labels[number].text)
            if not measure and not any(_is_name(labels[n]) for n in texts[part] if n in on):
                texts[part].append(number)
    wanted: list[str] = []
    used: set[int] = set()
    for number, found in enumerate(texts, start=1):
        names = [n for n in found if _is_name(labels[n])]
        wanted.append(labels[names[0]].text if len(names) == 1 else f"part {number}")
        used |= set(names) if len(names) == 1 else set()
    result = tuple(replace(part, name=name) for part, name in zip(parts, unique(wanted), strict=True))
    quantities = _told_quantities(result, texts, labels, file)
    used |= {n for found in texts for n in found if quantity_of(labels[n].text) is not None}
    return Named(result, (*quantities, *_told_unused(labels, used, file)))


def _is_name(label: Label) -> bool:
    return not (is_note(label) or is_quantity(label.text))


def _on_wood(wood: NDArray[Any], spots: NDArray[Any]) -> dict[int, int]:
    """The part that each text is on, by number; texts on two parts are on none."""
    numbers, on = shapely.STRtree(wood).query(spots, predicate="within")
    places: dict[int, list[int]] = {}
    for number, part in zip(numbers.tolist(), on.tolist(), strict=True):
        places.setdefault(number, []).append(part)
    return {number: found[0] for number, found in sorted(places.items()) if len(found) == 1}


def _beside(wood: NDArray[Any], spots: NDArray[Any], free: Sequence[int]) -> dict[int, int]:
    """The part that each of the free texts lies outside of, beside it and clearly nearest to it."""
    if not free:
        return {}
    # What lies in an opening of a part is neither on it nor beside it.
    filled = np.array([shapely.union_all([shapely.Polygon(p.exterior) for p in _polygons(w)]) for w in wood])
    tree = shapely.STRtree(filled)
    numbers, near = tree.query(spots[list(free)], predicate="dwithin", distance=_BESIDE * _CLEARLY)
    away = shapely.distance(spots[list(free)][numbers], filled[near])
    found: dict[int, list[tuple[float, int]]] = {}
    for number, part, distance in zip(numbers.tolist(), near.tolist(), away.tolist(), strict=True):
        found.setdefault(free[number], []).append((distance, part))
    beside: dict[int, int] = {}
    for number, places in sorted(found.items()):
        (distance, part), *others = sorted(places)
        if 0 < distance <= _BESIDE and all(other > _CLEARLY * distance for other, _ in others):
            beside[number] = part
    return beside


def _polygons(shape: Any) -> list[Any]:
    return [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]


def _told_quantities(
    parts: Sequence[Part], texts: Sequence[Sequence[int]], labels: Sequence[Label], file: str
) -> list[Finding]:
    told = []
    for part, found in zip(parts, texts, strict=True):
        for number in found:
            label = labels[number]
            count = quantity_of(label.text)
            if count is None or count == 1:
                continue
            said = f'the text "{label.text}" asks for {count} pieces; it is cut as often as it is drawn'
            remedy = "Draw as many as you want, or run the program again"
            told.append(
                Finding(
                    "note",
                    "quantity-offered",
                    f"{said}, at ({label.at[0]:.2f}, {label.at[1]:.2f})",
                    remedy,
                    x_mm=label.at[0],
                    y_mm=label.at[1],
                    part=part.name,
                    file=file,
                    layer=label.layer or None,
                )
            )
    if len(told) > _TOLD_ONE_BY_ONE:
        more = f"{len(told)} texts ask for several pieces in all; {_TOLD_ONE_BY_ONE} of them are named"
        told = [*told[:_TOLD_ONE_BY_ONE], Finding("note", "quantity-offered", more, file=file)]
    return told


def _told_unused(labels: Sequence[Label], used: set[int], file: str) -> list[Finding]:
    left = [label for number, label in enumerate(labels) if number not in used]
    if not left:
        return []
    shown = ", ".join(f'"{label.text[:30]}"' for label in left[:3])
    said = f"texts that name no part, left out: {len(left)} ({shown}{', …' if len(left) > 3 else ''})"
    return [Finding("note", "texts", said, file=file, count=len(left))]


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
