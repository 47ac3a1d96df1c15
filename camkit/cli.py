"""The command line: parses, calls, prints. Exit status 0 sound, 1 an error stands, 2 badly asked."""

from __future__ import annotations

import contextlib
import functools
import json
import os
import pathlib
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar, cast

import click

from camkit import __version__
from camkit.errors import CamkitError, Finding, InputError, has_error

if TYPE_CHECKING:
    from camkit.job.model import Job

__all__ = ["main"]

F = TypeVar("F", bound=Callable[..., Any])

_DRAWING_ENDINGS = (".dxf", ".svg")
_JOB_ENDING = ".toml"


class _Commands(click.Group):
    """Offers the nearest command for a mistyped one, and turns camkit's errors into words and a status."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and self.get_command(ctx, args[0]) is None:
            from difflib import get_close_matches

            near = get_close_matches(args[0], self.list_commands(ctx), n=1)
            hint = f"did you mean '{near[0]}'?" if near else "see 'camkit --help'"
            raise click.UsageError(f"there is no command '{args[0]}': {hint}", ctx)
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except CamkitError as error:
            for finding in error.findings:
                click.echo(f"{finding.level}: {finding}", err=True)
            if ctx.obj.get("json"):
                from camkit.report.json_report import finding as as_json

                _print_json({"ok": False, "findings": [as_json(f) for f in error.findings]})
            ctx.exit(error.exit_status)


@click.group(
    cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="camkit")
@click.pass_context
def main(ctx: click.Context) -> None:
    """From part outlines and a measured plywood sheet to a router program that has been judged."""
    ctx.ensure_object(dict)


def _options(*options: Callable[[F], F]) -> Callable[[F], F]:
    def add(command: F) -> F:
        for option in reversed(options):
            command = option(command)
        return command

    return add


_unit = click.option("--unit", metavar="mm|cm|inch", help="Unit of the drawings, whatever their headers say.")
_job = click.option(
    "--job", "job_file", metavar="JOB.toml", help="The job that says sheet, parts and cutters."
)
_out = click.option("--out", metavar="DIR", help="Folder for what is made.")


@dataclass(frozen=True, slots=True)
class _Words:
    """Options that overrule the job, or stand in its place; they mean the same in every command."""

    thickness: float | None = None
    sheet: str | None = None
    cutters: tuple[str, ...] = ()
    unit: str | None = None


def _overruling(command: F) -> F:
    """Give a command the overruling options, handed to it together as `words`."""

    @functools.wraps(command)
    def together(
        *,
        thickness: float | None,
        sheet: str | None,
        cutters: tuple[str, ...],
        unit: str | None,
        **others: Any,
    ) -> Any:
        return command(words=_Words(thickness, sheet, cutters, unit), **others)

    add = _options(
        click.option("--thickness", type=float, metavar="MM", help="Measured thickness of the sheet."),
        click.option("--sheet", metavar="LxW[xT]", help="Length x width of the sheet in mm, and thickness."),
        click.option(
            "--cutter",
            "cutters",
            multiple=True,
            metavar="[N=]D",
            help="Diameter of the cutter, or of number N.",
        ),
        _unit,
    )
    return cast(F, add(together))


def _remember_json(ctx: click.Context, _: click.Parameter, value: bool) -> bool:
    ctx.ensure_object(dict)["json"] = value
    return value


_json = click.option(
    "--json",
    "as_json",
    is_flag=True,
    callback=_remember_json,
    is_eager=True,
    help="Print one JSON object only.",
)


def _print_json(value: object) -> None:
    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def _say(lines: Sequence[str], *, err: bool = False) -> None:
    for line in lines:
        click.echo(line, err=err)


def _finish(ok: bool) -> NoReturn:
    sys.exit(0 if ok else 1)


@contextlib.contextmanager
def _progress() -> Iterator[Callable[[str], None]]:
    """Says on a terminal what is being done; silent elsewhere."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console

    with Console(stderr=True).status("Starting") as status:
        yield lambda doing: status.update(doing)


def _is_job(path: str) -> bool:
    return path.lower().endswith(_JOB_ENDING)


def _is_drawing(path: str) -> bool:
    return path.lower().endswith(_DRAWING_ENDINGS)


