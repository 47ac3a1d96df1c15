"""The whole way in one readable function: job in, judged programs out."""

from __future__ import annotations

from dataclasses import dataclass

from camkit.cut import Cut
from camkit.errors import Finding, has_error
from camkit.job.model import Job
from camkit.joinery.fitted import Fitted
from camkit.layout.sheet import SheetUse
from camkit.part import Placed
from camkit.program.motion import Reading
from camkit.simulation.verdict import Verdict

__all__ = ["JudgedProgram", "Result", "SheetUse"]


@dataclass(frozen=True, slots=True)
class JudgedProgram:
    """A program's text, what a reader that never saw the planner found in it, and what the judge said."""

    name: str
    sheet: int
    text: str
    reading: Reading
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Result:
    """Everything that the report shows; `findings` are those made before the judge spoke."""

    job: Job
    sheets: tuple[SheetUse, ...]
    fitted: Fitted
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    programs: tuple[JudgedProgram, ...]
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether every program is sound and no earlier finding of level error stands."""
        return not has_error(self.findings) and all(p.verdict.ok for p in self.programs)
