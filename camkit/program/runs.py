"""The cuts of one sheet as the programs that they become, in running order."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.cut import Cut
from camkit.job.model import Job, Sheet
from camkit.program.write import write

__all__ = ["Run", "written"]


@dataclass(frozen=True, slots=True)
class Run:
    """One program of a sheet: its name without ending, and its text."""

    name: str
    text: str


def written(
    cuts: Sequence[Cut],
    job: Job,
    stock: Sheet,
    *,
    name: str,
    size: tuple[float, float],
    says: Sequence[str] = (),
    higher: float = 0.0,
) -> tuple[Run, ...]:
    """The programs of one sheet: one, or one each time the cutter changes where the job wants them separate.

    Several are called NAME-1, NAME-2 and so on, and say so. `says` and `higher` as in `write`.
    """
    if job.machine.cutter_change == "separate programs":
        groups = [list(group) for _, group in itertools.groupby(cuts, key=lambda cut: cut.cutter)]
    else:
        groups = [list(cuts)]
    if len(groups) < 2:
        return (Run(name, write(cuts, job, stock, name=name, size=size, says=says, higher=higher)),)
    names = [f"{name}-{k}" for k in range(1, len(groups) + 1)]
    runs = []
    for k, group in enumerate(groups):
        place = f"Program {k + 1} of {len(groups)} for this sheet"
        place += f", to be run after {names[k - 1]}" if k else ""
        text = write(group, job, stock, name=names[k], size=size, says=[place, *says], higher=higher)
        runs.append(Run(names[k], text))
    return tuple(runs)
