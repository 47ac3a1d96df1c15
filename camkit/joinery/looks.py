"""Which parts are equal, so that either may stand for the other; mirrored twins are equal too."""

from __future__ import annotations

from collections.abc import Sequence

from camkit.geometry.measure import length
from camkit.geometry.path import Path, signed_area
from camkit.joinery.plates import Plates
from camkit.part import Part

__all__ = ["looks"]

# Copies of one part differ by what was mended in them: so much of their area, so many mm around.
_AREA_SHARE, _AROUND = 1e-3, 1.0

_Measures = tuple[tuple[float, float], ...]


def looks(parts: Sequence[Part], glued: Plates) -> list[object]:
    """For each part a value that equal parts share: outline and openings are alike; of layers, all layers."""
    kinds: list[_Measures] = []
    alone = []
    for part in parts:
        mine = _measures(part)
        kind = next((k for k, other in enumerate(kinds) if _alike(mine, other)), len(kinds))
        if kind == len(kinds):
            kinds.append(mine)
        alone.append(kind)
    return [tuple(sorted(alone[layer] for layer in glued.layers(k))) for k in range(len(parts))]


def _measures(part: Part) -> _Measures:
    """Area and length of the outline, then those of the openings, by size."""
    return (_measured(part.outline), *sorted(_measured(opening) for opening in part.openings))


def _measured(path: Path) -> tuple[float, float]:
    return abs(signed_area(path)), length(path)


def _alike(one: _Measures, other: _Measures) -> bool:
    return len(one) == len(other) and all(
        abs(a - b) <= _AREA_SHARE * max(a, b) and abs(p - q) <= _AROUND
        for (a, p), (b, q) in zip(one, other, strict=True)
    )
