"""Places whose mate is not drawn, but which take a sheet by their shape or because the job says so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from camkit.errors import Finding
from camkit.joinery.mates import Entering
from camkit.joinery.recognise import places
from camkit.joinery.wanted import Ground, Loops, Opening, Wanted, opening_wanted
from camkit.part import Part, Pocket

__all__ = ["lone_wanted"]


def lone_wanted(index: int, loops: Loops, ground: Ground) -> Wanted:
    """Slots without a partner, and what else a [[joint]] row asks for that names no tenon.

    A square notch as wide as a sheet takes one, whatever edge it may be of; openings and pockets without a
    mate may be anything, and are fitted only where the job says so. All to the part's own sheet, about their
    middle. Finding `slots-alone` (note).
    """
    part = ground.parts[index]
    asked = any(row.tenon is None and row.mortise == part.name for row in ground.job.joint)
    stock = ground.stocks[index]
    paired = {(f.kind, f.loop) for f in ground.mates.entering if f.part == index and f.loop is not None}
    slots = [f.middle for f in ground.mates.entering if f.part == index and f.loop is None]
    openings: list[Opening] = []
    for place in places(_sharp(part, loops), stock.drawn):
        there = any(abs(x - place.middle[0]) + abs(y - place.middle[1]) < 1 for x, y in slots)
        wanted = asked or place.kind == "slot"
        if wanted and (place.kind, place.loop) not in paired and not there:
            filled = Entering((), stock, place.layers)
            openings.append(opening_wanted(place, filled, ground, index, (0.0, 0.0)))
    alone = [] if asked else openings
    return Wanted(tuple(openings), findings=tuple(_slots_told(part, alone)))


def _slots_told(part: Part, alone: Sequence[Opening]) -> Iterator[Finding]:
    if alone:
        x, y = alone[0].place.middle
        yield Finding(
            "note",
            "slots-alone",
            f"no partner is drawn for {len(alone)} slots, the first at ({x:.1f}, {y:.1f}); they are fitted "
            "to the part's own sheet",
            x_mm=x,
            y_mm=y,
            part=part.name,
            file=part.source.file or None,
            count=len(alone),
        )


def _sharp(part: Part, loops: Loops) -> Part:
    return replace(
        part,
        outline=loops.outline,
        openings=loops.openings,
        pockets=tuple(
            Pocket(loop, pocket.depth, pocket.islands)
            for loop, pocket in zip(loops.pockets, part.pockets, strict=True)
        ),
    )
