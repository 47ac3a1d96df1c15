"""Random cut drawings: parts of lines and arcs with openings and round holes, known by corners and bulges.

The same seed gives the same drawing.
"""

from __future__ import annotations

import math
import random

from shapely import Point

from support.bulged import Corner, Drawing, Loop, Motion, Piece, Round, loop_polygon

__all__ = ["bowed_box", "moved", "random_drawing", "random_loop", "rounded_box", "slot"]

QUARTER = math.tan(math.pi / 8)  # the bulge of a quarter circle
Box = tuple[float, float, float, float]


def rounded_box(box: Box, radius: float) -> Loop:
    """A rectangle with its corners rounded, or sharp when `radius` is 0."""
    x0, y0, x1, y1 = box
    if radius == 0:
        return ((x0, y0, 0.0), (x1, y0, 0.0), (x1, y1, 0.0), (x0, y1, 0.0))
    r = radius
    return (
        (x0 + r, y0, 0.0),
        (x1 - r, y0, QUARTER),
        (x1, y0 + r, 0.0),
        (x1, y1 - r, QUARTER),
        (x1 - r, y1, 0.0),
        (x0 + r, y1, QUARTER),
        (x0, y1 - r, 0.0),
        (x0, y0 + r, QUARTER),
    )


def slot(box: Box) -> Loop:
    """A slot with round ends left and right."""
    x0, y0, x1, y1 = box
    r = (y1 - y0) / 2
    return ((x0 + r, y0, 0.0), (x1 - r, y0, 1.0), (x1 - r, y1, 0.0), (x0 + r, y1, 1.0))


def bowed_box(box: Box, bulges: tuple[float, float, float, float]) -> Loop:
    """A rectangle whose sides are arcs, outwards where the bulge is positive."""
    corners = rounded_box(box, 0)
    return tuple((x, y, bulge) for (x, y, _), bulge in zip(corners, bulges, strict=True))


def _ell(chance: random.Random, w: float, h: float) -> tuple[Loop, list[Box]]:
    a, b = chance.uniform(0.3, 0.5) * w, chance.uniform(0.3, 0.5) * h
    r = chance.choice((0.0, 3.0, 8.0))
    inner: tuple[Corner, ...] = ((a + r, b, -QUARTER), (a, b + r, 0.0)) if r else ((a, b, 0.0),)
    loop: Loop = ((0.0, 0.0, 0.0), (w, 0.0, 0.0), (w, b, 0.0), *inner, (a, h, 0.0), (0.0, h, 0.0))
    return loop, [(0.0, 0.0, w, b), (0.0, b + r, a, h)]


def _notched(chance: random.Random, w: float, h: float) -> tuple[Loop, list[Box]]:
    floor = h - chance.uniform(0.15, 0.3) * h
    left = chance.uniform(0.1, 0.4) * w
    right = left + chance.uniform(0.2, 0.4) * w
    ear = chance.choice((0.0, 3.0, 4.0))  # half circles cut sideways into the wood, as for a square tenon
    walls: tuple[Corner, ...] = ((right, floor, 0.0), (left, floor, 0.0))
    if ear:
        walls = (
            (right, floor + 2 * ear, -1.0),
            (right, floor, 0.0),
            (left, floor, -1.0),
            (left, floor + 2 * ear, 0.0),
        )
    top: tuple[Corner, ...] = ((right, h, 0.0), *walls, (left, h, 0.0))
    return ((0.0, 0.0, 0.0), (w, 0.0, 0.0), (w, h, 0.0), *top, (0.0, h, 0.0)), [(0.0, 0.0, w, floor)]


def random_loop(chance: random.Random, box: Box) -> Loop:
    """A small closed loop that fills the box: rounded, sharp, bowed, a slot or a triangle."""
    x0, y0, x1, y1 = box
    w, h = x1 - x0, y1 - y0
    kind = chance.choice(("rounded", "sharp", "bowed", "slot", "triangle"))
    if kind == "rounded":
        return rounded_box(box, chance.uniform(0.1, 0.4) * min(w, h))
    if kind == "sharp":
        return rounded_box(box, 0)
    if kind == "bowed":
        inset = 0.13 * max(w, h)
        inner = (x0 + inset, y0 + inset, x1 - inset, y1 - inset)
        return bowed_box(inner, _bulges(chance))
    if kind == "slot" and w > 1.3 * h:
        return slot(box)
    return ((x0, y0, 0.0), (x1, y0, 0.0), (chance.uniform(x0, x1), y1, 0.0))


