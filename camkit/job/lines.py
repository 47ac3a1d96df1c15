"""On which line each key of a TOML text stands: the standard reader gives values without places."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right

__all__ = ["KeyPath", "key_lines", "line_of"]

KeyPath = tuple[str | int, ...]

_SPACE = re.compile(r"[ \t]*")
_GAP = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?""""{0,2}'  # a multi-line string may end with two quotes of its own
    r"|'''.*?''''{0,2}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}\n#]*")


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line, from 1, of every key, table header and list entry, by its path in the data.

    `text` must be valid TOML. A path mixes names and places: ("part", 0, "name") is the name in the first
    [[part]]. A table that is only implied by a longer name stands where it is first mentioned.
    """
    return _Scanner(text.replace("\r\n", "\n")).scan()


def line_of(lines: dict[KeyPath, int], path: KeyPath) -> int | None:
    """Line of the key, or of the nearest table around it that is written down."""
    return next((lines[path[:end]] for end in range(len(path), 0, -1) if path[:end] in lines), None)


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.starts = [0, *(match.end() for match in re.finditer("\n", text))]
        self.lines: dict[KeyPath, int] = {}
        self.last: dict[KeyPath, int] = {}  # index of the newest table of each [[array]]

    def scan(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        self.skip(_GAP)
        while self.at < len(self.text):
            if self.text.startswith("[", self.at):
                table = self.header()
            else:
                self.pair(table)
            self.skip(_GAP)
        return self.lines

    def skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise ValueError(f"no valid TOML at character {self.at}")
        self.at = match.end()
        return match[0]

    def note(self, path: KeyPath, *, line: int | None = None) -> None:
        self.lines.setdefault(path, line or bisect_right(self.starts, self.at))

    def header(self) -> KeyPath:
        line = bisect_right(self.starts, self.at)
        is_array = self.text.startswith("[[", self.at)
        self.at += 2 if is_array else 1
        names = self.dotted_key()
        self.at += 2 if is_array else 1
        path: KeyPath = ()
        for name in names[:-1]:
            path = self.newest((*path, name))
            self.note(path, line=line)
        path = (*path, names[-1])
        self.note(path, line=line)
        if is_array:
            self.last[path] = self.last.get(path, -1) + 1
            path = (*path, self.last[path])
            self.note(path, line=line)
        return path

    def newest(self, path: KeyPath) -> KeyPath:
        return (*path, self.last[path]) if path in self.last else path

    def dotted_key(self) -> list[str]:
        names = []
        while True:
            self.skip(_SPACE)
            if self.text[self.at] in "\"'":
                names.append(str(tomllib.loads(f"key = {self.skip(_STRING)}")["key"]))
            else:
                names.append(self.skip(_BARE_KEY))
            self.skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return names
            self.at += 1

    def pair(self, table: KeyPath) -> None:
        line = bisect_right(self.starts, self.at)
        path = table
        for name in self.dotted_key():
            path = (*path, name)
            self.note(path, line=line)
        self.at += 1  # the equals sign
        self.skip(_SPACE)
        self.value(path)

    def value(self, path: KeyPath) -> None:
        if self.text.startswith("[", self.at):
            self.items(path, "]")
        elif self.text.startswith("{", self.at):
            self.items(path, "}")
        elif self.text[self.at] in "\"'":
            self.skip(_STRING)
        else:
            self.skip(_SCALAR)

    def items(self, path: KeyPath, closing: str) -> None:
        self.at += 1
        self.skip(_GAP)
        place = 0
        while not self.text.startswith(closing, self.at):
            if closing == "]":
                self.note((*path, place))
                self.value((*path, place))
            else:
                self.pair(path)
            place += 1
            self.skip(_GAP)
            if self.text.startswith(",", self.at):
                self.at += 1
                self.skip(_GAP)
        self.at += 1
