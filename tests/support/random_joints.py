"""Random joints of every kind, drawn as plates; what each must come out with is worked out by hand.

Widths: the sheet of the mate and the clearance. Lengths of tenons: flush, proud by as much as drawn, or 1
short of their pocket. `support.joint_trials` tries what the program makes of them.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Any, Literal

from support.drawn_reliefs import Relief, relieved
from support.plates import Loop, Plate, Stock, box_loop, turned_loop

__all__ = ["KINDS", "LOOSE", "MATE", "PANEL", "Joint", "Kind", "joint", "plates", "stocks"]

Kind = Literal[
    "flush tenon", "proud tenon", "stub tenon", "open slot", "cross-lap", "fingers", "stopped housing",
    "open housing", "rabbet", "glued layers",
]  # fmt: skip
KINDS: tuple[Kind, ...] = (
    "flush tenon", "proud tenon", "stub tenon", "open slot", "cross-lap", "fingers", "stopped housing",
    "open housing", "rabbet", "glued layers",
)  # fmt: skip
PANEL, MATE = "cheek", "ledge"
LOOSE = 0.3  # a mortise is this much longer than its tenon is wide (common practice 0.2 to 0.5, no source)
OVERHANG = 4.0  # how far recesses that run off an edge are drawn past it
THICKNESSES = (3.0, 4.0, 6.0, 6.5, 9.0, 12.0, 15.0, 18.0, 18.0, 21.0, 24.0, 27.0, 30.0)
CUTTERS = (2.0, 3.0, 3.175, 4.0, 6.0, 6.0, 6.35, 8.0, 8.0, 10.0, 12.0, 12.0)


@dataclass(frozen=True)
class Joint:
    """One joint as drawn and asked; clearance and play are those of both sides together."""

    seed: int
    kind: Kind
    panel: Stock  # the sheet of the part with the opening
    mate: Stock
    clearance: float
    play: float  # drawn clearance
    cutter: float
    width: float  # of tenon or housed edge; height of lapped boards; depth of a slot; width of a finger
    depth: float  # of pockets
    proud: float
    share: float  # of the height that the first slot of a cross-lap takes
    count: int  # layers glued, or fingers along an edge
    turn_deg: float  # of the opening in its plate
    turns: tuple[float, float]  # of the plates in the drawing
    shoulders: int  # of the tenon
    relief: tuple[str, float, int] | None  # already drawn: kind, radius, chords (0: arcs)

    @property
    def two_sheets(self) -> bool:
        """Whether the job has two sheets of their own thickness."""
        return self.panel.name != self.mate.name

    @property
    def opening(self) -> float:
        """Width that the opening for the mate must get, without glue lines."""
        layers = self.count if self.kind == "glued layers" else 1
        return layers * self.mate.measured + self.clearance

    @property
    def narrowest(self) -> float:
        """The narrowest that the cutter must pass to make the joint."""
        if self.kind == "rabbet":  # the cutter may stand over the edge, as far as the rabbet is drawn
            return self.mate.measured + OVERHANG
        if self.kind == "fingers":
            return self.width
        if self.kind == "cross-lap":
            return min(self.opening, self.panel.measured + self.clearance)
        return self.opening

    @property
    def must_be_refused(self) -> bool:
        """The cutter does not pass the opening."""
        return self.kind != "rabbet" and self.cutter > self.narrowest + 1e-9

    @property
    def may_be_refused(self) -> bool:
        """The cutter hardly passes, or a relief of its width would reach past a finger's tip."""
        if self.kind == "fingers":
            short = min(self.panel.drawn, self.mate.drawn, self.panel.measured, self.mate.measured)
            if self.cutter / math.sqrt(2) > short - 0.3:
                return True
        return self.cutter > self.narrowest - 0.1

    def __str__(self) -> str:
        sheets = f"t {self.mate.drawn} T {self.mate.measured}"
        if self.two_sheets:
            sheets = f"cheek t {self.panel.drawn} T {self.panel.measured}, ledge {sheets}"
        return (
            f"seed {self.seed}: {self.kind}, {sheets}, c {self.clearance}, play {self.play}, cutter "
            f"{self.cutter}, width {self.width}, depth {self.depth}, count {self.count}, turned "
            f"{self.turn_deg} in {self.turns}, drawn relief {self.relief}"
        )


