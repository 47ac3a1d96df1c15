"""DXF files: opened, their header's unit found, blocks resolved, drawn as pieces."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from camkit.drawing.dxf_blocks import FAULTS, Resolver, attribute, layer_of, unreadable_entity
from camkit.drawing.dxf_entities import (
    DRAWN_TYPES,
    entity_label,
    entity_paths,
    entity_points,
    is_tilted,
    looks_round,
)
from camkit.drawing.dxf_load import load
from camkit.drawing.dxf_text import DxfText, plain_text
from camkit.drawing.dxf_units import stated_system, stated_unit
from camkit.drawing.sketch import (
    MOST_SEGMENTS,
    Label,
    Piece,
    Sketch,
    StatedUnit,
    System,
    check_coordinates,
    check_point,
    printable,
    too_many_segments,
    unreadable_file,
)
from camkit.errors import Finding
from camkit.geometry.path import Point

__all__ = ["OpenedDxf", "open_dxf"]

_TEXT_TYPES = frozenset({"TEXT", "MTEXT", "ATTRIB"})
_HANDLE = re.compile(rb"\n[ \t]*5[ \t]*\r?\n[ \t]*[0-9A-Fa-f]+[ \t]*\r?\n")
_CURVES = frozenset({"ELLIPSE", "SPLINE"})


@dataclass(frozen=True, slots=True)
class _Item:
    entity: Any
    layer: str
    name: str
    aside: str
    line_type: str


@dataclass(frozen=True, slots=True)
class OpenedDxf:
    """A DXF file's entities, blocks resolved; `findings` tell what opening it took."""

    file: str
    stated: StatedUnit | None
    items: tuple[_Item, ...]
    findings: tuple[Finding, ...]
    page: Point | None = None
    px: bool = False
    system: System = ""

    def sketch(self, scale: float) -> Sketch:
        """Every piece and text in mm."""
        pieces: list[Piece] = []
        labels: list[Label] = []
        findings = list(self.findings)
        left_out: Counter[str] = Counter()
        tilted: list[_Item] = []
        empty = drawn = 0
        for item in self.items:
            kind = item.entity.dxftype()
            try:
                if kind in _TEXT_TYPES:
                    label = None if item.aside else entity_label(item.entity, scale)
                    if label is not None:
                        labels.append(Label(label[0], label[1], item.layer, label[2]))
                        continue
                    paths = None
                else:
                    # Checked first where the number of chords depends on the size.
                    if kind in _CURVES or not looks_round(item.entity):
                        for x, y in entity_points(item.entity):
                            check_point((x * scale, y * scale), self.file, item.layer, item.name)
                    paths = entity_paths(item.entity, scale) if kind in DRAWN_TYPES else None
                    if paths and not item.aside and is_tilted(item.entity, scale):
                        tilted.append(item)
            except FAULTS as fault:
                for point in entity_points(item.entity):
                    check_point(point, self.file, item.layer, item.name)
                findings.append(unreadable_entity(self.file, item.layer, item.name, fault))
                continue
            if paths is None:
                left_out[kind] += 1
                continue
            empty += not paths
            drawn += sum(len(path.segments) for path in paths)
            if drawn > MOST_SEGMENTS:
                raise too_many_segments(self.file, item.layer, item.name)
            for path in paths:
                check_coordinates(path, self.file, item.layer, item.name)
                pieces.append(Piece(path, item.layer, item.name, item.aside, item.line_type))
        if left_out:
            findings.append(Finding("note", "left-out", f"left out: {_listed(left_out)}", file=self.file))
        if empty:
            said = f"entities without length in plan, left out: {empty}"
            findings.append(Finding("note", "no-length", said, file=self.file))
        if tilted:
            first = tilted[0]
            said = f"entities tilted out of the drawing's plane, read as they look from above: {len(tilted)}"
            remedy = "Lay them flat (Z = 0), or save a view from above"
            told = Finding("warning", "tilted", said, remedy, file=self.file, layer=first.layer)
            findings.append(replace(told, entity=first.name, count=len(tilted)))
        return Sketch(tuple(pieces), tuple(labels), tuple(findings))


