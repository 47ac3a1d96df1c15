"""Where the ends and shoulders of tenons go: flush, proud, stub, wedged and glued. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from camkit.errors import Finding
from camkit.geometry.corner import arriving
from camkit.geometry.path import Path, Point
from camkit.joinery.features import Feature
from camkit.joinery.fitted import SizeChange
from camkit.joinery.mates import Entering
from camkit.joinery.place import Tip, place_of, tip_of, wall_at
from camkit.joinery.wanted import Ground, Loops, Opening, Shift, Wanted, opening_wanted

__all__ = ["lengthened", "tenons_wanted", "wedges_wanted"]

# A tenon ends flush when it is as long as its mate is thick to within this (common practice, no source).
_FLUSH = 0.6
# Glued tenons keep this much play along their mortise (common practice, no source: 0.2 to 0.5).
_LENGTH_PLAY = 0.2
_NONE = 1e-9


def tenons_wanted(index: int, loops: Loops, ground: Ground) -> Wanted:
    """Ends of a part's tenons: flush ones follow their mate's sheet, proud ones keep what stands out.

    Stub tenons stay as long as drawn. Shoulders move where the ground says so. Glued tenons grow wider, up
    to 0.2 less than their mortise. Finding `tenon-as-drawn` (warning) where an end's walls are not straight.
    """
    shifts, said = list[Shift](), list[Finding]()
    for tenon in ground.mates.taking:
        if tenon.part != index:
            continue
        change, why = lengthened(tenon, ground)
        shoulder = ground.shoulders.get(tenon, (0.0, 0.0))
        wider = _grown(tenon, ground)
        if abs(change) <= _NONE and math.hypot(*shoulder) <= _NONE and wider <= _NONE:
            continue
        tip = tip_of(tenon, loops.outline)
        if tip is None:
            said.append(_not_straight(tenon, ground))
            continue
        shifts += _moved(tenon, tip, ground, change, why, shoulder)
        if wider > _NONE and None not in tip.shoulders:
            shifts.append(_widened(tenon, tip, loops.outline, ground, wider))
    shifts += _edges(index, loops.outline, ground)
    return Wanted((), tuple(shifts), {}, tuple(said))


def _edges(index: int, outline: Path, ground: Ground) -> Iterator[Shift]:
    """Ends of boards that stand in housings and move with them."""
    for edge, move in ground.shoulders.items():
        if edge.part != index or edge in ground.mates.taking:
            continue
        wall, (ox, oy) = wall_at(outline, edge.middle, edge.along), _outward(edge)
        if wall is not None:
            along = move[0] * ox + move[1] * oy
            name = ground.parts[index].name
            size = SizeChange(name, "place of end", 0.0, along, "outside sizes stay", *edge.middle)
            yield Shift(((wall, move),), size)


def lengthened(tenon: Feature, ground: Ground) -> tuple[float, str]:
    """How much longer a tenon gets for the sheets that it goes through, and why: 0 for a stub tenon."""
    taking = ground.mates.taking.get(tenon, ())
    told = [_through(tenon, mortise, ground) for mortise in taking]
    if told and max(told)[0] - min(told)[0] > _NONE:
        # Mates of unlike sheets: the one that was paired.
        told = [_through(tenon, mortise, ground) for mortise in ground.mates.chosen.get(tenon, ())]
    return told[0] if told else (0.0, "")


def _through(tenon: Feature, mortise: Feature, ground: Ground) -> tuple[float, str]:
    drawn = measured = 0.0
    layers = _layers(tenon, mortise, ground)
    for count, part in enumerate(layers, 1):
        stock, glue = ground.stocks[part], ground.job.fit.glue_line if count > 1 else 0.0
        drawn, measured = drawn + stock.drawn + glue, measured + stock.measured + glue
        if abs(tenon.length - drawn) <= _FLUSH:
            sheets = f"{measured:.2f} through {_names(layers[:count], ground)}"
            trim = ground.job.fit.trim
            return measured - drawn + trim, f"flush: {sheets}" + (f" + {trim:.2f} to trim" if trim else "")
    if tenon.length > drawn:
        return measured - drawn, f"proud of {measured:.2f} by {tenon.length - drawn:.2f} as drawn"
    return 0.0, ""


def _layers(tenon: Feature, mortise: Feature, ground: Ground) -> tuple[int, ...]:
    """The parts that the tenon goes through, one after another: the layers of a glue-up with its mortises."""
    mates = {other.part for other in ground.mates.taking[tenon]}
    stack = next((stack for stack in ground.stacks if mortise.part in stack), (mortise.part,))
    return tuple(part for part in stack if part in mates)


def _names(parts: Sequence[int], ground: Ground) -> str:
    return " and ".join(dict.fromkeys(ground.parts[part].name for part in parts))


def _grown(tenon: Feature, ground: Ground) -> float:
    """How much wider a glued tenon gets."""
    mortises = ground.mates.taking.get(tenon, ())
    if not mortises or any(ground.allowance(m.part, (tenon.part,)).kind != "glued" for m in mortises):
        return 0.0
    return max(0.0, min(m.length for m in mortises) - tenon.width - _LENGTH_PLAY)


def _outward(tenon: Feature) -> Point:
    """The way a tenon points: wood lies left of its end."""
    return (tenon.along[1], -tenon.along[0])


def _moved(
    tenon: Feature, tip: Tip, ground: Ground, change: float, why: str, shoulder: Point
) -> Iterator[Shift]:
    part, (x, y) = ground.parts[tenon.part].name, tenon.middle
    (ox, oy) = _outward(tenon)
    end = (ox * change + shoulder[0], oy * change + shoulder[1])
    if abs(change) > _NONE or math.hypot(*shoulder) > _NONE:
        size = SizeChange(part, "length of tenon", tenon.length, tenon.length + change, why, x, y)
        yield Shift(tuple((wall, end) for wall in (tip.end, *tip.chamfers)), size)
    if math.hypot(*shoulder) > _NONE:
        along = shoulder[0] * ox + shoulder[1] * oy
        roots = tuple((wall, shoulder) for wall in tip.shoulders if wall is not None)
        yield Shift(roots, SizeChange(part, "place of shoulder", 0.0, along, "outside sizes stay", x, y))


def _widened(tenon: Feature, tip: Tip, outline: Path, ground: Ground, wider: float) -> Shift:
    walls = []
    for side in tip.sides:
        (ux, uy) = arriving(outline.segments[side])
        walls.append((side, (uy * wider / 2, -ux * wider / 2)))
    size = SizeChange(
        ground.parts[tenon.part].name,
        "width of tenon",
        tenon.width,
        tenon.width + wider,
        f"glued: {_LENGTH_PLAY:g} less than its mortise",
        *tenon.middle,
    )
    return Shift(tuple(walls), size)


def _not_straight(tenon: Feature, ground: Ground) -> Finding:
    (x, y), part = tenon.middle, ground.parts[tenon.part]
    return Finding(
        "warning",
        "tenon-as-drawn",
        f"the tenon of {tenon.width:.2f} mm at ({x:.1f}, {y:.1f}) keeps its drawn length: its end, sides or "
        "shoulders are no straight walls that could be moved",
        "Draw its end and sides straight, or draw it for the measured thickness",
        x_mm=x,
        y_mm=y,
        part=part.name,
        file=part.source.file or None,
    )


def wedges_wanted(index: int, loops: Loops, ground: Ground) -> Wanted:
    """Openings for wedges through a part's tenons: as wide as their sheet, and moved with the tenon's end.

    So the wedge goes on bearing on the mate. The wedge is taken to be of the tenon's own sheet.
    """
    tenons = [tenon for tenon in ground.mates.taking if tenon.part == index]
    part, openings = ground.parts[index], list[Opening]()
    for opening in ground.found.wedges:
        if opening.part != index or not tenons:
            continue
        place = place_of(opening, loops.of(opening), part)
        if place is None:
            continue
        tenon = min(tenons, key=lambda one: math.dist(one.middle, opening.middle))
        (ox, oy), change = _outward(tenon), lengthened(tenon, ground)[0]
        shoulder = ground.shoulders.get(tenon, (0.0, 0.0))
        move = (ox * change + shoulder[0], oy * change + shoulder[1])
        wedge = Entering((), ground.stocks[index], 1)
        openings.append(opening_wanted(replace(place, kind="wedge opening"), wedge, ground, index, move))
    return Wanted(tuple(openings))
