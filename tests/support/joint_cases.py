"""Random joints, each drawn as a pair of parts, cut the whole way, and tried with the mate's true section.

The mate's section is taken from the program too: as wide as the mate was really cut, as thick as the sheet.
"""

from __future__ import annotations

import math
import pathlib
import random
from dataclasses import dataclass, field

import ezdxf
from shapely import LineString, Point, Polygon, box, union_all
from shapely.affinity import affine_transform, translate
from shapely.geometry.base import BaseGeometry

from camkit.errors import CannotBeMadeError, InputError
from camkit.job.load import load
from camkit.pipeline import make
from support.replayed import Move, depth_in, replay, swept, window, wood

__all__ = ["KINDS", "Case", "Outcome", "case", "try_case"]

KINDS = ("mortise", "cross-lap", "housing")
LOOSE = 0.3  # a mortise is this much longer than its tenon is wide (common practice 0.2 to 0.5, no source)
DEEPEST = 0.002  # mm of overlap that may be the chords'
CLEARANCE = 0.02  # mm that a clearance may be off

Loop = list[tuple[float, float]]


@dataclass(frozen=True)
class Case:
    """A joint as drawn: two plates in frames of their own, turned and set on the sheet by `places`."""

    seed: int
    kind: str
    t: float
    thick: float
    clearance: float
    diameter: float
    width: float  # of the tenon, height of lapped boards, or length of the housed edge
    depth: float  # of the housing
    turns: tuple[float, float]
    play: float  # drawn across the thickness
    stopped: bool

    @property
    def fitted(self) -> float:
        """Width that the opening must get."""
        return self.thick + self.clearance

    def __str__(self) -> str:
        return (
            f"seed {self.seed}: {self.kind}, t {self.t}, T {self.thick}, c {self.clearance}, "
            f"play {self.play}, cutter {self.diameter}, width {self.width}, turns {self.turns}"
        )


@dataclass
class Outcome:
    """What became of a case: `entered`, `refused` by the rules named, or `failed` for the reasons named."""

    state: str
    reasons: list[str] = field(default_factory=list)
    overlap: float = 0.0
    clearance_off: float = 0.0


def case(seed: int) -> Case:
    """The joint of this seed."""
    chance = random.Random(seed)
    t = float(chance.choice((3, 4, 6, 6.5, 9, 12, 15, 18, 18, 21, 24, 27, 30)))
    width = round(chance.uniform(1.5 * t, 5 * t) + 12, 1)
    turns = [chance.choice((0.0, 90.0, 180.0, 270.0, round(chance.uniform(0, 360), 3))) for _ in range(2)]
    return Case(
        seed,
        chance.choice(KINDS),
        t,
        round(t + chance.uniform(-0.6, 0.4) * min(1, t / 9), 2),
        chance.choice((0.05, 0.1, 0.15, 0.15, 0.2, 0.3)),
        chance.choice((2.0, 3.0, 3.175, 4.0, 6.0, 6.0, 6.35, 8.0, 10.0, 12.0)),
        width,
        round(t / 3, 2),
        (turns[0], turns[1]),
        chance.choice((0.0, 0.0, 0.1, 0.2)),
        chance.random() < 0.5,
    )


Place = tuple[float, float, float, float, float, float]


def _place(turn: float, x: float, y: float) -> Place:
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return (cos, -sin, sin, cos, x, y)


def _loops(c: Case) -> list[dict[str, list[Loop]]]:
    """Outline, openings and pockets of both plates; each frame's origin is the middle of its joint."""
    w, a = c.width, (c.t + c.play) / 2
    rim = 25.0 + c.diameter
    if c.kind == "mortise":
        h = (w + LOOSE) / 2
        plate = {"OUTLINE": [_box(-h - rim, -a - rim, h + rim, a + rim)], "OPENING": [_box(-h, -a, h, a)]}
        shoulder = 10.0 + c.diameter
        tenon: Loop = [(-w / 2 - shoulder, -60), (w / 2 + shoulder, -60), (w / 2 + shoulder, 0), (w / 2, 0)]
        tenon += [(w / 2, c.t), (-w / 2, c.t), (-w / 2, 0), (-w / 2 - shoulder, 0)]
        return [plate, {"OUTLINE": [tenon]}]
    if c.kind == "cross-lap":
        long = rim + a
        above: Loop = [
            (-long, -w / 2),
            (long, -w / 2),
            (long, w / 2),
            (a, w / 2),
            (a, 0),
            (-a, 0),
            (-a, w / 2),
        ]
        above.append((-long, w / 2))
        return [{"OUTLINE": [above]}, {"OUTLINE": [list(above)]}]
    h = (w + LOOSE) / 2
    plate = {
        "OUTLINE": [_box(-h - rim, -a - rim, h + rim, a + rim)],
        f"POCKET {c.depth}": [_box(-h, -a, h, a)],
    }
    if not c.stopped:
        plate = {
            "OUTLINE": [_box(-h, -a - rim, h, a + rim)],
            f"POCKET {c.depth}": [_box(-h - 4, -a, h + 4, a)],
        }
    return [plate, {"OUTLINE": [_box(-w / 2, -50, w / 2, 0)]}]


