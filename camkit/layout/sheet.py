"""The sheets that a layout uses. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

from camkit.job.model import Sheet

__all__ = ["SheetUse"]


@dataclass(frozen=True, slots=True)
class SheetUse:
    """One sheet on the table, cut from `stock`: `size` along X and Y; `number` counts from 1."""

    number: int
    size: tuple[float, float]
    stock: Sheet

    @property
    def thickness(self) -> float:
        """Measured thickness, the mean of the readings."""
        return self.stock.thickness
