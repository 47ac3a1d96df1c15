"""What a table and a picture of a drawing say alike: parts in rows, numbers, features, findings in order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from camkit.drawing.drawn import Drawn
from camkit.drawing.slots import likely_slots
from camkit.geometry.measure import bounds
from camkit.geometry.path import Path
from camkit.part import Part
from camkit.report.numbered import Numbered, without_folder
from camkit.report.words import length_text

__all__ = [
    "EN_DASH",
    "PartRow",
    "counted_parts",
    "has_own_name",
    "hole_counts",
    "left_lines",
    "numbered_findings",
    "numbers_text",
    "part_rows",
    "pocket_counts",
    "sink_counts",
    "slots_text",
    "unit_text",
]

# Between the first and the last number of a stretch, in pictures.
EN_DASH = "\N{EN DASH}"
_WORST_FIRST = ("error", "warning", "note")
_FROM = {
    "header": "as the file says",
    "given": "as it was given",
    "guessed": "guessed, the file does not say",
}
# A list of numbers with more letters than this is cut short.
_LONGEST = 48
# Lines that drew themselves out of rounding: nobody could find them in a picture.
_UNSEEN = 0.05
# Hints beyond the commonest widths are no help.
_MOST_WIDTHS = 4


@dataclass(frozen=True, slots=True)
class PartRow:
    """Parts that look alike in a list; `numbers` count from 1, `part` is the first of them."""

    numbers: tuple[int, ...]
    part: Part

    @property
    def title(self) -> str:
        """The part's name; of several, how many they are."""
        return self.part.name if len(self.numbers) == 1 else f"{len(self.numbers)} parts of one size"


def has_own_name(part: Part, number: int) -> bool:
    """Whether the drawing names the part; else it is called by its number."""
    return part.name != f"part {number}"


def part_rows(parts: Sequence[Part]) -> list[PartRow]:
    """The parts in rows: unnamed ones of one size, with the same features, share one."""
    rows: dict[object, list[int]] = {}
    for number, part in enumerate(parts, start=1):
        key: object = number if has_own_name(part, number) else _looks(part)
        rows.setdefault(key, []).append(number)
    return [PartRow(tuple(numbers), parts[numbers[0] - 1]) for numbers in rows.values()]


def _looks(part: Part) -> object:
    x0, y0, x1, y1 = bounds(part.outline)
    size = (length_text(x1 - x0), length_text(y1 - y0))
    holes = (*hole_counts(part), *sink_counts(part))
    return (size, len(part.openings), holes, tuple(pocket_counts(part)))


def hole_counts(part: Part) -> list[tuple[int, str, str]]:
    """Count, diameter and depth ("" through) of the holes, by diameter.

    As many decimals as are read: splines taken for circles differ in the sixth.
    """
    holes = Counter((round(h.diameter, 2), round(h.depth or 0.0, 2)) for h in part.holes)
    return [
        (count, length_text(diameter), length_text(depth) if depth else "")
        for (diameter, depth), count in sorted(holes.items())
    ]


def sink_counts(part: Part) -> list[tuple[int, str]]:
    """Count and diameter of the countersinks, narrow ones first."""
    sinks = Counter(round(h.countersink.diameter, 2) for h in part.holes if h.countersink is not None)
    return [(count, length_text(diameter)) for diameter, count in sorted(sinks.items())]


def pocket_counts(part: Part) -> list[tuple[int, str]]:
    """Count and depth of the pockets, shallow ones first."""
    depths = Counter(round(pocket.depth, 2) for pocket in part.pockets)
    return [(count, length_text(depth)) for depth, count in sorted(depths.items())]


def numbers_text(numbers: Sequence[int], dash: str = "-", longest: int = _LONGEST) -> str:
    """Rising numbers, stretches joined: "4, 7-16"; of many the first, and how many more: "4, 6 +30"."""
    said, told = "", 0
    for first, last in _stretches(numbers):
        run = str(first) if first == last else f"{first}{dash if last > first + 1 else ', '}{last}"
        if said and len(said) + 2 + len(run) > longest:
            return f"{said} +{len(numbers) - told}"
        said = f"{said}, {run}" if said else run
        told += last - first + 1
    return said


def _stretches(numbers: Sequence[int]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def numbered_findings(drawn: Drawn) -> tuple[Numbered, ...]:
    """The findings as table and picture count them, worst first; their file is named without its folder."""
    found = sorted(drawn.findings, key=lambda finding: _WORST_FIRST.index(finding.level))
    return tuple(
        Numbered(
            number, without_folder(f), place=None if f.x_mm is None or f.y_mm is None else (f.x_mm, f.y_mm)
        )
        for number, f in enumerate(found, start=1)
    )


def left_lines(drawn: Drawn) -> list[Path]:
    """The lines and loops that are not cut, those too small to be seen left out."""
    return [path for path in drawn.left if _size(path) > _UNSEEN]


def _size(path: Path) -> float:
    x0, y0, x1, y1 = bounds(path)
    return max(x1 - x0, y1 - y0)


def slots_text(parts: Sequence[Part]) -> str:
    """Which openings look like slots for a sheet, as a hint; empty where none do."""
    said = []
    for slots in likely_slots(parts)[:_MOST_WIDTHS]:
        numbers = [number + 1 for number in slots.parts]
        where = f"part{'s' if len(numbers) > 1 else ''} {numbers_text(numbers)}"
        said.append(f"{length_text(slots.width)} wide, {slots.count} times ({where})")
    return f"likely slots for a sheet: {'; '.join(said)}" if said else ""


def counted_parts(parts: Sequence[Part]) -> str:
    """How many parts there are."""
    return f"{len(parts)} part{'' if len(parts) == 1 else 's'}"


def unit_text(drawn: Drawn) -> str:
    """The unit and who said so."""
    return f"drawn in {drawn.unit}, {_FROM[drawn.unit_from]}"
