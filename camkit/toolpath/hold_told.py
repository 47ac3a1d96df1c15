"""What the maker should know about pieces held by a skin or by vacuum."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from camkit.cut import Cut
from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.job.model import Job
from camkit.part import Placed

__all__ = ["hold_told", "low_tabs"]


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


def low_tabs(cuts: Sequence[Cut], job: Job, thickness: float) -> list[Finding]:
    """A note when tabs are lower than asked, since longer ones find no room; the sheet is `thickness` mm."""
    asked = min(job.tabs.height, thickness / 2)
    low: dict[str, float] = {}
    for cut in cuts:
        low[cut.part] = min([low.get(cut.part, asked), *(tab.height for tab in cut.tabs)])
    names = [name for name, height in low.items() if height < asked - 0.01]
    if not names:
        return []
    least = min(low[name] for name in names)
    what = (
        f"tabs of {', '.join(names)} are {least:.2g} mm high, not {asked:.2g}: longer ones find no room there"
    )
    remedy = "Give places (tabs in its [[part]] row), or let the cutter be smaller, if these are too weak"
    return [Finding("note", "low-tabs", what, remedy)]


def _names(pieces: Iterable[Placed]) -> str:
    return ", ".join(dict.fromkeys(piece.part.name for piece in pieces))
