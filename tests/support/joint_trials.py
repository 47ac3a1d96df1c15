"""Tries what a program makes of a random joint: does the mate's section enter, seat, and fit as asked?"""

from __future__ import annotations

import math
import pathlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Protocol

from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from support.measured import gaps_across, gaps_along, level, runs, seats, straightened, top
from support.plates import Plate, Refused, cut
from support.random_joints import LOOSE, MATE, PANEL, Joint, plates, stocks
from support.replayed import depth_in

__all__ = ["DEEPEST", "OFF", "Outcome", "Woods", "judged", "tried"]

DEEPEST = 0.002  # mm of overlap that may be the chords'
OFF = 0.02  # mm that a clearance or a length may be off
ROUNDING = 0.0005  # four walls that each keep 0.005 make the whole of OFF
INSET = 0.02  # mm within its sides that a finger comes to rest, so that it never rests on its neighbour
GLUE_LINE = 0.1  # mm at most (check values, section 10)


class Woods(Protocol):
    """What is left of plates: `support.plates.Cleared`, or wood made by hand."""

    plates: Mapping[str, Plate]

    def wood(self, name: str, level: float, *spots: tuple[float, float]) -> BaseGeometry:
        """What stays of a plate at `level`, 0 its top, in the plate's frame."""
        ...

    def through(self, name: str, *spots: tuple[float, float]) -> BaseGeometry:
        """What stays of a plate above the tabs."""
        ...

    def thickness(self, name: str) -> float:
        """Measured thickness of the plate's sheet."""
        ...


@dataclass
class Outcome:
    """What became of a joint: `entered`, `refused` by the rules named, or `failed` for the reasons named."""

    state: str
    reasons: list[str] = field(default_factory=list)
    overlap: float = 0.0
    clearance_off: float = 0.0


@dataclass
class _Trial:
    reasons: list[str] = field(default_factory=list)
    overlap: float = 0.0
    off: float = 0.0

    def wide(self, what: str, gap: float, low: float, high: float | None = None) -> None:
        """A width that should lie from low to high."""
        high = low if high is None else high
        off = max(low - gap, gap - high, 0.0)
        self.off = max(self.off, off)
        if off > OFF + ROUNDING:
            asked = f"{low:.3f}" if low == high else f"{low:.3f} to {high:.3f}"
            self.reasons.append(f"{what} {gap:.3f}, should be {asked}")

    def overlaps(self, what: str, deep: float) -> None:
        self.overlap = max(self.overlap, deep)
        if deep > DEEPEST:
            self.reasons.append(f"{what} overlaps {deep:.3f} deep")


def tried(j: Joint, folder: pathlib.Path) -> Outcome:
    """Draw it, cut it, replay the program and try the mate; files go into `folder`."""
    more = ""
    drawn = plates(j)
    if j.kind == "glued layers":
        layers = ", ".join(f'"{plate.name}"' for plate in drawn[1:])
        more = f'[[glue_up]]\nname = "post"\nlayers = [{layers}]\ndowel = 8'
    if j.kind == "open slot":
        more = f'[[joint]]\ntenon = "{MATE}"\nmortise = "{PANEL}"'
    came = cut(folder, drawn, stocks(j), [j.cutter], f"clearance = {j.clearance}", more)
    if isinstance(came, Refused):
        return _refused(j, came)
    if j.must_be_refused:
        return Outcome("failed", [f"made, though the cutter is {j.cutter - j.narrowest:.3f} too wide"])
    return judged(j, came)


def judged(j: Joint, cleared: Woods) -> Outcome:
    """Try the mate in the wood that is left of the plates."""
    trial = _Trial()
    {"fingers": _fingers, "open slot": _slot, "cross-lap": _laps, "rabbet": _rabbet}.get(j.kind, _opening)(
        j, cleared, trial
    )
    reasons = list(dict.fromkeys(trial.reasons))
    return Outcome("failed" if reasons else "entered", reasons, trial.overlap, trial.off)


def _refused(j: Joint, came: Refused) -> Outcome:
    said = ", ".join(came.rules)
    if not j.may_be_refused or "job" in came.rules:
        return Outcome("failed", [f"refused: {said}: " + str(came.findings[0])])
    if not came.names(PANEL, MATE):
        return Outcome("failed", [f"refused without the part's name: {said}: {came.findings[0]}"])
    return Outcome("refused", [said])