def _refuse(message: str, remedy: str, file: str | None = None) -> NoReturn:
    raise InputError(Finding("error", "words", message, remedy, file=file))


def _load(path: str, words: _Words = _Words()) -> tuple[Job, pathlib.Path, tuple[Finding, ...]]:
    """The job of a job file, or one made of a drawing and options; and the folder its drawings lie in."""
    from camkit.job.load import load
    from camkit.job.overrule import from_words, overruled

    place = pathlib.Path(path)
    if _is_drawing(path):
        job = from_words([place.name], words.thickness, words.sheet, words.cutters, words.unit)
        return job, place.parent, ()
    job, notes = overruled(
        load(place), thickness=words.thickness, sheet=words.sheet, cutters=words.cutters, unit=words.unit
    )
    return job, place.parent, notes


@main.command()
@click.argument("drawings", nargs=-1, required=True, metavar="DRAWING...")
@_options(_job, _unit, _json)
@click.option("--picture", metavar="FILE", help="Draw what was read into FILE, .svg or .png.")
@click.option("--write", "clean", metavar="FILE.dxf", help="Save it repaired: one layer a kind, in mm.")
def inspect(
    drawings: tuple[str, ...],
    job_file: str | None,
    unit: str | None,
    picture: str | None,
    clean: str | None,
    as_json: bool,
) -> None:
    """Show what is read from drawings: unit, parts, openings, holes, pockets, findings."""
    from dataclasses import replace

    from camkit.drawing.read import read
    from camkit.job.overrule import known_unit
    from camkit.report.inspection_files import write_inspection, written_lines
    from camkit.report.inspection_table import inspection_lines
    from camkit.report.json_report import inspection

    job, _, notes = _load(job_file, _Words(unit=unit)) if job_file is not None else (None, None, ())
    rules, drawn_in = (job.layer_rules(), job.drawings.unit) if job is not None else ((), known_unit(unit))
    drawn = []
    with _progress() as say:
        for name in drawings:
            say(f"Reading {name}")
            found = read(pathlib.Path(name), unit=drawn_in, rules=rules)
            drawn.append(replace(found, findings=(*notes, *found.findings)))
        say("Writing")
        written = write_inspection(drawn, picture=picture, clean=clean)
    thickness = job.sheet.drawn_thickness if job is not None else None
    if as_json:
        _print_json(inspection(drawn, thickness))
    else:
        _say(inspection_lines(drawn, job.sheet.size if job is not None else None, thickness))
    _say(written_lines(drawn, written), err=as_json)
    if not any(d.parts for d in drawn):
        _say(["error: no closed outline was found; the findings say why."], err=True)
        sys.exit(InputError.exit_status)
    _finish(not any(has_error(d.findings) for d in drawn))


@main.command()
@click.argument("source", metavar="JOB.toml|DRAWING")
@_options(_overruling, _out, _json)
def cut(
    source: str,
    words: _Words,
    out: str | None,
    as_json: bool,
) -> None:
    """The whole way: drawings in, judged programs out."""
    from dataclasses import replace

    from camkit.report.files import set_aside, write

    place = pathlib.Path(source)
    folder = pathlib.Path(out) if out is not None else place.with_name(f"{place.stem}-cut")
    set_aside(folder)
    job, base, notes = _load(source, words)
    with _progress() as say:
        from camkit.pipeline import make

        result = make(job, base, place.stem, say)
        result = replace(result, findings=(*notes, *result.findings))
        say("Writing programs, pictures and preview")
        write(result, folder)
    if as_json:
        from camkit.report.json_report import report

        _print_json(report(result))
    else:
        from camkit.report.table import closing_lines

        _say(closing_lines(result, folder))
    _finish(result.ok)


