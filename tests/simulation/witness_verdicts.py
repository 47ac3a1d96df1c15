"""Asking the judge, and holding what it found against what was planted."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from itertools import pairwise
from typing import Any

from camkit.errors import Finding
from camkit.job.model import Job
from camkit.part import Part, Placed
from camkit.simulation.judge import judge
from camkit.simulation.verdict import Judgement

from .witness_moves import Plan, around
from .witness_scenes import CORNERS, SHEET, THICKNESS, job, placed
from .witness_words import Program


def judged(
    text: str | Program,
    parts: Sequence[Placed] | Part,
    the_job: Job | None = None,
    sheet_size: tuple[float, float] = SHEET,
    thickness: float = THICKNESS,
) -> Judgement:
    pieces = placed(parts) if isinstance(parts, Part) else tuple(parts)
    words = text.text if isinstance(text, Program) else text
    return judge(words, pieces, the_job or job(), sheet_size=sheet_size, thickness=thickness)


def must_find(
    judgement: Judgement,
    rule: str | set[str],
    *,
    lines: set[int] | None = None,
    near: Sequence[tuple[float, float]] | None = None,
    within: float = 4.0,
    amount: tuple[float, float] | None = None,
    also: AbstractSet[str] = frozenset(),
) -> Finding:
    """The finding that answers everything asked; no error of another rule may stand, save those in `also`."""
    rules = {rule} if isinstance(rule, str) else rule
    found = errors(judgement)
    assert not judgement.verdict.ok
    assert {f.rule for f in found} <= rules | set(also), told(found)
    fitting = [
        f
        for f in found
        if f.rule in rules
        and (lines is None or f.line in lines)
        and (near is None or close(f, near, within))
        and (amount is None or (f.amount_mm is not None and amount[0] <= abs(f.amount_mm) <= amount[1]))
    ]
    assert fitting, f"wanted {rules} on {lines and sorted(lines)} near {near} of {amount}; got\n{told(found)}"
    return fitting[0]


def must_pass(judgement: Judgement) -> None:
    assert judgement.verdict.ok, told(errors(judgement))


def outline_plan(**how: object) -> Plan:
    plan = Plan()
    around(plan, CORNERS, **how)
    return plan


def errors(judgement: Any) -> list[Finding]:
    return [f for f in judgement.verdict.findings if f.level == "error"]


def told(findings: Iterable[Finding]) -> str:
    return "\n".join(f"{f.rule} {f.amount_mm} at {f.x_mm} {f.y_mm} {f.z_mm}: {f}" for f in findings) or "none"


def close(finding: Finding, points: Sequence[tuple[float, float]], within: float) -> bool:
    """Whether the finding's place lies near the line through `points` (or near the only one)."""
    if finding.x_mm is None or finding.y_mm is None:
        return False
    here = (finding.x_mm, finding.y_mm)
    if len(points) == 1:
        return math.dist(here, points[0]) <= within
    return any(_to_segment(here, a, b) <= within for a, b in pairwise(points))


def _to_segment(p: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    d = (b[0] - a[0], b[1] - a[1])
    size = d[0] ** 2 + d[1] ** 2
    t = 0.0 if size == 0 else max(0.0, min(1.0, ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / size))
    return math.dist(p, (a[0] + d[0] * t, a[1] + d[1] * t))
