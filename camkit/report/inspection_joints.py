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
    """Joints found for a `thickness`, which is a guess where no job states it."""

    thickness: float
    guessed: bool
    found: Pairs


def joints_of(parts: Sequence[Part], drawn_thickness: float | None) -> Joints | None:
    """The joints for the drawn thickness, or for the commonest slot width; None without either."""
    likely = likely_slots(parts) if drawn_thickness is None else ()
    thickness = drawn_thickness if drawn_thickness is not None else likely[0].width if likely else None
    if thickness is None:
        return None
    return Joints(thickness, drawn_thickness is None, pairs(parts, [thickness] * len(parts)))


def joint_lines(parts: Sequence[Part], drawn_thickness: float | None) -> list[str]:
    """Pairs in words, each kind and two parts in a line; empty where no joint is found."""
    joints = joints_of(parts, drawn_thickness)
    if joints is None or not (joints.found.pairs or joints.found.wedges or joints.found.lone):
        return []
    said = "a guess: the likely slots' width" if joints.guessed else "as the job says"
    lines = [f"joints, if drawn for {length_text(joints.thickness)} ({said}):"]
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
