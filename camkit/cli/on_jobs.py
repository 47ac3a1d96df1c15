"""Commands that go the whole way with a job."""

from __future__ import annotations

import pathlib

import click

from camkit.cli.group import main
from camkit.cli.loading import is_drawing, is_job, load_job, text_of
from camkit.cli.options import Words, job_option, json_option, options, out_option, overruling
from camkit.cli.speech import finish, print_json, progress, refuse, say_lines

__all__ = ["cut", "preview"]


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
@click.argument("source", metavar="PROGRAM|JOB.toml|DRAWING")
@options(job_option, overruling, out_option)
def preview(
    source: str,
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

        result = (
            shown(job, base, source, text_of(source), say) if program else make(job, base, place.stem, say)
        )
    folder = pathlib.Path(out) if out is not None else place.parent
    click.echo(str(write_page(result, folder / f"{place.stem}-preview.html")))
    finish(result.ok)
