"""Meanings that layers' names speak of: offered as lines for the job, never used unasked."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from camkit.drawing.candidate import Candidate
from camkit.drawing.layer_words import LayerName, read_layer_name
from camkit.errors import Finding, Level
from camkit.part import LayerMeaning, LayerRule, layer_pattern

__all__ = ["ReadAs", "Reading", "offers"]

ReadAs = Literal["outline", "opening", "hole", "sheet edge"]
_SAID: dict[ReadAs, str] = {
    "outline": "outlines",
    "opening": "openings",
    "hole": "through holes",
    "sheet edge": "the sheet's border",
}
# A number in the name of a layer of holes that is this near a hole's diameter is that diameter.
_SAME_DIAMETER = 0.25
# Angles of screw heads and of the cutters sold for them (common practice, no source).
_USUAL_ANGLES = (60.0, 75.0, 82.0, 90.0, 100.0, 118.0, 120.0)


@dataclass(frozen=True, slots=True)
class Reading:
    """A closed loop and what it was read as."""

    loop: Candidate
    read_as: ReadAs


def offers(
    readings: Sequence[Reading], unit_mm: float, file: str
) -> tuple[tuple[LayerRule, ...], tuple[Finding, ...]]:
    """Rules that the names of layers speak of and nesting did not find, and one finding for each layer.

    Only layers without a rule, in the order in which they are first met; where everything is drawn on one
    layer its name tells nothing apart. `unit_mm` is the length of the
    drawing's unit, for numbers without one. A layer of pockets or engraving that is cut through for want of
    a rule is a warning, everything else a note.
    """
    if len({reading.loop.loop.layer for reading in readings}) < 2:
        return (), ()
    by_layer: dict[str, list[Reading]] = {}
    for reading in readings:
        if reading.loop.rule is None:
            by_layer.setdefault(reading.loop.loop.layer, []).append(reading)
    rules: list[LayerRule] = []
    findings: list[Finding] = []
    for layer, group in by_layer.items():
        said = read_layer_name(layer, unit_mm)
        rule = _offer(layer, said, group)
        if rule is not None:
            rules.append(rule)
            findings.append(_told(rule, said, group, file))
        elif said.operation in ("pocket", "engraving"):
            findings.append(_depth_missing(layer, said, group, file))
    return tuple(rules), tuple(findings)


def _offer(layer: str, said: LayerName, group: Sequence[Reading]) -> LayerRule | None:
    read_as = {reading.read_as for reading in group}
    pattern = layer_pattern(layer)
    if said.depth is not None and not _is_a_diameter(said, group):
        if said.operation in ("pocket", "engraving"):
            return LayerRule(pattern, "pocket", said.depth)
        # A depth alone makes no pocket of what was read as a part's outline.
        if not read_as & {"outline", "sheet edge"}:
            round_ones = said.operation == "hole" or read_as == {"hole"}
            return LayerRule(pattern, "hole" if round_ones else "pocket", said.depth)
    if said.operation == "countersink" and any(reading.loop.circle is not None for reading in group):
        return LayerRule(pattern, "countersink", angle_deg=_angle(layer))
    meaning: LayerMeaning | None = None
    match said.operation:
        case "profile" if read_as & {"opening", "hole"}:
            meaning = "profile"
        case "opening" if "outline" in read_as:
            meaning = "opening"
        case "hole" if any(r.read_as != "hole" and r.loop.circle is not None for r in group):
            meaning = "hole"
        case "sheet edge" if read_as == {"outline"} and len(group) == 1:
            meaning = "sheet edge"
    return None if meaning is None else LayerRule(pattern, meaning)


def _angle(layer: str) -> float:
    """The angle that a layer's name speaks of, if it is a usual one, else that of metric screws."""
    numbers = [float(number) for number in re.findall(r"\d+", layer)]
    return next((number for number in numbers if number in _USUAL_ANGLES), 90.0)


def _is_a_diameter(said: LayerName, group: Sequence[Reading]) -> bool:
    circles = [reading.loop.circle for reading in group]
    return said.operation in ("hole", "") and any(
        circle is not None and abs(circle[1] - (said.depth or 0.0)) <= _SAME_DIAMETER for circle in circles
    )


def _read_as(group: Sequence[Reading]) -> str:
    counts = Counter(reading.read_as for reading in group)
    return ", ".join(f"{_SAID[one]} ({counts[one]})" for one in _SAID if counts[one])


def _told(rule: LayerRule, said: LayerName, group: Sequence[Reading], file: str) -> Finding:
    through = said.operation in ("pocket", "engraving", "countersink")
    doubt = f"; the name may be cut off after {len(group[0].loop.loop.layer)} signs" if said.cut_off else ""
    if rule.depth is not None:
        read = f"its name speaks of a depth ({said.number}, {rule.depth:g} mm){doubt}"
    else:
        read = f"its name speaks of {'an' if rule.meaning == 'opening' else 'a'} {rule.meaning}{doubt}"
    level: Level = "warning" if through else "note"
    about = f"{read}, which is not used unasked; its loops were read as {_read_as(group)}"
    remedy = f"If it is meant so, write {rule.line} under [layers] in the job"
    name = "depth-offered" if rule.depth is not None else "meaning-offered"
    return replace(group[0].loop.finding(level, name, about, remedy, file), count=len(group))


def _depth_missing(layer: str, said: LayerName, group: Sequence[Reading], file: str) -> Finding:
    what = "pockets" if said.operation == "pocket" else "engraving"
    about = f"its name speaks of {what} without a depth; its loops were read as {_read_as(group)}"
    pattern = LayerRule(layer_pattern(layer), "ignore").line.removesuffix(' = "ignore"')
    remedy = f'Write {pattern} = {{ pocket = DEPTH }} or {pattern} = "ignore" under [layers] in the job'
    return replace(group[0].loop.finding("warning", "meaning-offered", about, remedy, file), count=len(group))
