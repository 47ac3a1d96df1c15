"""A fault in a block of RS-274 text, on its way from where it is met to the list of findings."""

from __future__ import annotations

from camkit.errors import Finding, Level

__all__ = ["BlockError"]


class BlockError(Exception):
    """One block breaks a rule: what is wrong, what to do, and the size in mm of a fault that has one."""

    def __init__(
        self,
        message: str,
        remedy: str,
        *,
        rule: str = "bad-block",
        level: Level = "error",
        amount_mm: float | None = None,
    ) -> None:
        """Take words without a final period; they become the finding's."""
        super().__init__(message)
        self.message = message
        self.remedy = remedy
        self.rule = rule
        self.level: Level = level
        self.amount_mm = amount_mm

    def at_line(self, line: int) -> Finding:
        """The finding that this fault makes on a line of the program, counted from 1."""
        return Finding(self.level, self.rule, self.message, self.remedy, line=line, amount_mm=self.amount_mm)
