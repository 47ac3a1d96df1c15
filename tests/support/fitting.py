"""Fitting all parts of a job to one and the same sheet."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.job.model import Job, JointRow
from camkit.joinery.fit import fit
from camkit.joinery.fitted import Fitted
from camkit.part import Part

__all__ = ["fit_one_sheet", "fit_without_mates"]


def fit_one_sheet(parts: Sequence[Part], job: Job) -> Fitted:
    """The parts fitted, all of them cut from the job's only sheet."""
    return fit(parts, job, list(job.sheet) * len(parts))


def fit_without_mates(parts: Sequence[Part], job: Job) -> Fitted:
    """The parts fitted though no mate of theirs is drawn, as rows without a tenon ask for."""
    rows = tuple(JointRow(mortise=part.name) for part in parts)
    return fit_one_sheet(parts, job.model_copy(update={"joint": (*job.joint, *rows)}))
