"""The unit of a drawing: given, else stated if that can be right, else the only plausible one, else asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from camkit.drawing.drawn import UnitFrom
from camkit.drawing.evidence import Evidence
from camkit.drawing.sketch import Opened, StatedUnit
from camkit.drawing.weighing import MM_PER_UNIT, Reading, in_mm, weigh
from camkit.errors import Finding, InputError
from camkit.geometry.measure import bounds_of_all

__all__ = ["Choice", "GivenUnit", "choose_unit", "finer_scale", "first_scale", "given_unit"]

GivenUnit = Literal["mm", "cm", "inch"]
_GUESSED = ("mm", "inch", "cm", "m", "foot")
_METRIC = frozenset({"micron", "mm", "cm", "dm", "m", "km"})
_IMPERIAL = frozenset({"mil", "inch", "foot", "yard", "mile"})

# All in natural logarithms of odds, by judgement (see weighing.py). A reading rivals the best one down to a
# twentieth of its odds.
_RIVAL = 3.0
# What a header is worth, one that another header contradicts, and the mere system of units.
_HEADER, _DISPUTED, _SYSTEM = 2.0, 2.0, 1.0
# A header that may be right is believed; where another unit suits so much better, that is said, or asked.
_SAID_FROM, _ASKED_FROM = 2.0, 5.0
# px are what a program writes that was told nothing; programs for print have other densities in mind.
_SAID_FROM_PX = 1.5
_DENSITIES, _OTHER_DENSITY = (72, 90), 0.3
# A wrong unit can put a drawing farther out than any coordinate may lie; from here it is measured first.
_FAR_OUT = 1e6

# A drawing up to this long, mm, may be in feet or metres, while parts are joined by tolerances in mm.
_SMALL = 15.0
_FINER = 100.0

_REMEDY = "If that is wrong, say --unit mm, cm or inch, or unit under [drawings] in the job"
_ASK = 'Say --unit {0}{1}, or unit = "{0}" under [drawings] in the job, or save the drawing with its unit'


@dataclass(frozen=True, slots=True)
class Choice:
    """The unit settled on, mm in one drawing unit, and what there is to say about it."""

    name: str
    scale: float
    source: UnitFrom
    findings: tuple[Finding, ...] = ()


def given_unit(unit: GivenUnit, opened: Opened, file: str) -> Choice:
    """The unit that the maker says, whatever the file states."""
    stated = opened.stated
    return Choice(
        unit, MM_PER_UNIT[unit] * (stated.factor if stated else 1.0), "given", _uneven(stated, file)
    )


def first_scale(opened: Opened) -> float:
    """The scale to draw a file at before its unit is settled: what it states, if that is not far out."""
    stated = opened.stated
    if stated is None:
        return 1.0
    if stated.scale > MM_PER_UNIT["inch"]:
        pieces = opened.sketch(1.0).pieces
        if pieces and max(map(abs, bounds_of_all(p.path for p in pieces))) * stated.scale > _FAR_OUT:
            return 1.0
    return stated.scale


def finer_scale(evidence: Evidence | None, scale: float) -> float | None:
    """The scale for a second look at a drawing that came out so small that details would be taken for gaps
    and crumbs; None where the first look, at `scale`, was good enough.
    """
    if evidence is None or max(evidence.extent) * scale >= _SMALL:
        return None
    return scale * _FINER if evidence.farthest * scale * _FINER <= _FAR_OUT else None


def choose_unit(opened: Opened, evidence: Evidence | None, file: str) -> Choice:
    """The header's unit where it can be right, else the only plausible one, which is told as a warning.

    Raises InputError, naming them, where several units are plausible.
    """
    stated = opened.stated
    if evidence is None:
        return Choice(stated.name, stated.scale, "header") if stated else Choice("mm", 1.0, "guessed")
    if stated is None:
        return _unstated(opened, evidence, file)
    system = _system_of(stated)
    if opened.system and system and system != opened.system:
        return _contradicted(opened, stated, evidence, file)
    return _stated(stated, evidence, file)


def _system_of(stated: StatedUnit) -> str:
    return "metric" if stated.name in _METRIC else "imperial" if stated.name in _IMPERIAL else ""


def _weighed(
    scales: dict[str, float], evidence: Evidence, system: str = "", disputed: str = ""
) -> list[Reading]:
    """The readings in these units (mm in one drawing unit), the most plausible first."""
    readings = []
    for name, scale in scales.items():
        favour = []
        if name == disputed:
            favour.append((-_DISPUTED, f"$INSUNITS says {name}"))
        if system and name in (_METRIC if system == "metric" else _IMPERIAL):
            favour.append((-_SYSTEM, f"$MEASUREMENT says {system}"))
        readings.append(weigh(name, scale, evidence, favour))
    return sorted(readings, key=lambda reading: reading.doubt)


def _settled(why: str, readings: Sequence[Reading], evidence: Evidence, file: str) -> Reading:
    """The first of the readings; raises InputError, naming all that come near it, when one of them rivals it.

    Where mm is the best, a rarer unit is a rival only if something speaks for it that does not speak for mm,
    or if the drawing is unusual in mm; px are, for the standard speaks for them.
    """
    best = readings[0]
    rivals = [r for r in readings[1:] if not r.absurd and r.doubt - best.doubt < _RIVAL]
    rarer = best.name != "mm" or best.unusual
    asks = any(rarer or r.name == "px" or set(r.speaks_for) - set(best.speaks_for) for r in rivals)
    # A drawing without a closed loop has no part whose size could matter.
    if not asks or not evidence.loops:
        return best
    raise _unclear(why, (best, *rivals), evidence, file)


def _unclear(why: str, readings: Sequence[Reading], evidence: Evidence, file: str) -> InputError:
    plausible = [f"{r.name} ({_reasons(r, evidence)})" for r in readings]
    names = [name for name in _GUESSED[:3] if name in {r.name for r in readings}]
    others = f" (or {', '.join(names[1:])})" if len(names) > 1 else ""
    said = f"{why}, and it may be drawn in {', '.join(plausible[:-1])} or {plausible[-1]}"
    remedy = _ASK.format(names[0], others) if names else "Save the drawing with its unit"
    if any(r.name == "px" for r in readings):
        remedy += "; for px give the page a width and height"
    return InputError(Finding("error", "unit-unclear", said, remedy, file=file))


def _unstated(opened: Opened, evidence: Evidence, file: str) -> Choice:
    scales = {name: MM_PER_UNIT[name] for name in (*_GUESSED, *(("px",) if opened.px else ()))}
    readings = _weighed(scales, evidence, opened.system)
    why = "the file states no unit"
    if opened.system:
        why += f", only that it is {opened.system} ($MEASUREMENT)"
    best = _settled(why, readings, evidence, file)
    return _chosen(best, "unit-guessed", why, readings, evidence, file)


def _contradicted(opened: Opened, stated: StatedUnit, evidence: Evidence, file: str) -> Choice:
    scales = {name: MM_PER_UNIT[name] for name in _GUESSED} | {stated.name: stated.scale}
    readings = _weighed(scales, evidence, opened.system, stated.name)
    why = f"{stated.where} says {stated.name}, $MEASUREMENT says {opened.system}"
    best = _settled(why, readings, evidence, file)
    source: UnitFrom = "header" if best.name == stated.name else "guessed"
    return _chosen(best, "unit-contradiction", why, readings, evidence, file, source)


def _stated(stated: StatedUnit, evidence: Evidence, file: str) -> Choice:
    credit = 0.0 if stated.name == "px" else -_HEADER
    own = weigh(stated.name, stated.scale, evidence, ((credit, f"{stated.where} says so"),))
    scales = {name: MM_PER_UNIT[name] * stated.factor for name in _GUESSED}
    others = _weighed({n: s for n, s in scales.items() if abs(s / stated.scale - 1) > 1e-3}, evidence)
    best = others[0]
    if own.absurd and not best.absurd and best.doubt < own.doubt:
        why = f"the header says {stated.name} ({stated.where}), but then {own.absurd}"
        best = _settled(why, others, evidence, file)
        choice = _chosen(best, "unit-guessed", why, others, evidence, file)
        return replace(choice, findings=(*choice.findings, *_uneven(stated, file)))
    if stated.name == "px":
        findings = [_px_told(stated, own, best, evidence, file)]
    elif own.doubt - best.doubt > _ASKED_FROM and evidence.loops:
        why = f"the header says {stated.name} ({stated.where}), but another unit suits the drawing better"
        raise _unclear(why, (best, own), evidence, file)
    elif own.absurd or own.doubt - best.doubt > _SAID_FROM:
        findings = [_doubtful(stated, own, best, evidence, file)]
    else:
        findings = []
    return Choice(stated.name, stated.scale, "header", (*findings, *_uneven(stated, file)))


def _doubtful(stated: StatedUnit, own: Reading, best: Reading, evidence: Evidence, file: str) -> Finding:
    against = own.absurd or "; ".join(own.speaks_against) or "another unit suits the drawing better"
    said = f"the header says {stated.name} ({stated.where}); it was believed, although {against}"
    if best.doubt < own.doubt:
        said += f"; in {best.name} {_reasons(best, evidence)}"
    return Finding("warning", "unit-doubtful", said, _REMEDY, file=file)


def _px_told(stated: StatedUnit, own: Reading, best: Reading, evidence: Evidence, file: str) -> Finding:
    """px are read by the standard; nothing is asked, for who means px has no other way to say it."""
    said = f"sizes are stated in px ({stated.where}); read at 96 px to the inch, as the standard says"
    for density in _DENSITIES:
        other = weigh("px", stated.scale * 96 / density, evidence, ((_OTHER_DENSITY, ""),))
        if other.doubt < best.doubt:
            best = replace(other, name=f"px at {density} to the inch")
    if own.doubt - best.doubt <= _SAID_FROM_PX:
        return Finding("note", "unit-px", said, _REMEDY, file=file)
    said += f", {_size(own, evidence)}; {best.name} suits better: {_reasons(best, evidence)}"
    return Finding("warning", "unit-px", said, f"{_REMEDY}; or state the page's size in mm", file=file)


def _chosen(
    best: Reading,
    rule: str,
    why: str,
    readings: Sequence[Reading],
    evidence: Evidence,
    file: str,
    source: UnitFrom = "guessed",
) -> Choice:
    reasons = [_reasons(best, evidence)]
    for other in readings:
        if other.name == best.name or other.name not in ("mm", "inch", "cm"):
            continue
        if against := other.absurd or ", ".join(other.speaks_against):
            reasons.append(f"in {other.name} {against}")
        else:
            reasons.append(f"{other.name} is less likely, {_size(other, evidence)}")
    said = f"{why}; it was read in {best.name}: {'; '.join(reasons)}"
    return Choice(best.name, best.scale, source, (Finding("warning", rule, said, _REMEDY, file=file),))


def _reasons(reading: Reading, evidence: Evidence) -> str:
    said = [f"the drawing is then {_size(reading, evidence)}", *reading.speaks_for]
    if reading.speaks_against:
        said.append(f"although {' and '.join(reading.speaks_against)}")
    return ", ".join(said)


def _size(reading: Reading, evidence: Evidence) -> str:
    length, width = (in_mm(side * reading.scale) for side in evidence.extent)
    return f"{length} x {width} mm"


def _uneven(stated: StatedUnit | None, file: str) -> tuple[Finding, ...]:
    if stated is None or not stated.uneven:
        return ()
    remedy = "Give the page and its viewBox the same proportions, and measure a part before cutting"
    return (Finding("warning", "unit-uneven", stated.uneven, remedy, file=file),)
