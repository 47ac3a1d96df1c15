"""Block references resolved to the entities they draw, never more than memory holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from ezdxf.lldxf.const import DXFError
from ezdxf.math import Matrix44
from ezdxf.math.transformtools import TransformError

from camkit.drawing.dxf_entities import DRAWN_TYPES
from camkit.drawing.dxf_placed import placed_copies
from camkit.drawing.sketch import printable, shortened
from camkit.errors import Finding, InputError

__all__ = ["FAULTS", "Resolver", "attribute", "layer_of", "unreadable_entity"]

# What the loader raises for an entity whose numbers or references make no sense.
FAULTS = (
    *(DXFError, TransformError, ArithmeticError, AttributeError),
    *(LookupError, RecursionError, TypeError, ValueError),
)
# A block that holds blocks that hold blocks can draw more than any memory; no real drawing comes near.
_MOST_ENTITIES = 100_000
_DEEPEST_BLOCK = 32
_COUNTLESS = 10**9
# A block that stands for another file, or for one laid over this (DXF reference, BLOCK group 70).
_ELSEWHERE = 4 | 8
_MEND = "Mend or redraw it"
# What draws or names something; all else is counted where it stands.
_PLACED = DRAWN_TYPES | {"TEXT", "MTEXT", "ATTRIB"}


def attribute(entity: Any, name: str, default: Any) -> Any:
    """An entity's attribute; kinds that the loader does not know have none at all."""
    return entity.dxf.get(name, default) if entity.dxf.is_supported(name) else default


def layer_of(entity: Any) -> str:
    """The layer's name as it stands in the file."""
    return str(attribute(entity, "layer", "0"))


def unreadable_entity(file: str, layer: str, name: str, fault: Exception) -> Finding:
    """The finding of an entity that is left out because its numbers make no sense."""
    return _left_out(
        file, layer, name, f"cannot be read and is left out ({shortened(str(fault)) or type(fault).__name__})"
    )


def _left_out(file: str, layer: str, name: str, said: str, remedy: str = _MEND) -> Finding:
    return Finding("warning", "unreadable-entity", said, remedy, file=file, layer=layer, entity=name)


@dataclass(frozen=True, slots=True)
class _Block:
    """How many entities and inserts drawing a block walks through, and how deep its blocks are nested."""

    weight: int
    depth: int


