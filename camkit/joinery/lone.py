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
    """Slots without a partner, and what else a [[joint]] row asks for that no joint was found for.

    A square notch as wide as a sheet takes one, whatever edge it may be of: the sheet of the tenon's part in
    a row, or the part's own. Openings and pockets without a mate may be anything, and are fitted only where a
    row names no tenon, to the part's own sheet. All about their middle. Finding `slots-alone` (note).
    """
    part = ground.parts[index]
    asked = _asked(index, ground)
    mate = asked if asked is not None else index
    stock = ground.stocks[mate]
    names = (mate,) if mate != index else ()
    paired: set[tuple[str, int | None]] = {
        (f.kind, f.loop) for f in ground.mates.entering if f.part == index and f.loop is not None
    }
    paired |= {("mortise", f.loop) for f in ground.found.wedges if f.part == index}
    slots = [f.middle for f in ground.mates.entering if f.part == index and f.loop is None]
    openings: list[Opening] = []
    for place in places(_sharp(part, loops), stock.drawn):
        there = any(abs(x - place.middle[0]) + abs(y - place.middle[1]) < 1 for x, y in slots)
        wanted = asked == index or place.kind == "slot"
        if wanted and (place.kind, place.loop) not in paired and not there:
            filled = Entering(names, stock, place.layers)
            openings.append(opening_wanted(place, filled, ground, index, (0.0, 0.0)))
    alone = [] if asked is not None else openings
    return Wanted(tuple(openings), findings=tuple(_slots_told(part, alone)))


def _asked(index: int, ground: Ground) -> int | None:
    """The part whose sheet the job says enters this one though no joint with it was found; None without."""
    name = ground.parts[index].name
    filled = [one for place, one in ground.mates.entering.items() if place.part == index]
    entering = {mate for one in filled for mate in one.parts}
    for row in ground.job.joint:
        if row.mortise != name:
            continue
        if row.tenon is None:
            return index
        named = [k for k, part in enumerate(ground.parts) if part.name == row.tenon]
        if named and entering.isdisjoint(named):
            return named[0]
    return None


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
