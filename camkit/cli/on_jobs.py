"""Commands that go the whole way with a job."""

from __future__ import annotations

import pathlib
from typing import TYPE_CHECKING

import click

from camkit.cli.group import main
from camkit.cli.loading import is_drawing, is_job, load_job, text_of
from camkit.cli.options import (
    Words,
    job_option,
    json_option,
    on_sheet_option,
    options,
    out_option,
    overruling,
)
from camkit.cli.speech import finish, print_json, progress, refuse, say_lines

if TYPE_CHECKING:
    from camkit.job.model import Job, Sheet

__all__ = ["coupon", "cut", "preview"]


@main.command()
@click.argument("source", metavar="JOB.toml|DRAWING")
@options(overruling, out_option, json_option)
def cut(
    source: str,
    words: Words,
    out: str | None,
    as_json: bool,
) -> None:
    """The whole way: drawings in, judged programs out."""
    from dataclasses import replace

    from camkit.report.files import set_aside, write

    place = pathlib.Path(source)
    folder = pathlib.Path(out) if out is not None else place.with_name(f"{place.stem}-cut")
    set_aside(folder)
    job, base, notes = load_job(source, words)
    with progress() as say:
        from camkit.pipeline import make

        result = make(job, base, place.stem, say)
        result = replace(result, findings=(*notes, *result.findings))
        say("Writing programs, pictures and preview")
        write(result, folder)
    if as_json:
        from camkit.report.json_report import report

        print_json(report(result))
    else:
        from camkit.report.table import closing_lines

        say_lines(closing_lines(result, folder))
    finish(result.ok)


@main.command()
@click.argument("job_file", metavar="JOB.toml")
@click.option("--of", "sheet_name", metavar="NAME", help="Which of the job's sheets, where it has several.")
@options(overruling, out_option, json_option)
def coupon(job_file: str, sheet_name: str | None, words: Words, out: str | None, as_json: bool) -> None:
    """A test piece of the job's sheet, which shows what clearance fits it."""
    from dataclasses import replace

    from camkit.report.coupon_files import write_coupon
    from camkit.report.files import set_aside

    if not is_job(job_file):
        refuse("a coupon is cut for a job", "Name its file: camkit coupon JOB.toml", job_file)
    place = pathlib.Path(job_file)
    folder = pathlib.Path(out) if out is not None else place.with_name(f"{place.stem}-coupon")
    set_aside(folder)
    job, _, notes = load_job(job_file, words)
    with progress() as say:
        from camkit.joinery.coupon import coupon as coupon_of
        from camkit.pipeline import make_coupon

        piece = coupon_of(job, _sheet_called(job, sheet_name))
        result = make_coupon(piece, "coupon", say)
        result = replace(result, findings=(*notes, *result.findings))
        say("Writing drawing, program and sheet")
        write_coupon(result, piece, folder)
    if as_json:
        from camkit.report.json_report import report

        print_json(report(result))
    else:
        from camkit.report.table import closing_lines

        say_lines(closing_lines(result, folder))
    finish(result.ok)


def _sheet_called(job: Job, name: str | None) -> Sheet:
    """The sheet of that name, or the only one that the job uses."""
    used = job.sheets_used()
    chosen = used if name is None else [sheet for sheet in job.sheet if sheet.name == name]
    if len(chosen) != 1:
        known = " or ".join(f'--of "{sheet.name}"' for sheet in job.sheet)
        unsaid = f"the job is cut from {len(used)} sheets, a coupon from one"
        refuse(unsaid if name is None else f'no sheet is named "{name}"', f"Say {known}")
    return chosen[0]


@main.command()
@click.argument("source", metavar="PROGRAM|JOB.toml|DRAWING")
@options(on_sheet_option, job_option, overruling, out_option)
def preview(
    source: str,
    on_sheet: int,
    job_file: str | None,
    words: Words,
    out: str | None,
) -> None:
    """The preview page alone, for a job or for anybody's program of a job."""
    from camkit.report.files import write_page

    place = pathlib.Path(source)
    program = not (is_job(source) or is_drawing(source))
    if program and job_file is None:
        refuse("a program is drawn on a job's sheet", "Name it: camkit preview PROGRAM --job JOB.toml")
    job, base, _ = load_job(job_file if program and job_file else source, words)
    with progress() as say:
        from camkit.pipeline import make, shown

        if program:
            result = shown(job, base, source, text_of(source), on_sheet, say)
        else:
            result = make(job, base, place.stem, say)
    folder = pathlib.Path(out) if out is not None else place.parent
    click.echo(str(write_page(result, folder / f"{place.stem}-preview.html")))
    finish(result.ok)
