"""Drawn reliefs as `inspect` tells them: how many of which radius, and what only looks like one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from camkit.joinery.undo import gathered_radii, undone
from camkit.part import Part
from camkit.report.words import length_text

__all__ = ["relief_lines"]


def relief_lines(parts: Sequence[Part]) -> list[str]:
    """One line for the reliefs of all parts, one for each reason why places stay as drawn; often none."""
    found = [undone(part) for part in parts]
    radii = gathered_radii([radius for one in found for radius in one.radii])
    lines = []
    if radii:
        said = ", ".join(f"{count} of radius {length_text(radius)}" for radius, count in radii)
        lines.append(f"reliefs drawn: {said}; joints are told for the sharp corners they were cut for")
    reasons = Counter(place.reason for one in found for place in one.left)
    lines += [f"like reliefs, but taken as drawn: {count}; {reason}" for reason, count in reasons.items()]
    return lines
