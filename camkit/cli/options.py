"""Options that mean the same in every command."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar, cast

import click

__all__ = [
    "Words",
    "job_option",
    "json_option",
    "on_sheet_option",
    "options",
    "out_option",
    "overruling",
    "unit_option",
]

F = TypeVar("F", bound=Callable[..., Any])


def options(*chosen: Callable[[F], F]) -> Callable[[F], F]:
    """Several options as one decorator, in the order in which help lists them."""

    def add(command: F) -> F:
        for option in reversed(chosen):
            command = option(command)
        return command

    return add


unit_option = click.option(
    "--unit", metavar="mm|cm|inch", help="Unit of the drawings, whatever their headers say."
)
job_option = click.option(
    "--job", "job_file", metavar="JOB.toml", help="The job that says sheet, parts and cutters."
)
on_sheet_option = click.option(
    "--on-sheet", type=int, default=1, show_default=True, help="The sheet that the program is for."
)
out_option = click.option("--out", metavar="DIR", help="Folder for what is made.")


@dataclass(frozen=True, slots=True)
class Words:
    """Options that overrule the job, or stand in its place; they mean the same in every command."""

    thickness: float | None = None
    sheet: str | None = None
    cutters: tuple[str, ...] = ()
    unit: str | None = None


def overruling(command: F) -> F:
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
        return command(words=Words(thickness, sheet, cutters, unit), **others)

    add = options(
        click.option(
            "--thickness",
            type=float,
            metavar="MM",
            help="Measured thickness of the sheet, the first of several.",
        ),
        click.option(
            "--sheet", metavar="LxW[xT]", help="Length x width of the (first) sheet, and thickness."
        ),
        click.option(
            "--cutter",
            "cutters",
            multiple=True,
            metavar="[N=]D",
            help="Diameter of the cutter, or of number N.",
        ),
        unit_option,
    )
    return cast(F, add(together))


def _remember_json(ctx: click.Context, _: click.Parameter, value: bool) -> bool:
    ctx.ensure_object(dict)["json"] = value
    return value


json_option = click.option(
    "--json",
    "as_json",
    is_flag=True,
    callback=_remember_json,
    is_eager=True,
    help="Print one JSON object only.",
)
