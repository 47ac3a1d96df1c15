"""Jobs by chance: a piece or two with openings, pockets and holes, cutters and habits of every kind."""

from __future__ import annotations

import math
import random
from typing import Any

from shapely import Point, Polygon, union_all
from shapely.geometry.base import BaseGeometry

from support.trials import Bore, Piece, Recess, Shape, Trial, box, disc, rounded

__all__ = ["random_trial"]

_GAP = 8.0  # mm of wood between features


def _round3(value: float) -> float:
    return round(value, 3)


def _turned(loop: list[tuple[float, float, float]], x: float, y: float, turn: float) -> Shape:
    c, s = math.cos(turn), math.sin(turn)
    return Shape(tuple((_round3(x + u * c - v * s), _round3(y + u * s + v * c), b) for u, v, b in loop))


def _outline(chance: random.Random, x: float, y: float, w: float, h: float) -> Shape:
    kind = chance.choice(["box", "rounded", "disc", "L", "blob", "bevelled", "slot"])
    if kind == "box":
        return box(x, y, x + w, y + h)
    if kind == "rounded":
        return rounded(x, y, x + w, y + h, _round3(chance.uniform(2, min(w, h) / 2.2)))
    if kind == "disc":
        r = min(w, h) / 2
        return disc(x + r, y + r, _round3(r))
    if kind == "L":
        u, v = _round3(w * chance.uniform(0.4, 0.7)), _round3(h * chance.uniform(0.4, 0.7))
        points = [(x, y), (x + w, y), (x + w, y + v), (x + u, y + v), (x + u, y + h), (x, y + h)]
        return Shape(tuple((px, py, 0.0) for px, py in points))
    if kind == "slot":
        return rounded(x, y, x + w, y + h, _round3(min(w, h) / 2 - 0.5))
    if kind == "bevelled":
        c = _round3(min(w, h) * chance.uniform(0.1, 0.3))
        points = [(x + c, y), (x + w, y), (x + w, y + h - c), (x + w - c, y + h), (x, y + h), (x, y + c)]
        return Shape(tuple((px, py, 0.0) for px, py in points))
    count = chance.randint(5, 9)
    turns = sorted(2 * math.pi * (k + chance.uniform(-0.25, 0.25)) / count for k in range(count))
    shares = [chance.uniform(0.75, 1) for _ in turns]
    return Shape(
        tuple(
            (
                _round3(x + w / 2 + w / 2 * s * math.cos(t)),
                _round3(y + h / 2 + h / 2 * s * math.sin(t)),
                chance.choice([0.0, 0.0, 0.2]),
            )
            for t, s in zip(turns, shares, strict=True)
        )
    )


def _inner(chance: random.Random, least: float) -> Shape:
    """A feature about the origin, at least `least` wide."""
    w, h = (chance.uniform(least, least * 5) for _ in range(2))
    kind = chance.choice(["box", "rounded", "disc", "L", "turned"])
    if kind == "disc":
        return disc(0, 0, _round3(max(w, h) / 2))
    if kind == "rounded":
        return rounded(0, 0, _round3(w), _round3(h), _round3(min(w, h) * chance.uniform(0.1, 0.45)))
    if kind == "L":
        w, h = _round3(w + 2 * least), _round3(h + 2 * least)
        u, v = _round3(least * 1.2), _round3(least * 1.3)
        return Shape(((0, 0, 0), (w, 0, 0), (w, v, 0), (u, v, 0), (u, h, 0), (0, h, 0)))
    loop = list(box(0, 0, _round3(w), _round3(h)).loop)
    return _turned(loop, 0, 0, chance.uniform(0, math.pi) if kind == "turned" else 0.0)


def _placed(chance: random.Random, shape: Shape, room: BaseGeometry) -> tuple[Shape, Polygon] | None:
    """The shape moved somewhere into the room, when a few throws find a place."""
    x0, y0, x1, y1 = room.bounds
    for _ in range(12):
        at = _turned(list(shape.loop), chance.uniform(x0, x1), chance.uniform(y0, y1), 0.0)
        area = at.polygon()
        if room.contains(area):
            return at, area
    return None


