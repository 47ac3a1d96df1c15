"""The door that writes what `inspect` makes of drawings: pictures, and the drawings themselves, repaired."""

from __future__ import annotations

import pathlib
from collections.abc import Callable, Sequence
from itertools import zip_longest

from camkit.drawing.drawn import Drawn
from camkit.drawing.write_dxf import dxf_rules, dxf_text
from camkit.errors import Finding, InputError
from camkit.report.aside import Content, folder_at, made_here, put
from camkit.report.inspection_joints import Joints
from camkit.report.inspection_picture import inspection_svg
from camkit.report.inspection_table import layer_lines
from camkit.report.picture import png

__all__ = ["write_inspection", "written_lines"]

Named = str | pathlib.Path

_Made = dict[str, Callable[[Drawn, Joints | None], Content]]

_PICTURES: _Made = {
    ".svg": inspection_svg,
    ".png": lambda drawn, joints: png(inspection_svg(drawn, joints)),
}
_DRAWINGS: _Made = {".dxf": lambda drawn, _: dxf_text(drawn)}


def write_inspection(
    drawn: Sequence[Drawn],
    joints: Sequence[Joints | None] = (),
    *,
    picture: Named | None = None,
    clean: Named | None = None,
) -> tuple[pathlib.Path, ...]:
    """Pictures of what was read, and clean drawings; of several drawings each its own, numbered.

    `joints` are those of each drawing, in like order. `picture` ends in .svg or .png, `clean` in .dxf; a
    drawing without parts gives no clean one. Raises InputError for other endings, and where a drawing that
    was read or a file not made by camkit stands in the place; nothing is written then.
    """
    both = list(zip_longest(drawn, joints))
    wanted = [
        *(_wanted(both, picture, _PICTURES, "Name the picture so") if picture is not None else ()),
        *(_wanted(both, clean, _DRAWINGS, "Name the clean drawing so") if clean is not None else ()),
    ]
    read = {_same_file(one.path) for one in drawn}
    for place, _ in wanted:
        if _same_file(place) in read:
            raise _refused(place, "is the drawing that was read, and is kept", "Name another file")
        if place.exists() and not made_here(place):
            raise _refused(place, "was not made by camkit and is kept", "Name another file, or delete it")
    written = []
    for place, content in wanted:
        folder_at(place.parent)
        written.append(put(place, content()))
    return tuple(written)


def written_lines(drawn: Sequence[Drawn], written: Sequence[pathlib.Path]) -> list[str]:
    """Which clean drawings were written, and what a job must say of their layers to read them back."""
    clean = [place.as_posix() for place in written if place.suffix.lower() in _DRAWINGS]
    if not clean:
        return []
    rules = {rule.pattern: rule for one in drawn for rule in dxf_rules(one)}
    return [f"Written to {', '.join(clean)}. In a job its layers mean:", *layer_lines(list(rules.values()))]


def _wanted(
    drawn: Sequence[tuple[Drawn, Joints | None]], name: Named, kinds: _Made, remedy: str
) -> list[tuple[pathlib.Path, Callable[[], Content]]]:
    """Where each file goes, and how its content is made."""
    place = pathlib.Path(name)
    make = kinds.get(place.suffix.lower())
    if make is None:
        ending = f"is neither {' nor '.join(kinds)}" if len(kinds) > 1 else f"is not {''.join(kinds)}"
        raise InputError(Finding("error", "words", ending, remedy, file=str(place)))
    places = [place]
    if len(drawn) > 1:
        places = [place.with_name(f"{place.stem}-{k}{place.suffix}") for k in range(1, len(drawn) + 1)]

    def content(one: Drawn, joints: Joints | None) -> Callable[[], Content]:
        return lambda: make(one, joints)

    return [
        (where, content(one, joints))
        for where, (one, joints) in zip(places, drawn, strict=True)
        if one.parts or kinds is not _DRAWINGS
    ]


def _same_file(place: pathlib.Path | str) -> pathlib.Path:
    return pathlib.Path(place).resolve()


def _refused(place: pathlib.Path, message: str, remedy: str) -> InputError:
    return InputError(Finding("error", "cannot-write", message, remedy, file=str(place)))
