"""A sheet on the table and what it must keep to. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SheetUse"]


@dataclass(frozen=True, slots=True)
class SheetUse:
    """One sheet on the table: length along X, width along Y, mean thickness, in mm; `number` counts from 1."""

    number: int
    size: tuple[float, float]
    thickness: float
