"""What the header of a DXF file says about its unit: $INSUNITS and $MEASUREMENT."""

from __future__ import annotations

from typing import Any

from camkit.drawing.sketch import StatedUnit, System

__all__ = ["stated_system", "stated_unit"]

# $INSUNITS of the DXF reference, HEADER section; larger ones than km, and smaller than mil, are left out.
_INSUNITS: dict[int, tuple[str, float]] = {
    1: ("inch", 25.4),
    2: ("foot", 304.8),
    3: ("mile", 1_609_344.0),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    7: ("km", 1_000_000.0),
    9: ("mil", 0.0254),
    10: ("yard", 914.4),
    13: ("micron", 0.001),
    14: ("dm", 100.0),
}
# $MEASUREMENT of the same section.
_SYSTEMS: dict[int, System] = {0: "imperial", 1: "metric"}


def stated_unit(document: Any, raw: bytes) -> StatedUnit | None:
    """The unit that $INSUNITS names; None where it is absent, "unitless" or no unit for furniture."""
    unit = _INSUNITS.get(_number(document, raw, "$INSUNITS") or 0)
    return None if unit is None else StatedUnit(*unit, "$INSUNITS")


def stated_system(document: Any, raw: bytes) -> System:
    """The system of units that $MEASUREMENT names, "" where it is absent."""
    number = _number(document, raw, "$MEASUREMENT")
    return "" if number is None else _SYSTEMS.get(number, "")


def _number(document: Any, raw: bytes, name: str) -> int | None:
    # The loader fills in a header that is not there, metres included; only the file's own word counts.
    if name.encode() not in raw:
        return None
    try:
        return int(document.header.get(name))
    except (TypeError, ValueError):
        return None
