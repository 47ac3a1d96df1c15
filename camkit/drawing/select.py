"""The parts that a job asks for, found among the parts that its drawings show."""

from __future__ import annotations

import pathlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from typing import Protocol

import shapely

from camkit.drawing.drawn import Drawn
from camkit.drawing.names import unique
from camkit.errors import Finding, InputError
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Point
from camkit.part import Part

__all__ = ["Row", "Selection", "meant", "select"]

_CHORDS = 0.05
_NAMED_AT_MOST = 12


class Row(Protocol):
    """What a job says about a part it wants from a drawing; lengths in mm."""

    @property
    def name(self) -> str:
        """The part's name from here on."""

    @property
    def drawing(self) -> str | None:
        """The file it is drawn in; None searches all drawings."""

    @property
    def at(self) -> Point | None:
        """A point inside its outline, in the drawing's coordinates."""

    @property
    def layer(self) -> str | None:
        """The layer of its outline, as a pattern; letter case ignored."""


@dataclass(frozen=True, slots=True)
class Selection:
    """Each chosen part with the number of the drawing it came from, in the order of the rows."""

    parts: tuple[tuple[int, Part], ...]
    findings: tuple[Finding, ...] = ()


def select(drawns: Sequence[Drawn], rows: Sequence[Row]) -> Selection:
    """The parts that the rows name, under the rows' names; without rows all parts that are drawn.

    A row without point and layer means the part that is drawn with its name, or the only part there is. Only
    a row with a point can mean a part that another view of the sheet repeats.
    Parts of several drawings that have one name get the file's name in front. Raises InputError when a row
    fits no part, or more than one.
    """
    if not rows:
        return Selection(_all(drawns))
    chosen: list[tuple[int, int]] = []
    faults: list[Finding] = []
    for row in rows:
        found = _found(row, drawns)
        if isinstance(found, Finding):
            faults.append(found)
        else:
            chosen.append(found)
    if faults:
        raise InputError(*faults)
    parts = tuple(
        (number, replace(_drawn(drawns[number])[index], name=row.name))
        for row, (number, index) in zip(rows, chosen, strict=True)
    )
    return Selection(parts, _left(drawns, set(chosen)))


def meant(drawns: Sequence[Drawn], row: Row) -> tuple[int, int] | None:
    """Number of the drawing and place among its parts of the one part that a row fits, or None."""
    found = _found(row, drawns)
    if isinstance(found, Finding) or found[1] >= len(drawns[found[0]].parts):
        return None
    return found


def _all(drawns: Sequence[Drawn]) -> tuple[tuple[int, Part], ...]:
    every = [(number, part) for number, drawn in enumerate(drawns) for part in drawn.parts]
    counts: dict[str, int] = {}
    for _, part in every:
        counts[part.name.casefold()] = counts.get(part.name.casefold(), 0) + 1
    names = unique(
        [
            f"{pathlib.PurePosixPath(drawns[number].path).stem} {part.name}"
            if counts[part.name.casefold()] > 1
            else part.name
            for number, part in every
        ]
    )
    return tuple((n, replace(part, name=name)) for (n, part), name in zip(every, names, strict=True))


def _drawn(drawn: Drawn) -> tuple[Part, ...]:
    """Every part, those that other views repeat behind the others."""
    return (*drawn.parts, *drawn.again)


