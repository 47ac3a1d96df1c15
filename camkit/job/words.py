"""What the job file calls things: names of keys and tables, and what a value must be, in words."""

from __future__ import annotations

import re
from difflib import get_close_matches
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from camkit.job.lines import KeyPath
from camkit.job.model import Job
from camkit.job.quantity import Expected, Measure, OneLine, shown

__all__ = ["dotted", "either", "expected", "nearest", "table_label", "table_model", "words_of"]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


def dotted(path: KeyPath) -> str:
    """The key's name in full: ("cutter", 0, "diameter") is "cutter.1.diameter", counted from 1."""
    return ".".join(
        str(step + 1) if isinstance(step, int) else step if _BARE_KEY.fullmatch(step) else shown(step)
        for step in path
    )


def either(choices: list[str]) -> str:
    """The choices as "a, b or c"."""
    return choices[0] if len(choices) == 1 else f"{', '.join(choices[:-1])} or {choices[-1]}"


def nearest(word: str, known: list[str]) -> str | None:
    """The known word most like the one met, or None when none is near."""
    found = get_close_matches(word.casefold(), [name.casefold() for name in known], n=1)
    return next((name for name in known if found and name.casefold() == found[0]), None)


def table_label(path: KeyPath) -> str:
    """How the table at a path is written: "[sheet]", "[[part]] 1", or the file itself."""
    if not path:
        return "the job file"
    last = path[-1]
    if isinstance(last, int):
        return f"[[{dotted(path[:-1])}]] {last + 1}"
    return f"[{dotted(path)}]" if len(path) == 1 else dotted(path)


def _bare(annotation: Any) -> tuple[Any, tuple[Any, ...]]:
    """The type without "or None", and what is annotated on it."""
    if get_origin(annotation) in (Union, UnionType):
        members = [member for member in get_args(annotation) if member is not NoneType]
        return _bare(members[0]) if len(members) == 1 else (annotation, ())
    if get_origin(annotation) is Annotated:
        inner, *notes = get_args(annotation)
        kind, more = _bare(inner)
        return kind, (*notes, *more)
    return annotation, ()


def words_of(annotation: Any, notes: tuple[Any, ...] = ()) -> str:
    """What a value of this type must be, in words; `notes` are a field's own annotations."""
    kind, more = _bare(annotation)
    for note in (*notes, *more):
        if isinstance(note, Expected | Measure | OneLine):
            return note.words
    members = get_args(kind)
    if get_origin(kind) is Literal:
        return either([shown(member) for member in members])
    if get_origin(kind) is tuple:
        one = words_of(members[0])
        if members[-1] is not Ellipsis:
            return f"a list of {len(members)}, each {one}"
        return "a list of tables" if _model(members[0]) else f"a list, each {one}"
    if _model(kind):
        return "a table"
    return " or ".join(words_of(member) for member in members)


def _model(kind: Any) -> type[BaseModel] | None:
    return kind if isinstance(kind, type) and issubclass(kind, BaseModel) else None


def _step(annotation: Any, step: str | int) -> tuple[Any, tuple[Any, ...]]:
    """Type and notes one step further down; the type is None where the job file knows nothing."""
    kind, _ = _bare(annotation)
    members = get_args(kind)
    if (model := _model(kind)) is not None:
        field = model.model_fields.get(str(step))
        return (None, ()) if field is None else (field.annotation, tuple(field.metadata))
    if get_origin(kind) is dict:
        return members[1], ()
    if get_origin(kind) is tuple and isinstance(step, str) and _model(members[0]):
        return _step(members[0], step)  # one table in place of a list of them, where that may be written
    if get_origin(kind) is tuple and isinstance(step, int):
        return (members[0] if members[-1] is Ellipsis else members[min(step, len(members) - 1)]), ()
    if get_origin(kind) in (Union, UnionType):
        steps = (_step(member, step) for member in members)
        return next((found for found in steps if found[0] is not None), (None, ()))
    return None, ()


def _type_at(path: KeyPath) -> tuple[Any, tuple[Any, ...]]:
    found: tuple[Any, tuple[Any, ...]] = (Job, ())
    for step in path:
        found = _step(found[0], step)
    return found


def expected(path: KeyPath) -> str:
    """What the value at a known path must be, in words."""
    return words_of(*_type_at(path))


def table_model(path: KeyPath) -> type[BaseModel] | None:
    """The model of the table at a path, or None when there is none."""
    kind, _ = _bare(_type_at(path)[0])
    members = get_args(kind) if get_origin(kind) in (Union, UnionType) else (kind,)
    return next((model for member in members if (model := _model(_bare(member)[0])) is not None), None)
