"""What the maker should know about pieces held by a skin or by vacuum."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.job.model import Job
from camkit.part import Placed

__all__ = ["hold_told"]


def hold_told(placed: Sequence[Placed], job: Job) -> list[Finding]:
    """Notes: pieces that a skin holds, that vacuum holds, and that are too small for vacuum alone."""
    skin = _names(piece for piece in placed if job.holding(piece.part.name) == "skin")
    sucked = [piece for piece in placed if job.holding(piece.part.name) == "vacuum"]
    small = [piece for piece in sucked if as_polygon(piece.shape.region()).area < job.tabs.vacuum_area]
    large = _names(piece for piece in sucked if piece not in small)
    found = []
    if skin:
        found.append(
            Finding(
                "note",
                "held-by-skin",
                f"a skin of {job.tabs.skin:g} mm stays under {skin}: sheet and table must be flat within "
                f"{job.tabs.skin / 2:g} mm, and a cutter set lower by that much cuts through",
                "Set Z on the table where the sheet's thickness is not sure, and pare the skin off",
            )
        )
    if large:
        found.append(
            Finding(
                "note",
                "held-by-vacuum",
                f"vacuum alone holds {large}, cut right through without tabs: it must keep "
                f"{job.tabs.vacuum_kpa:g} kPa until the last cut",
                "See that the cuts do not leak: cover what is cut through, or use tabs",
            )
        )
    for piece in small:
        area = as_polygon(piece.shape.region()).area
        found.append(
            Finding(
                "note",
                "vacuum-too-small",
                f"{piece.part.name} gets tabs too: to hold it by its {area / 100:.0f} cm2 alone, vacuum of "
                f"{job.tabs.vacuum_kpa:g} kPa would need {job.tabs.vacuum_area / 100:.0f}",
                part=piece.part.name,
            )
        )
    return found


def _names(pieces: Iterable[Placed]) -> str:
    return ", ".join(dict.fromkeys(piece.part.name for piece in pieces))