def _bulges(chance: random.Random) -> tuple[float, float, float, float]:
    a, b, c, d = (chance.choice((0.0, chance.uniform(-0.2, 0.25))) for _ in range(4))
    return (a, b, c, d)


def _outline(chance: random.Random, w: float, h: float) -> tuple[Loop, list[Box]]:
    kind = chance.choice(("rounded", "sharp", "slot", "ell", "notched", "bowed"))
    box = (0.0, 0.0, w, h)
    if kind == "ell":
        return _ell(chance, w, h)
    if kind == "notched":
        return _notched(chance, w, h)
    if kind == "bowed":
        sag = 0.15 * max(w, h)
        return bowed_box(box, _bulges(chance)), [(sag, sag, w - sag, h - sag)]
    if kind == "slot" and w > h + 30:
        return slot(box), [(h / 2, 0.0, w - h / 2, h)]
    if kind == "rounded":
        radius = chance.uniform(1.0, 0.4 * min(w, h))
        return rounded_box(box, radius), [(radius / 2, radius / 2, w - radius / 2, h - radius / 2)]
    return rounded_box(box, 0), [box]


def _features(chance: random.Random, box: Box) -> tuple[list[Loop], list[Round]]:
    x0, y0, x1, y1 = (box[0] + 4, box[1] + 4, box[2] - 4, box[3] - 4)
    across, up = max(1, int((x1 - x0) // 45)), max(1, int((y1 - y0) // 45))
    openings: list[Loop] = []
    holes: list[Round] = []
    if min(x1 - x0, y1 - y0) < 14:
        return openings, holes
    w, h = (x1 - x0) / across, (y1 - y0) / up
    for i in range(across):
        for j in range(up):
            left, low = x0 + i * w, y0 + j * h
            what = chance.random()
            if what < 0.25:
                inset = chance.uniform(2.0, 0.2 * min(w, h) + 2)
                cell = (left + inset, low + inset, left + w - inset, low + h - inset)
                openings.append(random_loop(chance, cell))
            elif what < 0.5:
                holes.append((left + w / 2, low + h / 2, chance.uniform(2.0, min(w, h, 44.0) - 4)))
    return openings, holes


def _sound(piece: Piece) -> bool:
    """Whether no loop crosses itself or another, and 0.5 mm of wood stands everywhere."""
    wood = loop_polygon(piece.outline, 0.02)
    cut = [loop_polygon(loop, 0.02) for loop in piece.openings]
    cut += [Point(x, y).buffer(diameter / 2) for x, y, diameter in piece.holes]
    if not all(shape.is_valid for shape in (wood, *cut)):
        return False
    apart = all(a.distance(b) > 0.5 for i, a in enumerate(cut) for b in cut[:i])
    return apart and all(wood.buffer(-0.5).contains(shape) for shape in cut)


def random_piece(chance: random.Random) -> Piece:
    """A part of 60 to 250 by 60 to 200 mm about the origin."""
    while True:
        w, h = chance.uniform(60, 250), chance.uniform(60, 200)
        outline, boxes = _outline(chance, w, h)
        openings: list[Loop] = []
        holes: list[Round] = []
        for box in boxes:
            more_openings, more_holes = _features(chance, box)
            openings += more_openings
            holes += more_holes
        piece = Piece(outline, tuple(openings), tuple(holes))
        if _sound(piece):
            return Motion(x=-w / 2, y=-h / 2).piece(piece)


def random_drawing(seed: int, most: int = 5) -> Drawing:
    """One to `most` parts beside each other, each turned and perhaps mirrored."""
    chance = random.Random(seed)
    pieces = []
    for place in range(chance.randint(1, most)):
        turn = chance.choice((0.0, 90.0, 180.0, 270.0, chance.uniform(0, 360)))
        mirrored = chance.random() < 0.3
        motion = Motion(turn, mirrored, 1.0, 400.0 * (place % 3) + 300, 400.0 * (place // 3) + 300)
        pieces.append(motion.piece(random_piece(chance)))
    return tuple(pieces)


def moved(drawing: Drawing, motion: Motion) -> Drawing:
    """The whole drawing after a motion."""
    return tuple(motion.piece(piece) for piece in drawing)