class Resolver:
    """Draws the blocks of one document; counts what it drew and keeps findings about what it left out."""

    def __init__(self, document: Any, file: str) -> None:
        """Survey the document's blocks; nothing is drawn yet."""
        self.file = file
        self.findings: list[Finding] = []
        self._blocks = _surveyed(document.blocks)
        self._known = {_key(block.name) for block in document.blocks}
        self._drawn = 0

    def drawn_by(self, entity: Any, name: str) -> Iterator[tuple[Any, str, str]]:
        """The entities that a top-level entity draws, each with its layer and name.

        An INSERT gives the entities of its block, block in block; whatever cannot be drawn is a finding.
        Raises InputError when all inserts together draw more than 100 000 entities.
        """
        layer = layer_of(entity)
        if entity.dxftype() != "INSERT":
            yield entity, layer, name
            return
        title = str(attribute(entity, "name", ""))
        block = self._blocks.get(_key(title))
        if block is None and _key(title) in self._known:
            self._leave(layer, name, f'its block "{shortened(title)}" holds itself and is left out')
            return
        if block is not None and block.depth > _DEEPEST_BLOCK:
            said = f"its blocks are nested {block.depth} deep, more than {_DEEPEST_BLOCK}, and are left out"
            self._leave(layer, name, said)
            return
        self._drawn += _weight(entity, block.weight if block else 0)
        if self._drawn > _MOST_ENTITIES:
            raise InputError(
                Finding(
                    "error",
                    "too-many-entities",
                    f"its blocks draw more than {_MOST_ENTITIES} entities",
                    "Look for a block that is inserted in large arrays, or split the drawing",
                    file=self.file,
                    layer=printable(layer),
                    entity=printable(name),
                )
            )
        yield from self._inside(entity, layer, name)

    def _leave(self, layer: str, name: str, said: str, remedy: str = _MEND) -> None:
        self.findings.append(_left_out(self.file, printable(layer), printable(name), said, remedy))

    def _inside(
        self, insert: Any, layer: str, name: str, outer: Matrix44 | None = None
    ) -> Iterator[tuple[Any, str, str]]:
        """What an insert draws; `outer` is the map of the blocks that it lies in.

        The maps are multiplied down the tree: an insert turned inside one that is stretched draws what no
        single insert can say.
        """
        skipped: Counter[str] = Counter()
        reasons: list[str] = []
        for label in insert.attribs:
            for text in self._placed(label, outer, skipped, reasons):
                yield text, layer, name
        title = shortened(str(attribute(insert, "name", "")))
        try:
            block = insert.block()
            copies = insert.multi_insert() if insert.mcount > 1 else (insert,)
            maps = [copy.matrix44() if outer is None else copy.matrix44() * outer for copy in copies]
        except FAULTS as fault:
            reason = shortened(str(fault)) or type(fault).__name__
            self._leave(layer, name, f"cannot be read and is left out ({reason})")
            return
        if block is None:
            self._leave(layer, name, f'its block "{title}" is not in the file and is left out')
            return
        if block.block.dxf.flags & _ELSEWHERE:
            where = shortened(str(block.block.dxf.get("xref_path", ""))) or "another file"
            said = f'its block "{title}" is an external reference to {where}, which is not read'
            self._leave(layer, name, said, "Bind it into this drawing, or read that file")
        for one in maps:
            for inner in block:
                # Layer 0 inside a block means the layer of the insert (DXF reference, BLOCK).
                inner_layer = layer if layer_of(inner) == "0" else layer_of(inner)
                inner_name = f"{name}, {inner.dxftype()}"
                if inner.dxftype() == "INSERT":
                    yield from self._inside(inner, inner_layer, inner_name, one)
                elif inner.dxftype() != "ATTDEF":  # the insert's own attributes take its place
                    for placed in self._placed(inner, one, skipped, reasons):
                        yield placed, inner_layer, inner_name
        if skipped:
            kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(skipped.items()))
            said = f"entities of its block cannot be placed and are left out: {kinds} ({reasons[0]})"
            self._leave(layer, name, said)

    def _placed(
        self, entity: Any, matrix: Matrix44 | None, skipped: Counter[str], reasons: list[str]
    ) -> Sequence[Any]:
        if matrix is None or entity.dxftype() not in _PLACED:
            return (entity,)
        try:
            return tuple(placed_copies(entity, matrix))
        except FAULTS as fault:
            skipped[entity.dxftype()] += 1
            reasons.append(shortened(str(fault)) or type(fault).__name__)
            return ()


def _key(block: str) -> str:
    return block.casefold()


def _weight(insert: Any, of_block: int) -> int:
    copies = 1
    if insert.mcount > 1:  # with no spacing the loader still counts rows and columns one by one
        rows, columns = attribute(insert, "row_count", 1), attribute(insert, "column_count", 1)
        copies = max(1, rows) * max(1, columns)
    return int(copies * (1 + len(insert.attribs) + of_block))


def _surveyed(blocks: Any) -> dict[str, _Block]:
    """Every block by its name, innermost first; those that hold themselves, or such a block, never come."""
    plain: dict[str, int] = {}
    inserts: dict[str, list[Any]] = {}
    holders: dict[str, list[str]] = {}
    awaited: dict[str, int] = {}
    for block in blocks:
        key = _key(block.name)
        inserts[key] = [entity for entity in block if entity.dxftype() == "INSERT"]
        plain[key] = len(block) - len(inserts[key])
    for key, held in inserts.items():
        inner = sorted({_key(str(attribute(insert, "name", ""))) for insert in held} & plain.keys())
        awaited[key] = len(inner)
        for name in inner:
            holders.setdefault(name, []).append(key)
    done: dict[str, _Block] = {}
    ready = [key for key, count in awaited.items() if not count]
    while ready:
        key = ready.pop()
        weight, depth = plain[key], 1
        for insert in inserts[key]:
            held_block = done.get(_key(str(attribute(insert, "name", ""))))
            weight += _weight(insert, held_block.weight if held_block else 0)
            depth = max(depth, 1 + (held_block.depth if held_block else 0))
        done[key] = _Block(min(weight, _COUNTLESS), depth)
        for holder in holders.get(key, ()):
            awaited[holder] -= 1
            if not awaited[holder]:
                ready.append(holder)
    return done
