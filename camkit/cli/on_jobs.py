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
    from camkit.program.wish import Wish

__all__ = ["coupon", "cut", "preview"]


@main.command()
@click.argument("source", metavar="JOB.toml|DRAWING")
@click.option("--from", "first", type=int, metavar="N", help="The rest alone, from cut N on.")
@click.option("--only", "piece", metavar="PART[:COPY]", help="One piece alone.")
@click.option("--air", "higher", type=float, metavar="MM", help="The same so much higher, to be watched.")
@options(overruling, out_option, json_option)
def cut(
    source: str,
    first: int | None,
    piece: str | None,
    higher: float | None,
    words: Words,
    out: str | None,
    as_json: bool,
) -> None:
    """The whole way: drawings in, judged programs out."""
    from dataclasses import replace

    from camkit.report.changed import changed_since
    from camkit.report.files import set_aside, set_partial_aside, write, write_partial

    place = pathlib.Path(source)
    folder = pathlib.Path(out) if out is not None else place.with_name(f"{place.stem}-cut")
    wish = _wish(first, piece, higher)
    if wish.whole:
        set_aside(folder)
    else:
        set_partial_aside(folder, place.stem, wish)
    job, base, notes = load_job(source, words)
    with progress() as say:
        from camkit.pipeline import make

        result = make(job, base, place.stem, say, wish)
        changed = changed_since(result, folder, place.stem) if wish.first is not None else ()
        result = replace(result, findings=(*notes, *changed, *result.findings))
        say("Writing programs, pictures and preview")
        if wish.whole:
            write(result, folder)
        else:
            write_partial(result, folder, place.stem)
    if as_json:
        from camkit.report.json_report import report

        print_json(report(result))
    else:
        from camkit.report.table import closing_lines

        say_lines(closing_lines(result, folder))
    finish(result.ok)


def _wish(first: int | None, piece: str | None, higher: float | None) -> Wish:
    """What part of the job the options ask for; refused when they contradict each other."""
    from camkit.program.wish import Wish

    if first is not None and piece is not None:
        refuse("--from and --only do not go together", "Give one of them")
    if higher is not None and not 0 < higher <= 1000:
        refuse(f"--air {higher:g} is not a height above 0", "Write --air 25, more than the sheet is thick")
    return Wish(first, piece.strip() if piece is not None else None, higher or 0.0)


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
