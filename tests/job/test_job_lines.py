"""The line of every key, against the standard reader's data and lines counted by hand."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.job.example import EXAMPLE
from camkit.job.lines import KeyPath, key_lines, line_of

AWKWARD = '''\
# [not.a.table]
title = "x # no comment ]"
a.b."c d".'e' = 1 # dotted
[sheet]
size = [
  2440, # ] a bracket in a comment
  "]]", { q = 1, r.s = """
 two "" lines \\"""""", t = [[], [1,
2]] },
]
[[part]]
x = 1
[part.sub.deep]
when = 1979-05-27 07:32:00
[[part.rows]]
[[part.rows]]
z = \'\'\'
[no]
\'\'\'\'\'
[[part]]
x = 2
[part.sub]
"q\\"\\u0041" = {}
'''


def paths(data: Any, around: KeyPath = ()) -> Iterator[KeyPath]:
    """Every path in the data, tables and list entries included."""
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, value in steps:
        yield (*around, step)
        yield from paths(value, (*around, step))


def test_awkward_text_is_read_like_the_standard_reader_and_counted_by_hand() -> None:
    lines = key_lines(AWKWARD)
    assert set(lines) == set(paths(tomllib.loads(AWKWARD)))
    assert lines[("title",)] == 2
    assert lines[("a", "b", "c d", "e")] == 3
    assert lines[("sheet", "size", 0)] == 6
    assert lines[("sheet", "size", 2, "r", "s")] == 7
    assert lines[("sheet", "size", 2, "t")] == 8
    assert lines[("sheet", "size", 2, "t", 1, 1)] == 9
    assert (lines[("part",)], lines[("part", 0)], lines[("part", 1)]) == (11, 11, 20)
    assert lines[("part", 0, "sub", "deep", "when")] == 14
    assert (lines[("part", 0, "rows", 0)], lines[("part", 0, "rows", 1)]) == (15, 16)
    assert lines[("part", 0, "rows", 1, "z")] == 17
    assert lines[("part", 1, "sub", 'q"A')] == 23


def test_the_whole_example_has_a_line_for_every_key() -> None:
    lines = key_lines(EXAMPLE)
    assert set(lines) == set(paths(tomllib.loads(EXAMPLE)))
    rows = EXAMPLE.splitlines()
    for path, line in lines.items():
        named = [step for step in path if isinstance(step, str)]
        assert named[-1] in rows[line - 1]


def test_windows_line_ends_count_once() -> None:
    assert key_lines('a = 1\r\nb = """\r\n"""\r\nc = 2\r\n') == {("a",): 1, ("b",): 2, ("c",): 4}


def test_a_missing_key_is_placed_at_the_nearest_table_around_it() -> None:
    lines = key_lines("[sheet]\nmargin = 1\n")
    assert line_of(lines, ("sheet", "size", 1)) == 1
    assert line_of(lines, ("cutter",)) is None


keys = st.one_of(st.from_regex(r"[A-Za-z0-9_-]{1,6}", fullmatch=True), st.text(max_size=4))
scalars = st.one_of(st.integers(-99, 99), st.booleans(), st.text(max_size=6))
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3),
    max_leaves=8,
)


def quoted(text: str) -> str:
    """A TOML basic string with every sign escaped, written independently of the code under test."""
    return '"' + "".join(f"\\U{ord(sign):08x}" for sign in text) + '"'


def written(value: Any) -> str:
    """The value on as many lines as it has list entries: each entry of a list begins a line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list):
        return "[\n" + "".join(f"  {written(item)}, # {{\n" for item in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{quoted(key)} = {written(item)}" for key, item in value.items()) + " }"
    return str(value)


@given(tables=st.lists(st.dictionaries(keys, values, max_size=4), min_size=1, max_size=3))
@settings(derandomize=True, deadline=None, max_examples=50)
def test_random_tables_have_exactly_the_paths_of_their_data(tables: list[dict[str, Any]]) -> None:
    text = ""
    first: dict[KeyPath, int] = {}
    for place, table in enumerate(tables):
        text += "[['t']]\n"
        for key, value in table.items():
            first[("t", place, key)] = text.count("\n") + 1
            text += f"{quoted(key)} = {written(value)}\n"
    data = tomllib.loads(text)
    assert data == {"t": tables}
    lines = key_lines(text)
    assert set(lines) == set(paths(data))
    assert first.items() <= lines.items()
