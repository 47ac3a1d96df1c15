"""Random jobs of boards whose joints are known: what was drawn as a joint, where, and what was not.

Boards are drawn in frames of their own, with drawn reliefs and fillets at random, turned and mirrored, and
set side by side. Nothing of the code that recognises joints is used here.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field

from camkit.geometry.path import Arc, Line, Path, Point, Segment
from camkit.part import Hole, Part, Pocket

__all__ = ["Job", "Truth", "known_job"]

Corner = tuple[float, float, str, float]  # x, y, what is drawn there, its radius
Tab = tuple[
    float, float, float, str, float
]  # from, to, how far out (in: negative), what at its corners, radius

KINDS = ("mortise", "cross-lap", "finger edge", "housing", "rabbet", "dowels", "screws", "layers")
_WEIGHTS = (40, 20, 16, 7, 5, 4, 4, 6)
_SIDES: dict[str, tuple[Point, Point, Point]] = {
    "south": ((0, 0), (1, 0), (0, -1)),
    "east": ((1, 0), (0, 1), (1, 0)),
    "north": ((1, 1), (-1, 0), (0, 1)),
    "west": ((0, 1), (0, -1), (-1, 0)),
}


@dataclass(frozen=True)
class Truth:
    """A joint as drawn: its kind, and the places (part, x, y) of the shapes on both sides."""

    kind: str
    enters: tuple[tuple[int, Point], ...]
    takes: tuple[tuple[int, Point], ...]
    loose: bool = False


@dataclass(frozen=True)
class Job:
    """Parts, each drawn for a sheet of its own thickness, their joints, and how many decoys were drawn.

    `stacks` are the parts that are layers of one plate.
    """

    seed: int
    thicknesses: tuple[float, ...]
    parts: tuple[Part, ...]
    truths: tuple[Truth, ...]
    decoys: int
    stacks: tuple[tuple[int, int], ...] = ()


@dataclass
class _Board:
    """A rectangle with tabs and notches on its sides, openings, pockets and holes; corners at (0, 0)."""

    wide: float
    high: float
    thick: float
    tabs: dict[str, list[Tab]] = field(default_factory=dict)
    openings: list[list[Corner]] = field(default_factory=list)
    pockets: list[tuple[list[Corner], float]] = field(default_factory=list)
    holes: list[tuple[float, float, float]] = field(default_factory=list)
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)

    def side(self, name: str, u: float, out: float = 0.0) -> Point:
        """The point `u` along a side (the wood on the left) and `out` beyond it."""
        (ox, oy), (ux, uy), (nx, ny) = _SIDES[name]
        return (ox * self.wide + ux * u + nx * out, oy * self.high + uy * u + ny * out)

    def length(self, name: str) -> float:
        return self.wide if name in ("south", "north") else self.high

    def outline(self) -> list[Corner]:
        corners: list[Corner] = []
        recessed = False
        for name in _SIDES:
            level, at = 0.0, 0.0
            tabs = sorted(self.tabs.get(name, []))
            if not (tabs and tabs[0][0] == 0) and not recessed:
                corners.append((*self.side(name, 0), "", 0))
            for start, end, out, what, radius in tabs:
                # Outer corners of a tenon are rounded, inner corners of a notch are relieved.
                if start > at or level != 0:
                    corners.append((*self.side(name, start, level), "", 0))
                corners.append((*self.side(name, start, out), what, radius))
                corners.append((*self.side(name, end, out), what, radius))
                level, at = (0.0, end) if end < self.length(name) else (out, end)
                if end < self.length(name):
                    corners.append((*self.side(name, end, 0), "", 0))
            recessed = level < 0
        return corners


def _box(x: float, y: float, wide: float, high: float, what: str = "", radius: float = 0) -> list[Corner]:
    return [
        (x, y, what, radius),
        (x + wide, y, what, radius),
        (x + wide, y + high, what, radius),
        (x, y + high, what, radius),
    ]


def _drawn(corners: list[Corner], chords: int, at: Callable[[Point], Point], flipped: bool) -> Path:
    """The loop of these corners, arcs exact or in so many chords a half circle, each point set by `at`."""
    pieces: list[tuple[Point, Point, Point | None, bool]] = []
    count = len(corners)
    ends: list[tuple[Point, Point]] = []
    arcs: list[tuple[Point, bool] | None] = []
    for k, (x, y, what, r) in enumerate(corners):
        (ax, ay), (bx, by) = corners[k - 1][:2], corners[(k + 1) % count][:2]
        before, after = math.dist((ax, ay), (x, y)), math.dist((x, y), (bx, by))
        (ux, uy), (vx, vy) = ((x - ax) / before, (y - ay) / before), ((bx - x) / after, (by - y) / after)
        left = ux * vy - uy * vx > 0
        if what == "fillet":
            ends.append(((x - r * ux, y - r * uy), (x + r * vx, y + r * vy)))
            arcs.append(((x - r * ux + r * vx, y - r * uy + r * vy), left))
        elif what == "dogbone":
            s, h = math.sqrt(2) * r, r / math.sqrt(2)
            ends.append(((x - s * ux, y - s * uy), (x + s * vx, y + s * vy)))
            arcs.append(((x - h * ux + h * vx, y - h * uy + h * vy), left))
        elif what == "t-bone":
            # Past the longer of the two walls, so that both of a short wall have room.
            if before >= after:
                ends.append(((x - 2 * r * ux, y - 2 * r * uy), (x, y)))
                arcs.append(((x - r * ux, y - r * uy), left))
            else:
                ends.append(((x, y), (x + 2 * r * vx, y + 2 * r * vy)))
                arcs.append(((x + r * vx, y + r * vy), left))
        else:
            ends.append(((x, y), (x, y)))
            arcs.append(None)
    for k in range(count):
        arc = arcs[k]
        if arc is not None:
            pieces.append((*ends[k], arc[0], not arc[1]))
        pieces.append((ends[k][1], ends[(k + 1) % count][0], None, False))
    segments: list[Segment] = []
    for start, end, centre, clockwise in pieces:
        if math.dist(start, end) < 1e-9:
            continue
        if centre is None:
            segments.append(Line(at(start), at(end)))
        elif chords == 0:
            segments.append(Arc(at(start), at(end), at(centre), clockwise != flipped))
        else:
            first = math.atan2(start[1] - centre[1], start[0] - centre[0])
            last = math.atan2(end[1] - centre[1], end[0] - centre[0])
            sweep = -((first - last) % (2 * math.pi)) if clockwise else (last - first) % (2 * math.pi)
            radius = math.dist(centre, start)
            points = [
                (
                    centre[0] + radius * math.cos(first + sweep * j / chords),
                    centre[1] + radius * math.sin(first + sweep * j / chords),
                )
                for j in range(1, chords)
            ]
            chain = [start, *points, end]
            segments += [Line(at(a), at(b)) for a, b in itertools.pairwise(chain)]
    return Path(tuple(segments))


Spot = tuple[int, Point]  # a board and a point in its own frame


class _Maker:
    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.t = float(self.chance.choice((6, 9, 12, 15, 18, 18, 18, 21, 24)))
        # Some jobs are made of two sheets.
        self.sheets = [self.t, *([self.t + 3 if self.t < 18 else self.t - 6] if seed % 4 == 0 else [])]
        self.boards: list[_Board] = []
        self.truths: list[tuple[str, list[Spot], list[Spot], bool]] = []
        self.stacks: list[tuple[int, int]] = []
        self.decoys = 0
        self.radius = self.chance.choice((1.0, 1.5, self.t / 6))
        self.relief = self.chance.choice(("", "", "dogbone", "t-bone"))
        self.fillet = self.chance.choice(("", "fillet"))
        self.chords = self.chance.choice((0, 0, 6, 12))
        # Files hold so many decimals; arcs in this test stay exact, so that their ends stay on them.
        self.decimals = self.chance.choice((2, 3, 4, 9)) if self.chords else 9

    def size(self, low: float, high: float) -> float:
        return round(self.chance.uniform(low, high), 1)

    def board(self, wide: float, high: float, thick: float = 0.0) -> int:
        self.boards.append(_Board(wide, high, thick or self.chance.choice(self.sheets)))
        return len(self.boards) - 1

    def thick(self, board: int) -> float:
        return self.boards[board].thick

    def mortise(self) -> None:
        """One to three tenons of a board in a row of mortises; at both ends where two plates are equal."""
        chance, t, theirs = self.chance, self.chance.choice(self.sheets), self.chance.choice(self.sheets)
        loose = chance.random() < 0.2
        play, longer = (1.0, self.size(0.8, 1.2)) if loose else (self.size(0, 0.2), self.size(0.2, 0.5))
        widths, places, at = [], [], self.size(20, 50)
        for _ in range(chance.randint(1, 3)):
            widths.append(self.size(max(25, 2 * t), 120))
            places.append(at)
            at += widths[-1] + self.size(30, 90)
        deep = round(places[-1] + widths[-1] + self.size(20, 50), 1)
        out = chance.choice((theirs, theirs, theirs - 2, theirs / 2 + 1, theirs + 8, 3 * theirs))
        both = chance.random() < 0.4
        shelf = self.board(self.size(200, 700), deep, t)
        x, y = self.size(30, 120), self.size(20, 60)
        upright = chance.random() < 0.5
        plate = [self.board(deep + 150, 300, theirs), self.board(deep + 150, 300, theirs)][: 2 if both else 1]
        if not both:
            self.boards = self.boards[: plate[0] + 1]
        tall = self.size(230, 400)
        for k in plate:
            self.boards[k].wide, self.boards[k].high = (tall, deep + 150) if upright else (deep + 150, tall)
        ends = ("east", "west")[: len(plate)]
        for name, k in zip(ends, plate, strict=True):
            enters: list[Spot] = []
            takes: list[Spot] = []
            for place, wide in zip(places, widths, strict=True):
                start = place if name == "east" else deep - place - wide
                tab = (start, start + wide, out, self.fillet, min(self.radius, out / 3))
                self.boards[shelf].tabs.setdefault(name, []).append(tab)
                enters.append((shelf, self.boards[shelf].side(name, start + wide / 2, out)))
                width, length = t + play, wide + longer
                # The row lies lengthwise in the plate, from its lower left.
                a, b = y + place - longer / 2, x
                box = (b, a, width, length) if upright else (a, b, length, width)
                self.boards[k].openings.append(_box(*box, self.relief, self.radius))
                self.boards[k].taken.append(box)
                takes.append((k, (box[0] + box[2] / 2, box[1] + box[3] / 2)))
            self.truths.append(("mortise", enters, takes, loose))

    def layers(self) -> None:
        """Two layers of one plate: with a mortise each for one tenon, or a tenon each for one mortise."""
        chance = self.chance
        wide, play, longer = self.size(40, 120), self.size(0, 0.2), self.size(0.2, 0.5)
        deep, at = round(wide + self.size(60, 120), 1), self.size(20, 40)
        ends = [self.chance.choice(self.sheets) for _ in range(2)]
        through = chance.random() < 0.5
        out = sum(ends) if through else self.t
        tab = (at, at + wide, out, self.fillet, self.radius)
        boards = [self.board(self.size(200, 600), deep, self.t)]
        if not through:
            boards = [self.board(self.boards[boards[0]].wide, deep, thick) for thick in ends]
            del self.boards[boards[0] - 1]
            boards = [k - 1 for k in boards]
        size = (300.0, round(wide + 200, 1))
        plates = [self.board(*size, thick) for thick in (ends if through else [self.t])]
        width = (self.t if through else sum(ends)) + play
        box = (self.size(40, 200), self.size(30, 120), width, wide + longer)
        for k in boards:
            self.boards[k].tabs["east"] = [tab]
        for k in plates:
            self.boards[k].openings.append(_box(*box, self.relief, self.radius))
            self.boards[k].taken.append(box)
        middle = (box[0] + box[2] / 2, box[1] + box[3] / 2)
        for k in boards:
            for plate in plates:
                enters = [(k, self.boards[k].side("east", at + wide / 2, out))]
                self.truths.append(("mortise", enters, [(plate, middle)], False))
        layers = plates if through else boards
        self.stacks.append((layers[0], layers[1]))

    def lap(self) -> None:
        """Boards on edge that halve each other at one to three crossings."""
        chance, t, theirs = self.chance, self.chance.choice(self.sheets), self.chance.choice(self.sheets)
        loose = chance.random() < 0.2
        drawn = 1.0 if loose else self.size(0, 0.2)
        high = self.size(max(50, 4 * t), 140)
        share = chance.choice((0.5, 0.5, 0.5, 0.4, 0.3))
        play = self.size(0, 0.4)
        crossings = [self.size(40, 90)]
        for _ in range(chance.randint(0, 2)):
            crossings.append(round(crossings[-1] + self.size(60, 150), 1))
        long = self.board(round(crossings[-1] + self.size(60, 120), 1), high, t)
        for c in crossings:
            short_long = self.size(150, 400)
            short = self.board(short_long, high, theirs)
            wide, width = (theirs + drawn) / 2, (t + drawn) / 2
            m = round(short_long * chance.uniform(0.3, 0.7), 1)
            depth, other = share * high + play / 2, (1 - share) * high + play / 2
            relief = (self.relief if self.relief != "t-bone" else "", min(self.radius, t / 6))
            self.boards[long].tabs.setdefault("north", []).append((c - wide, c + wide, -depth, *relief))
            self.boards[short].tabs["south"] = [(m - width, m + width, -other, *relief)]
            spots = (self.boards[long].side("north", c, -depth / 2), (m, other / 2))
            self.truths.append(("cross-lap", [(long, spots[0])], [(short, spots[1])], loose))

    def fingers(self) -> None:
        chance, t = self.chance, self.t
        play = self.size(0, 0.3)
        count = chance.randint(3, 9)
        lengths = [self.size(max(12, t), 60)] * count
        if chance.random() < 0.4:
            lengths = [self.size(max(12, t), 60) for _ in range(count)]
        high = round(sum(lengths), 1)
        first, second = self.board(self.size(120, 400), high), self.board(self.size(120, 400), high)
        at = 0.0
        for k, size in enumerate(lengths):
            start, end, at = at, min(at + size, high), at + size
            end = high if k == count - 1 else end
            # Fingers of both are drawn shorter by half the play at each flank that meets another.
            a = start + (play / 4 if k else 0)
            b = end - (play / 4 if k < count - 1 else 0)
            if k % 2 == 0:
                self.boards[first].tabs.setdefault("east", []).append((a, b, self.thick(second), "", 0))
            else:
                tab = (high - b, high - a, self.thick(first), "", 0.0)
                self.boards[second].tabs.setdefault("west", []).append(tab)
        spots = [(first, self.boards[first].side("east", high / 2)), (second, (0.0, high / 2))]
        self.truths.append(("finger edge", spots[:1], spots[1:], False))

    def housing(self) -> None:
        t, deep = self.chance.choice(self.sheets), self.size(120, 400)
        shelf, play, longer = self.board(self.size(150, 500), deep, t), self.size(0, 0.2), self.size(0, 0.4)
        plate = self.board(deep + 100, self.size(200, 400))
        open_ended = self.chance.random() < 0.4
        if open_ended:
            self.boards[plate].wide = deep + longer
        x, y = (0.0 if open_ended else 40.0), self.size(40, 120)
        past = 4.0 if open_ended else 0.0
        box = (x - past, y, deep + longer + 2 * past, t + play)
        relief = ("", 0.0) if open_ended else (self.relief, self.radius)
        self.boards[plate].pockets.append((_box(*box, *relief), round(t / 3, 1)))
        self.boards[plate].taken.append(box)
        middle = (x + (deep + longer) / 2, y + (t + play) / 2)
        edge = (shelf, self.boards[shelf].side("east", deep / 2))
        self.truths.append(("housing", [edge], [(plate, middle)], False))

    def rabbet(self) -> None:
        t, deep = self.chance.choice(self.sheets), self.size(120, 400)
        back, side = self.board(self.size(150, 500), deep, t), self.board(deep, self.size(150, 400))
        past = self.chance.choice((0.0, 3.0))
        width = t + self.size(0, 0.2)
        high = self.boards[side].high
        box = (-past, high - width, deep + 2 * past, width + past)
        self.boards[side].pockets.append((_box(*box), round(t / 2, 1)))
        self.boards[side].taken.append(box)
        edge = (back, self.boards[back].side("east", deep / 2))
        self.truths.append(("rabbet", [edge], [(side, (deep / 2, high - width / 2))], False))

    def dowels(self) -> None:
        diameter = float(self.chance.choice((6, 8, 10)))
        places = [self.size(20, 40)]
        for _ in range(self.chance.randint(1, 3)):
            places.append(round(places[-1] + self.size(32, 120), 1))
        ends: list[list[Spot]] = []
        for _ in range(2):
            k = self.board(places[-1] + 60, self.size(150, 300))
            y = self.size(15, 40)
            for x in places:
                self.boards[k].holes.append((x, y, diameter))
                self.boards[k].taken.append((x - 8, y - 8, 16, 16))
            ends.append([(k, (x, y)) for x in places])
        self.truths.append(("dowels", ends[0], ends[1], False))

    def screws(self) -> None:
        """A row of clearance holes, with wider circles about them where heads are sunk."""
        diameter, sunk = self.chance.choice(((3.9, 7.6), (4.5, 8.6), (5.0, 9.5)))
        countersunk = self.chance.random() < 0.5
        k = self.board(self.size(150, 400), self.size(150, 300))
        spots: list[Spot] = []
        for x in (20.0, 70.0, 120.0)[: self.chance.randint(1, 3)]:
            self.boards[k].holes.append((x, 20.0, diameter))
            if countersunk:
                self.boards[k].holes.append((x, 20.0, sunk))
            self.boards[k].taken.append((x - 8, 12, 16, 16))
            spots.append((k, (x, 20.0)))
        self.truths.append(("countersunk screw hole" if countersunk else "screw hole", [], spots, False))

    def decoy(self) -> None:
        """An opening, notch or hole that is no joint; half of them as wide as the sheet."""
        board = self.chance.choice(self.boards)
        draw = self.chance.choices((self._opening, self._notch, self._holes), (6, 1, 1))[0]
        self.decoys += draw(board)

    def _notch(self, board: _Board) -> int:
        """A notch in a side that has nothing else, for a cable or a skirting board."""
        chance, t = self.chance, self.t
        wide = round(t + chance.uniform(-0.6, 0.6), 2) if chance.random() < 0.5 else self.size(0.4 * t, 4 * t)
        deep, bare = self.size(10, 40), [name for name in _SIDES if not board.tabs.get(name)]
        name = chance.choice(bare)
        at = board.length(name) / 2
        # Nothing may lie across from it either: there the board would be lower than its joint says.
        across = board.high if name in ("south", "north") else board.wide
        (ax, ay), (bx, by) = board.side(name, at - wide), board.side(name, at + wide, -across)
        if wide < board.length(name) / 4 and self._is_free(
            board, min(ax, bx), min(ay, by), abs(bx - ax), abs(by - ay)
        ):
            board.tabs[name] = [(at - wide / 2, at + wide / 2, -deep, "", 0)]
            return 1
        return 0

    def _holes(self, board: _Board) -> int:
        """Up to four round holes, for cables, hooks or bolts, anywhere."""
        made = 0
        for _ in range(self.chance.randint(1, 4)):
            x, y = self.size(12, board.wide - 12), self.size(12, board.high - 12)
            if self._is_free(board, x - 10, y - 10, 20, 20):
                board.holes.append((x, y, self.chance.choice((3.0, 5.5, 6.0, 7.0, 8.0, 10.0, 16.0))))
                board.taken.append((x - 10, y - 10, 20, 20))
                made = 1
        return made

    def _is_free(self, board: _Board, x: float, y: float, wide: float, long: float) -> bool:
        return not any(
            x < a + w + 12 and a < x + wide + 12 and y < b + h + 12 and b < y + long + 12
            for a, b, w, h in [*board.taken, *self._notches(board)]
        )

    def _opening(self, board: _Board) -> int:
        chance, t = self.chance, self.t
        wide = round(t + chance.uniform(-0.6, 0.6), 2) if chance.random() < 0.5 else self.size(0.4 * t, 4 * t)
        long = self.size(15, 160)
        if chance.random() < 0.5:
            wide, long = long, wide
        for _ in range(20):
            x, y = (
                self.size(15, max(16, board.wide - wide - 15)),
                self.size(15, max(16, board.high - long - 15)),
            )
            if x + wide > board.wide - 10 or y + long > board.high - 10:
                continue
            if self._is_free(board, x, y, wide, long):
                board.openings.append(_box(x, y, wide, long))
                board.taken.append((x, y, wide, long))
                return 1
        return 0

    def _notches(self, board: _Board) -> list[tuple[float, float, float, float]]:
        found = []
        for name, tabs in board.tabs.items():
            for start, end, out, _, _ in tabs:
                if out < 0:
                    (ax, ay), (bx, by) = board.side(name, start), board.side(name, end, out)
                    found.append((min(ax, bx), min(ay, by), abs(bx - ax), abs(by - ay)))
        return found

    def made(self, seed: int) -> Job:
        parts: list[Part] = []
        places: list[Callable[[Point], Point]] = []
        lying: dict[int, tuple[float, bool]] = {}
        across = 0.0
        for k, board in enumerate(self.boards):
            angle = self.chance.choice((0.0, 0.0, math.pi / 2, math.pi, self.chance.uniform(0, 2 * math.pi)))
            flipped = self.chance.random() < 0.3
            # Layers are drawn as they lie on each other.
            angle, flipped = lying.get(k, (angle, flipped))
            lying |= {stack[1]: (angle, flipped) for stack in self.stacks if stack[0] == k}
            reach = math.hypot(board.wide, board.high) + 200
            at = _setting(angle, flipped, across + reach, self.decimals)
            across += 2 * reach
            places.append(at)

            def path(
                corners: list[Corner], at: Callable[[Point], Point] = at, flipped: bool = flipped
            ) -> Path:
                return _drawn(corners, self.chords, at, flipped)

            parts.append(
                Part(
                    f"board {k}",
                    path(board.outline()),
                    tuple(path(opening) for opening in board.openings),
                    tuple(Hole(at((x, y)), d) for x, y, d in board.holes),
                    tuple(Pocket(path(corners), depth) for corners, depth in board.pockets),
                )
            )
        truths = tuple(
            Truth(
                kind,
                tuple((k, places[k](spot)) for k, spot in enters),
                tuple((k, places[k](spot)) for k, spot in takes),
                loose,
            )
            for kind, enters, takes, loose in self.truths
        )
        thicknesses = tuple(board.thick for board in self.boards)
        return Job(seed, thicknesses, tuple(parts), truths, self.decoys, tuple(self.stacks))


def _setting(angle: float, flipped: bool, x: float, decimals: int) -> Callable[[Point], Point]:
    """What turns a board, mirrored or not, and sets it down at x, in so many decimals."""
    cos, sin, sign = math.cos(angle), math.sin(angle), -1.0 if flipped else 1.0

    def at(point: Point) -> Point:
        u, v = sign * point[0], point[1]
        return (round(x + u * cos - v * sin, decimals), round(u * sin + v * cos, decimals))

    return at


def known_job(seed: int) -> Job:
    """The job of this seed: up to five groups of joints, and up to four decoys."""
    maker = _Maker(seed)
    draw = {
        "mortise": maker.mortise,
        "cross-lap": maker.lap,
        "finger edge": maker.fingers,
        "housing": maker.housing,
        "rabbet": maker.rabbet,
        "dowels": maker.dowels,
        "screws": maker.screws,
        "layers": maker.layers,
    }
    for kind in maker.chance.choices(KINDS, _WEIGHTS, k=maker.chance.randint(1, 5)):
        draw[kind]()
    for _ in range(maker.chance.randint(0, 4)):
        maker.decoy()
    return maker.made(seed)
