"""Random benches of two sheets: a seat over uprights, shelves in some bays, a back over some, perhaps a rail.

Every part lies anyhow in the drawing. Fitted, they are put together along the line of uprights: shelves say
how far apart these stand, and seat and back must leave each the clearance. Lengths in mm.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shapely import box
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import polygon, rectangle
from camkit.job.model import Job
from camkit.joinery.fit import fit
from camkit.part import Part
from support.solids import gaps
from support.uprights import turned, upright

__all__ = ["Bench", "Keep", "Outcome", "bench", "outcome"]

Keep = Literal["shoulders", "outside"]
THICK, THIN, CLEARANCE = 18.0, 12.0, 0.15
# Tenon widths by the upright's sheet, so that each joint has its own.
_TOP, _BACK, _SHELF, _RAIL = ({THICK: wide, THIN: wide - 8} for wide in (80.0, 64.0, 100.0, 48.0))
_LEVELS, _RAIL_LEVEL = (200.0, 120.0), 50.0  # neighbouring shelves at two heights


@dataclass(frozen=True)
class Bench:
    """One bench: each upright as drawn and its middle, clear bays, which have a shelf, which are backed."""

    seed: int
    made: dict[float, float]
    uprights: list[float]
    places: list[float]
    bays: list[float]
    shelved: list[bool]
    backed: list[int]
    railed: bool
    shelf_sheet: float

    @property
    def closes(self) -> bool:
        """Whether it can go together with shoulders kept: a rail over a full row needs no change between."""
        inner = sum(self.made[t] - t for t in self.uprights[1:-1])
        return not (self.railed and all(self.shelved) and abs(inner) > 0.01)


@dataclass(frozen=True)
class Outcome:
    """`state` is "fits", "jams" (with the least room left beside an upright) or the rules that refused it."""

    state: str
    room: float
    said: tuple[str, ...]


def bench(seed: int) -> Bench:
    """The bench of this seed; two in five have equal bays, one in four a rail."""
    chance = random.Random(seed)
    made = {
        THICK: round(THICK + chance.uniform(-0.8, 0.8), 2),
        THIN: round(THIN + chance.uniform(-0.6, 0.6), 2),
    }
    uprights = [chance.choice((THICK, THICK, THIN)) for _ in range(chance.randint(2, 6))]
    first, equal = chance.randint(150, 500), chance.random() < 0.4
    bays = [float(first if equal else chance.randint(150, 500)) for _ in uprights[1:]]
    places = [0.0]
    for k, clear in enumerate(bays):
        places.append(places[-1] + clear + (uprights[k] + uprights[k + 1]) / 2)
    shelved = [chance.random() < 0.75 for _ in bays]
    backed = [k for k in range(len(uprights)) if chance.random() < 0.7]
    railed = chance.random() < 0.25
    return Bench(
        *(seed, made, uprights, places, bays, shelved, backed if len(backed) > 1 else [], railed),
        chance.choice((THICK, THIN)),
    )


def _over(name: str, spans: dict[float, float], one: Bench, which: Sequence[int]) -> Part:
    loops = []
    for k in which:
        x, t, span = one.places[k], one.uprights[k], spans[one.uprights[k]] + 0.3
        loops.append(rectangle(x - t / 2, 150 - span / 2, x + t / 2, 150 + span / 2))
    return Part(name, rectangle(-100, 0, one.places[-1] + 100, 300), tuple(loops))


def _between(name: str, one: Bench, low: int, high: int, tenons: dict[float, float]) -> Part:
    first, last = one.uprights[low], one.uprights[high]
    between = one.places[high] - one.places[low] - (first + last) / 2
    points = [(0.0, 0.0), (between, 0.0)]
    for x, out, half in ((between, last, tenons[last] / 2), (0.0, -first, -tenons[first] / 2)):
        points += [(x, 150 - half), (x + out, 150 - half), (x + out, 150 + half), (x, 150 + half)]
        points += [(x, 300.0), (0.0, 300.0)] if out > 0 else []
    return Part(name, polygon(points))


def _parts(one: Bench) -> list[tuple[Part, float]]:
    """All parts with the thickness of their sheet as drawn."""
    count = len(one.uprights)
    made = [(_over("seat", _TOP, one, range(count)), THICK)]
    for k, t in enumerate(one.uprights):
        bays = [bay for bay in (k - 1, k) if 0 <= bay < count - 1 and one.shelved[bay]]
        mortises = [(_LEVELS[bay % 2], _SHELF[t] + 0.3, one.shelf_sheet) for bay in bays]
        if one.railed and k in (0, count - 1):
            mortises.append((_RAIL_LEVEL, _RAIL[t] + 0.3, THICK))
        tenons = (_TOP[t], _BACK[t]) if k in one.backed else (_TOP[t],)
        made.append((upright(f"upright {k}", tenons, mortises), t))
    for bay, has in enumerate(one.shelved):
        made += [(_between(f"shelf {bay}", one, bay, bay + 1, _SHELF), one.shelf_sheet)] if has else []
    made += [(_over("back", _BACK, one, one.backed), THICK)] if one.backed else []
    made += [(_between("rail", one, 0, count - 1, _RAIL), THICK)] if one.railed else []
    return made


def outcome(one: Bench, keep: Keep) -> Outcome:
    """The bench drawn, fitted and put together."""
    chance, lying = random.Random(-one.seed), list[tuple[Part, float, float, bool]]()
    for part, sheet in _parts(one):
        turn = chance.choice((0.0, 90.0, 180.0, 270.0, round(chance.uniform(0, 360), 2)))
        mirrored = chance.random() < 0.3
        lying.append((turned(part, turn, mirrored=mirrored), sheet, turn, mirrored))
    chance.shuffle(lying)
    names = {THICK: "thick", THIN: "thin"}
    rows = [
        {"name": names[t], "measured_thickness": (one.made[t],), "drawn_thickness": t} for t in (THICK, THIN)
    ]
    job = Job.model_validate(
        {
            "sheet": tuple(rows),
            "cutter": ({"number": 1, "diameter": 4.0},),
            "fit": {"clearance": CLEARANCE, "keep": keep},
        }
    )
    sheets = {THICK: job.sheet[0], THIN: job.sheet[1]}
    result = fit([part for part, *_ in lying], job, [sheets[sheet] for _, sheet, *_ in lying])
    errors = sorted({finding.rule for finding in result.findings if finding.level == "error"})
    said = tuple(sorted({finding.rule for finding in result.findings if finding.level == "warning"}))
    if errors:
        return Outcome(", ".join(errors), 0.0, said)
    areas = {}
    for part, (_, _, turn, mirrored) in zip(result.parts, lying, strict=True):
        cos, sin, sign = math.cos(math.radians(turn)), math.sin(math.radians(turn)), -1 if mirrored else 1
        back = [sign * cos, sign * sin, -sin, cos, 0.0, 0.0]
        areas[part.name] = affine_transform(as_polygon(part.region()), back)
    drawn = list(range(len(one.uprights)))
    orders = [drawn, drawn[::-1]]
    for finding in result.findings:
        if finding.rule == "stand-in-order":
            names_told = finding.message.partition(" stand ")[2].partition(":")[0].split(", ")
            told = [int(name.removeprefix("upright ")) for name in names_told]
            orders += [told, told[::-1]]
    room = max(_room(one, areas, order) for order in orders)
    return Outcome("fits" if room >= CLEARANCE - 1e-6 else "jams", room, said)


def _room(one: Bench, areas: dict[str, BaseGeometry], order: list[int]) -> float:
    """The least play that seat and back leave to uprights in this order, held by shelves and rail.

    Negative where they jam, without end where they cannot stand so at all.
    """
    sheets = [one.uprights[k] for k in order]
    ties = _ties(one, order)
    if sheets != one.uprights or ties is None:
        return -math.inf
    made = [one.made[t] for t in sheets]
    walls = [gaps(areas["seat"], x, 150.0) for x in one.places]
    near: dict[int, list[tuple[int, float]]] = {k: [] for k in range(len(order))}
    for low, high, name in ties:
        x0, _, x1, _ = areas[name].intersection(box(-1e5, 10, 1e5, 20)).bounds
        near[low].append((high, made[low] + x1 - x0))
        near[high].append((low, -(made[low] + x1 - x0)))
    faces: dict[int, float] = {}
    least = math.inf
    for first in range(len(order)):
        if first in faces:
            continue
        held = {first: 0.0}
        for k in (ahead := [first]):
            for other, apart in near[k]:
                if other not in held:
                    held[other] = held[k] + apart
                    ahead.append(other)
                elif abs(held[other] - held[k] - apart) > 1e-6:
                    return -math.inf
        low = max(walls[k][0] - x for k, x in held.items())
        high = min(walls[k][1] - made[k] - x for k, x in held.items())
        least = min(least, high - low)
        faces |= {k: x + (low + high) / 2 for k, x in held.items()}
    if one.backed:
        openings = [gaps(areas["back"], one.places[k], 150.0) for k in one.backed]
        stands = [(faces[k], made[k]) for k in range(len(order)) if order[k] in one.backed]
        turned_about = [(-high, -low) for low, high in openings[::-1]]
        least = min(least, max(_over_all(way, stands) for way in (openings, turned_about)))
    return least


def _ties(one: Bench, order: list[int]) -> list[tuple[int, int, str]] | None:
    """Which shelf stands between which places, level and in every mortise; None where some stay open."""
    bays = [{bay for bay in (k - 1, k) if 0 <= bay < len(order) - 1 and one.shelved[bay]} for k in order]
    levels = [{bay % 2 for bay in has} for has in bays]
    ties = []
    for place in range(len(order) - 1):
        for level in sorted(levels[place]):
            if level not in levels[place + 1]:
                return None
            levels[place + 1].remove(level)
            here = sorted(one.uprights[place : place + 2])
            alike = (
                bay
                for bay, has in enumerate(one.shelved)
                if has and one.bays[bay] == one.bays[place] and sorted(one.uprights[bay : bay + 2]) == here
            )
            name = next((f"shelf {bay}" for bay in alike), None)
            if name is None:
                return None
            ties.append((place, place + 1, name))
    if levels[-1] or (one.railed and {order[0], order[-1]} != {0, len(order) - 1}):
        return None
    return ties + ([(0, len(order) - 1, "rail")] if one.railed else [])


def _over_all(openings: Sequence[tuple[float, float]], stands: Sequence[tuple[float, float]]) -> float:
    """How much play is left where the openings go over plates (left face, thickness), one each in turn."""
    low = max(wall[0] - face for wall, (face, _) in zip(openings, stands, strict=True))
    high = min(wall[1] - thick - face for wall, (face, thick) in zip(openings, stands, strict=True))
    return high - low