def joint(seed: int, kind: Kind | None = None) -> Joint:
    """The joint of this seed; without a kind, the seed chooses that too."""
    chance = random.Random(seed)
    kind = kind or random.Random(f"kind {seed}").choice(KINDS)
    thick = THICKNESSES
    if kind in ("stub tenon", "glued layers"):  # a stub or a dowel needs some wood
        thick = tuple(t for t in THICKNESSES if t >= 9)
    mate = _stock(chance, chance.choice(thick), "sheet")
    panel = mate
    if chance.random() < 0.2:
        other = chance.choice([t for t in thick if t != mate.drawn])
        panel, mate = _stock(chance, other, "first"), Stock("second", mate.drawn, mate.measured)
    cutter = chance.choice([d for d in CUTTERS if d <= 6.35] if kind == "glued layers" else CUTTERS)
    t = max(panel.drawn, mate.drawn)
    width = round(chance.uniform(1.5 * t, 5 * t) + 12, 1)
    if kind == "fingers":
        width = round(chance.uniform(1.45 * cutter + 1, 45) if chance.random() < 0.85 else 0.8 * cutter, 1)
    elif kind == "open slot":
        width = round(chance.uniform(15, 60) + 1.5 * cutter, 1)
    elif kind == "cross-lap":
        width = round(width + 3 * cutter, 1)
    count = chance.choice((2, 2, 3)) if kind == "glued layers" else chance.choice((5, 7))
    play = chance.choice((0.0, 0.0, 0.0, 0.1, 0.2, 0.3, 0.5))
    turns = [chance.choice((0.0, 90.0, 180.0, 270.0, round(chance.uniform(0, 360), 3))) for _ in range(2)]
    slanted = kind not in ("cross-lap", "fingers", "open housing", "rabbet")
    turn = round(chance.uniform(-30, 30) if kind == "open slot" else chance.uniform(0, 180), 3)
    turn = turn if slanted and chance.random() < 0.4 else 0.0
    depth = round(panel.drawn / 2 if kind == "stub tenon" else panel.drawn / 3, 2)
    drawn = (count if kind == "glued layers" else 1) * mate.drawn + play
    return Joint(
        seed, kind, panel, mate, chance.choice((0.05, 0.1, 0.15, 0.15, 0.2, 0.3)), play, cutter, width, depth,
        round(chance.uniform(5, 60), 1), chance.choice((0.5, 0.5, 0.35, 0.6)), count, turn,
        (turns[0], turns[1]), chance.choice((2, 2, 2, 1)), _relief(chance, kind, drawn),
    )  # fmt: skip


def _stock(chance: random.Random, t: float, name: str) -> Stock:
    return Stock(name, t, round(t + chance.uniform(-0.6, 0.4) * min(1, t / 9), 2))


def _relief(chance: random.Random, kind: Kind, short: float) -> tuple[str, float, int] | None:
    """Reliefs of another cutter, small enough that two of them leave some of the short wall between them."""
    if kind in ("fingers", "open housing", "rabbet") or chance.random() > 0.3:
        return None
    shape = chance.choice(("dogbone", "t-bone"))
    largest = (short - 1) / (2 * math.sqrt(2) if shape == "dogbone" else 4)
    if largest < 0.8:
        return None
    return shape, round(chance.uniform(0.8, min(4.0, largest)), 3), chance.choice((0, 0, 8, 12))


def stocks(j: Joint) -> list[Stock]:
    """The sheets of the job."""
    return [j.panel, j.mate] if j.two_sheets else [j.panel]


def plates(j: Joint) -> list[Plate]:
    """The panel with the opening, and its mate or the mate's layers; each frame's origin is the joint."""
    panel: dict[str, Any] = {"name": PANEL, "stock": j.panel.name, "turn_deg": j.turns[0]}
    mate: dict[str, Any] = {"name": MATE, "stock": j.mate.name, "turn_deg": j.turns[1]}
    made: list[Plate]
    if j.kind == "fingers":
        below, above = _fingers(j)
        return [Plate(outline=below, spot=(j.width / 2, -20.0), **panel),
                Plate(outline=above, spot=(j.width / 2, -20.0), **mate)]  # fmt: skip
    if j.kind in ("open slot", "cross-lap"):
        height = j.width if j.kind == "cross-lap" else j.width + 30.0 + j.cutter
        deep = j.share * height if j.kind == "cross-lap" else j.width
        first = _slotted(j, height, deep, j.mate.drawn + j.play)
        made = [Plate(outline=first, spot=(0.0, -(height - deep) / 2), **panel)]
        if j.kind == "open slot":
            board = box_loop(-height / 2 - 20, -80.0, height / 2 + 20, 0.0)
            return [*made, Plate(outline=board, spot=(0.0, -40.0), **mate)]
        second = _slotted(j, height, height - deep, j.panel.drawn + j.play)
        return [*made, Plate(outline=second, spot=(0.0, -deep / 2), **mate)]
    if j.kind == "rabbet":
        w = j.width
        rabbet = box_loop(-w / 2 - OVERHANG, -j.mate.drawn, w / 2 + OVERHANG, OVERHANG)
        below = -j.mate.drawn - 50.0
        return [
            Plate(outline=box_loop(-w / 2, below, w / 2, 0.0), spot=(0.0, below + 10),
                  pockets=[(j.depth, rabbet)], **panel),
            Plate(outline=box_loop(-w / 2, -50.0, w / 2, 0.0), spot=(0.0, -25.0), **mate),
        ]  # fmt: skip
    return _housed(j, panel, mate)


