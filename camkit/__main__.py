"""`python -m camkit` is the command `camkit`."""

from camkit.cli import main

main(prog_name="camkit")
