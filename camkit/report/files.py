"""The door that writes: programs, report, preview and pictures of a result into one folder."""

from __future__ import annotations

import pathlib
import re
from collections.abc import Sequence

from camkit.errors import Finding, InputError
from camkit.pipeline import Result
from camkit.program.wish import Wish
from camkit.report.aside import Content, folder_at, made_here, put
from camkit.report.json_report import report_text
from camkit.report.names import (
    COUPON_DRAWING,
    COUPON_PAGE,
    OLD,
    PARTIAL,
    PREVIEW,
    REFUSED,
    REPORT,
    partial_page,
    partial_report,
    program_file,
    sheet_picture,
)
from camkit.report.picture import png
from camkit.report.preview import preview_html
from camkit.report.sheet_picture import sheet_svg

__all__ = ["set_aside", "set_partial_aside", "write", "write_page", "write_partial"]

USUAL = ".nc"
# The last line of a program's header, and how far into it that may stand.
_SIGNED = re.compile(rb"^\(camkit [0-9.]+\)\r?$", re.MULTILINE)
_HEADER = 16384


def set_aside(folder: pathlib.Path) -> None:
    """Before work begins: programs of an earlier run become NAME.nc.old, its report, pages and pictures go.

    So whatever happens next, nothing in the folder looks like the program of this run. Files that bear such a
    name but were not made by camkit stay. Raises InputError when the folder is a file or may not be changed.
    """
    if folder.exists() and not folder.is_dir():
        raise _cannot_write(folder, "is a file, not a folder", "Name another folder with --out")
    try:
        _set_programs_aside(folder, _programs_in(folder))
        for stale in (*sorted(folder.glob(f"*{REFUSED}")), *(p for p in _shown_in(folder) if made_here(p))):
            stale.unlink(missing_ok=True)
    except OSError as error:
        raise _cannot_write(
            folder,
            f"cannot be changed: {error.strerror or error}",
            "Name another folder with --out, or mend the folder's rights",
        ) from error


def write(
    result: Result, folder: pathlib.Path, more: Sequence[tuple[str, Content]] = ()
) -> tuple[pathlib.Path, ...]:
    """Write everything that the result shows; the programs last, so that none stands without its report.

    `more` are further files, name and content. Each file is of ours by its first or last lines.
    Each file is written aside and then renamed. Raises InputError when the folder may not be changed, or when
    something not made by camkit stands where a file would go; nothing is written then.
    """
    contents: list[tuple[str, Content]] = []
    for sheet in result.sheets:
        drawn = sheet_svg(result, sheet.number)
        contents.append((sheet_picture(sheet.number, "svg"), drawn))
        contents.append((sheet_picture(sheet.number, "png"), png(drawn)))
    contents.append((PREVIEW, preview_html(result)))
    contents.append((REPORT, report_text(result)))
    contents += more
    set_aside(folder)
    for name, _ in contents:
        if (folder / name).exists():
            raise _kept(folder / name)
    contents += [(program_file(judged, result), judged.text) for judged in result.programs]
    folder_at(folder)
    return tuple(put(folder / name, content) for name, content in contents)


def set_partial_aside(folder: pathlib.Path, stem: str, wish: Wish) -> None:
    """Before a part of the programs is made: what an earlier run made by the same wish becomes NAME.nc.old.

    All other programs stay. Raises InputError when the folder may not be changed.
    """
    own = re.compile(re.escape(stem) + r"-\d+" + re.escape(wish.suffix) + r"(-\d+)?\.(refused\.)?[^.]+")
    _set_programs_aside(folder, [p for p in _programs_in(folder) if own.fullmatch(p.name)])
    for stale in folder.glob(f"*{REFUSED}"):
        if own.fullmatch(stale.name):
            stale.unlink()


def write_partial(result: Result, folder: pathlib.Path, stem: str) -> tuple[pathlib.Path, ...]:
    """Write the programs of a part of the job with a report and a preview of their own, beside the whole.

    When an error stands no program is left in the folder, of this run or another. Raises InputError as
    `write`.
    """
    report, page = partial_report(stem, result), partial_page(stem, result)
    for name in (report, page):
        if (folder / name).exists() and not made_here(folder / name):
            raise _kept(folder / name)
    if not result.ok:
        _set_programs_aside(folder, _programs_in(folder) if folder.is_dir() else [])
    contents: list[tuple[str, Content]] = [(page, preview_html(result)), (report, report_text(result))]
    contents += [(program_file(judged, result), judged.text) for judged in result.programs]
    folder_at(folder)
    return tuple(put(folder / name, content) for name, content in contents)


def _kept(place: pathlib.Path) -> InputError:
    return _cannot_write(place, "was not made by camkit and is kept", "Name another folder with --out")


def _set_programs_aside(folder: pathlib.Path, programs: Sequence[pathlib.Path]) -> None:
    try:
        for program in programs:
            program.replace(program.with_name(program.name + OLD))
    except OSError as error:
        raise _cannot_write(
            folder,
            f"cannot be changed: {error.strerror or error}",
            "Name another folder with --out, or mend the folder's rights",
        ) from error


def _programs_in(folder: pathlib.Path) -> list[pathlib.Path]:
    """Files with the usual ending of a program, and whatever else camkit has written as one."""
    files = [p for p in sorted(folder.glob("*")) if p.is_file() and not p.name.endswith((OLD, REFUSED))]
    return [p for p in files if p.suffix == USUAL or _is_program(p)]


def _is_program(place: pathlib.Path) -> bool:
    with place.open("rb") as file:
        return _SIGNED.search(file.read(_HEADER)) is not None


def _shown_in(folder: pathlib.Path) -> list[pathlib.Path]:
    pictures = (p for kind in ("svg", "png") for p in sorted(folder.glob(sheet_picture("*", kind))))
    named = (folder / name for name in (REPORT, PREVIEW, COUPON_PAGE, COUPON_DRAWING))
    partial = (p for p in sorted(folder.glob("*")) if PARTIAL.search(p.name))
    return [p for p in (*named, *pictures, *partial) if p.exists()]


def _cannot_write(place: pathlib.Path, message: str, remedy: str) -> InputError:
    return InputError(Finding("error", "cannot-write", message, remedy, file=str(place)))


def write_page(result: Result, place: pathlib.Path) -> pathlib.Path:
    """The preview alone, at the place named."""
    folder_at(place.parent)
    return put(place, preview_html(result))
