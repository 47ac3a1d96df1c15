"""One line of RS-274 text taken apart: words, parameter settings, comment (NISTIR 6556, 3.3)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from camkit.program.read_error import BlockError
from camkit.program.read_value import NUMBER, Values

__all__ = ["LONGEST_LINE", "Block", "take_apart"]

# 3.3: a line is limited to 256 characters.
LONGEST_LINE = 256
# 3.3.1: a line number has at most five digits.
LINE_NUMBER_DIGITS = 5
# 3.3.2, Table 3; N is no word.
WORD_LETTERS = frozenset("ABCDFGHIJKLMPQRSTXYZ")

_PLAIN = re.compile(rf"(?:N[0-9]{{1,{LINE_NUMBER_DIGITS}}})?((?:[A-DF-MP-TX-Z]{NUMBER.pattern})*)")
_PLAIN_WORD = re.compile(rf"([A-Z])({NUMBER.pattern})")
_SIGNS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789+-.#=[]*/%")
# Where a comment stood; no line contains it, and no word or number reaches across it.
_BREAK = "\n"


@dataclass(frozen=True, slots=True)
class Block:
    """What a line says: words and settings in their order, the last comment's text.

    `faults` are those that leave the rest of the line readable.
    """

    words: tuple[tuple[str, float], ...] = ()
    settings: tuple[tuple[int, float], ...] = ()
    comment: str | None = None
    deletable: bool = False
    faults: tuple[BlockError, ...] = ()


def take_apart(line: str, parameters: Mapping[int, float]) -> Block:
    """The words of one line (without its end); raises BlockError when nothing on it can be trusted."""
    if len(line) <= LONGEST_LINE:
        code = line.replace(" ", "").upper()
        if line.isascii() and (plain := _PLAIN.fullmatch(code)):
            return Block(tuple((letter, float(n)) for letter, n in _PLAIN_WORD.findall(plain[1])))
    faults: list[BlockError] = []
    if len(line) > LONGEST_LINE:
        faults.append(
            BlockError(
                f"the line has {len(line)} characters, more than {LONGEST_LINE} (3.3)",
                "Split the line",
            )
        )
    code, comment = _without_comments(line, faults)
    deletable = code.startswith("/")
    values = Values(code, parameters, 1 if deletable else 0)
    _skip_line_number(values)
    words: list[tuple[str, float]] = []
    settings: list[tuple[int, float]] = []
    while values.place < len(code):
        letter = code[values.place]
        values.place += 1
        if letter == _BREAK:
            continue
        if letter == "#":
            index = values.parameter_index()
            if not code.startswith("=", values.place):
                raise BlockError(f"an = is missing after #{index} (3.3.3)", f"Write #{index}=value")
            values.place += 1
            settings.append((index, values.real()))
        elif letter in WORD_LETTERS:
            words.append((letter, values.real()))
        elif letter == "N":
            raise BlockError("a line number stands behind another word (3.3.1)", "Put N first on the line")
        elif letter in "EOUVW":
            values.real()
            faults.append(
                BlockError(
                    f"the letter {letter} begins no word of this dialect (3.3.2, Table 3)",
                    f"Remove the {letter} word; the rest of the line was read",
                )
            )
        else:
            raise BlockError(f"{letter} stands where a word should begin (3.3.2)", "Correct or remove it")
    return Block(tuple(words), tuple(settings), comment, deletable, tuple(faults))


def _without_comments(line: str, faults: list[BlockError]) -> tuple[str, str | None]:
    code: list[str] = []
    comment: str | None = None
    place = 0
    while place < len(line):
        sign = line[place]
        if sign == "(":
            end = line.find(")", place)
            if end < 0:
                raise BlockError(
                    "a comment is not closed on its line (3.3.4)", "Write the ) on the same line"
                )
            comment = line[place + 1 : end]
            if "(" in comment:
                raise BlockError(
                    "a comment stands inside a comment (3.3.4)",
                    "Use brackets of another kind inside comments",
                )
            if not comment.replace("\t", " ").isprintable():
                faults.append(
                    BlockError("a comment holds a character that cannot be printed (3.3.4)", "Remove it")
                )
            code.append(_BREAK)
            place = end
        elif sign == ";":
            faults.append(
                BlockError(
                    "the standard knows no comment that begins with ; (3.3.4)", "Write (comment) instead"
                )
            )
            break
        elif sign not in " \t":
            if not sign.isascii() or sign.upper() not in _SIGNS:
                raise BlockError(f"the character {sign!r} belongs to no word (3.3)", "Remove it")
            code.append(sign.upper())
        place += 1
    return "".join(code), comment


def _skip_line_number(values: Values) -> None:
    if not values.text.startswith("N", values.place):
        return
    digits = re.compile(r"[0-9]*").match(values.text, values.place + 1)
    count = len(digits[0]) if digits else 0
    if not 1 <= count <= LINE_NUMBER_DIGITS:
        raise BlockError(
            f"a line number needs one to {LINE_NUMBER_DIGITS} digits, not {count} (3.3.1)",
            "Shorten it or leave it out: line numbers are optional",
        )
    values.place += 1 + count
