"""A seat mortised over uprights with shelves shouldered between them, and what place the shelves leave it.

The uprights stand as far apart as the shelves' shoulders say; the seat must receive all of their tenons
at once.
"""

from __future__ import annotations

import pathlib
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from support.measured import gaps_across, gaps_along, runs
from support.plates import Cleared, Plate, Refused, Stock, box_loop, cut
from support.replayed import depth_in

__all__ = [
    *("CLEARANCE", "DRAWN", "FITTED", "MIXED", "SHELF", "THICKER"),
    *("bench", "best_overlap", "cut_bench", "gap_up", "heights_agree", "shoulders", "standing"),
    *("seat_about_the_middle", "seat_with_held_walls", "solved_seat"),
]

DRAWN, FITTED, CLEARANCE = 18.0, 17.6, 0.15
ONE = (Stock("sheet", DRAWN, FITTED),) * 3  # seat, uprights, shelves
MIXED = (Stock("seat", 24.0, 23.5), Stock("ends", DRAWN, FITTED), Stock("shelves", 12.0, 12.3))
THICKER = Stock("thicker", DRAWN, 18.3)
SHELF = 300.0  # between shoulders
TENON, LOOSE = 120.0, 0.3  # an upright's tenon along the seat's depth; what its mortise is longer
SHELF_TENON = 80.0
LEVELS = (-130.0, -210.0)  # shelves of neighbouring bays stand at two heights, so that tenons never meet
RAIL_LEVEL, RAIL_TENON = -350.0, 60.0


def centres(uprights: int) -> list[float]:
    """Where the uprights' middles are drawn along the seat."""
    return [i * (SHELF + DRAWN) for i in range(uprights)]


def bench(uprights: int, *, rail: bool = False, mixed: bool = False) -> list[Plate]:
    """The plates as drawn for 18.0; with `rail`, one shouldered between the outermost uprights.

    `mixed`: seat and shelves are drawn for the first and the last sheet of MIXED.
    """
    seat_sheet, end_sheet, shelf_sheet = MIXED if mixed else ONE
    lid, board = seat_sheet.drawn, shelf_sheet.drawn
    half = (TENON + LOOSE) / 2
    at = centres(uprights)
    seat = Plate(
        "seat",
        box_loop(-90.0, -90.0, at[-1] + 90.0, 90.0),
        (at[-1] / 2, 80.0),
        openings=[box_loop(x - DRAWN / 2, -half, x + DRAWN / 2, half) for x in at],
        stock=seat_sheet.name,
    )
    made = [seat]
    for i in range(uprights):
        outer = i in (0, uprights - 1)
        bays = [LEVELS[bay % 2] for bay in (i - 1, i) if 0 <= bay < uprights - 1]
        wide = (SHELF_TENON + LOOSE) / 2
        holes = [box_loop(-wide, v - board / 2, wide, v + board / 2) for v in bays]
        foot = -420.0 if outer and rail else -300.0
        if outer and rail:
            short = (RAIL_TENON + LOOSE) / 2
            holes.append(box_loop(-short, RAIL_LEVEL - board / 2, short, RAIL_LEVEL + board / 2))
        w = TENON / 2
        right = [(w + 20, foot, 0.0), (w + 20, 0.0, 0.0), (w, 0.0, 0.0), (w, lid, 0.0)]
        outline = right + [(-x, y, 0.0) for x, y, _ in reversed(right)]
        end = Plate(f"end {i + 1}", outline, (0.0, -30.0), holes, stock=end_sheet.name)
        made.append(replace(end, turn_deg=90.0 * (i % 2)))
    shelf = _between("shelf", SHELF, SHELF_TENON, 140.0)
    names = [f"shelf {i + 1}" for i in range(uprights - 1)]
    made += [replace(shelf, name=name, stock=shelf_sheet.name) for name in names]
    if rail:
        long = (uprights - 1) * SHELF + (uprights - 2) * DRAWN
        made.append(_between("rail", long, RAIL_TENON, 100.0))
    return made


def _between(name: str, shoulders: float, tenon: float, deep: float) -> Plate:
    """A board with a flush tenon at either end; x along it, its middle the origin."""
    s, w, d = shoulders / 2, tenon / 2, deep / 2
    right = [(s, -d, 0.0), (s, -w, 0.0), (s + DRAWN, -w, 0.0), (s + DRAWN, w, 0.0), (s, w, 0.0), (s, d, 0.0)]
    left = [(-x, -y, 0.0) for x, y, _ in right]
    return Plate(name, left + right, (0.0, 0.0))


