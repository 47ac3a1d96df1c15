"""What tenons bring to their joints: shoulders that cover a mortise's ends, and roots to be relieved.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from camkit.geometry.measure import segment_length
from camkit.geometry.path import Path
from camkit.joinery.features import Feature
from camkit.joinery.mates import Mates
from camkit.joinery.pairs import Pairs
from camkit.joinery.place import Tip, tip_of
from camkit.joinery.relief_choice import covered
from camkit.joinery.tenon_roots import Root, inside_corners
from camkit.joinery.wanted import Entry, Ground, Loops, Rooted, Wanted

__all__ = ["entries_of", "roots_wanted"]


def entries_of(found: Pairs, mates: Mates, outlines: Sequence[Path]) -> dict[Feature, Entry]:
    """How tenons enter each mortise or housing; `outlines` are the parts' sharp ones.

    Of several that may enter, the least cover and the least shortness count.
    """
    entries: dict[Feature, Entry] = {}
    for tenon, place in _meetings(found, mates):
        entry = _entry(tenon, place, outlines[tenon.part])
        old = entries.get(place, entry)
        entries[place] = Entry(min(old.cover, entry.cover), min(old.short, entry.short))
    return entries


def _meetings(found: Pairs, mates: Mates) -> Iterator[tuple[Feature, Feature]]:
    """Every tenon or edge with every mortise or housing that it may enter."""
    for tenon, mortises in mates.taking.items():
        for mortise in mortises:
            yield tenon, mortise
    for pair in found.pairs:
        if pair.kind in ("housing", "rabbet"):
            yield from zip(pair.enters, pair.takes, strict=True)


def _entry(tenon: Feature, place: Feature, outline: Path) -> Entry:
    play = max(0.0, place.length - tenon.width)
    tip = tip_of(tenon, outline) if tenon.kind != "edge" else None
    if tip is None:
        return Entry(0.0, play / 2)
    shoulders = [
        segment_length(outline.segments[wall]) if wall is not None else 0.0 for wall in tip.shoulders
    ]
    return Entry(max(0.0, covered(min(shoulders), play)), play / 2)


def roots_wanted(index: int, loops: Loops, ground: Ground) -> Wanted:
    """The roots of a part's tenons whose mates are known; tenons without a mate need none."""
    into: dict[Feature, list[Feature]] = {}
    for tenon, place in _meetings(ground.found, ground.mates):
        if tenon.part == index and tenon.kind != "edge" and place.kind != "rabbet":
            into.setdefault(tenon, []).append(place)
    rooted: list[Rooted] = []
    for tenon, places in into.items():
        tip = tip_of(tenon, loops.outline)
        roots = inside_corners(loops.outline, _roots(tip)) if tip is not None else ()
        if not roots:
            continue
        wish = ground.relief(places[0].part, (index,))
        rooted.append(Rooted(roots, tenon.width, min(_depth(p, ground) for p in places), tenon.middle, wish))
    return Wanted(roots=tuple(rooted))


def _roots(tip: Tip) -> tuple[Root, ...]:
    before, after = tip.shoulders
    first = () if before is None else (Root(before, tip.sides[0], before),)
    second = () if after is None else (Root(tip.sides[1], tip.sides[1], after),)
    return (*first, *second)


def _depth(place: Feature, ground: Ground) -> float:
    """How deep a mortise or housing is, and so how much of a tenon it hides."""
    if place.loop is not None and place.kind == "housing":
        return ground.parts[place.part].pockets[place.loop].depth
    return ground.stocks[place.part].measured
