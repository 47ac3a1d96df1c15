"""Keys of a job file that contradict each other, each said once, where the later one stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from camkit.errors import Finding
from camkit.job.crosscheck_machine import machine_contradictions
from camkit.job.fixtures import CLEAR_OVER, HoldDown, KeepOut
from camkit.job.lines import KeyPath, line_of
from camkit.job.machine import Cutter, Machine, Table
from camkit.job.model import GlueUp, JointRow, PartRow, Sheet, Tabs
from camkit.job.quantity import shown
from camkit.job.sheet import choose
from camkit.job.words import dotted, nearest, table_label

__all__ = ["contradictions"]

T = TypeVar("T", bound=Table)


def contradictions(data: Mapping[str, Any], lines: dict[KeyPath, int]) -> list[Finding]:
    """One finding of level error for each contradiction.

    Works on the raw data, so that these are told together with every other mistake: rows that are
    wrong in themselves are left out here.
    """
    said = [
        *_repeated_numbers(data),
        *_keys_of_other_cutters(data),
        *_unnamed_sheets(data),
        *_repeated_names(data, "sheet", "Every sheet needs its own name, letter case ignored"),
        *_sheets_of_parts(data),
        *_repeated_names(data, "part", "Every part needs its own name, letter case ignored"),
        *_repeated_names(data, "glue_up", "Every glue-up needs its own name"),
        *_repeated_files(data),
        *_repeated_patterns(data),
        *_unknown_drawings(data),
        *_tabs_held_otherwise(data),
        *_unknown_parts(data),
        *_glued_twice(data),
        *_impossible_sizes(data),
        *_too_high_to_travel_over(data),
        *_machine(data),
    ]
    return [Finding("error", "job", what, remedy, line=line_of(lines, at)) for at, what, remedy in said]


Said = list[tuple[KeyPath, str, str]]


def _rows(data: Mapping[str, Any], key: str, model: type[T]) -> list[tuple[int, T]]:
    """The rows of an array of tables that are right in themselves, each with its place."""
    rows = data.get(key)
    found = []
    for place, row in enumerate(rows if isinstance(rows, list) else []):
        if (value := _table(row, model)) is not None:
            found.append((place, value))
    return found


def _table(raw: object, model: type[T]) -> T | None:
    try:
        return model.model_validate(raw)
    except ValidationError:
        return None  # told already, key by key, as a mistake of the model


def _sheets(data: Mapping[str, Any]) -> list[tuple[KeyPath, object]]:
    """The raw [sheet], or every [[sheet]], each with its place."""
    raw = data.get("sheet")
    rows: list[tuple[KeyPath, object]] = (
        [(("sheet", place), row) for place, row in enumerate(raw)]
        if isinstance(raw, list)
        else [(("sheet",), raw)]
    )
    return rows


def _part_names(data: Mapping[str, Any]) -> list[str]:
    """Names of all part rows, of those too that are wrong in another key."""
    rows = data.get("part")
    names = [row.get("name") for row in (rows if isinstance(rows, list) else []) if isinstance(row, dict)]
    return [name.strip() for name in names if isinstance(name, str)]


def _files(data: Mapping[str, Any]) -> list[str]:
    drawings = data.get("drawings")
    files = drawings.get("files") if isinstance(drawings, dict) else None
    return [file.strip() for file in (files if isinstance(files, list) else []) if isinstance(file, str)]


def _repeated_numbers(data: Mapping[str, Any]) -> Said:
    first: dict[int, int] = {}
    said: Said = []
    for place, cutter in _rows(data, "cutter", Cutter):
        path: KeyPath = ("cutter", place, "number")
        if cutter.number in first:
            taken = (
                f"{dotted(path)}: {cutter.number} is already the number of [[cutter]] {first[cutter.number]}"
            )
            said.append((path, taken, "Give every cutter its own number"))
        first.setdefault(cutter.number, place + 1)
    return said


def _keys_of_other_cutters(data: Mapping[str, Any]) -> Said:
    """Keys that mean nothing for a cutter of its kind."""
    said: Said = []
    for place, cutter in _rows(data, "cutter", Cutter):
        if cutter.mills and cutter.point_angle < 180:
            path: KeyPath = ("cutter", place, "point_angle")
            what = f"{dotted(path)}: a {cutter.kind} cutter has no point"
            said.append((path, what, 'Remove it, or write kind = "drill" or kind = "v-groove"'))
        if cutter.plunges and not cutter.mills:
            path = ("cutter", place, "plunges")
            what = f"{dotted(path)}: a {cutter.kind} always goes straight down"
            said.append((path, what, "Remove it"))
    return said


def _repeated_names(data: Mapping[str, Any], key: str, remedy: str) -> Said:
    first: dict[str, int] = {}
    said: Said = []
    rows = data.get(key)
    for place, row in enumerate(rows if isinstance(rows, list) else []):
        name = row.get("name") if isinstance(row, dict) else None
        if not isinstance(name, str):
            continue
        path: KeyPath = (key, place, "name")
        same = name.strip().casefold()
        if same in first:
            taken = f"{dotted(path)}: {name.strip()!r} is already the name of [[{key}]] {first[same]}"
            said.append((path, taken, remedy))
        first.setdefault(same, place + 1)
    return said


def _unnamed_sheets(data: Mapping[str, Any]) -> Said:
    sheets = _sheets(data)
    said: Said = []
    for path, raw in sheets if len(sheets) > 1 else []:
        if isinstance(raw, dict) and "name" not in raw:
            what = f"{dotted(path)}.name is missing: the job has {len(sheets)} sheets"
            said.append(
                ((*path, "name"), what, f'Write a name such as name = "birch 18" in {table_label(path)}')
            )
    return said


def _sheets_of_parts(data: Mapping[str, Any]) -> Said:
    """Part rows that name no sheet of the job, or a thickness that none or several have."""
    raw = [row for _, row in _sheets(data) if isinstance(row, dict)]
    names = [row["name"].strip() for row in raw if isinstance(row.get("name"), str)]
    sheets = [sheet for row in raw if (sheet := _table(row, Sheet)) is not None]
    said: Said = []
    for place, part in _rows(data, "part", PartRow):
        if part.sheet is not None and part.sheet not in names:
            path: KeyPath = ("part", place, "sheet")
            what = f"{dotted(path)}: no sheet is named {shown(part.sheet)}"
            said.append((path, what, _instead(part.sheet, names, "give a [[sheet]] that name")))
        elif (
            sheets
            and len(sheets) == len(raw)
            and isinstance(chosen := choose(sheets, part.sheet, part.drawn_thickness), str)
        ):
            path = ("part", place, "drawn_thickness")
            each = ", ".join(f"{one.table} ({one.drawn_thickness or one.thickness:g})" for one in sheets)
            remedy = f"Say which with sheet = …, or add a [[sheet]]; the job has {each}"
            said.append((path, f"{dotted(path)}: {chosen}", remedy))
    return said


def _repeated_files(data: Mapping[str, Any]) -> Said:
    files = _files(data)
    return [
        (("drawings", "files", place), f"drawings.files names {file!r} twice", "Name every drawing once")
        for place, file in enumerate(files)
        if file in files[:place]
    ]


def _repeated_patterns(data: Mapping[str, Any]) -> Said:
    layers = data.get("layers")
    patterns = list(layers) if isinstance(layers, dict) else []
    said: Said = []
    for place, pattern in enumerate(patterns):
        if pattern.casefold() in [earlier.casefold() for earlier in patterns[:place]]:
            what = f"layers: {pattern!r} is the same pattern as an earlier one, letter case is ignored"
            said.append((("layers", pattern), what, "Only the first would count: remove one"))
    return said


def _unknown_drawings(data: Mapping[str, Any]) -> Said:
    files = _files(data)
    said: Said = []
    for place, part in _rows(data, "part", PartRow):
        path: KeyPath = ("part", place, "drawing")
        if part.drawing is None and len(files) > 1:
            what = f"{dotted(path)} is missing: the job has {len(files)} drawings"
            said.append((path, what, f"Write drawing = {files[0]!r}, or the one that shows {part.name!r}"))
        elif part.drawing is not None and files and part.drawing not in files:
            what = f"{dotted(path)}: {part.drawing!r} is not among drawings.files"
            said.append((path, what, _instead(part.drawing, files, "add it there")))
    return said


def _tabs_held_otherwise(data: Mapping[str, Any]) -> Said:
    """Parts with places for tabs that are to be held by something else."""
    said: Said = []
    for place, part in _rows(data, "part", PartRow):
        if part.tabs and part.hold not in (None, "tabs"):
            path: KeyPath = ("part", place, "hold")
            what = f"{dotted(path)}: {part.name!r} is held by {part.hold}, and has places for tabs too"
            said.append((path, what, "Leave out tabs or hold"))
    return said


def _instead(word: str, known: list[str], otherwise: str) -> str:
    guess = nearest(word, known)
    return f"Did you mean {guess!r}? Otherwise {otherwise}" if guess else otherwise.capitalize()


def _unknown_parts(data: Mapping[str, Any]) -> Said:
    """Names in joints and glue-ups that no part row has; without rows the drawings name the parts."""
    names = _part_names(data)
    if not names:
        return []
    used: list[tuple[KeyPath, str]] = []
    for place, joint in _rows(data, "joint", JointRow):
        used += [(("joint", place, "tenon"), joint.tenon)] if joint.tenon is not None else []
        used += [(("joint", place, "mortise"), joint.mortise)]
    for place, glue_up in _rows(data, "glue_up", GlueUp):
        used += [(("glue_up", place, "layers", layer), name) for layer, name in enumerate(glue_up.layers)]
    return [
        (
            path,
            f"{dotted(path)}: no [[part]] is named {name!r}",
            _instead(name, names, "add a [[part]] row for it"),
        )
        for path, name in used
        if name not in names
    ]


def _glued_twice(data: Mapping[str, Any]) -> Said:
    first: dict[str, str] = {}
    said: Said = []
    for place, glue_up in _rows(data, "glue_up", GlueUp):
        for layer, name in enumerate(glue_up.layers):
            path: KeyPath = ("glue_up", place, "layers", layer)
            if name in first:
                what = f"{dotted(path)}: {name!r} is already glued into {first[name]!r}, and is cut only once"
                said.append((path, what, "Draw the second piece too and give it its own name"))
            first.setdefault(name, glue_up.name)
    return said


def _too_high_to_travel_over(data: Mapping[str, Any]) -> Said:
    """Fixtures that stand higher than the way over them."""
    machine = _table(data.get("machine", {}), Machine)
    if machine is None:
        return []
    found: list[tuple[KeyPath, str, float]] = [
        (("keep_out", place, "height"), row.said, row.height)
        for place, row in _rows(data, "keep_out", KeepOut)
        if row.height is not None
    ]
    hold = _table(data["hold_down"], HoldDown) if "hold_down" in data else None
    if hold is not None:
        found.append((("hold_down", "head_height"), "a screw's head", hold.head_height))
    said: Said = []
    for path, name, height in found:
        if height + CLEAR_OVER > machine.safe_height:
            what = f"{dotted(path)}: {name} stands {height:g} above the sheet, and safe_height is only "
            what += f"{machine.safe_height:g}: travel must lead {CLEAR_OVER:g} over it"
            said.append((path, what, f"Write safe_height = {height + CLEAR_OVER:g} or more in [machine]"))
    return said


def _impossible_sizes(data: Mapping[str, Any]) -> Said:
    said: Said = []
    for path, raw in _sheets(data):
        sheet = _table(raw, Sheet)
        if sheet is not None and sheet.size is not None and 2 * sheet.margin >= min(sheet.size):
            at: KeyPath = (*path, "margin")
            what = (
                f"{dotted(at)}: {sheet.margin:g} on both sides leaves nothing of a sheet "
                f"{min(sheet.size):g} wide"
            )
            said.append((at, what, "Write a smaller margin"))
    tabs = _table(data.get("tabs", {}), Tabs)
    if tabs is not None and tabs.width > tabs.longest:
        what = (
            f"tabs.width: {tabs.width:g} is more than tabs.longest, {tabs.longest:g}, "
            "so every tab would be judged uncut"
        )
        said.append((("tabs", "width"), what, "Write narrower tabs, or a larger longest"))
    machine = _table(data.get("machine", {}), Machine)
    reach = machine.ranges() if machine is not None else None
    if machine is not None and reach is not None and machine.safe_height > reach[2][1]:
        what = (
            f"machine.safe_height: {machine.safe_height:g} is higher than the machine reaches, "
            f"{reach[2][1]:g} above the sheet's top"
        )
        said.append((("machine", "safe_height"), what, "Lower it, or correct travel"))
    if machine is not None and machine.travel_height > machine.safe_height:
        what = (
            f"machine.travel_height: {machine.travel_height:g} is higher than safe_height, "
            f"{machine.safe_height:g}"
        )
        said.append((("machine", "travel_height"), what, "Lower it, or write a greater safe_height"))
    return said


def _machine(data: Mapping[str, Any]) -> Said:
    raw = data.get("machine", {})
    machine = _table(raw, Machine)
    cutters = [cutter for _, cutter in _rows(data, "cutter", Cutter)]
    return [] if machine is None else machine_contradictions(machine, raw, cutters)
