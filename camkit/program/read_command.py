"""The words of a block held against the rules of repeats, modal groups and use (NISTIR 6556, 3.3.5, 3.4)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from camkit.program.read_error import BlockError
from camkit.program.read_value import INTEGER_WITHIN, integer

__all__ = [
    "ARCS",
    "AXES",
    "CYCLES",
    "CYCLE_RETURN",
    "DISTANCE",
    "FEED_MODE",
    "LENGTH_OFFSET",
    "MOTION",
    "NON_MODAL",
    "OFFSET_SYSTEM",
    "PATH",
    "PLANE",
    "PROBE",
    "RADIUS_COMPENSATION",
    "SPINDLE",
    "STOPPING",
    "UNITS",
    "Command",
    "command",
]

# 3.4, Table 4: numbers of the modal groups of G words; a code is ten times its number, so that 38.2 is whole.
MOTION, PLANE, DISTANCE, FEED_MODE, UNITS = 1, 2, 3, 5, 6
RADIUS_COMPENSATION, LENGTH_OFFSET, CYCLE_RETURN, OFFSET_SYSTEM, PATH = 7, 8, 10, 12, 13
NON_MODAL = 0
_G_GROUPS: dict[int, tuple[int, ...]] = {
    MOTION: (0, 10, 20, 30, 382, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890),
    PLANE: (170, 180, 190),
    DISTANCE: (900, 910),
    FEED_MODE: (930, 940),
    UNITS: (200, 210),
    RADIUS_COMPENSATION: (400, 410, 420),
    LENGTH_OFFSET: (430, 490),
    CYCLE_RETURN: (980, 990),
    OFFSET_SYSTEM: (540, 550, 560, 570, 580, 590, 591, 592, 593),
    PATH: (610, 611, 640),
    NON_MODAL: (40, 100, 280, 300, 530, 920, 921, 922, 923),
}
_G_GROUP = {code: group for group, codes in _G_GROUPS.items() for code in codes}
STOPPING, CHANGE, SPINDLE, COOLANT, OVERRIDE = 4, 6, 7, 8, 9
_M_GROUPS: dict[int, tuple[int, ...]] = {
    STOPPING: (0, 1, 2, 30, 60),
    CHANGE: (6,),
    SPINDLE: (3, 4, 5),
    COOLANT: (7, 8, 9),
    OVERRIDE: (48, 49),
}
_M_GROUP = {code: group for group, codes in _M_GROUPS.items() for code in codes}
MOST_M_WORDS = 4

AXES = "XYZ"
ARCS = frozenset((20, 30))
PROBE = 382
CYCLES = frozenset(_G_GROUPS[MOTION][6:])
_AXIS_USERS = frozenset((100, 280, 300, 920))  # non-modal codes that take axis words, 3.4
# Which codes take a word; X, Y, Z, F, S, T have rules of their own. P with G64 is a later, common addition.
_USERS: dict[str, frozenset[int]] = {
    "D": frozenset((410, 420)),
    "H": frozenset((430,)),
    "I": ARCS | {870},
    "J": ARCS | {870},
    "K": ARCS | {870},
    "L": CYCLES | {100},
    "P": frozenset((40, 100, 640, 820, 860, 880, 890)),
    "Q": frozenset((830,)),
    "R": ARCS | CYCLES,
}


def _name(code: int) -> str:
    return f"G{code // 10}.{code % 10}" if code % 10 else f"G{code // 10}"


@dataclass(slots=True)
class Command:
    """A block in order: `g` and `m` hold one code a group, `values` the other letters.

    `motion` is the motion code (ten times its number) to carry out on this line, None for none.
    """

    g: dict[int, int] = field(default_factory=dict)
    m: dict[int, int] = field(default_factory=dict)
    values: dict[str, float] = field(default_factory=dict)
    motion: int | None = None
    faults: list[BlockError] = field(default_factory=list)


def command(words: Iterable[tuple[str, float]], motion_in_force: int) -> Command:
    """The words sorted by modal group; raises BlockError when it stays unclear what the line would do."""
    done = Command()
    count_m = 0
    for letter, value in words:
        if letter == "G":
            _add_g(done, value)
        elif letter == "M":
            count_m += 1
            _add_m(done, value)
        elif letter in done.values:
            raise BlockError(f"two {letter} words stand on one line (3.3.5)", "Keep one, or split the line")
        else:
            done.values[letter] = value
    if count_m > MOST_M_WORDS:
        done.faults.append(
            BlockError(
                f"{count_m} M words stand on one line, more than {MOST_M_WORDS} (3.3.5)",
                "Split the line",
            )
        )
    _decide_motion(done, motion_in_force)
    if done.values:
        _check_use(done)
    return done


def _add_g(done: Command, value: float) -> None:
    code = round(value * 10)
    group = _G_GROUP.get(code) if abs(value * 10 - code) <= 10 * INTEGER_WITHIN else None
    if group is None:
        raise BlockError(
            f"G{value:g} is no code of this dialect (3.5, Table 5)", "Use only codes of the standard"
        )
    if group in done.g:
        raise BlockError(
            f"{_name(done.g[group])} and {_name(code)} belong to one modal group (3.4, Table 4)",
            "Put them on lines of their own",
        )
    done.g[group] = code


def _add_m(done: Command, value: float) -> None:
    code = integer(value, "an M word")
    group = _M_GROUP.get(code)
    if group is None:
        raise BlockError(
            f"M{code} is no code of this dialect (3.6, Table 7)", "Use only codes of the standard"
        )
    if group in done.m and {done.m[group], code} != {7, 8}:  # mist and flood may run together, 3.4
        raise BlockError(
            f"M{done.m[group]} and M{code} belong to one modal group (3.4, Table 4)",
            "Put them on lines of their own",
        )
    done.m[group] = code


def _decide_motion(done: Command, in_force: int) -> None:
    for letter in "ABC":
        if done.values.pop(letter, None) is not None:
            done.faults.append(
                BlockError(
                    f"{letter} turns a rotary axis, which a router for sheets does not have",
                    f"Remove the {letter} word; the rest of the line was read",
                )
            )
    named = done.g.get(MOTION)
    other = done.g.get(NON_MODAL)
    moved = any(axis in done.values for axis in AXES)
    if other in _AXIS_USERS:
        if named not in (None, 800):
            raise BlockError(
                f"{_name(named or 0)} and {_name(other or 0)} both use axis words (3.4)",
                "Put them on lines of their own",
            )
        return
    if named == 800 or (named is None and in_force == 800):
        if moved:
            why = "while G80 is in force (3.5.15)" if named == 800 else "but no motion code is in force (3.5)"
            raise BlockError(f"axis words are given {why}", "Name G0, G1, G2 or G3 on the line")
        return
    if named is None and not moved:
        return
    done.motion = in_force if named is None else named
    if not moved:
        done.faults.append(
            BlockError(
                f"{_name(done.motion)} stands without an axis word (3.5.1 to 3.5.3, 3.5.16)",
                "Write X, Y or Z behind it",
            )
        )
        if done.motion not in ARCS:
            done.motion = None


def _check_use(done: Command) -> None:
    codes = set(done.g.values()) - {done.g.get(MOTION)}
    if done.motion is not None:
        codes.add(done.motion)
    for letter in done.values:
        if letter in _USERS and not codes & _USERS[letter]:
            done.faults.append(
                BlockError(
                    f"the {letter} word is used by no code on this line (3.3)",
                    f"Remove it, or name the code that it belongs to; {letter} was passed over",
                )
            )
