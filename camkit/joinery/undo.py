"""Parts as they were before somebody drew reliefs into them for another cutter. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from camkit.geometry.contour import Contour, contour_of, loop_of
from camkit.geometry.drawn_corners import LeftAlone
from camkit.geometry.path import Path
from camkit.part import Part

__all__ = ["Undone", "gathered_radii", "undone"]

# Radii of one cutter's reliefs differ by hundredths when they were flattened and fitted again.
_SAME = 0.04


@dataclass(frozen=True, slots=True)
class Undone:
    """A part with its drawn reliefs turned back into sharp corners, and the contours of its loops.

    `part` has its loops as drawn where no relief was undone in them (the very same objects), else with
    fillets as drawn and relieved corners sharp. Contours stand in the order of the part's loops; islands of
    pockets stay as drawn.
    """

    part: Part
    outline: Contour
    openings: tuple[Contour, ...]
    pockets: tuple[Contour, ...]

    @property
    def contours(self) -> Iterator[Contour]:
        """All contours: outline, openings, pockets."""
        yield self.outline
        yield from self.openings
        yield from self.pockets

    @property
    def radii(self) -> tuple[float, ...]:
        """The radius of every relief undone; its length is their count."""
        return tuple(corner.radius for contour in self.contours for corner in contour.reliefs)

    @property
    def left(self) -> tuple[LeftAlone, ...]:
        """Places that look like reliefs and stay as drawn, each with the reason."""
        return tuple(place for contour in self.contours for place in contour.left)


@lru_cache(maxsize=1024)
def undone(part: Part) -> Undone:
    """The part with reliefs of its outline, openings and pockets undone; see `geometry.drawn_corners`."""
    outline = contour_of(part.outline, hollow=False)
    openings = tuple(contour_of(loop, hollow=True) for loop in part.openings)
    pockets = tuple(contour_of(pocket.outline, hollow=True) for pocket in part.pockets)
    sharp = part
    if any(contour.reliefs for contour in (outline, *openings, *pockets)):
        sharp = replace(
            part,
            outline=_sharp(outline),
            openings=tuple(_sharp(contour) for contour in openings),
            pockets=tuple(
                replace(pocket, outline=_sharp(contour))
                for pocket, contour in zip(part.pockets, pockets, strict=True)
            ),
        )
    return Undone(sharp, outline, openings, pockets)


def _sharp(contour: Contour) -> Path:
    return loop_of(contour) if contour.reliefs else contour.drawn


def gathered_radii(radii: Iterable[float]) -> tuple[tuple[float, int], ...]:
    """Middle radius and count of reliefs of one cutter each, the smallest radius first."""
    groups: list[list[float]] = []
    for radius in sorted(radii):
        if groups and radius - groups[-1][-1] <= _SAME:
            groups[-1].append(radius)
        else:
            groups.append([radius])
    return tuple((group[len(group) // 2], len(group)) for group in groups)
