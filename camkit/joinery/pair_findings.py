"""What is to be said of pairs: two possible mates, none, tenons too long, rows of the job that fit nothing.

Lengths in mm.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from camkit.errors import Finding, Level
from camkit.joinery.features import LONGER, Feature
from camkit.joinery.rows import Options, Row
from camkit.joinery.simple_pairs import Pair
from camkit.part import Part

__all__ = ["by_its_looks", "fits_nothing", "lone_tenons", "no_mate", "other_stock", "too_long", "two_mates"]

# Openings are mortises by their looks when they are about as wide as the sheet, and longer than wide.
_ASPECT, _BAND = 1.5, 0.6
# Plywood as sold (EN 315 lists no sizes; common practice), and how far a slot drawn for it may be off.
_STOCK, _OFF = (3.0, 4.0, 6.0, 6.5, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 27.0, 30.0), 0.3
_FEWEST = 2
# Shapes of one part that are named at most.
_MOST_SHAPES = 6

# Two plates in two places can change them by turning the part that takes them.
_FEWEST_PLACES = 3

Given = Sequence[tuple[Row, tuple[Feature, ...]]]


def by_its_looks(opening: Feature, thicknesses: Sequence[float]) -> bool:
    """Whether an opening without a mate is so like a mortise that its mate is missed."""
    near = any(abs(opening.width - opening.layers * t) <= _BAND for t in thicknesses)
    return near and opening.length >= _ASPECT * opening.width


def too_long(
    parts: Sequence[Part],
    tenons: Sequence[Feature],
    mortises: Sequence[Feature],
    having: set[Feature],
    wanted: set[Feature],
    thicknesses: Sequence[float],
) -> Iterator[tuple[Feature, Feature, Finding]]:
    """Tenons and mortises without mates that would be each other's but for a little length."""
    used: set[Feature] = set()
    for mortise in mortises:
        if mortise in wanted or not by_its_looks(mortise, thicknesses):
            continue
        for tenon in tenons:
            over = tenon.width - mortise.length
            near = -LONGER[0] < over <= LONGER[1] and tenon.part != mortise.part
            if near and tenon not in having and tenon not in used:
                used.add(tenon)
                one, other = parts[tenon.part], parts[mortise.part]
                said = _finding(
                    "error",
                    "tenon-too-long",
                    f"the tenon of {one.name} is {tenon.width:.2f} mm wide, the mortise of {other.name} at "
                    f"({mortise.middle[0]:.1f}, {mortise.middle[1]:.1f}) only {mortise.length:.2f} mm long",
                    "Draw the mortise 0.2 to 0.5 mm longer than the tenon is wide, or the tenon narrower",
                    other,
                    mortise,
                )
                yield tenon, mortise, said
                break


def two_mates(
    parts: Sequence[Part],
    sheets: Sequence[float],
    choices: Options,
    given: Given,
    looks: Sequence[object],
) -> Iterator[Finding]:
    """Rows of tenons that unlike parts may take, and mortises that unlike sheets may enter.

    `sheets` are the thicknesses that joints are cut for. Of equal parts that may enter each is told once.
    """
    told = set()
    same_cut: dict[tuple[int, int], list[Row]] = {}
    for row, taken in choices.items():
        mates = {looks[fit[0].part]: fit[0].part for fit in reversed(taken)}
        if len(mates) < 2:
            continue
        first, second = sorted(mates.values())[:2]
        if (looks[row.part], first, second) in told:
            continue
        told.add((looks[row.part], first, second))
        if len({sheets[mate] for mate in mates.values()}) == 1:
            same_cut.setdefault((first, second), []).append(row)
            continue
        name, one, other = (parts[k].name for k in (row.part, first, second))
        yield _finding(
            "error",
            "two-mates",
            f"the tenons of {name} fit the mortises of {one} as well as those of {other}",
            f"Write into the job {_joint(name, one)}\nor {_joint(name, other)}",
            parts[row.part],
            row.members[0],
        )
    for (first, second), rows in same_cut.items():
        names = list(dict.fromkeys(parts[row.part].name for row in rows))
        yield _finding(
            "note",
            "two-mates",
            f"the tenons of {' and '.join(names)} fit the mortises of {parts[first].name} as well as those "
            f"of {parts[second].name}; the cut is the same either way",
            "",
            parts[rows[0].part],
            rows[0].members[0],
        )
    yield from _changeable(parts, sheets, choices, given)
    yield from _in_what_order(parts, sheets, choices, given)
    yield from _left_out(parts, sheets, choices, given, looks)


