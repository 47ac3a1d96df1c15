"""Commands about drawings: what is read from them, and a job to begin with."""

from __future__ import annotations

import os
import pathlib
import sys

import click

from camkit.cli.group import main
from camkit.cli.loading import load_job
from camkit.cli.options import Words, job_option, json_option, options, unit_option
from camkit.cli.speech import finish, print_json, progress, say_lines
from camkit.errors import InputError, has_error

__all__ = ["inspect", "start"]


@main.command()
@click.argument("drawings", nargs=-1, required=True, metavar="DRAWING...")
@options(job_option, unit_option, json_option)
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
    from camkit.pipeline import drawn_thicknesses
    from camkit.report.inspection_files import write_inspection, written_lines
    from camkit.report.inspection_joints import joints_of, told
    from camkit.report.inspection_table import inspection_lines
    from camkit.report.json_report import inspection

    job, _, notes = load_job(job_file, Words(unit=unit)) if job_file is not None else (None, None, ())
    rules, drawn_in = (job.layer_rules(), job.drawings.unit) if job is not None else ((), known_unit(unit))
    drawn = []
    with progress() as say:
        for name in drawings:
            say(f"Reading {name}")
            found = read(pathlib.Path(name), unit=drawn_in, rules=rules)
            drawn.append(replace(found, findings=(*notes, *found.findings)))
        say("Looking for joints")
        thicknesses = drawn_thicknesses(job, drawn) if job is not None else None
        for_parts = thicknesses if thicknesses is not None else [None] * len(drawn)
        joints = [joints_of(one.parts, thick, job) for one, thick in zip(drawn, for_parts, strict=True)]
        drawn = [told(one, joined) for one, joined in zip(drawn, joints, strict=True)]
        say("Writing")
        written = write_inspection(drawn, joints, picture=picture, clean=clean)
    if as_json:
        print_json(inspection(drawn, joints))
    else:
        sizes = [sheet.size for sheet in job.sheet if sheet.size] if job is not None else []
        say_lines(inspection_lines(drawn, sizes, joints))
    say_lines(written_lines(drawn, written), err=as_json)
    if not any(d.parts for d in drawn):
        say_lines(["error: no closed outline was found; the findings say why."], err=True)
        sys.exit(InputError.exit_status)
    finish(not any(has_error(d.findings) for d in drawn))


@main.command()
@click.argument("folder", metavar="DIR")
@click.argument("drawings", nargs=-1, metavar="[DRAWING...]")
@unit_option
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
