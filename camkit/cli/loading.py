"""What the words of a command name: a job, a drawing, a program's text."""

from __future__ import annotations

import pathlib
from typing import TYPE_CHECKING

from camkit.cli.options import Words
from camkit.cli.speech import refuse
from camkit.errors import Finding

if TYPE_CHECKING:
    from camkit.job.model import Job

__all__ = ["is_drawing", "is_job", "load_job", "text_of"]

_DRAWING_ENDINGS = (".dxf", ".svg")
_JOB_ENDING = ".toml"


def is_job(path: str) -> bool:
    """Whether the name is that of a job file."""
    return path.lower().endswith(_JOB_ENDING)


def is_drawing(path: str) -> bool:
    """Whether the name is that of a drawing."""
    return path.lower().endswith(_DRAWING_ENDINGS)


def load_job(path: str, words: Words) -> tuple[Job, pathlib.Path, tuple[Finding, ...]]:
    """The job of a job file, or one made of a drawing and options; and the folder its drawings lie in."""
    from camkit.job.load import load
    from camkit.job.overrule import from_words, overruled

    place = pathlib.Path(path)
    if is_drawing(path):
        job = from_words([place.name], words.thickness, words.sheet, words.cutters, words.unit)
        return job, place.parent, ()
    job, notes = overruled(
        load(place), thickness=words.thickness, sheet=words.sheet, cutters=words.cutters, unit=words.unit
    )
    return job, place.parent, notes


def text_of(name: str) -> str:
    """A program's text; raises InputError when it cannot be read."""
    place = pathlib.Path(name)
    try:
        return place.read_bytes().decode("utf-8-sig", errors="replace")
    except FileNotFoundError:
        refuse("there is no such file", "Check the name", name)
    except IsADirectoryError:
        refuse("is a folder, not a program", "Name the program's file", name)
    except OSError as error:
        refuse(f"cannot be read: {error.strerror}", "Check the file's rights", name)
