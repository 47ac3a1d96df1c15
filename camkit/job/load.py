"""The door of the job file: from a file or a text to a `Job`, or to every mistake at once."""

from __future__ import annotations

import pathlib
from dataclasses import replace

from pydantic import ValidationError

from camkit.errors import Finding, InputError
from camkit.job.crosscheck import contradictions
from camkit.job.mistakes import mistakes
from camkit.job.model import Job
from camkit.job.syntax import decoded, read_toml

__all__ = ["LARGEST_FILE", "load", "parse"]

# A job of a thousand parts is a tenth of this.
LARGEST_FILE = 1_000_000


def load(path: pathlib.Path) -> Job:
    """Read a job file.

    Raises InputError (rule `job`) when it cannot be read or decoded, at the first fault of its TOML, or
    with one finding for each wrong, missing, unknown or contradictory key.
    """
    file = str(path)
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise _unreadable(file, "this is a folder, not a job file", "Name the job file in it")
        if not path.is_file():
            raise _unreadable(file, "this is no ordinary file", "Name a job file")
        if size > LARGEST_FILE:
            most = f"a job file has at most {LARGEST_FILE // 1000} kB"
            raise _unreadable(file, f"{size // 1000} kB is too large: {most}", "Name the job file")
        raw = path.read_bytes()
    except FileNotFoundError:
        raise _unreadable(
            file, "there is no such file", "Check the name; camkit start writes a job file to begin with"
        ) from None
    except (OSError, ValueError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        raise _unreadable(file, f"the file cannot be read: {reason}", "Check its name and rights") from None
    return parse(decoded(raw, file), file)


def parse(text: str, file: str) -> Job:
    """The job that a text in TOML describes; `file` is the name said in findings.

    Raises InputError like `load`.
    """
    data, lines = read_toml(text, file)
    found = contradictions(data, lines)
    try:
        job = Job.model_validate(data)
    except ValidationError as error:
        found += mistakes(error, data, lines)
    if found:
        found.sort(key=lambda finding: (finding.line is None, finding.line or 0))
        raise InputError(*(replace(finding, file=file) for finding in found))
    return job


def _unreadable(file: str, message: str, remedy: str) -> InputError:
    return InputError(Finding("error", "job", message, remedy, file=file))