def _box(x0: float, y0: float, x1: float, y1: float) -> Loop:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _at(loop: Loop, place: Place) -> Loop:
    a, b, d, e, x, y = place
    return [(a * u + b * v + x, d * u + e * v + y) for u, v in loop]


def try_case(c: Case, folder: pathlib.Path) -> Outcome:
    """Draw it, cut it, replay the program and try the mate; files go into `folder`."""
    plates = _loops(c)
    far = 2 * (c.width + 5 * c.t + 3 * c.diameter + 140)
    places = [_place(c.turns[0], far / 2, far / 2), _place(c.turns[1], 1.5 * far, far / 2)]
    drawing = ezdxf.new("R2000", units=ezdxf.units.MM)
    space = drawing.modelspace()
    space.add_lwpolyline(_box(0, 0, 2 * far, far), close=True, dxfattribs={"layer": "SHEET"})
    for plate, place in zip(plates, places, strict=True):
        for layer, loops in plate.items():
            for loop in loops:
                space.add_lwpolyline(_at(loop, place), close=True, dxfattribs={"layer": layer})
    drawing.saveas(folder / "joint.dxf")
    toml = folder / "job.toml"
    toml.write_text(
        f"""[sheet]
size = [{2 * far}, {far}]
drawn_thickness = {c.t}
measured_thickness = [{c.thick}, {c.thick}]
[[cutter]]
number = 1
diameter = {c.diameter}
[drawings]
files = ["joint.dxf"]
[layers]
"sheet" = "sheet edge"
"outline" = "profile"
"opening" = "opening"
"pocket*" = {{ pocket = {c.depth} }}
[fit]
clearance = {c.clearance}
""",
        encoding="utf-8",
    )
    try:
        result = make(load(toml), folder, "joint")
    except (InputError, CannotBeMadeError) as refused:
        return _refused(c, sorted({f.rule for f in refused.findings}))
    rules = {f.rule for f in result.findings if f.level == "error"}
    rules |= {f.rule for p in result.programs for f in p.verdict.findings if f.level == "error"}
    if rules:
        return _refused(c, sorted(rules))
    moves = replay(result.programs[0].text, {1: c.diameter})
    boards = [
        affine_transform(Polygon(plate["OUTLINE"][0]), place)
        for plate, place in zip(plates, places, strict=True)
    ]
    return _tried(c, moves, places, boards)


def _refused(c: Case, rules: list[str]) -> Outcome:
    """A refusal is right when the cutter does not fit the opening, or hardly does."""
    right = c.diameter > c.fitted - 0.1
    return Outcome("refused" if right else "failed", rules if right else ["refused: " + ", ".join(rules)])


def _left(
    c: Case, moves: list[Move], place: Place, board: Polygon, level: float, *spots: tuple[float, float]
) -> BaseGeometry:
    """The wood that stays of a plate at `level` in one with any of `spots`, back in the plate's frame."""
    area = window(board, 0.4 * c.diameter)
    cleared = swept(moves, level, area)
    a, b, d, e, x, y = place
    back = (a, d, b, e, -(a * x + d * y), -(b * x + e * y))
    pieces = union_all([wood(cleared, spot, area) for spot in _at(list(spots), place)])
    return affine_transform(pieces, back)


def _gap(solid: BaseGeometry, line: LineString) -> tuple[float, float]:
    """Where the free run around the middle of a line begins and ends, along the line."""
    free = line.difference(solid)
    middle = line.interpolate(0.5, normalized=True)
    run = next((r for r in getattr(free, "geoms", [free]) if r.distance(middle) < 1e-6), None)
    if run is None:
        return (0.0, 0.0)
    ends = sorted(line.project(Point(p)) for p in (run.coords[0], run.coords[-1]))
    return ends[0] - line.length / 2, ends[1] - line.length / 2


