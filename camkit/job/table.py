"""What every table of the job file is."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

__all__ = ["Table"]


class Table(BaseModel):
    """A table of the job file: frozen, and nothing in it that is not known."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
