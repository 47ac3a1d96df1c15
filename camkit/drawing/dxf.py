"""DXF files: opened, their header's unit found, blocks resolved, drawn as pieces."""

from __future__ import annotations

import logging
import pathlib
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ezdxf import recover
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFError, DXFStructureError

from camkit.drawing.dxf_entities import DRAWN_TYPES, entity_label, entity_paths, entity_points
from camkit.drawing.sketch import Label, Piece, Sketch, StatedUnit, check_coordinates, check_point, printable
from camkit.errors import Finding, InputError
from camkit.geometry.path import Point

__all__ = ["OpenedDxf", "open_dxf"]

# $INSUNITS of the DXF reference, HEADER section; units that no furniture is drawn in are left out.
_INSUNITS: dict[int, tuple[str, float]] = {
    1: ("inch", 25.4),
    2: ("foot", 304.8),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    9: ("mil", 0.0254),
    10: ("yard", 914.4),
    13: ("micron", 0.001),
    14: ("dm", 100.0),
}
_TEXT_TYPES = frozenset({"TEXT", "MTEXT", "ATTRIB"})
_HANDLE = re.compile(rb"\n[ \t]*5[ \t]*\r?\n[ \t]*[0-9A-Fa-f]+[ \t]*\r?\n")
# What the loader raises for an entity whose numbers or references make no sense.
_FAULTS = (DXFError, ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError)
# A block that holds blocks that hold blocks can draw more than any memory; no real drawing comes near.
_MOST_ENTITIES = 200_000
_DEEPEST_BLOCK = 32

# The loader logs what it repairs; that is told as findings, not printed beside them.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())


@dataclass(frozen=True, slots=True)
class _Item:
    entity: Any
    layer: str
    name: str
    aside: str


@dataclass(frozen=True, slots=True)
class OpenedDxf:
    """A DXF file's entities, blocks resolved; `findings` tell what opening it took."""

    file: str
    stated: StatedUnit | None
    items: tuple[_Item, ...]
    findings: tuple[Finding, ...]
    page: Point | None = None
    px: bool = False

    def sketch(self, scale: float) -> Sketch:
        """Every piece and text in mm."""
        pieces: list[Piece] = []
        labels: list[Label] = []
        findings = list(self.findings)
        left_out: Counter[str] = Counter()
        empty = 0
        for item in self.items:
            kind = item.entity.dxftype()
            try:
                if kind in _TEXT_TYPES:
                    label = None if item.aside else entity_label(item.entity, scale)
                    if label is not None:
                        labels.append(Label(label[0], label[1], item.layer))
                    paths = None
                else:
                    paths = entity_paths(item.entity, scale) if kind in DRAWN_TYPES else None
            except (
                DXFError,
                ArithmeticError,
                ValueError,
                TypeError,
                LookupError,
                RecursionError,
            ) as fault:
                for point in entity_points(item.entity):
                    check_point(point, self.file, item.layer, item.name)
                findings.append(_unreadable(self.file, item.layer, item.name, fault))
                continue
            if paths is None:
                left_out[kind] += 1
                continue
            empty += not paths
            for path in paths:
                check_coordinates(path, self.file, item.layer, item.name)
                pieces.append(Piece(path, item.layer, item.name, item.aside))
        if left_out:
            types = ", ".join(f"{count} {kind}" for kind, count in sorted(left_out.items()))
            findings.append(Finding("note", "left-out", f"left out: {types}", file=self.file))
        if empty:
            said = f"entities without length in plan, left out: {empty}"
            findings.append(Finding("note", "no-length", said, file=self.file))
        return Sketch(tuple(pieces), tuple(labels), tuple(findings))


def open_dxf(path: pathlib.Path, file: str) -> OpenedDxf:
    """Open a DXF file, text or binary, repairing its structure where needed.

    Raises InputError when nothing can be read.
    """
    findings: list[Finding] = []
    try:
        document = readfile(path)
    except Exception as first:  # a damaged file makes the loader raise nearly anything
        document = _recovered(path, file, first, findings)
    raw = path.read_bytes()
    items = tuple(_items(document, file, findings, handles=_has_handles(raw)))
    return OpenedDxf(file, _stated_unit(document, raw), items, tuple(findings))


