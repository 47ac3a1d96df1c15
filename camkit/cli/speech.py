"""What a command says and where: results to stdout, messages to stderr, the status at the end."""

from __future__ import annotations

import contextlib
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import NoReturn

import click

from camkit.errors import Finding, InputError

__all__ = ["finish", "print_json", "progress", "refuse", "say_lines"]


def print_json(value: object) -> None:
    """Print the one object that `--json` asks for."""
    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def say_lines(lines: Sequence[str], *, err: bool = False) -> None:
    """Print the lines to stdout, or to stderr when they are no result."""
    for line in lines:
        click.echo(line, err=err)


def finish(ok: bool) -> NoReturn:
    """End with status 0 when all is sound, else 1."""
    sys.exit(0 if ok else 1)


@contextlib.contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Says on a terminal what is being done; silent elsewhere."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console

    with Console(stderr=True).status("Starting") as status:
        yield lambda doing: status.update(doing)


def refuse(message: str, remedy: str, file: str | None = None) -> NoReturn:
    """Raise InputError about the words of the command, or about a file they name."""
    raise InputError(Finding("error", "words", message, remedy, file=file))
