"""The machine that a program's blocks act on: where it stands, and the motions that come out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from camkit.program.motion import Dwell, Motion, Point3
from camkit.program.read_arc import (
    ArcWords,
    centre_of,
    radius_mismatch,
    sweep,
    swept_points,
)
from camkit.program.read_command import (
    ARCS,
    AXES,
    CHANGE,
    CYCLES,
    MOTION,
    NON_MODAL,
    PROBE,
    STOPPING,
    Command,
)
from camkit.program.read_cycle import Cycle, count_of_steps, cycle_from_words, cycle_steps
from camkit.program.read_error import BlockError
from camkit.program.read_modes import MM_PER_INCH, XY, Modes, unknown_offset
from camkit.program.read_value import integer

__all__ = ["FARTHEST", "MOST_STEPS", "Machine"]

# 3.5.3.2: how much the radii at an arc's ends may differ in mm, by the program's unit.
ARC_WITHIN = {1.0: 0.002, MM_PER_INCH: 0.0002 * MM_PER_INCH}
# Bounds of ours that keep any text finite: mm from zero; motions that one canned cycle, or all, may make.
FARTHEST = 1e6
MOST_STEPS = 100_000
MOST_STEPS_IN_ALL = 1_000_000
# The axes of each plane, the first two so that a turn from one to the other is counter-clockwise (3.5.3).
_PLANES = {XY: (0, 1, 2), 180: (2, 0, 1), 190: (1, 2, 0)}
_CENTRE_WORDS = "IJK"


@dataclass(slots=True)
class Machine:
    """Carries out commands in the order of Table 8 (3.8) and collects what they make.

    The program begins at X0 Y0; the height there is not known before the first Z word and is then taken to be
    the height of that word (0 when it is a feed). Offsets of G54 are 0. `say` takes the faults that leave a
    line readable.
    """

    say: Callable[[BlockError], None]
    motions: list[Motion] = field(default_factory=list)
    dwells: list[Dwell] = field(default_factory=list)
    changes: list[tuple[int, int, int]] = field(default_factory=list)
    stops: list[tuple[int, int, int]] = field(default_factory=list)
    ended: bool = False
    motion_in_force: int = 800
    modes: Modes = field(init=False)
    line: int = 0
    at: Point3 = (0.0, 0.0, math.nan)
    cutter: int | None = None
    shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])  # of G92
    kept_shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    cycle_words: dict[str, float] = field(default_factory=dict)
    steps: int = 0
    height_unknown: bool = False  # in some motion

    def __post_init__(self) -> None:
        self.modes = Modes(self.say)

    def carry_out(self, command: Command, line: int) -> None:
        """Act on one line; raises BlockError when the rest of it cannot be carried out."""
        self.line = line
        for fault in command.faults:
            self.say(fault)
        g, m, values = command.g, command.m, command.values
        if g:
            self.modes.set_feed_and_unit(g)
        if values:
            self.modes.set_words(values)
        if m:
            self._change(m)
            self.modes.set_spindle(m)
        if g:
            self._dwell(g, values)
            self.modes.set_codes(command)
            self._non_modal(command)
            if MOTION in g and g[MOTION] != self.motion_in_force:
                self.cycle_words = {}
                self.motion_in_force = g[MOTION]
        if command.motion is not None:
            self._move(command, command.motion)
        if STOPPING in m:
            if m[STOPPING] in (2, 30):
                self.ended = True
            else:  # lasts as long as the operator wants
                self.dwells.append(Dwell(self.line, len(self.motions), 0.0))
                if m[STOPPING] != 1:  # M1 waits only when a switch says so
                    self.stops.append((self.line, len(self.motions), self.modes.turning))

    def _change(self, m: dict[int, int]) -> None:
        if CHANGE not in m:
            return
        self.modes.turning = 0  # 3.6.3: the spindle stands after a change
        selected = self.modes.selected
        if selected is None:
            self.say(
                BlockError("M6 changes the cutter, but no T word has named one (3.6.3)", "Write T before M6")
            )
            return
        self.cutter = selected
        self.changes.append((self.line, len(self.motions), selected))

    def _dwell(self, g: dict[int, int], values: dict[str, float]) -> None:
        if g.get(NON_MODAL) != 40:
            return
        seconds = values.get("P")
        if seconds is None or seconds < 0:
            raise BlockError("G4 needs a P word, seconds, not below 0 (3.5.4)", "Write G4 P1")
        self.dwells.append(Dwell(self.line, len(self.motions), seconds))

    def _non_modal(self, command: Command) -> None:
        code = command.g.get(NON_MODAL)
        if code == 100:
            self.say(unknown_offset("G10"))
        elif code in (280, 300):
            self._go_home(command, code // 10)
        elif code == 920:
            self._set_shift(command)
        elif code == 921:
            self.shift, self.kept_shift = [0.0] * 3, [0.0] * 3
        elif code == 922:
            self.shift = [0.0] * 3
        elif code == 923:
            self.shift = list(self.kept_shift)
        elif code == 530:
            if command.motion not in (0, 10):
                raise BlockError("G53 goes only with a G0 or G1 motion (3.5.12)", "Write G53 G0 and the axes")
            self.say(
                BlockError(
                    "G53 moves by the machine's own zero, which the text does not tell; "
                    "it is read as the program's zero",
                    "Move by the program's zero instead",
                    level="note",
                )
            )

    def _set_shift(self, command: Command) -> None:
        named = [axis for axis in (0, 1, 2) if AXES[axis] in command.values]
        if not named:
            raise BlockError("G92 stands without an axis word (3.5.18)", "Write X, Y or Z behind it")
        for axis in named:
            if math.isnan(self.at[axis]):
                raise BlockError("G92 names a height that is not known yet", "Move to an absolute Z first")
            self.shift[axis] = self.at[axis] - command.values[AXES[axis]] * self.modes.unit
        self.kept_shift = list(self.shift)

    def _go_home(self, command: Command, number: int) -> None:
        """3.5.8: by way of the point named to a place that only the control knows."""
        target = self._target(command)
        if target != self.at:
            self._travel("rapid", target)
        self._travel("rapid", (0.0, 0.0, self.at[2]))
        self.at = (0.0, 0.0, math.nan)
        self.say(
            BlockError(
                f"G{number} ends where only the control knows; it is read as X0 Y0, raised",
                "Move to a known place instead",
                level="note",
            )
        )

    def _move(self, command: Command, motion: int) -> None:
        if not self.modes.unit_said:
            self.modes.unit_said = True
            self.say(
                BlockError(
                    "the first motion comes before G20 or G21; the numbers are read as mm",
                    "Write G21 at the start",
                    level="note",
                )
            )
        if motion in CYCLES:
            self._drill(command, motion)
            return
        target = self._target(command)
        if motion == 0:
            self._travel("rapid", target)
        elif motion in ARCS:
            self._turn(command, target, motion == 20)
        else:
            if motion == PROBE:
                self.say(
                    BlockError(
                        "where a probing move (G38.2) stops is not in the text: position unknown",
                        "Leave probing to a program of its own",
                    )
                )
            self._travel("feed", target, self._feed_over(command, _distance(self.at, target)))

    def _target(self, command: Command) -> Point3:
        """Where the axis words lead, absolute in mm."""
        target = list(self.at)
        for axis in (0, 1, 2):
            value = command.values.get(AXES[axis])
            if value is None:
                continue
            value *= self.modes.unit
            if command.g.get(NON_MODAL) == 530:
                pass  # by the machine's zero, whatever G91 and G92 say (3.5.12)
            elif self.modes.absolute:
                value += self.shift[axis]
            else:
                value += self._known(axis)
            if abs(value) > FARTHEST:
                raise BlockError(
                    f"{AXES[axis]} would go to {value:.4g} mm, beyond any machine", "Correct the number"
                )
            target[axis] = value
        return (target[0], target[1], target[2])

    def _known(self, axis: int) -> float:
        if math.isnan(self.at[axis]):
            self.say(
                BlockError(
                    "a move starts from a height that is not known yet; it is read as 0",
                    "Move to an absolute Z first",
                )
            )
            self.at = (self.at[0], self.at[1], 0.0)
        return self.at[axis]

    def _feed_over(self, command: Command, distance: float) -> float | None:
        if self.modes.per_minute:
            return self.modes.feed
        if "F" not in command.values:
            raise BlockError("with G93 every G1, G2 and G3 needs its F word (3.5.19)", "Write F on this line")
        inverse = self.modes.inverse_time
        return distance * inverse if inverse and distance else None

    def _travel(
        self,
        kind: Literal["rapid", "feed", "arc"],
        target: Point3,
        feed: float | None = None,
        centre: tuple[float, float] | None = None,
        clockwise: bool = False,
    ) -> None:
        start, modes = self.at, self.modes
        if start[2] != start[2] and target[2] == target[2]:  # the first known height
            start = (start[0], start[1], target[2] if kind == "rapid" else 0.0)
        if start[2] != start[2] or target[2] != target[2]:
            self.height_unknown = True
        self.motions.append(
            Motion(
                self.line,
                kind,
                start,
                target,
                centre,
                clockwise,
                0,
                feed,
                modes.turning * modes.speed,
                self.cutter,
                modes.pass_over,
                modes.exact_stop,
                modes.turning,
            )
        )
        self.at = target

    def _turn(self, command: Command, target: Point3, clockwise: bool) -> None:
        first, second, third = _PLANES[self.modes.plane]
        words = command.values
        if self.modes.plane != XY:
            self._known(2)
            target = (target[0], target[1], 0.0 if math.isnan(target[2]) else target[2])
        if _CENTRE_WORDS[third] in words:
            self.say(
                BlockError(
                    f"{_CENTRE_WORDS[third]} has no meaning for an arc in this plane (3.5.3.2)", "Remove it"
                )
            )
        start, end = (self.at[first], self.at[second]), (target[first], target[second])
        unit = self.modes.unit
        radius = words.get("R")
        first_offset, second_offset, asked_radius = (
            None if value is None else value * unit
            for value in (words.get(_CENTRE_WORDS[first]), words.get(_CENTRE_WORDS[second]), radius)
        )
        asked = ArcWords(first_offset, second_offset, asked_radius)
        try:
            if not any(AXES[axis] in words for axis in (first, second)) and radius is None:
                self.say(BlockError("an arc names no end in its plane (3.5.3.2)", "Write its end"))
            centre = centre_of(start, end, asked, clockwise, ARC_WITHIN[unit], FARTHEST)
        except BlockError:
            self.at = target  # what follows starts from where the arc was to end
            raise
        self._check_radii(radius_mismatch(start, end, centre))
        begin, rise = self.at[third], target[third] - self.at[third]
        turned = sweep(start, end, centre, clockwise) * math.dist(start, centre)
        feed = self._feed_over(command, math.hypot(turned, 0.0 if math.isnan(rise) else rise))
        if self.modes.plane == XY:
            self._travel("arc", target, feed, centre, clockwise)
            return
        for u, v, share in swept_points(start, end, centre, clockwise):
            point = [0.0, 0.0, 0.0]
            point[first], point[second], point[third] = u, v, begin + rise * share
            self._travel("feed", (point[0], point[1], point[2]), feed)

    def _check_radii(self, mismatch: float) -> None:
        within = ARC_WITHIN[self.modes.unit]
        if mismatch > within * (1 + 1e-9):
            self.say(
                BlockError(
                    f"the ends of an arc lie {mismatch:.4f} mm differently far from its centre, "
                    f"more than {within:.4g} mm (3.5.3.2)",
                    "Correct the end or the centre; one more decimal may do",
                    rule="arc-mismatch",
                    amount_mm=mismatch,
                )
            )

    def _drill(self, command: Command, code: int) -> None:
        modes = self.modes
        if not modes.per_minute or modes.compensated:
            raise BlockError(
                "a canned cycle runs neither with G93 nor with G41 or G42 (3.5.16)", "Write G94 G40"
            )
        if modes.plane != XY:
            raise BlockError("a canned cycle outside the XY plane is not understood", "Write G17")
        if code in (840, 860, 870, 880):
            self.say(
                BlockError(
                    f"G{code // 10} is not understood; it is read as G81", "Use G81, G82, G83, G85 or G89"
                )
            )
        cycle = self._cycle(command, code)
        repeats = integer(command.values.get("L", 1.0), "L")
        if repeats < 1:
            raise BlockError(f"L{repeats} repeats nothing (3.5.16)", "Write L1 or more")
        steps = count_of_steps(cycle, repeats)
        if steps > MOST_STEPS or self.steps + steps > MOST_STEPS_IN_ALL:
            raise BlockError(
                f"the cycle would make about {steps:.4g} motions, more than the {MOST_STEPS} that are read",
                "Make L smaller or Q larger",
            )
        self.steps += int(steps)
        places = self._places(command, repeats)
        for step in cycle_steps(cycle, self.at, places):
            if isinstance(step, float):
                self.dwells.append(Dwell(self.line, len(self.motions), step))
            else:
                self._travel(step[0], step[1], modes.feed if step[0] == "feed" else None)

    def _cycle(self, command: Command, code: int) -> Cycle:
        """Words not written stay as they were while the same cycle is in force (3.5.16)."""
        words = dict(self.cycle_words)
        words.update((w, command.values[w] * self.modes.unit) for w in "ZRQ" if w in command.values)
        if "P" in command.values:
            words["P"] = command.values["P"]
        if math.isnan(self.at[2]) and self.modes.absolute and "R" in words:
            self.at = (self.at[0], self.at[1], words["R"] + self.shift[2])
        cycle = cycle_from_words(
            code,
            words,
            self._known(2),
            absolute=self.modes.absolute,
            to_old_height=self.modes.to_old_height,
            shift=self.shift[2],
        )
        if max(abs(cycle.retract), abs(cycle.bottom)) > FARTHEST:
            raise BlockError("the hole would lie beyond any machine", "Correct Z or R")
        self.cycle_words = words
        return cycle

    def _places(self, command: Command, repeats: int) -> tuple[tuple[float, float], ...]:
        xy_only = Command(command.g, values={a: v for a, v in command.values.items() if a in "XY"})
        x, y, _ = self._target(xy_only)
        if self.modes.absolute:
            return ((x, y),) * repeats
        x0, y0, _ = self.at
        dx, dy = x - x0, y - y0
        if max(abs(x0 + dx * repeats), abs(y0 + dy * repeats)) > FARTHEST:
            raise BlockError("the holes would lie beyond any machine", "Correct X, Y or L")
        return tuple((x0 + dx * n, y0 + dy * n) for n in range(1, repeats + 1))


def _distance(start: Point3, end: Point3) -> float:
    rise = end[2] - start[2]
    return math.hypot(end[0] - start[0], end[1] - start[1], 0.0 if math.isnan(rise) else rise)