@main.command()
@click.argument("program", metavar="PROGRAM")
@click.option("--on-sheet", type=int, default=1, show_default=True, help="The sheet that the program is for.")
@_options(_job, _overruling, _json)
def check(
    program: str,
    on_sheet: int,
    job_file: str | None,
    words: _Words,
    as_json: bool,
) -> None:
    """Judge any RS-274 program against a job's parts and sheet."""
    text = _text(program)
    if job_file is None:
        _refuse("a program is judged against a job", "Name it: camkit check PROGRAM --job JOB.toml")
    job, base, notes = _load(job_file, words)
    with _progress() as say:
        from camkit.pipeline import judged, prepare

        prepared = prepare(job, base, say)
        board = next((s for s in prepared.sheets if s.number == on_sheet), None)
        if board is None:
            numbers = ", ".join(str(s.number) for s in prepared.sheets)
            _refuse(f"the job has no sheet {on_sheet}", f"Choose among: {numbers}")
        say(f"Judging {program}")
        said = judged(prepared, board, program, text)
    if as_json:
        from camkit.report.json_report import program as as_dict

        _print_json(as_dict(said))
    else:
        from camkit.report.table import finding_lines, verdict_lines

        _say(finding_lines((*notes, *prepared.findings)), err=True)
        _say(verdict_lines(said))
    _finish(said.verdict.ok)


def _text(name: str) -> str:
    """A program's text; raises InputError when it cannot be read."""
    place = pathlib.Path(name)
    try:
        return place.read_bytes().decode("utf-8-sig", errors="replace")
    except FileNotFoundError:
        _refuse("there is no such file", "Check the name", name)
    except IsADirectoryError:
        _refuse("is a folder, not a program", "Name the program's file", name)
    except OSError as error:
        _refuse(f"cannot be read: {error.strerror}", "Check the file's rights", name)


@main.command()
@click.argument("source", metavar="PROGRAM|JOB.toml|DRAWING")
@_options(_job, _overruling, _json)
def estimate(
    source: str,
    job_file: str | None,
    words: _Words,
    as_json: bool,
) -> None:
    """Cutting time by cutter and operation; changes of cutter by hand come on top."""
    from camkit.report.table import estimate_dict, estimate_lines

    if _is_job(source) or _is_drawing(source):
        job, base, _ = _load(source, words)
        with _progress() as say:
            from camkit.pipeline import make

            programs = make(job, base, pathlib.Path(source).stem, say).programs
    else:
        from camkit.pipeline import timed

        text = _text(source)
        job_or_none = _load(job_file, words)[0] if job_file is not None else None
        programs = (timed(text, source, job_or_none),)
    if as_json:
        _print_json(estimate_dict(programs))
    else:
        _say(estimate_lines(programs))


@main.command()
@click.argument("source", metavar="PROGRAM|JOB.toml|DRAWING")
@_options(_job, _overruling, _out)
def preview(
    source: str,
    job_file: str | None,
    words: _Words,
    out: str | None,
) -> None:
    """The preview page alone, for a job or for anybody's program of a job."""
    from camkit.report.files import write_page

    place = pathlib.Path(source)
    program = not (_is_job(source) or _is_drawing(source))
    if program and job_file is None:
        _refuse("a program is drawn on a job's sheet", "Name it: camkit preview PROGRAM --job JOB.toml")
    job, base, _ = _load(job_file if program and job_file else source, words)
    with _progress() as say:
        from camkit.pipeline import make, shown

        result = shown(job, base, source, _text(source), say) if program else make(job, base, place.stem, say)
    folder = pathlib.Path(out) if out is not None else place.parent
    click.echo(str(write_page(result, folder / f"{place.stem}-preview.html")))
    _finish(result.ok)


@main.command()
@click.argument("folder", metavar="DIR")
@click.argument("drawings", nargs=-1, metavar="[DRAWING...]")
@_unit
def start(folder: str, drawings: tuple[str, ...], unit: str | None) -> None:
    """A commented job file to begin with, filled in from drawings."""
    from dataclasses import replace

    from camkit.drawing.read import read
    from camkit.job.overrule import known_unit
    from camkit.job.start import starting_job
    from camkit.report.aside import put_new

    place = pathlib.Path(folder)
    drawn = []
    for name in drawings:
        found = read(pathlib.Path(name), unit=known_unit(unit))
        # The job names its drawings as seen from its own folder.
        seen = os.path.relpath(name, place).replace(os.sep, "/")
        drawn.append(replace(found, path=seen))
    written = put_new(place / "job.toml", starting_job(place.resolve().name, drawn))
    click.echo(f"{written}: measure the sheet, write its thickness there, then: camkit cut {written}")