def _left_out(
    parts: Sequence[Part],
    sheets: Sequence[float],
    choices: Options,
    given: Given,
    looks: Sequence[object],
) -> Iterator[Finding]:
    """Rows that found all their mortises taken by others."""
    holders = {mortise: row for row, fit in given for mortise in fit}
    having = {row for row, _ in given}
    told = set()
    for row, taken in choices.items():
        for fit in taken if row not in having else ():
            other = holders.get(fit[0])
            if other is None:
                continue
            differs = sheets[row.part] != sheets[other.part]
            if not differs and looks[other.part] == looks[row.part]:
                continue
            one, two, plate = parts[other.part].name, parts[row.part].name, parts[fit[0].part].name
            if (one, two, plate) in told:
                continue
            told.add((one, two, plate))
            yield _finding(
                "error" if differs else "note",
                "two-mates",
                f"the mortises of {plate} take the tenons of {one} as well as those of {two}"
                + (
                    f", {sheets[other.part]:.2f} and {sheets[row.part]:.2f} thick"
                    if differs
                    else "; the cut is the same either way"
                ),
                f"Write into the job {_joint(one, plate)}\nor {_joint(two, plate)}"
                if differs
                else "Nothing need be done; a [[joint]] row names the one that is meant",
                parts[fit[0].part],
                fit[0],
            )


def _changeable(
    parts: Sequence[Part], sheets: Sequence[float], choices: Options, given: Given
) -> Iterator[Finding]:
    """Two rows of unlike thickness that could change places: their mortises would be cut the other way."""
    told = set()
    for k, (row, fit) in enumerate(given):
        for other, theirs in given[:k]:
            differs = sheets[row.part] != sheets[other.part] and fit[0].part != theirs[0].part
            if differs and set(fit) != set(theirs) and theirs in choices[row] and fit in choices[other]:
                one, two, plate = parts[other.part].name, parts[row.part].name, parts[theirs[0].part].name
                if (one, two, plate) not in told:
                    told.add((one, two, plate))
                    yield _finding(
                        "error",
                        "two-mates",
                        f"the mortises of {plate} take the tenons of {one}, {sheets[other.part]:g} "
                        f"thick, as well as those of {two}, {sheets[row.part]:g} thick",
                        f"Write into the job {_joint(one, plate)}\nor {_joint(two, plate)}",
                        parts[theirs[0].part],
                        theirs[0],
                    )


def _in_what_order(
    parts: Sequence[Part], sheets: Sequence[float], choices: Options, given: Given
) -> Iterator[Finding]:
    """Like rows of unlike sheets that may stand in three or more places of one part: no drawing says where.

    Two places are the same either way round.
    """
    told = set()
    for row, fit in given:
        plate = fit[0].part
        alike = [other for other, theirs in given if theirs[0].part == plate and fit in choices[other]]
        thick = {sheets[other.part]: other.part for other in reversed(alike)}
        if len(alike) < _FEWEST_PLACES or len(thick) < 2 or plate in told or row is not alike[0]:
            continue
        told.add(plate)
        one, two = sorted(thick.values())[:2]
        yield _finding(
            "error",
            "two-mates",
            f"{len(alike)} mortises of {parts[plate].name} take the tenons of {parts[one].name} as well as "
            f"those of {parts[two].name}, {sheets[one]:.2f} and {sheets[two]:.2f} thick; no drawing says "
            "which stands where",
            "Draw tenons of unlike sheets a millimetre or two unlike in width, or cut both from one sheet",
            parts[plate],
            fit[0],
        )


def _joint(tenon: str, mortise: str) -> str:
    return f'[[joint]]\ntenon = "{tenon}"\nmortise = "{mortise}"'


def no_mate(parts: Sequence[Part], lone: Iterable[Feature]) -> Iterator[Finding]:
    """Openings that look like mortises and have no tenon."""
    for one in lone:
        x, y = one.middle
        yield _finding(
            "warning",
            "no-mate",
            f"no tenon fits the mortise of {one.width:.2f} x {one.length:.2f} mm at ({x:.1f}, {y:.1f})",
            "Draw a tenon up to 1.3 mm narrower than the mortise is long, write a [[joint]] row with "
            f'mortise = "{parts[one.part].name}" alone to have it fitted all the same, or take it for '
            "no joint",
            parts[one.part],
            one,
        )


