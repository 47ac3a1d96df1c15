"""Commands about programs, whoever wrote them: the verdict, and the time they take."""

from __future__ import annotations

import pathlib

import click

from camkit.cli.group import main
from camkit.cli.loading import is_drawing, is_job, load_job, text_of
from camkit.cli.options import Words, job_option, json_option, on_sheet_option, options, overruling
from camkit.cli.speech import finish, print_json, progress, refuse, say_lines

__all__ = ["check", "estimate"]


@main.command()
@click.argument("programs", nargs=-1, required=True, metavar="PROGRAM...")
@options(on_sheet_option, job_option, overruling, json_option)
def check(
    programs: tuple[str, ...],
    on_sheet: int,
    job_file: str | None,
    words: Words,
    as_json: bool,
) -> None:
    """Judge any RS-274 programs of one sheet, in running order, against a job's parts."""
    named = [(program, text_of(program)) for program in programs]
    if job_file is None:
        refuse("a program is judged against a job", "Name it: camkit check PROGRAM --job JOB.toml")
    job, base, notes = load_job(job_file, words)
    with progress() as say:
        from camkit.pipeline import judged_in_order, prepare, sheet_numbered

        prepared = prepare(job, base, say)
        board = sheet_numbered(prepared, on_sheet)
        say(f"Judging {', '.join(programs)}")
        said = judged_in_order(prepared, board, named)
    ok = all(one.verdict.ok for one in said)
    if as_json:
        from camkit.report.json_report import program as as_dict

        rows = [as_dict(one) for one in said]
        print_json(rows[0] if len(rows) == 1 else {"ok": ok, "programs": rows})
    else:
        from camkit.report.table import finding_lines, verdict_lines

        say_lines(finding_lines((*notes, *prepared.findings)), err=True)
        for one in said:
            say_lines(verdict_lines(one))
    finish(ok)


@main.command()
@click.argument("source", metavar="PROGRAM|JOB.toml|DRAWING")
@options(job_option, overruling, json_option)
def estimate(
    source: str,
    job_file: str | None,
    words: Words,
    as_json: bool,
) -> None:
    """Cutting time by cutter and operation; changes of cutter by hand come on top."""
    from camkit.report.table import estimate_dict, estimate_lines

    if is_job(source) or is_drawing(source):
        job, base, _ = load_job(source, words)
        with progress() as say:
            from camkit.pipeline import make

            programs = make(job, base, pathlib.Path(source).stem, say).programs
    else:
        from camkit.pipeline import timed

        text = text_of(source)
        job_or_none = load_job(job_file, words)[0] if job_file is not None else None
        programs = (timed(text, source, job_or_none),)
    if as_json:
        print_json(estimate_dict(programs))
    else:
        say_lines(estimate_lines(programs))
