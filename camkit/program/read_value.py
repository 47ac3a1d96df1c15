"""Real values of RS-274 text: numbers, parameters, expressions and functions (NISTIR 6556, 3.3.2)."""

from __future__ import annotations

import functools
import math
import operator
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from camkit.program.read_error import BlockError

__all__ = ["HIGHEST_PARAMETER", "INTEGER_WITHIN", "NUMBER", "Values", "integer"]

# 3.3.2.1: optional sign, digits, at most one point, at least one digit, no exponent.
NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
# 3.3.2.1: a number that must be an integer may be off by this much.
INTEGER_WITHIN = 0.0001
# 3.2.1: parameters are numbered 1 to 5400, of which 5399 may be set by a program.
HIGHEST_PARAMETER = 5399
# The standard sets no bound; a line of 256 characters could nest deeper than any program needs.
DEEPEST_BRACKETS = 40

_Operation = Callable[[float, float], float]


def integer(value: float, what: str) -> int:
    """The whole number that `value` stands for; raises BlockError when it is off by more than 0.0001."""
    nearest = round(value)
    if abs(value - nearest) > INTEGER_WITHIN:
        raise BlockError(f"{what} must be a whole number, not {value:g} (3.3.2.1)", "Write a whole number")
    return nearest


def _modulo(left: float, right: float) -> float:
    return math.fmod(left, right) % abs(right)


def _truth(value: bool) -> float:
    return 1.0 if value else 0.0


# 3.3.2.3: powers bind tightest, then products, then sums and logical operations; equals go left to right.
_OPERATIONS: tuple[dict[str, _Operation], ...] = (
    {
        "+": operator.add,
        "-": operator.sub,
        "OR": lambda a, b: _truth(a != 0 or b != 0),
        "XOR": lambda a, b: _truth((a != 0) != (b != 0)),
        "AND": lambda a, b: _truth(a != 0 and b != 0),
    },
    {"*": operator.mul, "/": operator.truediv, "MOD": _modulo},
    {"**": math.pow},
)
_OPERATOR = re.compile(r"\*\*|XOR|AND|MOD|OR|[-+*/]")


def _half_away(value: float) -> float:
    return math.copysign(math.floor(abs(value) + 0.5), value)


# 3.3.2.4; angles are in degrees.
_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "ABS": abs,
    "ACOS": lambda x: math.degrees(math.acos(x)),
    "ASIN": lambda x: math.degrees(math.asin(x)),
    "COS": lambda x: math.cos(math.radians(x)),
    "EXP": math.exp,
    "FIX": lambda x: float(math.floor(x)),
    "FUP": lambda x: float(math.ceil(x)),
    "LN": math.log,
    "ROUND": _half_away,
    "SIN": lambda x: math.sin(math.radians(x)),
    "SQRT": math.sqrt,
    "TAN": lambda x: math.tan(math.radians(x)),
}
_FUNCTION = re.compile("|".join((*_FUNCTIONS, "ATAN")))


def _calculated(what: str, work: Callable[[], float]) -> float:
    try:
        value = work()
    except (ArithmeticError, ValueError) as error:
        raise BlockError(f"{what} has no value: {error}", "Correct the expression") from error
    if not math.isfinite(value):
        raise BlockError(f"{what} is not a finite number", "Correct the expression")
    return value


@dataclass(slots=True)
class Values:
    """Reads real values from a line in capitals without blanks; `place` is where the next one begins.

    `parameters` are those in force before the line; one never set is 0.
    """

    text: str
    parameters: Mapping[int, float]
    place: int = 0
    depth: int = 0

    def real(self) -> float:
        """The value that begins at `place`; raises BlockError when there is none or no result."""
        if number := NUMBER.match(self.text, self.place):
            self.place = number.end()
            return _calculated(f"the number {number[0][:20]}", lambda: float(number[0]))
        if self.text.startswith("#", self.place):
            self.place += 1
            return self.parameters.get(self.parameter_index(), 0.0)
        if self.text.startswith("[", self.place):
            return self._bracket()
        if name := _FUNCTION.match(self.text, self.place):
            self.place = name.end()
            return self._function(name[0])
        met = self.text[self.place : self.place + 1].strip() or "the end of the line"
        raise BlockError(
            f"a number, parameter or expression is missing before {met} (3.3.2)", "Write the value there"
        )

    def parameter_index(self) -> int:
        """The number after a #, 1 to 5399."""
        self._deeper()
        index = integer(self.real(), "a parameter's number")
        self.depth -= 1
        if not 1 <= index <= HIGHEST_PARAMETER:
            raise BlockError(f"there is no parameter #{index} (3.3.2.2)", f"Use 1 to {HIGHEST_PARAMETER}")
        return index

    def _deeper(self) -> None:
        self.depth += 1
        if self.depth > DEEPEST_BRACKETS:
            raise BlockError(
                f"brackets or # signs are nested deeper than {DEEPEST_BRACKETS}", "Split the expression up"
            )

    def _expect(self, sign: str) -> None:
        if not self.text.startswith(sign, self.place):
            raise BlockError(f"a {sign} is missing in an expression (3.3.2.3)", f"Write the {sign}")
        self.place += len(sign)

    def _bracket(self) -> float:
        self._expect("[")
        self._deeper()
        value = self._chain(0)
        self.depth -= 1
        self._expect("]")
        return value

    def _chain(self, level: int) -> float:
        if level == len(_OPERATIONS):
            return self.real()
        value = self._chain(level + 1)
        while (sign := _OPERATOR.match(self.text, self.place)) and sign[0] in _OPERATIONS[level]:
            self.place = sign.end()
            right = self._chain(level + 1)
            left, operation = value, _OPERATIONS[level][sign[0]]
            value = _calculated(f"{left:g} {sign[0]} {right:g}", functools.partial(operation, left, right))
        return value

    def _function(self, name: str) -> float:
        value = self._bracket()
        if name == "ATAN":
            self._expect("/")
            below = self._bracket()
            return math.degrees(math.atan2(value, below))
        return _calculated(f"{name}[{value:g}]", lambda: _FUNCTIONS[name](value))