def _opening(j: Joint, cleared: Woods, trial: _Trial) -> None:
    """A mortise, a pocket or a housing, and the tenon or edge that goes in."""
    pocketed = j.kind in ("stub tenon", "stopped housing", "open housing")
    opened = j.kind == "open housing"
    spot = cleared.plates[PANEL].spot
    spots = [spot, (spot[0], -spot[1])] if opened else [spot]
    panel = cleared.wood(PANEL, 0.001 - j.depth, *spots) if pocketed else cleared.through(PANEL, *spots)
    panel = straightened(panel, j.turn_deg)
    if pocketed and cleared.wood(PANEL, -j.depth - OFF, spot).area < 0.99 * _hull(j, cleared):
        trial.reasons.append("the pocket is deeper than drawn")
    names = [n for n in cleared.plates if n != PANEL]
    lines = (len(names) - 1) * GLUE_LINE
    width = j.width
    tenon = not j.kind.endswith("housing")
    mates = [Polygon(cleared.through(name).exterior) for name in names]  # dowel holes filled
    for mate in mates:
        if tenon:
            _tenon_length(j, mate, trial)
        at = top(mate, 0.0) - 0.3 if tenon else -25.0
        begin, end = _sides(mate, at)
        width = end - begin
        trial.wide("the mate's width is", width, j.width)
    aside = max(0.0, min(j.width / 8, j.width / 2 - 1.1 * j.cutter, j.width / 2 - _drawn_reach(j)))
    reach = 30 + j.mate.drawn * len(names)
    across = gaps_across(panel, (-aside, 0.0, aside), reach)
    low, high = max(a for a, _ in across), min(b for _, b in across)
    for a, b in across:
        trial.wide("the opening's width is", b - a, j.opening, j.opening + lines)
    thick = sum(cleared.thickness(name) for name in names)
    middle = (low + high) / 2
    if opened:
        trial.overlaps("the mate", seats(panel, (width, thick), (0.0, middle), (0.0, high - low - thick)))
        return
    begin, end = gaps_along(panel, [middle], j.width / 2 + 20)[0]
    long = j.width + LOOSE
    trial.wide("the opening's length is", end - begin, long, long + _merged(j))
    long = min(long, end - begin)
    room = (long - width, high - low - thick)
    trial.overlaps("the mate", seats(panel, (width, thick), ((begin + end) / 2, middle), room))
    if tenon:
        for mate in mates:
            _mouth(j, mate, long, trial)


def _sides(mate: BaseGeometry, height: float) -> tuple[float, float]:
    """From side to side of a tenon or a board, at a height."""
    return next((run for run in runs(mate, height) if run[0] < 0 < run[1]), (0.0, 0.0))


def _merged(j: Joint) -> float:
    """How much longer an opening may be whose short wall two reliefs take away whole (trade: below 4 r)."""
    return 2 * j.cutter if j.opening < 2 * j.cutter + 0.1 else 0.0


def _hull(j: Joint, cleared: Woods) -> float:
    """Area of the panel's outline as drawn."""
    return float(Polygon([v[:2] for v in cleared.plates[PANEL].outline]).area)


def _drawn_reach(j: Joint) -> float:
    """How far along a wall reliefs of the drawing may reach, if they were left in."""
    return 2.1 * j.relief[1] if j.relief else 0.0


def _shoulder(j: Joint, mate: BaseGeometry, side: int) -> float:
    """Where the mouth of a mortise comes to rest, clear of any relief in the root."""
    far = j.width / 2 + 10 + j.cutter
    return level(mate, side * (far - 4), side * (far - 0.5), 5)


def _tenon_length(j: Joint, mate: BaseGeometry, trial: _Trial) -> None:
    length = top(mate, 0.0) - _shoulder(j, mate, 1)
    asked = {"proud tenon": j.panel.measured + j.proud, "stub tenon": j.depth - 1}
    trial.wide(f"the {j.kind}'s length is", length, asked.get(j.kind, j.panel.measured))


def _mouth(j: Joint, mate: BaseGeometry, long: float, trial: _Trial) -> None:
    """The mortise's mouth comes down on the shoulders, pushed to either side, clear of the roots."""
    thick = j.panel.measured
    left, right = _sides(mate, top(mate, 0.0) - 0.3)
    for begin in (right - long, (left + right - long) / 2, left):
        for side in (-1, 1)[2 - j.shoulders :]:
            mouth = begin if side < 0 else begin + long
            far = side * (j.width / 2 + 10 + j.cutter)
            rest = _shoulder(j, mate, side)
            wall = box(min(mouth, far), rest, max(mouth, far), rest + thick)
            trial.overlaps("the tenon's root", depth_in(mate, wall))


def _slot(j: Joint, cleared: Woods, trial: _Trial) -> None:
    panel = straightened(cleared.through(PANEL), j.turn_deg)
    slope = math.tan(math.radians(abs(j.turn_deg)))
    deep = j.width / math.cos(math.radians(j.turn_deg)) - (j.opening / 2 + 1) * slope - 1
    _slot_takes(j, panel, cleared.thickness(MATE), j.opening, deep, trial)
    trial.wide("the slot's floor is at", top(panel, 0.0), -_merged(j) / 4, 0.0)


