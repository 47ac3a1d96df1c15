"""What the files of a finished job are called."""

from __future__ import annotations

from camkit.pipeline import JudgedProgram, Result

__all__ = ["OLD", "PREVIEW", "PROGRAM", "REFUSED", "REPORT", "program_file", "sheet_picture"]

PROGRAM = ".nc"
REFUSED = ".refused.txt"
OLD = ".old"
REPORT = "report.json"
PREVIEW = "preview.html"


def program_file(judged: JudgedProgram, result: Result) -> str:
    """The program's file: a program only when everything is sound, else a text that no control takes.

    One refused program holds back all of them: exit status 1 and a program in the folder never go together.
    """
    return judged.name + (PROGRAM if result.ok else REFUSED)


def sheet_picture(number: int, kind: str) -> str:
    """The picture of a sheet; `kind` is "svg" or "png"."""
    return f"sheet-{number}.{kind}"
