"""The modes that a program's words set and that later lines inherit (NISTIR 6556, 3.4 to 3.7)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from camkit.program.read_command import (
    CYCLE_RETURN,
    DISTANCE,
    FEED_MODE,
    LENGTH_OFFSET,
    OFFSET_SYSTEM,
    PATH,
    PLANE,
    RADIUS_COMPENSATION,
    SPINDLE,
    UNITS,
    Command,
)
from camkit.program.read_error import BlockError
from camkit.program.read_value import integer

__all__ = ["MM_PER_INCH", "XY", "Modes", "unknown_offset"]

MM_PER_INCH = 25.4
XY = 170  # G17, as ten times its number


@dataclass(slots=True)
class Modes:
    """What is in force; `say` takes the faults that leave a line readable.

    `unit` is mm per unit of the program; `feed` is mm/min, None when not set; `inverse_time` is the F word of
    the line under G93, in 1/min; `turning` is 1 for M3, -1 for M4; `exact_stop` is G61.1.
    """

    say: Callable[[BlockError], None]
    unit: float = 1.0
    unit_said: bool = False
    plane: int = XY
    absolute: bool = True
    per_minute: bool = True
    feed: float | None = None
    inverse_time: float | None = None
    speed: float = 0.0
    turning: int = 0
    selected: int | None = None
    compensated: bool = False
    to_old_height: bool = True
    pass_over: float = 0.0
    exact_stop: bool = False

    @property
    def spindle_rev_min(self) -> float:
        """Speed as it turns, negative for M4, 0 while it stands."""
        return self.turning * self.speed

    def set_feed_and_unit(self, g: dict[int, int]) -> None:
        """G93, G94, G20, G21: before F, which is meant in the mode and unit that its own line names."""
        if FEED_MODE in g and (g[FEED_MODE] == 940) != self.per_minute:
            self.per_minute = not self.per_minute
            self.feed = None  # 3.5.19: a feed of the other mode has no meaning in this one
        if UNITS in g:
            self.unit = MM_PER_INCH if g[UNITS] == 200 else 1.0
            self.unit_said = True

    def set_words(self, values: dict[str, float]) -> None:
        """F, S and T."""
        self.inverse_time = None
        if (feed := values.get("F")) is not None:
            if feed < 0:
                raise BlockError(f"F{feed:g} is below 0 (3.7.1)", "Write a feed above 0")
            if self.per_minute:
                self.feed = feed * self.unit or None
            else:
                self.inverse_time = feed or None
        if (speed := values.get("S")) is not None:
            if speed < 0:
                raise BlockError(
                    f"S{speed:g} is below 0 (3.7.2)", "Write the speed in rev/min; M4 turns backwards"
                )
            self.speed = speed
        if (selected := values.get("T")) is not None:
            number = integer(selected, "a T word")
            if number < 0:
                raise BlockError(f"T{number} is below 0 (3.7.3)", "Write the cutter's number")
            self.selected = number

    def set_spindle(self, m: dict[int, int]) -> None:
        """M3, M4, M5."""
        if SPINDLE in m:
            self.turning = {3: 1, 4: -1, 5: 0}[m[SPINDLE]]

    def set_codes(self, command: Command) -> None:
        """The modal G words but motion, feed mode and unit, in the order of Table 8."""
        g, values = command.g, command.values
        self.plane = g.get(PLANE, self.plane)
        if (compensation := g.get(RADIUS_COMPENSATION)) is not None:
            self._set_compensation(compensation)
        if g.get(LENGTH_OFFSET) == 430 and "H" not in values:
            self.say(BlockError("G43 needs an H word (3.5.11)", "Write G43 H and the cutter's number"))
        system = g.get(OFFSET_SYSTEM, 540)
        if system != 540:
            self.say(unknown_offset(f"G{system / 10:g}"))
        if (path := g.get(PATH)) is not None:
            self._set_path(path, values.get("P"))
        self.absolute = g.get(DISTANCE, 900 if self.absolute else 910) == 900
        self.to_old_height = g.get(CYCLE_RETURN, 980 if self.to_old_height else 990) == 980

    def _set_compensation(self, code: int) -> None:
        self.compensated = code != 400
        if self.compensated:
            self.say(
                BlockError(
                    f"G{code // 10} lets the control shift the path by the cutter's radius; "
                    "where it then runs is not judged (3.5.10)",
                    "Write the path of the cutter's centre and leave G40 in force",
                )
            )

    def _set_path(self, code: int, deviation: float | None) -> None:
        self.exact_stop = code == 611
        self.pass_over = 0.0
        if code != 640:
            return
        if deviation is None:
            self.say(
                BlockError(
                    "G64 without P leaves it to the control how far corners are rounded; "
                    "they are judged as sharp",
                    "Write G61, or G64 P and the largest deviation",
                    level="note",
                )
            )
        elif deviation < 0:
            raise BlockError(f"G64 P{deviation:g} is below 0", "Write the largest deviation")
        else:
            self.pass_over = deviation * self.unit


def unknown_offset(word: str) -> BlockError:
    """The fault of a word that moves the zero to where only the control knows."""
    return BlockError(
        f"{word} works with offsets stored in the control: positions from here are not known; read as 0",
        "Use G54 and set its zero at the sheet's corner",
    )