def cut_bench(folder: pathlib.Path, plates: Sequence[Plate]) -> Cleared | Refused:
    """The bench cut from the sheets that its plates name, with a cutter of 6."""
    named = {plate.stock for plate in plates}
    sheets = [sheet for sheet in {*MIXED, *ONE, THICKER} if sheet.name in named]
    sheets.sort(key=lambda sheet: sheet.name)
    return cut(folder, plates, sheets, [6.0], f"clearance = {CLEARANCE}")


def shoulders(shelf: BaseGeometry) -> float:
    """Distance between a shelf's shoulders, clear of reliefs, on the narrower side."""
    deep = shelf.bounds[3]
    spans = [runs(shelf, y) for y in (4 - deep, deep - 4)]
    return max(span[-1][1] - span[0][0] for span in spans)


def standing(cleared: Cleared, uprights: int) -> list[float]:
    """Left faces of the uprights, from the first, as the shelves hold them apart."""
    places = [0.0]
    for i in range(uprights - 1):
        thick = cleared.thickness(f"end {i + 1}")
        places.append(places[-1] + thick + shoulders(cleared.through(f"shelf {i + 1}")))
    return places


def best_overlap(
    seat: BaseGeometry, places: Sequence[float], uprights: int, thick: Sequence[float] = ()
) -> tuple[float, float]:
    """How deep the seat and the uprights' tenons overlap in the best place, and how much play is left there.

    The play is negative where they jam. Tenons are tried as solid sections as thick as each upright's sheet.
    """
    low, high = -1e9, 1e9
    sheets = thick or [FITTED] * uprights
    for x, drawn, t in zip(places, centres(uprights), sheets, strict=True):
        spans = gaps_along(seat, (-TENON / 4, 0.0, TENON / 4), 40.0, drawn)
        low = max(low, max(a for a, _ in spans) - x)
        high = min(high, min(b for _, b in spans) - x - t)
    shift = (low + high) / 2
    w = TENON / 2 - 0.1
    tenons = [box(shift + x, -w, shift + x + t, w) for x, t in zip(places, sheets, strict=True)]
    return max(depth_in(seat, tenon) for tenon in tenons), high - low


def seat_by_hand(spans: Sequence[tuple[float, float]]) -> Polygon:
    """A seat whose mortises begin and end where `spans` say."""
    w = (TENON + LOOSE) / 2
    whole = box(-90.0, -90.0, spans[-1][1] + 90.0, 90.0)
    for begin, end in spans:
        whole = whole.difference(box(begin, -w, end, w))
    return whole


def seat_about_the_middle(uprights: int) -> Polygon:
    """The seat as it would be if every mortise were re-fitted about its own middle."""
    half = (FITTED + CLEARANCE) / 2
    return seat_by_hand([(x - half, x + half) for x in centres(uprights)])


def seat_with_held_walls(uprights: int) -> Polygon:
    """The seat if every mortise kept the wall at its upright's face that a shelf locates."""
    side, wide = (DRAWN + CLEARANCE) / 2, FITTED + CLEARANCE
    first, *others = centres(uprights)
    # Walls stand half the clearance off the faces.
    spans = [(first + side - wide, first + side)]
    return seat_by_hand(spans + [(x - side, x - side + wide) for x in others])


def solved_seat(uprights: int) -> Polygon:
    """The seat with its mortises where shelves really put the uprights."""
    half, step = CLEARANCE / 2, SHELF + FITTED
    return seat_by_hand([(i * step - half, i * step + FITTED + half) for i in range(uprights)])


def heights_agree(cleared: Cleared, uprights: int) -> float:
    """The least room that both mortises of a shelf leave at one height above the uprights' shoulders."""
    rooms = []
    for bay, (left, right) in enumerate(pairwise(range(1, uprights + 1))):
        spans = []
        for number in (left, right):
            upright = cleared.through(f"end {number}")
            shoulder = upright.bounds[3] - FITTED
            wall = gap_up(upright, LEVELS[bay % 2])
            spans.append((wall[0] - shoulder, wall[1] - shoulder))
        rooms.append(min(b for _, b in spans) - max(a for a, _ in spans))
    return min(rooms)


def gap_up(upright: BaseGeometry, height: float) -> tuple[float, float]:
    """The mortise of an upright around a height, from its lower wall to its upper one."""
    spans = gaps_across(upright, (-20.0, 0.0, 20.0), 30.0, height)
    return max(a for a, _ in spans), min(b for _, b in spans)