def _found(row: Row, drawns: Sequence[Drawn]) -> tuple[int, int] | Finding:
    numbers = [n for n, drawn in enumerate(drawns) if row.drawing is None or _is_file(drawn, row.drawing)]
    if not numbers:
        files = ", ".join(pathlib.PurePosixPath(drawn.path).name for drawn in drawns)
        return _fault(
            row, f'no drawing is named "{row.drawing}"; there are {files or "none"}', "Name one of them"
        )
    every = {n: _drawn(drawns[n]) if row.at is not None else drawns[n].parts for n in numbers}
    fitting = [(n, i) for n in numbers for i in range(len(every[n]))]
    if not fitting:
        return _fault(row, "its drawing shows no part", "Look at the findings about the drawing")
    if row.layer is not None:
        pattern = row.layer.casefold()
        of_layer = [(n, i) for n, i in fitting if fnmatchcase(every[n][i].source.layer.casefold(), pattern)]
        if not of_layer:
            layers = sorted({every[n][i].source.layer or "(none)" for n, i in fitting})
            said = f'no outline lies on a layer like "{row.layer}"; outlines lie on {", ".join(layers)}'
            return _fault(row, said, "Mend the pattern")
        fitting = of_layer
    if row.at is not None:
        inside = [(n, i) for n, i in fitting if _holds(every[n][i], row.at)]
        if not inside:
            return _nothing_there(row, row.at, [every[n][i] for n, i in fitting])
        # A part may lie in the opening of another: the inner one is meant.
        smallest = min(_area(every[n][i]) for n, i in inside)
        fitting = [(n, i) for n, i in inside if _area(every[n][i]) == smallest]
    elif len(fitting) > 1:
        same_name = [(n, i) for n, i in fitting if every[n][i].name.casefold() == row.name.casefold()]
        fitting = same_name or fitting
    if len(fitting) > 1:
        shown = ", ".join(_described(every[n][i]) for n, i in fitting[:_NAMED_AT_MOST])
        return _fault(
            row,
            f"{len(fitting)} parts fit: {shown}{', …' if len(fitting) > _NAMED_AT_MOST else ''}",
            "Say which with at = [x, y], a point inside it, or with drawing and layer",
        )
    return fitting[0]


def _is_file(drawn: Drawn, wanted: str) -> bool:
    path = pathlib.PurePosixPath(drawn.path)
    asked = pathlib.PurePosixPath(wanted.replace("\\", "/"))
    return path.parts[-len(asked.parts) :] == asked.parts if asked.parts else False


def _holds(part: Part, at: Point) -> bool:
    x0, y0, x1, y1 = bounds(part.outline)
    if not (x0 <= at[0] <= x1 and y0 <= at[1] <= y1):
        return False
    return bool(as_polygon(part.outline, _CHORDS).covers(shapely.Point(at)))


def _area(part: Part) -> float:
    return float(as_polygon(part.outline, _CHORDS).area)


def _nothing_there(row: Row, at: Point, parts: Sequence[Part]) -> Finding:
    point = shapely.Point(at)
    away, index = min((float(as_polygon(p.outline, _CHORDS).distance(point)), i) for i, p in enumerate(parts))
    nearest = _described(parts[index])
    return _fault(
        row,
        f"no part lies at ({at[0]:g}, {at[1]:g}); the nearest is {nearest}, {away:.1f} mm away",
        "Give a point inside the part's outline, in mm",
    )


def _described(part: Part) -> str:
    x0, y0, x1, y1 = bounds(part.outline)
    middle: Point = ((x0 + x1) / 2, (y0 + y1) / 2)
    if not _holds(part, middle):
        inner = as_polygon(part.outline, _CHORDS).representative_point()
        middle = (inner.x, inner.y)
    return f"{part.name} ({x1 - x0:.0f} x {y1 - y0:.0f} mm, at ({middle[0]:.0f}, {middle[1]:.0f}))"


def _fault(row: Row, said: str, remedy: str) -> Finding:
    return Finding("error", "part-not-found", said, remedy, part=row.name, file=row.drawing)


def _left(drawns: Sequence[Drawn], chosen: set[tuple[int, int]]) -> tuple[Finding, ...]:
    findings = []
    for number, drawn in enumerate(drawns):
        left = [part for i, part in enumerate(drawn.parts) if (number, i) not in chosen]
        if left:
            shown = ", ".join(part.name for part in left[:_NAMED_AT_MOST])
            more = ", …" if len(left) > _NAMED_AT_MOST else ""
            said = f"drawn parts that the job does not name, not cut: {len(left)} ({shown}{more})"
            findings.append(Finding("note", "parts-not-named", said, file=drawn.path))
    return tuple(findings)
