"""Sentences that several pages share: the verdict, counts, times."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.errors import Finding
from camkit.pipeline import Result

__all__ = ["TIMES", "clock", "counted", "length_text", "verdict_words"]

TIMES = "\N{MULTIPLICATION SIGN}"


def counted(findings: Sequence[Finding]) -> str:
    """How many of each level, worst first: "2 errors, 1 note"; "nothing to report" without any."""
    parts = []
    for level in ("error", "warning", "note"):
        count = sum(1 for finding in findings if finding.level == level)
        if count:
            parts.append(f"{count} {level}{'s' if count > 1 else ''}")
    return ", ".join(parts) or "nothing to report"


def verdict_words(result: Result) -> str:
    """The whole result in one sentence, without final period."""
    findings = [*result.findings, *(f for p in result.programs for f in p.verdict.findings)]
    if result.ok:
        rest = counted(findings)
        return "Sound" if rest == "nothing to report" else f"Sound, with {rest}"
    return f"Refused: {counted([f for f in findings if f.level == 'error'])}"


def clock(time_s: float) -> str:
    """Hours, minutes and seconds: "1:02:03", "4:05"."""
    whole = round(time_s)
    minutes, seconds = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{seconds:02d}" if hours else f"{minutes}:{seconds:02d}"


def length_text(value: float) -> str:
    """A length as a maker reads it: at most two decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
