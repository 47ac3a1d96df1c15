"""Lines that help to draw and are not cut: centre lines by their line type, construction by its layer's name.

ISO 128-2:2020 (numbers from memory) keeps the long-dashed dotted line (04) for centre lines, axes of symmetry
and pitch circles, the long-dashed double-dotted one (05) for neighbouring parts and other positions: neither
is an edge of the part. A dashed line (02) is a hidden edge, which a recess of the other face would be: that
could be meant, so it is read like any other, and a warning says so.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence, Set
from dataclasses import replace

from camkit.drawing.layer_words import is_construction
from camkit.drawing.sketch import Piece
from camkit.errors import Finding
from camkit.geometry.measure import bounds, bounds_of_all

__all__ = ["CENTRE", "CONSTRUCTION", "aside_by_kind"]

CENTRE = "centre or phantom lines by their line type (ISO 128)"
CONSTRUCTION = "construction by their layer's name"
# Names of line types as drawing programs write them into DXF files, in English and German.
_CHAIN = re.compile(
    r"(?:center|centre|dashdot|phantom|divide|acad_iso(?:04|05|08|09|10|12)|mitte|strichpunkt)"
)
_DASHED = re.compile(r"(?:hidden|dashed|acad_iso(?:02|03)|verdeckt|strichlinie)")


def aside_by_kind(
    pieces: Sequence[Piece], ruled: Set[str], file: str
) -> tuple[Sequence[Piece], list[Finding]]:
    """The pieces, those that are not cut marked as left aside, and a warning where that is in doubt.

    Layers that are `ruled` keep their pieces whatever these look like. Where nothing would be left, all
    is kept, and so are closed lines that reach beyond all others and hold closed ones, as outlines do.
    """
    helping = {layer for layer in {piece.layer for piece in pieces} - ruled if is_construction(layer)}
    types = {piece.line_type for piece in pieces}
    chain = {name for name in types if _CHAIN.match(name.casefold())}
    dashed = {name for name in types if _DASHED.match(name.casefold())}
    if not (helping or chain or dashed):
        return pieces, []

    def reason(piece: Piece) -> str:
        if piece.aside or piece.layer in ruled:
            return piece.aside
        return CONSTRUCTION if piece.layer in helping else CENTRE if piece.line_type in chain else ""

    marked = [replace(p, aside=r) if (r := reason(p)) != p.aside else p for p in pieces]
    if all(piece.aside for piece in marked) and not all(piece.aside for piece in pieces):
        said = f"everything is drawn as {CONSTRUCTION if helping else CENTRE}; it was read as lines to cut"
        return pieces, [Finding("warning", "construction-kept", said, file=file)]
    marked, outlines = _without_outlines(marked, pieces, file)
    counts = Counter(
        p.layer for p in marked if p.line_type in dashed and not p.aside and p.layer not in ruled
    )
    if not counts or sum(counts.values()) == sum(not piece.aside for piece in marked):
        return marked, outlines
    where = ", ".join(f"{count} on layer {layer or '(none)'}" for layer, count in sorted(counts.items()))
    said = (
        f"dashed lines are hidden edges (ISO 128) and may belong to the other face; read like others: {where}"
    )
    remedy = 'Give their layer a meaning: { pocket = depth }, or "ignore"'
    hidden = Finding("warning", "hidden-lines", said, remedy, file=file, count=sum(counts.values()))
    return marked, [*outlines, hidden]


def _without_outlines(
    marked: list[Piece], pieces: Sequence[Piece], file: str
) -> tuple[list[Piece], list[Finding]]:
    """The pieces, outlines among those that were just left aside taken back, with a warning."""
    doubtful = [
        number
        for number, (now, before) in enumerate(zip(marked, pieces, strict=True))
        if now.aside != before.aside and now.path.closed
    ]
    kept = [piece.path for piece in marked if not piece.aside]
    if not doubtful or not kept:
        return marked, []
    x0, y0, x1, y1 = bounds_of_all(kept)
    closed = [bounds(path) for path in kept if path.closed]
    back = []
    for number in doubtful:
        a, b, c, d = bounds(marked[number].path)
        beyond = a < x0 or b < y0 or c > x1 or d > y1
        if beyond and any(a <= u and b <= v and c >= w and d >= z for u, v, w, z in closed):
            back.append(number)
    if not back:
        return marked, []
    first = pieces[back[0]]
    said = (
        f"closed lines around lines to cut, although drawn as {marked[back[0]].aside}; they were read like"
        f" others: {len(back)}"
    )
    remedy = 'If they are not cut, give their layer the meaning "ignore"'
    for number in back:
        marked[number] = pieces[number]
    told = Finding("warning", "construction-kept", said, remedy, file=file, layer=first.layer or None)
    return marked, [replace(told, entity=first.entity, count=len(back))]
