"""A potting bench made by hand: its parts, the motions of its program, and what a judge might say of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from camkit.cut import Cut, CutKind, Tab
from camkit.errors import Finding
from camkit.geometry.measure import bounds
from camkit.geometry.path import Arc, Line, Path, circle, oriented, polygon, rectangle
from camkit.geometry.transform import Placement, moved, moved_point
from camkit.job.model import Job
from camkit.joinery.fitted import Fitted, FittedJoint, GluedLayer, GluedUp
from camkit.part import Hole, Part, Placed, Pocket, Source
from camkit.pipeline import JudgedProgram, Result, SheetUse
from camkit.program.motion import CutMark, Motion, Point3, Reading
from camkit.simulation.verdict import CutterTime, CutTime, TimedMotion, Verdict

THICKNESS = 17.6
THROUGH = -THICKNESS - 0.3
SAFE = 15.0
Kind = Literal["rapid", "feed", "arc"]


def rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Path:
    """An upright rectangle with round corners, counter-clockwise."""
    if r == 0:
        return rectangle(x0, y0, x1, y1)
    return Path(
        (
            Line((x0 + r, y0), (x1 - r, y0)),
            Arc((x1 - r, y0), (x1, y0 + r), (x1 - r, y0 + r), False),
            Line((x1, y0 + r), (x1, y1 - r)),
            Arc((x1, y1 - r), (x1 - r, y1), (x1 - r, y1 - r), False),
            Line((x1 - r, y1), (x0 + r, y1)),
            Arc((x0 + r, y1), (x0, y1 - r), (x0 + r, y1 - r), False),
            Line((x0, y1 - r), (x0, y0 + r)),
            Arc((x0, y0 + r), (x0 + r, y0), (x0 + r, y0 + r), False),
        )
    )


@dataclass
class Hand:
    """Writes motions one line each, the way a program does."""

    x: float = 0.0
    y: float = 0.0
    z: float = SAFE
    lines: list[str] = field(default_factory=list)
    motions: list[Motion] = field(default_factory=list)
    marks: list[CutMark] = field(default_factory=list)
    timing: list[TimedMotion] = field(default_factory=list)
    cutter: int = 1
    clock: float = 0.0

    def say(self, text: str) -> None:
        """Append a line of text."""
        self.lines.append(text)

    def mark(self, kind: str, name: str) -> None:
        """Begin a numbered cut."""
        number = len(self.marks) + 1
        self.say(f"(CUT {number} {kind.upper()} {name.upper()})")
        self.marks.append(CutMark(number, kind.upper(), name.upper(), len(self.lines), len(self.motions)))

    def _add(self, kind: Kind, end: Point3, length: float, feed: float, arc: Arc | None = None) -> None:
        motion = Motion(
            len(self.lines),
            kind,
            (self.x, self.y, self.z),
            end,
            feed_mm_min=feed,
            cutter=self.cutter,
            spindle_rev_min=18000.0,
            centre=arc.centre if arc else None,
            clockwise=bool(arc and arc.clockwise),
        )
        begins = self.clock
        self.clock += length / feed * 60 + 0.02
        self.motions.append(motion)
        self.timing.append(TimedMotion(begins, self.clock))
        self.x, self.y, self.z = end

    def rapid(self, x: float, y: float, z: float) -> None:
        """Travel."""
        self.say(f"G0 X{x:.4f} Y{y:.4f} Z{z:.4f}")
        self._add("rapid", (x, y, z), math.dist((self.x, self.y, self.z), (x, y, z)), 5000.0)

    def feed(self, x: float, y: float, z: float, feed: float = 3600.0) -> None:
        """Cut straight."""
        self.say(f"G1 X{x:.4f} Y{y:.4f} Z{z:.4f} F{feed:.0f}")
        self._add("feed", (x, y, z), math.dist((self.x, self.y, self.z), (x, y, z)), feed)

    def arc(self, arc: Arc, z: float, feed: float = 3600.0) -> None:
        """Cut along an arc, rising or falling to z."""
        i, j = arc.centre[0] - arc.start[0], arc.centre[1] - arc.start[1]
        word = "G2" if arc.clockwise else "G3"
        self.say(f"{word} X{arc.end[0]:.4f} Y{arc.end[1]:.4f} Z{z:.4f} I{i:.4f} J{j:.4f}")
        self._add("arc", (*arc.end, z), math.hypot(i, j) * math.pi / 2, feed, arc)

    def down_to(self, x: float, y: float, z: float) -> None:
        """Bore straight down."""
        self.rapid(x, y, SAFE)
        self.rapid(x, y, 2.0)
        self.feed(x, y, z, 1200.0)

    def follow(self, path: Path, z: float) -> None:
        """Cut along a path at one depth."""
        for segment in path.segments:
            if isinstance(segment, Arc):
                self.arc(segment, z)
            else:
                self.feed(*segment.end, z)

    def loop(self, path: Path, depth: float, passes: int) -> None:
        """Cut a closed path in passes."""
        self.rapid(*path.start, SAFE)
        self.rapid(*path.start, 2.0)
        for step in range(1, passes + 1):
            self.feed(*path.start, depth * step / passes, 1200.0)
            self.follow(path, depth * step / passes)
        self.rapid(*path.end, SAFE)


def _end_frame(name: str) -> Part:
    return Part(
        name,
        rounded(0, 0, 560, 820, 25),
        openings=(
            rounded(90, 120, 470, 380, 20),
            rounded(90, 470, 470, 730, 20),
            rectangle(60, 415, 77.75, 455),
            rectangle(482.25, 415, 500, 455),
        ),
        holes=tuple(Hole((x, y), 8.1, 12.0) for x in (45, 515) for y in (45, 775)),
        source=Source("end-frame.dxf", "outer", "LWPOLYLINE 2F"),
    )


PARTS = {
    "end frame, outer": _end_frame("end frame, outer"),
    "shelf": Part(
        "shelf",
        rounded(0, 0, 1150, 380, 6),
        holes=tuple(Hole((x, y), 5.0) for x in (60, 1090) for y in (60, 320)),
        pockets=tuple(Pocket(rounded(260, y, 890, y + 20.5, 3), 6.0) for y in (160, 220)),
        source=Source("shelf.dxf", "outline", "LWPOLYLINE 3A"),
    ),
    "back rail": Part(
        "back rail",
        rounded(0, 0, 1150, 110, 20),
        openings=(rounded(475, 35, 675, 75, 20),),
        holes=(Hole((40, 55), 5.0), Hole((1110, 55), 5.0)),
        source=Source("rail.dxf", "outline", "LWPOLYLINE 41"),
    ),
    "tool peg": Part(
        "tool peg",
        polygon(((0, 0), (180, 0), (180, 40), (60, 40), (40, 70), (0, 70))),
        holes=(Hole((25, 25), 20.0),),
        source=Source("peg.dxf", "outline", "LWPOLYLINE 55"),
    ),
}


def place(
    name: str, x: float, y: float, *, copy: int = 1, turn: float = 0.0, mirrored: bool = False
) -> Placed:
    part, at = PARTS[name], Placement(x, y, turn, mirrored)
    shape = Part(
        part.name,
        moved(part.outline, at),
        tuple(moved(loop, at) for loop in part.openings),
        tuple(Hole(moved_point(h.centre, at), h.diameter, h.depth) for h in part.holes),
        tuple(Pocket(moved(p.outline, at), p.depth) for p in part.pockets),
        part.source,
    )
    return Placed(part, shape, copy, 1, x, y, turn, mirrored)


PLACED = (
    place("end frame, outer", 20, 20, copy=1),
    place("end frame, outer", 1170, 20, copy=2, mirrored=True),
    place("shelf", 1200, 20),
    place("back rail", 1200, 425),
    place("tool peg", 1210, 560, copy=1),
    place("tool peg", 1410, 560, copy=2),
    place("tool peg", 1680, 560, copy=3, turn=90),
)


def _grown(path: Path, by: float) -> Path:
    """An upright loop grown by `by` on its own extent: near enough for a mock cutter path."""
    x0, y0, x1, y1 = bounds(path)
    radius = next((s.radius for s in path.segments if isinstance(s, Arc)), 0.0)
    return rounded(x0 - by, y0 - by, x1 + by, y1 + by, max(0.0, radius + by))


def _cuts(hand: Hand) -> tuple[Cut, ...]:
    cuts: list[Cut] = []

    def cut(kind: CutKind, piece: Placed, tabs: tuple[Tab, ...] = ()) -> None:
        hand.mark(kind, f"{piece.part.name} {piece.copy}")
        cuts.append(Cut(len(cuts) + 1, kind, piece.part.name, piece.copy, 1, 1, (), tabs))

    for piece in PLACED:
        for pocket in piece.shape.pockets:
            cut("pocket", piece)
            for step in (1.0, 2.0):
                for inset in (9.0, 6.0, 3.0):
                    hand.loop(_grown(pocket.outline, -inset), -pocket.depth * step / 2, 1)
    for piece in PLACED:
        for hole in piece.shape.holes:
            cut("hole", piece)
            depth = THROUGH if hole.depth is None else -hole.depth
            if hole.diameter > 6.2:
                ring = circle(hole.centre, hole.diameter - 6)
                hand.loop(ring, depth, 6)
            else:
                hand.down_to(*hole.centre, depth)
                hand.rapid(*hole.centre, SAFE)
    for piece in PLACED:
        for opening in piece.shape.openings:
            cut("opening", piece)
            hand.loop(oriented(_grown(opening, -3), clockwise=False), THROUGH, 6)
    for piece in PLACED:
        outline = piece.shape.outline
        x0, y0, x1, y1 = bounds(outline)
        tabs = tuple(Tab(x0 + (x1 - x0) * s, y, 8.0, 3.0) for s in (0.25, 0.75) for y in (y0, y1))
        cut("profile", piece, tabs)
        hand.loop(oriented(_grown(outline, 3), clockwise=True), THROUGH, 6)
    return tuple(cuts)


FINDINGS = (
    Finding(
        "warning", "chip-load", "chip of 0.071 mm is thin for plywood", "Feed faster or turn slower", line=210
    ),
    Finding(
        "note", "cutting-order", "the rail is cut before the shelf's last hole", line=900, part="back rail"
    ),
)
ERRORS = (
    Finding(
        "error", "gouge", "the cutter takes 0.31 mm out of the shelf", "Offset the path by its radius",
        line=350, x_mm=1200.0, y_mm=200.0, z_mm=-6.0, amount_mm=0.31, part="shelf",
    ),
    Finding(
        "error", "missing-hole", "no hole of 5 mm was cut", "Add it to the program",
        x_mm=2310.0, y_mm=480.0, part="back rail",
    ),
)  # fmt: skip
READ = (
    Finding(
        "note", "closed-gap", "closed a gap of 0.03 mm", "", x_mm=560.0, y_mm=400.0, file="end-frame.dxf",
        layer="outer", entity="LWPOLYLINE 2F",
    ),
)  # fmt: skip


def bench(*, errors: tuple[Finding, ...] = (), name: str = "potting-bench-1", repeat: int = 1) -> Result:
    """The bench on one sheet, its program as motions; `errors` turn the verdict."""
    job = Job.model_validate(
        {
            "title": "Potting bench",
            "sheet": {"size": (2440, 1220), "measured_thickness": THICKNESS, "material": "birch plywood"},
            "cutter": [{"number": 1, "kind": "compression spiral", "diameter": 6.0}],
        }
    )
    hand = Hand()
    hand.say("%")
    hand.say("(POTTING BENCH, SHEET 1)")
    hand.say("T1 M6")
    cuts = _cuts(hand)
    for _ in range(repeat - 1):
        _cuts(hand)
    hand.say("M30")
    starts = [mark.line for mark in hand.marks] + [len(hand.lines)]
    spans = [mark.before for mark in hand.marks] + [len(hand.motions)]
    times = tuple(
        CutTime(
            mark.number, mark.kind, mark.name, starts[i], starts[i + 1] - 1,
            hand.timing[spans[i + 1] - 1].ends_s - hand.timing[spans[i]].begins_s,
        )
        for i, mark in enumerate(hand.marks)
    )  # fmt: skip
    cutting = sum(math.dist(m.start, m.end) for m in hand.motions if m.kind != "rapid")
    travel = sum(math.dist(m.start, m.end) for m in hand.motions if m.kind == "rapid")
    verdict = Verdict(
        hand.clock, cutting, travel, (CutterTime(1, 6.0, hand.clock),), times, tuple(hand.timing),
        FINDINGS + errors,
    )  # fmt: skip
    reading = Reading(tuple(hand.motions), (), tuple(hand.marks), ((3, 0, 1),), (), len(hand.lines), True)
    fitted = Fitted(
        tuple(PARTS.values()),
        (FittedJoint("mortise", ("end frame, outer", "shelf"), 18.0, 17.75, 0.15, "dogbone", 68.9, 435.0),),
        (
            GluedUp(
                "end frame",
                (
                    GluedLayer("end frame, outer", "up", (Hole((45, 45), 8.1, 12.0),)),
                    GluedLayer("end frame, outer", "down", (Hole((45, 45), 8.1, 12.0),)),
                ),
                0.02,
                0.11,
                2 * THICKNESS,
            ),
        ),
    )
    program = JudgedProgram(name, 1, "\n".join(hand.lines) + "\n", reading, verdict)
    return Result(job, (SheetUse(1, (2440, 1220), job.sheet[0]),), fitted, PLACED, cuts, (program,), READ)