def _recovered(path: pathlib.Path, file: str, first: Exception, findings: list[Finding]) -> Any:
    try:
        document, auditor = recover.readfile(path)
    except Exception as fault:  # as above; the file's own fault is told, never swallowed
        reason = str(fault) if isinstance(fault, DXFStructureError) else str(first) or type(first).__name__
        raise InputError(
            Finding(
                "error",
                "unreadable-file",
                f"the DXF file is damaged and cannot be read ({printable(reason)})",
                "Save it again from the program that drew it",
                file=file,
            )
        ) from fault
    findings.append(
        Finding(
            "warning",
            "repaired-file",
            f"the DXF file is damaged ({printable(str(first)) or type(first).__name__}) and was repaired in"
            f" {len(auditor.fixes)} places; {len(auditor.errors)} faults stay",
            "Compare the picture with the drawing, or save the file again",
            file=file,
        )
    )
    return document


def _stated_unit(document: Any, raw: bytes) -> StatedUnit | None:
    # The loader fills in a header that is not there, metres included; only the file's own word counts.
    if b"$INSUNITS" not in raw:
        return None
    unit = _INSUNITS.get(document.header.get("$INSUNITS", 0))
    return None if unit is None else StatedUnit(*unit, "$INSUNITS")


def _has_handles(raw: bytes) -> bool:
    # The loader gives handles to entities that have none (R12); nobody could find those in the file.
    if raw.startswith(b"AutoCAD Binary DXF"):
        return True
    start = raw.find(b"ENTITIES")
    return _HANDLE.search(raw, start, start + 2000) is not None


def _items(document: Any, file: str, findings: list[Finding], *, handles: bool) -> Iterator[_Item]:
    layers = {
        layer.dxf.name.casefold(): "hidden layer"
        for layer in document.layers
        if layer.is_off() or layer.is_frozen()
    }
    # AutoCAD's own layer of dimension points, which is never plotted.
    layers["defpoints"] = "layer that is never plotted"
    count = 0
    for number, entity in enumerate(document.modelspace(), start=1):
        name = f"{entity.dxftype()} {entity.dxf.handle}" if handles else f"{entity.dxftype()} no. {number}"
        name, own_layer = printable(name), _layer(entity)
        if entity.dxftype() == "INSERT" and entity.mcount > _MOST_ENTITIES:
            raise _too_many(file, name)
        try:
            for inner, layer, inner_name in _resolved(entity, own_layer, name, 0):
                count += 1
                if inner_name != name and count > _MOST_ENTITIES:
                    raise _too_many(file, name)
                hidden = "invisible entity" if _attribute(inner, "invisible", 0) else ""
                aside = hidden or layers.get(layer.casefold(), "")
                yield _Item(inner, printable(layer), printable(inner_name), aside)
        except _FAULTS as fault:
            findings.append(_unreadable(file, printable(own_layer), name, fault))


def _attribute(entity: Any, name: str, default: Any) -> Any:
    # Kinds that the loader does not know have no attributes at all.
    return entity.dxf.get(name, default) if entity.dxf.is_supported(name) else default


def _layer(entity: Any) -> str:
    return str(_attribute(entity, "layer", "0"))


def _unreadable(file: str, layer: str, name: str, fault: Exception) -> Finding:
    return Finding(
        "warning",
        "unreadable-entity",
        f"cannot be read and is left out ({printable(str(fault)) or type(fault).__name__})",
        "Mend or redraw it",
        file=file,
        layer=layer,
        entity=name,
    )


def _too_many(file: str, name: str) -> InputError:
    return InputError(
        Finding(
            "error",
            "too-many-entities",
            f"its blocks draw more than {_MOST_ENTITIES} entities",
            "Look for a block that is inserted in large arrays, or split the drawing",
            file=file,
            entity=name,
        )
    )


def _resolved(entity: Any, layer: str, name: str, depth: int) -> Iterator[tuple[Any, str, str]]:
    if entity.dxftype() != "INSERT" or depth > _DEEPEST_BLOCK:
        yield entity, layer, name
        return
    for attribute in entity.attribs:
        yield attribute, layer, name
    for insert in entity.multi_insert() if entity.mcount > 1 else (entity,):
        for inner in insert.virtual_entities():
            # Layer 0 inside a block means the layer of the insert (DXF reference, BLOCK).
            inner_layer = layer if _layer(inner) == "0" else _layer(inner)
            yield from _resolved(inner, inner_layer, f"{name}, {inner.dxftype()}", depth + 1)