def _slot_takes(
    j: Joint, panel: BaseGeometry, thick: float, asked: float, deep: float, trial: _Trial
) -> None:
    """A slot with its floor at y = 0 or so takes a board of `thick` down to the floor."""
    lowest = min(max(1.1 * j.cutter, _drawn_reach(j), 1.0), deep - 1)  # clear of reliefs
    along = gaps_along(panel, (lowest, (lowest + deep) / 2, deep), asked / 2 + 30)
    for a, b in along:
        trial.wide("the slot's width is", b - a, asked)
    low, high = max(a for a, _ in along), min(b for _, b in along)
    middle = (low + high) / 2
    floor = level(panel, middle - thick / 4, middle + thick / 4, 5)
    size, at = (thick, deep - floor), (middle, (deep + floor) / 2)
    trial.overlaps("the mate", seats(panel, size, at, (high - low - thick, 0.0)))


def _laps(j: Joint, cleared: Woods, trial: _Trial) -> None:
    """Each slot takes the other board down to its floor; the floors meet, so that edges are flush."""
    for name, other, share in ((PANEL, MATE, j.share), (MATE, PANEL, 1 - j.share)):
        board = cleared.through(name)
        asked = cleared.thickness(other) + j.clearance
        deep = share * j.width
        _slot_takes(j, board, cleared.thickness(other), asked, deep - 0.5, trial)
        lower, upper = board.bounds[1], board.bounds[3]
        trial.wide("the board's height is", upper - lower, j.width)
        floor = level(board, -asked / 4, asked / 4, 5) - lower
        deeper = j.cutter / 2 if asked < 2 * j.cutter + 0.1 else 0.0  # reliefs that take the floor away
        trial.wide("the height up to the floor is", floor, j.width - deep - deeper, j.width - deep)


def _rabbet(j: Joint, cleared: Woods, trial: _Trial) -> None:
    whole, cut_away = cleared.through(PANEL), cleared.wood(PANEL, 0.001 - j.depth)
    if cleared.wood(PANEL, -j.depth - OFF).area < 0.99 * whole.area:
        trial.reasons.append("the rabbet is deeper than drawn")
    for x in (-0.45 * j.width, 0.0, 0.45 * j.width):
        trial.wide("the rabbet's width is", top(whole, x) - top(cut_away, x), cleared.thickness(MATE))
    thick, rest = cleared.thickness(MATE), level(cut_away, -0.4 * j.width, 0.4 * j.width)
    trial.overlaps("the mate", depth_in(cut_away, box(-j.width / 2, rest, j.width / 2, rest + thick)))


def _fingers(j: Joint, cleared: Woods, trial: _Trial) -> None:
    """Both edges pushed together: fingers between fingers, tips flush with the faces, roots seated."""
    first, second = cleared.through(PANEL), cleared.through(MATE)
    a, b = _comb(j, first), _comb(j, second)
    if len(a) != (j.count + 1) // 2 or len(b) != j.count // 2:
        trial.reasons.append(f"{len(a)} and {len(b)} fingers")
        return
    for (left, right), finger in (*zip(pairwise(b), a[1:-1], strict=True), *zip(pairwise(a), b, strict=True)):
        trial.wide("clearance beside a finger is", right[0] - left[1] - finger[1] + finger[0], j.clearance)
    low = max(a[i][1] - f[0] for i, f in enumerate(b))
    high = min(a[i + 1][0] - f[1] for i, f in enumerate(b))
    if high < low:
        trial.overlaps("a finger", low - high)
        return
    for shift in (low, (low + high) / 2, high):
        _meet(j, first, [(x + shift, y + shift) for x, y in b], cleared.thickness(MATE), trial)
        _meet(j, second, [(x - shift, y - shift) for x, y in a], cleared.thickness(PANEL), trial)


def _comb(j: Joint, board: BaseGeometry) -> list[tuple[float, float]]:
    """Where fingers stand along the edge, measured just below their tips."""
    return runs(board, board.bounds[3] - 0.1)


def _meet(
    j: Joint, board: BaseGeometry, fingers: list[tuple[float, float]], thick: float, trial: _Trial
) -> None:
    """The mate's fingers, as thick as its sheet, lie in this edge's gaps and end flush with its tips."""
    tip = board.bounds[3]
    sides = board.bounds[0], board.bounds[2]
    inner = [f for f in fingers if f[0] > sides[0] + 1 and f[1] < sides[1] - 1]
    for begin, end in inner:
        rest = level(board, begin + INSET, end - INSET)
        trial.wide("a finger's length is", tip - rest, thick)
        trial.overlaps("a finger", depth_in(board, box(begin, rest, end, rest + thick)))