def _piece(chance: random.Random, name: str, outline: Shape, least: float, thickness: float, drill: float,
           wide: float) -> Piece:  # fmt: skip
    area = outline.polygon()
    room: BaseGeometry = area.buffer(-_GAP)
    openings: list[Shape] = []
    pockets: list[Recess] = []
    holes: list[Bore] = []
    for what in chance.choices(["opening", "pocket", "hole", "bored", "blind"], k=chance.randint(1, 5)):
        if room.is_empty:
            break
        if what in ("opening", "pocket"):
            placed = _placed(chance, _inner(chance, least), room)
            if placed is None:
                continue
            shape, covered = placed
            if what == "opening":
                openings.append(shape)
            else:
                pockets.append(Recess(shape, _round3(thickness * chance.uniform(0.2, 0.6))))
        else:
            size = drill if what == "hole" else _round3(wide * chance.uniform(1.15, 3))
            if what != "hole" and abs(size - drill) < 0.1:
                size += 0.3  # else the drill would make it, near enough
            depth = _round3(thickness * chance.uniform(0.3, 0.7)) if what == "blind" else None
            round_one = _placed(chance, disc(0, 0, size / 2), room)
            if round_one is None:
                continue
            covered = round_one[1]
            (x, y, _), (u, v, _) = round_one[0].loop
            holes.append(Bore(_round3((x + u) / 2), _round3((y + v) / 2), size, depth))
        room = room.difference(covered.buffer(_GAP))
    taken = union_all([s.polygon() for s in openings] + [Point(b.x, b.y).buffer(b.diameter) for b in holes])
    spot = area.difference(taken.buffer(1)).representative_point()
    return Piece(
        name, outline, (_round3(spot.x), _round3(spot.y)), tuple(openings), tuple(pockets), tuple(holes)
    )


def _cutters(chance: random.Random) -> list[dict[str, Any]]:
    kinds = ["straight", "upcut spiral", "downcut spiral", "compression spiral"]
    diameter = chance.choice([3.0, 3.175, 4.0, 5.0, 6.0, 6.35, 8.0, 10.0, 12.0])
    row: dict[str, Any] = {"number": 1, "kind": chance.choice(kinds), "diameter": diameter}
    if chance.random() < 0.5:
        row["pass_depth"] = _round3(diameter * chance.uniform(0.4, 1.2))
    if chance.random() < 0.5:
        row["ramp_angle"] = _round3(chance.uniform(1.5, 6))
    if chance.random() < 0.3:
        row["finish_pass"] = chance.choice([0.2, 0.3, 0.5])
    if row["kind"] == "compression spiral" and chance.random() < 0.5:
        row["upcut_length"] = _round3(diameter * chance.uniform(0.5, 1.2))
    rows = [row, {"number": 2, "kind": "drill", "diameter": chance.choice([3.0, 5.0])}]
    if chance.random() < 0.3:
        other = _round3(diameter * chance.choice([0.5, 1.5, 2]))
        rows.append({"number": 3, "kind": chance.choice(kinds[:3]), "diameter": other})
    for cutter in rows:
        if cutter["kind"] != "drill" and chance.random() < 0.5:
            cutter |= {"speed": 18000, "feed": 3000, "plunge": 900}
    return rows


def random_trial(seed: int) -> Trial:
    """The trial of a seed; the same seed gives the same trial."""
    chance = random.Random(seed)
    thickness = _round3(
        chance.choice([3.0, 4.0, 6.0, 9.0, 12.0, 15.0, 18.0, 21.0, 30.0]) * chance.uniform(0.95, 1)
    )
    cutters = _cutters(chance)
    mills = [row["diameter"] for row in cutters if row["kind"] != "drill"]
    least = min(mills) * 1.3
    gap = round(max(mills) * 2 + chance.choice([3.0, 3.5, 6.0, 9.0]), 3)
    pieces, x = [], gap
    for k in range(chance.randint(1, 2)):
        w, h = _round3(chance.uniform(70, 220)), _round3(chance.uniform(60, 160))
        outline = _outline(chance, _round3(x), _round3(gap), w, h)
        pieces.append(
            _piece(chance, f"piece {k + 1}", outline, least, thickness, cutters[1]["diameter"], min(mills))
        )
        x += w + gap
    machine: dict[str, Any] = {"direction": chance.choice(["climb", "climb", "conventional"])}
    if chance.random() < 0.3:
        machine["xy_zero"] = chance.choice(["lower right", "upper left", "upper right", "centre"])
    if chance.random() < 0.3:
        machine["zero"] = "table"
    if chance.random() < 0.2:
        machine["program_unit"] = "inch"
    if chance.random() < 0.2:
        machine["arcs"] = "lines"
    if chance.random() < 0.2:
        machine["drilling_cycles"] = True
    if chance.random() < 0.2:
        machine["into_table"] = 0.5
    height = _round3(min(3.0, thickness / 3))
    tabs = {
        "height": height,
        "width": _round3(chance.uniform(6, 10)),
        "shape": chance.choice(["ramped", "square"]),
    }
    return Trial(pieces, (_round3(x), _round3(160 + 2 * gap)), thickness, cutters, machine, tabs)