def lone_tenons(parts: Sequence[Part], lone: Iterable[Feature]) -> Iterator[Finding]:
    """Flush tenons that nothing takes, a part's in one."""
    of_part: dict[int, list[Feature]] = {}
    for one in lone:
        of_part.setdefault(one.part, []).append(one)
    for part, alike in of_part.items():
        x, y = alike[0].middle
        what = "the tenon" if len(alike) == 1 else f"{len(alike)} tenons, the first"
        yield _finding(
            "warning",
            "no-mate",
            f"no mortise fits {what} {alike[0].width:.2f} mm wide at ({x:.1f}, {y:.1f}); its mate is missing",
            "Draw a mortise 0.2 to 0.5 mm longer than the tenon is wide, or take it for no joint",
            parts[part],
            alike[0],
        )


def other_stock(
    parts: Sequence[Part], openings: Iterable[Feature], thicknesses: Sequence[float]
) -> Iterator[Finding]:
    """Slots as wide as another sheet than the job's, two or more in a part: for other stock, or no joints."""
    groups: dict[tuple[int, float], list[Feature]] = {}
    for one in openings:
        stock = min(_STOCK, key=lambda size: abs(size - one.width))
        ours = any(abs(stock - n * t) <= 2 * _BAND for t in thicknesses for n in (1, 2, 3))
        if abs(stock - one.width) <= _OFF and one.length >= _ASPECT * one.width and not ours:
            groups.setdefault((one.part, stock), []).append(one)
    for (part, stock), alike in groups.items():
        if len(alike) >= _FEWEST:
            yield _finding(
                "note",
                "other-stock",
                f"{len(alike)} openings are {alike[0].width:.2f} wide, as for a sheet of {stock:g}, the "
                f"job's joints are drawn for {' and '.join(f'{t:g}' for t in dict.fromkeys(thicknesses))}: "
                "other stock, or no joints?",
                "",
                parts[part],
                alike[0],
            )


def fits_nothing(
    parts: Sequence[Part],
    found: Sequence[Feature],
    joined: Sequence[Pair],
    rows: Sequence[tuple[str, str]],
    told: Iterable[Feature] = (),
) -> Iterator[Finding]:
    """Rows of the job whose parts are there and yet have no joint with each other.

    An open slot takes whatever the row says, and shapes in `told` have their own finding.
    """
    known = {parts[one.part].name for one in told}
    met = {frozenset((parts[one].name, parts[other].name)) for one, other in (pair.parts for pair in joined)}
    names = {part.name: k for k, part in reversed(list(enumerate(parts)))}
    for tenon, mortise in dict.fromkeys(rows):
        slotted = any(f.kind == "slot" and parts[f.part].name == mortise for f in found)
        if slotted or {tenon, mortise} <= known:
            continue
        if tenon in names and mortise in names and frozenset((tenon, mortise)) not in met:
            there = [
                _shapes(name, [f for f in found if parts[f.part].name == name]) for name in (tenon, mortise)
            ]
            part = parts[names[mortise]]
            yield Finding(
                "error",
                "joint-fits-nothing",
                f"a [[joint]] row joins {tenon} and {mortise}, but no tenon, slot or edge of the one fits "
                f"the other: {there[0]}; {there[1]}",
                "Correct the drawing or the row: a mortise is up to 1.3 mm longer than its tenon is wide",
                part=part.name,
                file=part.source.file or None,
            )


def _shapes(name: str, found: Sequence[Feature]) -> str:
    """What a part has that might be a joint, in words."""
    rows = Counter(
        f"{'tenon' if one.kind == 'step' else one.kind} {_size(one)}"
        for one in found
        if one.kind in ("mortise", "tenon", "step", "slot", "housing", "rabbet")
    )
    said = [f"{count} x {what}" if count > 1 else what for what, count in rows.items()]
    return f"{name} has {', '.join(said[:_MOST_SHAPES]) or 'none'}"


def _size(one: Feature) -> str:
    if one.kind in ("tenon", "step"):
        return f"{one.width:.2f} wide"
    return f"{one.width:.2f} x {one.length:.2f}"


def _finding(level: Level, rule: str, message: str, remedy: str, part: Part, at: Feature) -> Finding:
    return Finding(
        level,
        rule,
        message,
        remedy,
        x_mm=at.middle[0],
        y_mm=at.middle[1],
        part=part.name,
        file=part.source.file or None,
    )
