"""Joints of a drawing as `inspect` tells them: how many of each kind, which parts meet, what is guessed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.drawing.slots import likely_slots
from camkit.joinery.pairs import Pairs, pairs
from camkit.part import Part
from camkit.report.words import length_text

__all__ = ["Joints", "joint_lines", "joints_of"]

# Hints at more pairs are no help on a terminal.
_MOST = 12


@dataclass(frozen=True, slots=True)
class Joints:
    """Joints found for the `thicknesses` of parts, rising, each once; a guess where no job states them."""

    thicknesses: tuple[float, ...]
    guessed: bool
    found: Pairs


def joints_of(parts: Sequence[Part], thicknesses: Sequence[float] | None) -> Joints | None:
    """The joints for each part's drawn thickness, or for the commonest slot width; None without either."""
    if guessed := thicknesses is None:
        likely = likely_slots(parts)
        thicknesses = [likely[0].width] * len(parts) if likely else []
    if not thicknesses:
        return None
    return Joints(tuple(sorted(set(thicknesses))), guessed, pairs(parts, thicknesses))


def joint_lines(parts: Sequence[Part], thicknesses: Sequence[float] | None) -> list[str]:
    """Pairs in words, each kind and two parts in a line; empty where no joint is found."""
    joints = joints_of(parts, thicknesses)
    if joints is None or not (joints.found.pairs or joints.found.wedges or joints.found.lone):
        return []
    said = "a guess: the likely slots' width" if joints.guessed else "as the job says"
    drawn_for = " and ".join(length_text(thickness) for thickness in joints.thicknesses)
    lines = [f"joints, if drawn for {drawn_for} ({said}):"]
    meeting: Counter[tuple[str, int, int]] = Counter()
    for pair in joints.found.pairs:
        meeting[(pair.kind, *pair.parts)] += max(1, len(pair.takes))
    rows = [
        f"  {count} {kind}: {parts[one].name} and {parts[other].name}"
        for (kind, one, other), count in meeting.items()
    ]
    lines += rows[:_MOST]
    if len(rows) > _MOST:
        lines.append(f"  and {len(rows) - _MOST} more, all in the words of inspect --json")
    if joints.found.wedges:
        lines.append(f"  openings for wedges, no joints of the sheet: {len(joints.found.wedges)}")
    for kind, count in sorted(Counter(one.kind for one in joints.found.lone).items()):
        name = "flush tenon" if kind == "step" else kind
        lines.append(f"  without a mate: {count} {name}{'s' if count > 1 else ''}")
    return lines
