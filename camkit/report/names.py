"""What the files of a finished job are called."""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import Literal

from camkit.pipeline import JudgedProgram, Result

__all__ = [
    "COUPON_DRAWING",
    "COUPON_PAGE",
    "OLD",
    "PARTIAL",
    "PREVIEW",
    "REFUSED",
    "REPORT",
    "partial_page",
    "partial_report",
    "program_file",
    "program_title",
    "sheet_picture",
]

REFUSED = ".refused.txt"
OLD = ".old"
REPORT = "report.json"
PREVIEW = "preview.html"
# Reports and previews of runs that made a part of the programs.
PARTIAL = re.compile(r"-(from-\d+|only-[A-Za-z0-9-]+|air)\.(json|html)$")
COUPON_DRAWING = "coupon.dxf"
COUPON_PAGE = "coupon.html"


def program_file(judged: JudgedProgram, result: Result) -> str:
    """The program's file: a program only when everything is sound, else a text that no control takes.

    One refused program holds back all of them: exit status 1 and a program in the folder never go together.
    """
    return judged.name + (result.job.machine.extension if result.ok else REFUSED)


def partial_report(stem: str, result: Result) -> str:
    """The report of a run that made a part of the programs, beside that of the whole."""
    return f"{stem}{result.wish.suffix}.json"


def partial_page(stem: str, result: Result) -> str:
    """The preview of a run that made a part of the programs."""
    return f"{stem}{result.wish.suffix}.html"


def program_title(judged: JudgedProgram, result: Result) -> str:
    """What pages call a program: its file, or the bare name of a text that came from elsewhere."""
    return program_file(judged, result) if result.cuts else PurePath(judged.name).name


def sheet_picture(number: int | Literal["*"], kind: Literal["svg", "png"]) -> str:
    """The picture of a sheet, or of any sheet when the number is a star."""
    return f"sheet-{number}.{kind}"
