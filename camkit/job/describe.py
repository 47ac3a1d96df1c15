"""The reference page of the job file, made from the model.

`python -m camkit.job.describe > docs/job-file.md` writes it.
"""

from __future__ import annotations

import sys
from types import NoneType
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from camkit.job.example import EXAMPLE, TWO_SHEETS
from camkit.job.model import Feature, Job
from camkit.job.quantity import shown
from camkit.job.words import words_of

__all__ = ["reference_page"]

_TOP = """\
# The job file

A job file says what a drawing cannot: the sheet that lies on the table, the machine, the cutters, the
joints. It is [TOML](https://toml.io), saved as UTF-8. `camkit start` writes one to begin with.

- **Lengths** are numbers in mm, or text with a unit: `"18 mm"`, `"1.8 cm"`, `"3/4 in"`, `"1 1/2 in"`,
  `'3/4"'`, `"8 ft"`. The inch is 25.4 mm exactly, and fractions are worked out exactly. What can be read in
  two ways is refused: a decimal comma, a fraction without a unit.
- **Feeds** are numbers in mm/min, or text: `"140 in/min"`, `"60 mm/s"`.
- **Layer patterns** are written as in a shell: `*` stands for any text, `?` for one sign, letter case is
  ignored.
- **Paths** are written with `/`, or in single quotes: in double quotes a backslash begins an escape.
- Only what is marked *needed* must be there. An unknown key is an error that names the line and the nearest
  known key; all mistakes of a file are told at once.
- An option of the command (`--thickness`, `--sheet`, `--cutter`, `--unit`) overrules the key of that meaning
  and says so.

## A complete example

"""
_SEVERAL = """\
## Parts of several thicknesses

With `[[sheet]]` written several times, each with a name, a part names the sheet that it is cut from. As
drawn, each drawing becomes one sheet, and one program, of every kind that its parts need, and parts lie on
each as they do in the drawing. `--thickness` and `--sheet` mean the first sheet of the file.

"""
_FOOT = """\
This page is made from the program itself: `python -m camkit.job.describe > docs/job-file.md`.
"""


def reference_page() -> str:
    """The page as Markdown, ending with a line feed."""
    title = Job.model_fields["title"]
    pieces = [
        f"{_TOP}```toml\n{EXAMPLE}```\n",
        f"{_SEVERAL}```toml\n{TWO_SHEETS}```\n",
        "## Every key\n",
        "### At the top\n",
        _key_table({"title": title}),
    ]
    for name, field in Job.model_fields.items():
        if name != "title":
            pieces += _table_pieces(name, field)
    pieces.append(_FOOT)
    return "\n".join(pieces)


def _table_pieces(name: str, field: FieldInfo) -> list[str]:
    """Heading, description and keys of one table of the job file."""
    kind: Any = field.annotation
    may_lack = NoneType in get_args(kind)
    is_array = not isinstance(kind, type) and not may_lack
    needed = " Needed." if field.is_required() else ""
    described = f"{_sentence(field.description or '')}{needed}\n"
    if name == "layers":
        meanings = f"Each key is a pattern, each value {words_of(get_args(kind)[1])}:\n"
        rules = Job.model_fields["layers"].examples or ()
        rows = "```toml\n" + "\n".join(str(rule) for rule in rules) + "\n```\n"
        return ["### [layers]\n", described, meanings, rows, _key_table(Feature.model_fields)]
    model: type[BaseModel] = get_args(kind)[0] if is_array or may_lack else kind
    one, several = f"[{name}]", f"[[{name}]]"
    both = is_array and words_of(kind, tuple(field.metadata)).startswith("a table")
    heading = f"### {one}, or several {several}\n" if both else f"### {several if is_array else one}\n"
    pieces = [heading, described, _key_table(model.model_fields)]
    for key, inner in model.model_fields.items():
        if (table := _own_table(inner)) is not None:
            pieces += [f"### [{name}.{key}]\n", f"{_sentence(inner.description or '')}\n", _key_table(table)]
    return pieces


def _own_table(field: FieldInfo) -> dict[str, FieldInfo] | None:
    """The keys of a table within a table that is written under a heading of its own, not in one line."""
    models = [kind for kind in get_args(field.annotation) if isinstance(kind, type)]
    inner = next((kind for kind in models if issubclass(kind, BaseModel)), None)
    return None if inner is None or field.examples else inner.model_fields


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _key_table(fields: dict[str, FieldInfo]) -> str:
    rows = ["| key | value | default | what it is | example |", "|---|---|---|---|---|"]
    for name, field in fields.items():
        value = words_of(field.annotation, tuple(field.metadata))
        examples = ", ".join(f"`{example}`" for example in field.examples or ())
        rows.append(f"| `{name}` | {value} | {_default(field)} | {field.description} | {examples} |")
    return "\n".join(rows) + "\n"


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "*needed*"
    if field.default_factory is not None:
        return "worked out"
    default = field.default
    if default is None or default == () or default == "":
        return "none"
    return f"`{_plain(default)}`"


def _plain(value: object) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(_plain(item) for item in value)}]"
    return f"{value:g}" if isinstance(value, float) else shown(value)


if __name__ == "__main__":
    sys.stdout.write(reference_page())
