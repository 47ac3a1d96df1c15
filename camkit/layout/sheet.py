"""The sheets that a layout uses. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SheetUse"]


@dataclass(frozen=True, slots=True)
class SheetUse:
    """One sheet on the table: `size` along X and Y, mean `thickness`; `number` counts from 1."""

    number: int
    size: tuple[float, float]
    thickness: float
