"""Whether a program in the folder is still that of the job: cuts may have got other numbers since."""

from __future__ import annotations

import pathlib
import re

from camkit.errors import Finding
from camkit.pipeline import Result
from camkit.program.motion import CutMark
from camkit.program.read import read

__all__ = ["changed_since"]


def changed_since(result: Result, folder: pathlib.Path, stem: str) -> tuple[Finding, ...]:
    """An error where the whole program in the folder has other cuts from the wished number on.

    Nothing where no such program stands there. `result` must be of a wish that names a first cut.
    """
    ending = result.job.machine.extension
    now = {cut.number: f"{cut.kind} {cut.part} {cut.copy}".upper() for cut in result.cuts}
    (sheet,) = {cut.sheet for cut in result.cuts}
    whole = re.compile(re.escape(f"{stem}-{sheet}") + r"(-\d+)?" + re.escape(ending))
    files = [p for p in sorted(folder.glob("*")) if whole.fullmatch(p.name)]
    then = {mark.number: _said(mark) for p in files for mark in read(p.read_text("utf-8", "replace")).marks}
    first = result.wish.first or 0
    for number in sorted({n for n in {*now, *then} if n >= first}) if then else []:
        if now.get(number) != then.get(number):
            return (
                Finding(
                    "error",
                    "changed-since",
                    f"the job has changed since {files[0].name} was written: there cut {number} is "
                    f"{then.get(number, 'none')}, now {now.get(number, 'none')}",
                    "Put the job back, or write into another folder (--out) with the number that the next "
                    "cut has now",
                ),
            )
    return ()


def _said(mark: CutMark) -> str:
    return f"{mark.kind} {mark.name}".upper()
