"""What re-fitting wants of one part: openings of another width, ends of tenons and fingers elsewhere.

Nothing is moved here; see `refit`. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from camkit.errors import Finding
from camkit.geometry.path import Path, Point
from camkit.job.model import Job, JointRow, ReliefWish
from camkit.joinery.clearance import Allowance, allowance_by, sum_told
from camkit.joinery.features import Feature
from camkit.joinery.fitted import SizeChange
from camkit.joinery.mates import Entering, Mates, Stock
from camkit.joinery.pairs import Pairs
from camkit.joinery.place import Place, place_of
from camkit.joinery.tenon_roots import Root
from camkit.joinery.undo import Undone
from camkit.part import Part

__all__ = [
    "PLAY",
    "Entry",
    "Ground",
    "Loops",
    "Opening",
    "Rooted",
    "Shift",
    "Wanted",
    "loops_of",
    "opening_wanted",
    "openings_wanted",
]

# Play drawn up to here is the drawing's own clearance and is replaced; more is taken as meant.
PLAY = 0.5
_EXACT = 1e-9
# A countersink is bored on its hole's centre, and goes with it.
_CONCENTRIC = 0.05


@dataclass(frozen=True, slots=True)
class Loops:
    """The loops of a part with sharp corners and material on the left, in the part's order."""

    outline: Path
    openings: tuple[Path, ...]
    pockets: tuple[Path, ...]

    def of(self, feature: Feature) -> Path:
        """The loop that a feature lies in."""
        if feature.loop is None:
            return self.outline
        return (self.pockets if feature.kind in ("housing", "rabbet") else self.openings)[feature.loop]


@dataclass(frozen=True, slots=True)
class Entry:
    """How a tenon enters: shoulders reach `cover` beyond both ends; centred, it is `short` of either."""

    cover: float = 0.0
    short: float = 0.0


def loops_of(drawn: Undone) -> Loops:
    """The sharp walls of a part whose drawn reliefs are undone."""
    return Loops(
        drawn.outline.walls,
        tuple(contour.walls for contour in drawn.openings),
        tuple(contour.walls for contour in drawn.pockets),
    )


@dataclass(frozen=True, slots=True)
class Ground:
    """All that fitting one part rests on: the other parts, their sheets, and which joints were found.

    `stocks` are the parts' own sheets. `moves` says how far a place's middle goes, `shoulders` how far the
    shoulder of a tenon goes; what is absent stays. `stacks` are layers glued into one piece. `entries` tell
    how tenons enter mortises and housings.
    """

    parts: Sequence[Part]
    stocks: Sequence[Stock]
    found: Pairs
    mates: Mates
    job: Job
    moves: Mapping[Feature, Point] = field(default_factory=dict)
    shoulders: Mapping[Feature, Point] = field(default_factory=dict)
    stacks: Sequence[tuple[int, ...]] = ()
    entries: Mapping[Feature, Entry] = field(default_factory=dict)

    def rows(self, part: int, mates: Sequence[int]) -> list[JointRow]:
        """The job's rows for mates entering the part, in the order of the file."""
        names = {self.parts[mate].name for mate in mates}
        return [
            row
            for row in self.job.joint
            if row.mortise == self.parts[part].name and (row.tenon is None or row.tenon in names)
        ]

    def allowance(self, part: int, mates: Sequence[int]) -> Allowance:
        """Clearance and film of joints between these: as their rows say, else [fit]."""
        return allowance_by(self.job.fit, self.rows(part, mates))

    def relief(self, part: int, mates: Sequence[int]) -> ReliefWish:
        """How corners of these joints are to be relieved."""
        wishes = (row.relief for row in self.rows(part, mates) if row.relief)
        return next(wishes, self.job.fit.relief)


@dataclass(frozen=True, slots=True)
class Opening:
    """A place and the `width` it must get; its middle goes by `move`.

    `mates` are the names of what enters; `kept` says that the drawn play is taken as meant, `shows` that its
    far face is seen.
    """

    place: Place
    width: float
    clearance: float
    move: Point = (0.0, 0.0)
    mates: tuple[str, ...] = ()
    wish: ReliefWish = "by rule"
    why: str = ""
    kept: bool = False
    entry: Entry = Entry()
    shows: bool = True