def _tried(c: Case, moves: list[Move], places: list[Place], boards: list[Polygon]) -> Outcome:
    half = -c.thick / 2 + 0.05  # tabs are lower than this
    w, thick = c.width, c.thick
    far = w + 60
    if c.kind == "cross-lap":
        return _laps(
            c, [_left(c, moves, p, b, half, (0, -w / 4)) for p, b in zip(places, boards, strict=True)]
        )
    rim = c.t / 2 + 12
    level = half if c.kind == "mortise" else -c.depth + 0.001
    plate = _left(c, moves, places[0], boards[0], level, (0, -rim), (0, rim))
    mate = _left(c, moves, places[1], boards[1], half, (0, -30))
    at = c.t / 2 if c.kind == "mortise" else -20.0
    left, right = _run(mate, LineString([(-far, at), (far, at)]))
    cut_width = right - left
    reasons = []
    if abs(cut_width - w) > 0.03:
        reasons.append(f"the mate is {cut_width:.4f} wide, not {w}")
    aside = min(w / 8, w / 2 - 1.1 * c.diameter)  # clear of the reliefs
    across = [_gap(plate, LineString([(u, -30 - c.t), (u, 30 + c.t)])) for u in (-aside, 0.0, aside)]
    low, high = max(a for a, _ in across), min(b for _, b in across)
    begin, end = _gap(plate, LineString([(-far, (low + high) / 2), (far, (low + high) / 2)]))
    off = max(abs(b - a - thick - c.clearance) for a, b in across)
    room, play = high - low - thick, end - begin - cut_width
    worst = 0.0
    open_ended = c.kind == "housing" and not c.stopped
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            section = box(-cut_width / 2, -thick / 2, cut_width / 2, thick / 2)
            along = 0.0 if open_ended else (begin + end) / 2 + i * play / 2
            worst = max(worst, depth_in(plate, translate(section, along, (low + high) / 2 + j * room / 2)))
    if c.kind == "mortise":  # the mortise's mouth comes down on the shoulders, pushed to either side
        for i in (-1, 0, 1):
            middle = (left + right) / 2 + i * play / 2
            for side in (-1, 1):
                mouth = middle + side * (end - begin) / 2
                far_end = middle + side * (w / 2 + 6)
                shoulder = _top(mate, middle + side * (w / 2 + 5 + c.diameter / 2))
                wall = box(min(mouth, far_end), shoulder, max(mouth, far_end), shoulder + thick)
                deep = depth_in(mate, wall)
                if deep > DEEPEST:
                    reasons.append(f"tenon root {deep:.3f} deep in the mouth")
        tip = _top(mate, 0.0) - _top(mate, w / 2 + 5 + c.diameter / 2)
        if abs(tip - thick) > 0.02:
            reasons.append(f"a flush tenon is {tip:.3f} long in a sheet of {thick}")
    return _outcome(reasons, worst, off)


def _run(solid: BaseGeometry, line: LineString) -> tuple[float, float]:
    x0, _, x1, _ = solid.intersection(line).bounds
    return x0, x1


def _top(solid: BaseGeometry, u: float) -> float:
    return float(solid.intersection(LineString([(u, -1000), (u, 1000)])).bounds[3])


def _laps(c: Case, boards: list[BaseGeometry]) -> Outcome:
    """Each board's slot takes the other's thickness down to its floor; the floors meet at half the height."""
    worst, off, seat, reasons = 0.0, 0.0, 0.0, []
    for board in boards:
        lowest = max(c.width / 8, 1.1 * c.diameter)  # above the reliefs
        heights = (lowest, (lowest + c.width / 2) / 2, max(lowest, c.width / 2 - 1))
        line = [_gap(board, LineString([(-40 - c.t, v), (40 + c.t, v)])) for v in heights]
        low, high = max(a for a, _ in line), min(b for _, b in line)
        off = max(off, *(abs(b - a - c.fitted) for a, b in line))
        floor = _top(board, 0.0)
        seat += floor + c.width / 2
        for j in (-1, 0, 1):
            middle = (low + high) / 2 + j * (high - low - c.thick) / 2
            section = box(middle - c.thick / 2, floor, middle + c.thick / 2, c.width)
            worst = max(worst, depth_in(board, section))
    if seat > c.width + 0.02:
        reasons.append(f"the floors meet {seat - c.width:.3f} too early")
    return _outcome(reasons, worst, off)


def _outcome(reasons: list[str], worst: float, off: float) -> Outcome:
    if worst > DEEPEST:
        reasons.append(f"overlap {worst:.4f} deep")
    if off > CLEARANCE:
        reasons.append(f"clearance off by {off:.4f}")
    return Outcome("failed" if reasons else "entered", sorted(set(reasons)), worst, off)
