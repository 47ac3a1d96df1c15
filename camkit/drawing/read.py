"""The door for drawings: one DXF or SVG file in, its parts and findings out."""

from __future__ import annotations

import contextlib
import gc
import pathlib
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.drawing.arcs_again import arcs_again
from camkit.drawing.candidate import candidates_of, rule_for
from camkit.drawing.chain import Loop, chain
from camkit.drawing.construction import CENTRE, CONSTRUCTION, aside_by_kind
from camkit.drawing.drawn import Drawn
from camkit.drawing.dxf import open_dxf
from camkit.drawing.evidence import gather
from camkit.drawing.heal import healed
from camkit.drawing.nest import Nest, nest
from camkit.drawing.offers import offers
from camkit.drawing.open_lines import open_lines
from camkit.drawing.parts import assemble
from camkit.drawing.sketch import Crowded, Label, Opened, Piece
from camkit.drawing.source import read_source
from camkit.drawing.svg import ARTWORK, open_svg
from camkit.drawing.units import Choice, GivenUnit, choose_unit, finer_scale, first_scale, given_unit
from camkit.errors import Finding, InputError
from camkit.part import LayerRule

__all__ = ["read"]


@dataclass(frozen=True, slots=True)
class _Draft:
    """A drawing at one scale: pieces joined, nothing given a meaning yet."""

    pieces: tuple[Piece, ...]
    labels: tuple[Label, ...]
    loops: tuple[Loop, ...]
    nested: Nest
    loose: tuple[Piece, ...]
    aside: tuple[Piece, ...]
    findings: tuple[Finding, ...]


def read(path: pathlib.Path, *, unit: GivenUnit | None = None, rules: tuple[LayerRule, ...] = ()) -> Drawn:
    """What a DXF or SVG file draws: parts with openings, holes and pockets, in mm.

    `unit` overrules what the file says about its unit; `rules` say what layers mean, the first that matches
    counts. A text names the part it stands on, even from a layer that is ignored. A drawing without any
    closed outline gives no parts and a finding of level error. Raises InputError when the file cannot be
    read at all, holds more than can be worked through, or states no unit and several are plausible.
    """
    file = path.as_posix()
    try:
        with _collector_at_rest():
            return _read(path, file, unit, rules)
    except Crowded as fault:
        said, remedy = f"{fault}", "Delete hatches, engravings and whatever is not to be cut"
        raise InputError(Finding("error", "too-crowded", said, remedy, file=file)) from fault
    except MemoryError as fault:
        said = "reading it takes more memory than there is"
        raise InputError(Finding("error", "too-large", said, "Split the drawing", file=file)) from fault


@contextlib.contextmanager
def _collector_at_rest() -> Iterator[None]:
    # Reading makes millions of objects that all live until its end: looking for garbage among them again and
    # again takes a fifth of the time and finds nothing.
    working = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if working:
            gc.enable()


def _read(path: pathlib.Path, file: str, unit: GivenUnit | None, rules: tuple[LayerRule, ...]) -> Drawn:
    opened = _open(path, file)
    if unit is not None:
        chosen = given_unit(unit, opened, file)
        draft = _draft(opened, chosen.scale, rules, file)
    else:
        scale = first_scale(opened)
        draft = _draft(opened, scale, rules, file)
        evidence = gather(draft.pieces, draft.loops, draft.nested, opened.page, scale)
        finer = finer_scale(evidence, scale)
        if finer is not None:
            scale, draft = finer, _draft(opened, finer, rules, file)
            evidence = gather(draft.pieces, draft.loops, draft.nested, opened.page, scale)
        chosen = choose_unit(opened, evidence, file)
        if chosen.scale != scale:
            draft = _draft(opened, chosen.scale, rules, file)
    return _drawn(draft, chosen, rules, file)


def _drawn(draft: _Draft, chosen: Choice, rules: Sequence[LayerRule], file: str) -> Drawn:
    outlines, open_findings = open_lines(draft.loose, file)
    candidates = candidates_of(draft.loops, rules)
    candidates += candidates_of([Loop(o.path, o.layer, o.entity) for o in outlines], rules, open=True)
    assembled = assemble(candidates, draft.labels, draft.nested, file)
    offered, offer_findings = offers(assembled.readings, chosen.scale, file)
    findings = [
        *chosen.findings,
        *draft.findings,
        *open_findings,
        *assembled.findings,
        *offer_findings,
    ]
    if not assembled.parts:
        said = "no closed outline was found" if draft.pieces else "it draws nothing that could be cut"
        remedy = "Draw each part as a closed outline" if draft.pieces else "Look at hidden and ignored layers"
        findings.append(Finding("error", "no-outline", said, remedy, file=file))
    return Drawn(
        file,
        chosen.name,
        chosen.source,
        assembled.parts,
        assembled.sheet_edge,
        tuple(findings),
        len(draft.loops),
        (*assembled.left, *(piece.path for piece in (*draft.loose, *draft.aside))),
        offered,
        assembled.again,
    )


def _draft(opened: Opened, scale: float, rules: Sequence[LayerRule], file: str) -> _Draft:
    sketch = opened.sketch(scale)
    pieces: list[Piece] = []
    out: list[Piece] = []
    ignored: Counter[str] = Counter()
    aside: dict[str, Counter[str]] = {}
    of_layer = {layer: rule_for(layer, rules) for layer in {piece.layer for piece in sketch.pieces}}
    ruled = {layer for layer, rule in of_layer.items() if rule is not None}
    drawn, doubts = aside_by_kind(sketch.pieces, ruled, file)
    for piece in drawn:
        rule = of_layer[piece.layer]
        if rule is not None and rule.meaning == "ignore":
            ignored[piece.layer] += 1
        elif piece.aside and rule is None:
            aside.setdefault(piece.aside, Counter())[piece.layer] += 1
            out.append(piece)
        else:
            pieces.append(piece)
    findings = [*sketch.findings, *doubts]
    if ignored:
        findings.append(
            Finding("note", "ignored", f"pieces ignored by their layer: {_counted(ignored)}", file=file)
        )
    closed = {piece.aside for piece in out if piece.path.closed} & {CENTRE, CONSTRUCTION}
    for reason, layers in aside.items():
        findings.append(
            Finding(
                "warning" if reason == ARTWORK or reason in closed else "note",
                "left-aside",
                f"pieces left out as {reason}: {_counted(layers)}",
                "Give the layer a meaning if it is to be cut",
                file=file,
            )
        )
    chained = chain(pieces, file)
    loops, mended = healed(chained.loops, file)
    loops, rounded = arcs_again(loops, file)
    findings += (*chained.findings, *mended, *rounded)
    nested = nest([loop.path for loop in loops])
    return _Draft(tuple(pieces), sketch.labels, loops, nested, chained.loose, tuple(out), tuple(findings))


def _counted(layers: Counter[str]) -> str:
    return ", ".join(f"{count} on layer {name or '(none)'}" for name, count in sorted(layers.items()))


def _open(path: pathlib.Path, file: str) -> Opened:
    kind, raw = read_source(path, file)
    return open_dxf(raw, file) if kind == "dxf" else open_svg(raw, file)