@dataclass(frozen=True, slots=True)
class Rooted:
    """The roots of one tenon as walls of the outline; its mortise hides `hidden` mm of its sides."""

    roots: tuple[Root, ...]
    width: float
    hidden: float
    middle: Point
    wish: ReliefWish = "by rule"


@dataclass(frozen=True, slots=True)
class Shift:
    """Walls of the outline and how far each of them goes, for one change of a size."""

    walls: tuple[tuple[int, Point], ...]
    size: SizeChange


@dataclass(frozen=True, slots=True)
class Wanted:
    """All that is wanted of a part; `holes` go with the plates behind them."""

    openings: tuple[Opening, ...] = ()
    shifts: tuple[Shift, ...] = ()
    holes: Mapping[int, Point] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    roots: tuple[Rooted, ...] = ()


def openings_wanted(index: int, loops: Loops, ground: Ground) -> Wanted:
    """Mortises, slots, housings and rabbets of a part for what enters them, and holes that go along.

    Finding `joint-as-drawn` (warning) where a place's walls are not sharp and straight.
    """
    part = ground.parts[index]
    openings, said = list[Opening](), list[Finding]()
    glued = any(index in stack for stack in ground.stacks)
    for feature, filled in ground.mates.entering.items():
        if feature.part != index:
            continue
        place = place_of(feature, loops.of(feature), part)
        if place is None:
            said.append(_not_sharp(feature, part))
        else:
            opening = opening_wanted(place, filled, ground, index, ground.moves.get(feature, (0.0, 0.0)))
            entry = ground.entries.get(feature, Entry())
            openings.append(replace(opening, entry=entry, shows=not glued))
    holes = {
        k: move
        for feature, move in ground.moves.items()
        if feature.part == index and feature.kind.endswith("hole")
        for k, hole in enumerate(part.holes)
        if math.dist(hole.centre, feature.middle) <= _CONCENTRIC
    }
    return Wanted(tuple(openings), (), holes, (*said, *_play_kept(part, openings)))


def opening_wanted(place: Place, filled: Entering, ground: Ground, index: int, move: Point) -> Opening:
    """A place as wide as what fills it and the clearance: as asked, or as drawn where that is meant."""
    asked = ground.allowance(index, filled.parts)
    glue = filled.glue_lines * ground.job.fit.glue_line
    play = place.width - filled.layers * filled.stock.drawn - glue
    # A rabbet is open to the edge: its mate lies flush there, and nothing is to be cleared.
    meant = place.kind == "rabbet" or play > max(PLAY, asked.total) + _EXACT
    clearance = play if meant else asked.total
    return Opening(
        place,
        filled.layers * filled.stock.measured + glue + clearance,
        clearance,
        move,
        tuple(dict.fromkeys(ground.parts[mate].name for mate in filled.parts)),
        ground.relief(index, filled.parts),
        sum_told(filled.stock.measured, filled.layers, glue, asked, drawn_play=play if meant else None),
        meant,
    )


def _not_sharp(feature: Feature, part: Part) -> Finding:
    x, y = feature.middle
    return Finding(
        "warning",
        "joint-as-drawn",
        f"the {feature.kind} of {feature.width:.2f} x {feature.length:.2f} mm at ({x:.1f}, {y:.1f}) stays as "
        "drawn: its corners are neither sharp nor reliefs that can be undone",
        "Draw its corners sharp, or draw it for the measured thickness",
        x_mm=x,
        y_mm=y,
        part=part.name,
        file=part.source.file or None,
    )


def _play_kept(part: Part, openings: Sequence[Opening]) -> Iterator[Finding]:
    kept = [one for one in openings if one.place.kind != "rabbet" and one.clearance > PLAY and one.kept]
    if not kept:
        return
    first = kept[0]
    yield Finding(
        "note",
        "play-kept",
        f"{len(kept)} joints are drawn with {first.clearance:.2f} mm of play, the first at "
        f"({first.place.middle[0]:.1f}, {first.place.middle[1]:.1f}); so much is taken as meant and kept",
        f"Draw them with {PLAY:g} or less to have clearance of [fit] instead",
        x_mm=first.place.middle[0],
        y_mm=first.place.middle[1],
        amount_mm=first.clearance,
        part=part.name,
        file=part.source.file or None,
        count=len(kept),
    )
