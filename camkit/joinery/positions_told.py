"""What is said about plates' positions: loops that cannot close, and what was drawn off. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from camkit.errors import Finding
from camkit.joinery.plate_lines import Hosted, Line, Tie
from camkit.joinery.plate_shifts import Loop
from camkit.joinery.standing import Standing
from camkit.joinery.stations import Station
from camkit.part import Part

__all__ = ["cannot_close", "drawn_off", "in_order", "names_of", "not_kept", "not_settled"]

# Openings that miss what their shoulders ask by more may jam; less goes into any clearance.
_OFF = 0.1
# Drawn play up to this gives way to the job's clearance, more is taken as meant and kept.
_REPLACED = 0.5


def drawn_off(line: Line, ties: Sequence[Tie], parts: Sequence[Part]) -> Iterator[Finding]:
    """Warnings about openings that are drawn nearer or farther than plates and shoulders between them need.

    Such a drawing closes only while its play is there; moves keep what was drawn.
    """
    told = set()
    for tie in ties:
        wanted = abs(tie.second.place - tie.first.place)
        for one in line.hosted:
            low, high = (_taker(one, plate) for plate in (tie.low, tie.high))
            if low is None or high is None or min(low.slack, high.slack) > _REPLACED / 2:
                continue
            off = abs(high.place - low.place) - wanted
            if abs(off) > _OFF and (one.frame, tie.low, tie.high) not in told:
                told.add((one.frame, tie.low, tie.high))
                host, between = parts[one.frame.part], parts[tie.frame.part]
                (x, y), (u, v) = low.features[0].middle, high.features[0].middle
                yield Finding(
                    "warning",
                    "drawn-off",
                    f"the openings of {host.name} at ({x:.1f}, {y:.1f}) and ({u:.1f}, {v:.1f}) are drawn "
                    f"{abs(off):.2f} mm {'farther apart' if off > 0 else 'nearer'} than the shoulders of "
                    f"{between.name} and the plates need; they may jam with less play than drawn",
                    f"Draw their middles {wanted:.2f} mm apart",
                    x_mm=x,
                    y_mm=y,
                    amount_mm=abs(off),
                    part=host.name,
                    file=host.source.file or None,
                )


def _taker(hosted: Hosted, plate: int) -> Station | None:
    """Where the part receives the plate."""
    stations = zip(hosted.frame.stations, hosted.at, strict=True)
    return next((one for one, at in stations if at == plate and not one.side), None)


def not_kept(part: Part) -> Finding:
    """The warning about ends that nobody can move for the sake of outer faces."""
    return Finding(
        "warning",
        "outside-not-kept",
        f"the ends of {part.name} keep their place, so an outside size may change: they have fingers, or it "
        "is not clear which edges stand in housings",
        "Draw the part as long as outer faces ask, or let the distances between shoulders stay",
        part=part.name,
        file=part.source.file or None,
    )


def in_order(standing: Standing, parts: Sequence[Part]) -> Finding:
    """The warning that joints close in this order of like parts, named from where it begins."""
    order = ", ".join(parts[one].name for one in standing.order)
    places = [plate.place for plate in standing.line.plates]
    start = _taker(standing.line.hosted[0], places.index(min(places)))
    host = parts[standing.line.hosted[0].frame.part]
    (x, y) = start.features[0].middle if start is not None else host.outline.start
    return Finding(
        "warning",
        "stand-in-order",
        f"from ({x:.1f}, {y:.1f}) in {host.name} on stand {order}: so all mortises are filled and their "
        "loops close, in other orders they may not",
        "Look whether they are meant to stand so, and assemble them in this order",
        x_mm=x,
        y_mm=y,
        part=host.name,
        file=host.source.file or None,
    )


def not_settled(line: Line, parts: Sequence[Part]) -> Finding:
    """The warning about parts that fit several places of a line whose plates move unlike."""
    names = names_of(dict.fromkeys(parts[one.frame.part].name for one in line.again))
    part = parts[line.again[0].frame.part]
    return Finding(
        "warning",
        "fits-several-places",
        f"{names} may stand over several plates of the line, which move unlike: fitted for the first only",
        "Look at the places of its openings, and draw more of the joints that tell where it stands",
        part=part.name,
        file=part.source.file or None,
    )


def cannot_close(loop: Loop, parts: Sequence[Part], ties: Sequence[Tie]) -> Finding:
    """The error that asks which part may change its length."""
    used: set[int] = set()
    over, under = (_spelled(ways, parts, used) for ways in (loop.over, loop.under))
    ways = (*loop.over, *loop.under)
    plates = {k for alike in ways for k in (alike[0].low, alike[0].high)}
    first = parts[loop.over[0][0].frame.part]
    choices = [
        f"{names} {loop.misfit:.2f} mm {word}"
        + (f" together, {loop.misfit / count:.2f} mm each" if count > 1 else "")
        for names, count, word in (
            (over, len(loop.over), "shorter"),
            (under, len(loop.under), "longer"),
        )
    ]
    return Finding(
        "error",
        "loop-cannot-close",
        f"the shoulders of {over} and of {under} cannot all keep their distances: over the {len(plates)} "
        f"plates in line they miss by {loop.misfit:.2f} mm" + _everywhere(loop, parts, ties),
        f"Which part may change its length between shoulders? Draw {choices[0]}, or {choices[1]}",
        amount_mm=loop.misfit,
        part=first.name,
        file=first.source.file or None,
    )


def _everywhere(loop: Loop, parts: Sequence[Part], ties: Sequence[Tie]) -> str:
    """Parts of the loop that fit more places than there are such parts, and are taken to stand in all."""
    places: dict[int, set[tuple[int, int]]] = {}
    for tie in ties:
        places.setdefault(tie.frame.part, set()).add((tie.low, tie.high))
    said = []
    for alike in (*loop.over, *loop.under):
        part = alike[0].frame.part
        equal = sum(other == places[part] for other in places.values())
        if len(places[part]) > equal:
            said.append(
                f"; {parts[part].name} is taken to stand in all {len(places[part])} bays that it fits"
            )
    return "".join(dict.fromkeys(said))


def _spelled(ways: Sequence[tuple[Tie, ...]], parts: Sequence[Part], used: set[int]) -> str:
    """Names of the parts that stand there, equal ones in turn, with how often each is needed."""
    counts: dict[str, int] = {}
    for alike in ways:
        choice = [tie.frame.part for tie in alike]
        part = next((one for one in choice if one not in used), choice[0])
        used.add(part)
        counts[parts[part].name] = counts.get(parts[part].name, 0) + 1
    return names_of([f"{name} ({count} times)" if count > 1 else name for name, count in counts.items()])


def names_of(names: Iterable[str], last: str = "and") -> str:
    """Up to four names in words; of more three, and how many there are besides."""
    shown = list(names)
    more = [f"{len(shown) - 3} more"] if len(shown) > 4 else []
    shown = [*shown[:3], *more] if more else shown
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} {last} {shown[-1]}"
