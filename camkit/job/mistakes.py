"""What is wrong with the values of a job file, each mistake with its key, its line and what is expected."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from pydantic import ValidationError

from camkit.errors import Finding
from camkit.job.lines import KeyPath, line_of
from camkit.job.model import Job
from camkit.job.quantity import shown
from camkit.job.words import dotted, either, expected, nearest, table_label, table_model

__all__ = ["mistakes"]

# Beyond this many the file is not a job file at all, and nobody reads on.
_MOST = 100
_WHEN_MISSING = {
    "measured_thickness": "Measure the sheet with a calliper in several places and write "
    "measured_thickness = [17.6, 17.7, 17.6] with your readings in {table}",
    "sheet": "Measure the sheet and write [sheet] with measured_thickness = [17.6, 17.7, 17.6], "
    "your readings",
    "cutter": "Write [[cutter]] with number = 1 and diameter = 6.0, as measured",
}


def mistakes(error: ValidationError, data: Mapping[str, Any], lines: dict[KeyPath, int]) -> list[Finding]:
    """One finding for each mistake that the model met in `data`, a hundred at most."""
    every = error.errors(include_url=False, include_context=True)
    # A default that is worked out from other keys waits until those are right.
    met = [fault for fault in every if fault["type"] != "default_factory_not_called"]
    found = []
    for fault in met[:_MOST]:
        path, value = _follow(data, fault["loc"], missing=fault["type"] == "missing")
        message, remedy = _words(fault, path, value)
        found.append(Finding("error", "job", message, remedy, line=line_of(lines, path)))
    if len(met) > _MOST:
        found.append(Finding("error", "job", f"and {len(met) - _MOST} more mistakes", "Mend these first"))
    return list(dict.fromkeys(found))  # a list that lacks two entries is one mistake


def _follow(data: Any, loc: tuple[str | int, ...], *, missing: bool) -> tuple[KeyPath, Any]:
    """Path and value in the data; steps that only the model knows (its choice of type) are left out."""
    path: list[str | int] = []
    for step in loc:
        if isinstance(data, dict):
            inside = step in data
        else:
            inside = isinstance(data, list) and isinstance(step, int) and step < len(data)
        if inside:
            data = data[step]
            path.append(step)
    if missing and isinstance(data, dict):
        path.append(loc[-1])
    return tuple(path), data


def _words(fault: Any, path: KeyPath, value: object) -> tuple[str, str]:
    """Message and remedy for one fault as pydantic tells it."""
    kind, key = fault["type"], dotted(path)
    if kind == "missing" and not isinstance(value, list):
        last = str(path[-1])
        where = table_label(path[:-1])
        remedy = _WHEN_MISSING.get(last, f"Write {last} = {_example(path)} in {{table}}")
        return f"{key} is missing", remedy.replace("{table}", where)
    if kind == "extra_forbidden":
        return _unknown(path, value)
    if kind == "too_short":
        return f"{key} has {_entries(value)}", f"It needs at least {fault['ctx']['min_length']}"
    if kind == "value_error":
        return f"{key}: {fault['ctx']['error']}", _remedy_for_text(value)
    return _wrong_kind(path, value)


def _entries(value: object) -> str:
    number = len(value) if isinstance(value, list) else 0
    return f"{number or 'no'} {'entry' if number == 1 else 'entries'}"


def _example(path: KeyPath) -> str:
    model = table_model(path[:-1])
    examples = model.model_fields[str(path[-1])].examples if model is not None else None
    return str(examples[0]) if examples else "…"


def _remedy_for_text(value: object) -> str:
    if isinstance(value, str) and any(sign in value for sign in "\t\n\r\b\f"):
        return (
            "In double quotes a backslash begins an escape: write paths with / or in single quotes, "
            "and other text on one line"
        )
    return ""


def _wrong_kind(path: KeyPath, value: object) -> tuple[str, str]:
    key, last = dotted(path), path[-1]
    what = expected(path)
    if isinstance(value, dict) and what == "a list of tables":
        return f"{key} is one table, not a list of tables", f"Write [[{last}]], in double brackets"
    if isinstance(value, list) and table_model(path) is not None:
        return f"{key} is a list, not a table", f"Write it once, as [{last}] in single brackets"
    message = f"{key}: {shown(value)} is not {what}"
    guess = nearest(value, what.split('"')[1::2]) if isinstance(value, str) else None
    return message, f'Did you mean "{guess}"?' if guess else ""


def _unknown(path: KeyPath, value: object) -> tuple[str, str]:
    around, key = path[:-1], str(path[-1])
    model = table_model(around) or table_model((*around, 0))
    known = sorted(model.model_fields) if model is not None else []
    guess = nearest(key, known)
    if around:
        message = f"unknown key {key!r} in {table_label(around)}"
        guess_text, names = repr(guess), ", ".join(known)
        keys = f"Keys of {_without_number(around)}: {names}"
    else:
        is_table = isinstance(value, dict | list)
        message = f"unknown {'table' if is_table else 'key'} {key!r} at the top of the job file"
        guess_text, keys = _written(guess or ""), f"What may stand there: {', '.join(map(_written, known))}"
    homes = [table for table in _homes(key) if table != _without_number(around)]
    if homes:
        return message, f"{key!r} belongs in {either(homes)}"
    return (f"{message}, did you mean {guess_text}?" if guess else message), keys


def _without_number(path: KeyPath) -> str:
    return table_label(path).rstrip("0123456789 ")


def _written(name: str) -> str:
    """A key of the file's top level as it is written: [sheet], [[cutter]] or 'title'."""
    what = expected((name,)) if name in Job.model_fields else ""
    if what == "a list of tables":
        return f"[[{name}]]"
    return f"[{name}]" if what.startswith("a table") else repr(name)


def _homes(key: str) -> list[str]:
    """The tables that do have a key of this name."""
    tables = []
    for name, field in Job.model_fields.items():
        models = [field.annotation, *get_args(field.annotation)]
        if any(key in getattr(model, "model_fields", {}) for model in models):
            tables.append(_written(name))
    return tables
