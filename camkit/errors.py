"""What can go wrong, and how it is said: `Finding`, and the few exceptions that carry findings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["CamkitError", "CannotBeMadeError", "Finding", "InputError", "Level", "has_error"]

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing worth telling the maker; lengths in mm, fields that have no meaning stay None.

    `line` is a line of the program or of the text file named by `file`; `entity` is a drawing's
    entity with its handle ("LWPOLYLINE 2F"); `amount_mm` is the size of the fault; `count` says for how many
    drawn loops or pieces of that kind it stands.
    """

    level: Level
    rule: str
    message: str
    remedy: str = ""
    line: int | None = None
    x_mm: float | None = None
    y_mm: float | None = None
    z_mm: float | None = None
    amount_mm: float | None = None
    part: str | None = None
    file: str | None = None
    layer: str | None = None
    entity: str | None = None
    count: int = 1

    def __str__(self) -> str:
        where = ", ".join(
            text
            for text in (
                self.file,
                self.line and f"line {self.line}",
                self.layer and f"layer {self.layer}",
                self.entity,
                self.part and (self.part if self.part.startswith("part ") else f"part {self.part}"),
            )
            if text
        )
        said = f"{where}: {self.message}" if where else self.message
        remedy = self.remedy[:1].upper() + self.remedy[1:]
        return " ".join(_sentence(text) for text in (said, remedy) if text)


def _sentence(text: str) -> str:
    return text if text.endswith("?") else f"{text}."


class CamkitError(Exception):
    """Work stops here; carries at least one finding that says why and what to do."""

    exit_status = 2

    def __init__(self, *findings: Finding) -> None:
        """Carry the findings as arguments, so that they survive the way between processes."""
        super().__init__(*findings)
        self.findings = findings

    def __str__(self) -> str:
        return "\n".join(str(finding) for finding in self.findings)


class InputError(CamkitError):
    """Badly asked: a file, a job key or the words of a command are wrong (exit status 2)."""


class CannotBeMadeError(CamkitError):
    """Rightly asked, but it cannot be done with this sheet, cutter or machine (exit status 1)."""

    exit_status = 1


def has_error(findings: tuple[Finding, ...]) -> bool:
    """Whether a finding of level `error` is among them."""
    return any(finding.level == "error" for finding in findings)
