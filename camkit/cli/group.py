"""The command `camkit` itself, which the commands are added to."""

from __future__ import annotations

from typing import Any

import click

from camkit import __version__
from camkit.cli.speech import print_json
from camkit.errors import CamkitError

__all__ = ["main"]


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

                print_json({"ok": False, "findings": [as_json(f) for f in error.findings]})
            ctx.exit(error.exit_status)


@click.group(
    cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="camkit")
@click.pass_context
def main(ctx: click.Context) -> None:
    """From part outlines and a measured plywood sheet to a router program that has been judged."""
    ctx.ensure_object(dict)
