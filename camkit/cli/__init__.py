"""The command line: parses, calls, prints. Exit status 0 sound, 1 an error stands, 2 badly asked."""

from camkit.cli import on_drawings, on_jobs, on_programs
from camkit.cli.group import main

__all__ = ["main", "on_drawings", "on_jobs", "on_programs"]
