"""What is said about the reliefs of a part: troubles at their place, the rest once. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from camkit.errors import Finding, Level
from camkit.joinery.relief_choice import Choice
from camkit.joinery.relief_plan import Planned
from camkit.joinery.seats import Seated
from camkit.joinery.webs import Thin
from camkit.part import Part

__all__ = ["fillet_gone", "reliefs_told"]

_ONCE = ("relief-shows", "roots-round")


def reliefs_told(part: Part, seats: Sequence[Seated], planned: Planned) -> list[Finding]:
    """All findings about the reliefs planned for a part's seats."""
    both = list(zip(seats, planned.choices, strict=True))
    pockets = range(1 + len(part.openings), 1 + len(part.openings) + len(part.pockets))
    openings = range(1, 1 + len(part.openings))
    return [
        *(finding for seated, choice in both for finding in _at_its_place(part, seated, choice)),
        *_shows(part, both),
        *_roots(part, both),
        *(
            _thin(part, one, soft=any(loop in pockets for loop in one.loops))
            for one in planned.thin
            # Openings that break through are told with all that widening did to them.
            if one.left > 0 or not any(loop in openings for loop in one.loops)
        ),
    ]


def _at_its_place(part: Part, seated: Seated, choice: Choice) -> Iterator[Finding]:
    task = seated.task
    if task is not None and choice.overcut:
        yield task.overcut()
    for said in choice.said:
        if said.rule in _ONCE:
            continue
        if task is not None:
            yield task.no_room(seated.depth) if said.rule == "relief-room" else task.finding(*said)
        elif seated.rooted is not None:
            message = f"{seated.seat.place} {said.message}"
            yield _finding(part, said.level, said.rule, message, said.remedy, seated.rooted.middle)


def _shows(part: Part, both: Sequence[tuple[Seated, Choice]]) -> Iterator[Finding]:
    shown = [
        (seated.task, said)
        for seated, choice in both
        for said in choice.said
        if said.rule == "relief-shows" and seated.task is not None
    ]
    if not shown:
        return
    (task, said), count = shown[0], len(shown)
    place = task.opening.place
    where = f"at ({place.middle[0]:.1f}, {place.middle[1]:.1f})"
    which = f"the mortise {where}" if count == 1 else f"{count} mortises, the first {where},"
    verb = "has" if count == 1 else "have"
    message = f"{which} {verb} {said.message.removeprefix('has ')}"
    yield _finding(part, said.level, said.rule, message, said.remedy, place.middle, count)


def _roots(part: Part, both: Sequence[tuple[Seated, Choice]]) -> Iterator[Finding]:
    tenons = [(seated, choice) for seated, choice in both if seated.rooted is not None]
    left = [(seated, said) for seated, choice in tenons for said in choice.said if said.rule == "roots-round"]
    if left:
        (seated, said), count = left[0], len(left)
        which = seated.seat.place if count == 1 else f"{count} tenons, the first of them {seated.seat.place},"
        message = f"{which} {said.message}" if count == 1 else f"{which} {_plural(said.message)}"
        yield _finding(part, said.level, said.rule, message, said.remedy, _middle(seated), count)
    ways = Counter(
        _way(seated, corner, choice) for seated, choice in tenons for corner in sorted(choice.reliefs)
    )
    if ways:
        total = sum(ways.values())
        how = ", ".join(f"{count} {way}" for way, count in sorted(ways.items()))
        first = next(seated for seated, choice in tenons if choice.reliefs)
        message = f"roots of tenons relieved, so that shoulders seat: {how}"
        yield _finding(part, "note", "roots-relieved", message, "", _middle(first), total)


def _plural(message: str) -> str:
    return message.replace("keeps", "keep", 1).replace("its shoulders", "their shoulders")


def _way(seated: Seated, corner: int, choice: Choice) -> str:
    past = choice.reliefs[corner].past
    if past == "both":
        return "by dogbones"
    root = next(one for one in seated.seat.roots if one.corner == corner)
    into_side = (past == "before") == (root.side == corner)
    return "into the tenon's side" if into_side else "into the shoulder"


def _middle(seated: Seated) -> tuple[float, float]:
    return seated.rooted.middle if seated.rooted else (0.0, 0.0)


def _thin(part: Part, thin: Thin, *, soft: bool) -> Finding:
    if thin.left <= 0 and not soft:
        return _finding(
            part,
            "error",
            "relief-breaks-through",
            f"the reliefs of {thin.one} break through into {thin.other}",
            "Move them apart in the drawing, or use a smaller cutter",
            (thin.x, thin.y),
        )
    return _finding(
        part,
        "warning",
        "thin-web",
        f"only {thin.left:.2f} mm of wood stays between {thin.one} and {thin.other} once corners are "
        "relieved",
        "Move them apart in the drawing, or use a smaller cutter",
        (thin.x, thin.y),
    )


def fillet_gone(part: Part, reason: str) -> Finding:
    """A fillet of the outline no longer fits."""
    return Finding(
        "error",
        "cannot-refit",
        f"the outline cannot follow the sheet: {reason}",
        "Draw smaller fillets beside its joints, or draw for the measured thickness",
        part=part.name,
        file=part.source.file or None,
    )


def _finding(
    part: Part,
    level: Level,
    rule: str,
    message: str,
    remedy: str,
    at: tuple[float, float],
    count: int = 1,
) -> Finding:
    return Finding(
        level,
        rule,
        message,
        remedy,
        x_mm=at[0],
        y_mm=at[1],
        part=part.name,
        file=part.source.file or None,
        count=count,
    )