def open_dxf(raw: bytes, file: str) -> OpenedDxf:
    """Open the content of a DXF file, text or binary, repairing its structure where needed.

    Raises InputError when nothing can be read, or when it is more than can be read in bounded time.
    """
    source = plain_text(raw, file)
    findings = list(source.findings)
    document = load(source, file, findings)
    try:
        findings += _lost(document, source, file)
        items = tuple(_items(document, file, findings, handles=_has_handles(source.text)))
        stated, system = stated_unit(document, source.text), stated_system(document, source.text)
    except FAULTS as fault:
        said = "the DXF file is damaged and cannot be read (its records contradict each other)"
        raise unreadable_file(file, said) from fault
    return OpenedDxf(file, stated, items, tuple(findings), system=system)


def _lost(document: Any, source: DxfText, file: str) -> list[Finding]:
    """What stands in the file's ENTITIES but not in the document, and what is drawn on paper pages only."""
    space = Counter(entity.dxftype() for entity in document.modelspace())
    paper = Counter(
        entity.dxftype()
        for layout in document.layouts
        if not layout.is_modelspace
        for entity in layout
        if entity.dxftype() in DRAWN_TYPES or entity.dxftype() == "INSERT"
    )
    findings = []
    lost = {
        kind: source.counts[kind] - space[kind] - paper[kind]
        for kind in sorted(DRAWN_TYPES | {"INSERT"})
        if source.counts[kind] > space[kind] + paper[kind]
    }
    if lost:
        said = f"entities that stand in the file could not be loaded: {_listed(lost)}"
        remedy = "Save it again from the program that drew it"
        findings.append(Finding("error", "lost-entities", said, remedy, file=file))
    if paper:
        said = f"left out, for they are drawn on paper pages: {_listed(paper)}"
        findings.append(Finding("note", "paper-pages", said, file=file))
    return findings


def _listed(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items()))


def _has_handles(raw: bytes) -> bool:
    # The loader gives handles to entities that have none (R12); nobody could find those in the file.
    if raw.startswith(b"AutoCAD Binary DXF"):
        return True
    start = raw.find(b"ENTITIES")
    return _HANDLE.search(raw, start, start + 2000) is not None


def _line_type(entity: Any) -> str:
    """The name of the line type that an entity or a layer has; empty for a continuous line."""
    name = str(attribute(entity, "linetype", "BYLAYER"))
    return "" if name.casefold() in ("continuous", "byblock") else name


def _items(document: Any, file: str, findings: list[Finding], *, handles: bool) -> Iterator[_Item]:
    layers = {
        layer.dxf.name.casefold(): "hidden layer"
        for layer in document.layers
        if layer.is_off() or layer.is_frozen()
    }
    # AutoCAD's own layer of dimension points, which is never plotted.
    layers["defpoints"] = "layer that is never plotted"
    types = {layer.dxf.name.casefold(): _line_type(layer) for layer in document.layers}
    resolver = Resolver(document, file)
    told: dict[str, tuple[str, str]] = {}  # a layer's name as it is printed, and why it is left aside
    for number, entity in enumerate(document.modelspace(), start=1):
        name = f"{entity.dxftype()} {entity.dxf.handle}" if handles else f"{entity.dxftype()} no. {number}"
        try:
            for inner, layer, inner_name in resolver.drawn_by(entity, printable(name)):
                if layer not in told:
                    told[layer] = (printable(layer), layers.get(layer.casefold(), ""))
                shown, aside = told[layer]
                if attribute(inner, "invisible", 0):
                    aside = "invisible entity"
                shown_name = inner_name if inner is entity else printable(inner_name)
                own = _line_type(inner)
                line_type = types.get(layer.casefold(), "") if own.casefold() == "bylayer" else own
                yield _Item(inner, shown, shown_name, aside, line_type)
        except FAULTS as fault:
            findings.append(unreadable_entity(file, printable(layer_of(entity)), printable(name), fault))
    findings += resolver.findings