def _housed(j: Joint, panel: dict[str, Any], mate: dict[str, Any]) -> list[Plate]:
    """An opening or a pocket, and what goes into it: a tenon, a whole edge, or glued tenons."""
    layers = j.count if j.kind == "glued layers" else 1
    h, a = (j.width + LOOSE) / 2, (layers * j.mate.drawn + j.play) / 2
    rim = 25.0 + j.cutter
    half = h + a + rim
    outline, spot = box_loop(-half, -half, half, half), (0.0, half - 6.0)
    opening = _with_reliefs(j, box_loop(-h, -a, h, a))
    if j.kind == "open housing":
        outline, spot = box_loop(-h, -a - rim, h, a + rim), (0.0, a + rim - 6)
        opening = box_loop(-h - OVERHANG, -a, h + OVERHANG, a)
    pocketed = j.kind in ("stub tenon", "stopped housing", "open housing")
    opening = turned_loop(opening, j.turn_deg)
    holes = {"pockets": [(j.depth, opening)]} if pocketed else {"openings": [opening]}
    first = Plate(outline=outline, spot=spot, **holes, **panel)
    if j.kind.endswith("housing"):
        return [first, Plate(outline=box_loop(-j.width / 2, -50, j.width / 2, 0), spot=(0, -25), **mate)]
    length = j.panel.drawn
    if j.kind == "proud tenon":
        length += j.proud
    elif j.kind == "stub tenon":
        length = j.depth - 1
    tenon = _tenon(j, length)
    if j.kind == "glued layers":
        names = [f"{MATE} {i}" for i in range(1, layers + 1)]
        return [first] + [Plate(outline=tenon, spot=(0, -30), **{**mate, "name": n}) for n in names]
    return [first, Plate(outline=tenon, spot=(0, -30), **mate)]


def _tenon(j: Joint, length: float) -> Loop:
    w, out = j.width, 10.0 + j.cutter
    deep = 130.0 if j.kind == "glued layers" else 60.0
    right: Loop = [(w / 2 + out, -deep, 0), (w / 2 + out, 0, 0), (w / 2, 0, 0), (w / 2, length, 0)]
    left: Loop = [(-w / 2, length, 0), (-w / 2, 0, 0), (-w / 2 - out, 0, 0), (-w / 2 - out, -deep, 0)]
    if j.shoulders == 1:
        left = [(-w / 2, length, 0), (-w / 2, -deep, 0)]
    return right + left


def _with_reliefs(j: Joint, opening: Loop) -> Loop:
    """Reliefs at all four corners; T-bones stand in the end walls, so that broad walls stay whole."""
    if j.relief is None:
        return opening
    shape, radius, chords = j.relief
    ends: dict[int, Relief] = {
        0: "t-bone before", 1: "t-bone after", 2: "t-bone before", 3: "t-bone after"
    }  # fmt: skip
    if shape == "dogbone":
        ends = dict.fromkeys(range(4), "dogbone")
    return relieved(opening, ends, radius, outward=True, chords=chords)


def _slotted(j: Joint, height: float, deep: float, wide: float) -> Loop:
    """A board with a slot from its upper edge; the middle of the slot's floor is the origin."""
    a, turn = wide / 2, math.radians(j.turn_deg)
    long = 40.0 + a + j.cutter + abs(deep * math.tan(turn))
    bottom = turned_loop([(a, 0, 0), (-a, 0, 0)], j.turn_deg)
    mouths = [(x + (deep - y) * -math.tan(turn), deep, 0.0) for x, y, _ in bottom]
    board = [(-long, deep - height, 0.0), (long, deep - height, 0.0), (long, deep, 0.0), mouths[0], *bottom]
    board += [mouths[1], (-long, deep, 0.0)]
    if j.relief is None:
        return board
    shape, radius, chords = j.relief
    floor: dict[int, Relief] = {4: "t-bone after", 5: "t-bone before"}
    if shape == "dogbone":
        floor = {4: "dogbone", 5: "dogbone"}
    return relieved(board, floor, radius, outward=False, chords=chords)


def _fingers(j: Joint) -> tuple[Loop, Loop]:
    """Two edges with complementary fingers; drawn play narrows those of the mate."""
    f, n, p = j.width, j.count, j.play / 2
    first = [(i * f, (i + 1) * f) for i in range(0, n, 2)]
    second = [(i * f + p, (i + 1) * f - p) for i in range(1, n, 2)]
    return _comb(n * f, first, j.mate.drawn), _comb(n * f, second, j.panel.drawn)


def _comb(long: float, fingers: list[tuple[float, float]], high: float) -> Loop:
    """A board below v = 0 whose upper edge has fingers of height `high`."""
    edge: Loop = []
    for begin, end in reversed(fingers):
        edge += [(end, 0, 0), (end, high, 0), (begin, high, 0), (begin, 0, 0)]
    whole = [(0.0, -60.0, 0.0), (long, -60.0, 0.0), (long, 0.0, 0.0), *edge, (0.0, 0.0, 0.0)]
    return [v for i, v in enumerate(whole) if v[:2] not in {w[:2] for w in whole[:i]} and not _flat(whole, v)]


def _flat(loop: Loop, v: tuple[float, float, float]) -> bool:
    """An end of the edge that a finger at the very end has made no corner."""
    return sum(w[:2] == v[:2] for w in loop) > 1
