"""Finding the parts that a glue-up names as its layers."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from camkit.errors import Finding
from camkit.job.model import GlueUp
from camkit.part import Part

__all__ = ["resolve", "stacks"]

_COPY = re.compile(r"(?P<name>.+):(?P<copy>[1-9][0-9]*)")


def resolve(
    row: GlueUp, parts: Sequence[Part], taken: Mapping[int, str]
) -> tuple[tuple[int, ...], tuple[Finding, ...]]:
    """Indices of the parts that are the layers, first layer first; none at all when one is not to be had.

    A name met again takes the next part of that name; "shelf:2" takes the second one. `taken` says which
    parts are layers of which glue-up already.
    """
    found: list[int] = []
    for name in row.layers:
        indices = _called(name, parts)
        free = [index for index in indices if index not in taken and index not in found]
        if not free:
            return (), (_missing(row, name, parts, [taken.get(index, row.name) for index in indices]),)
        found.append(free[0])
    return tuple(found), ()


def stacks(rows: Sequence[GlueUp], parts: Sequence[Part]) -> tuple[tuple[int, ...], ...]:
    """Indices of the layers of every glue-up, in their order; a glue-up that is not to be had is left out."""
    taken: dict[int, str] = {}
    found = []
    for row in rows:
        layers, _ = resolve(row, parts, taken)
        taken |= dict.fromkeys(layers, row.name)
        found += [layers] if layers else []
    return tuple(found)


def _called(name: str, parts: Sequence[Part]) -> list[int]:
    exact = [index for index, part in enumerate(parts) if part.name == name]
    match = _COPY.fullmatch(name)
    if exact or not match:
        return exact
    copies = [index for index, part in enumerate(parts) if part.name == match["name"]]
    return copies[int(match["copy"]) - 1 : int(match["copy"])]


def _missing(row: GlueUp, name: str, parts: Sequence[Part], users: Sequence[str]) -> Finding:
    if users:
        where = "this glue-up" if users[-1] == row.name else f'glue-up "{users[-1]}"'
        return Finding(
            "error",
            "glue-up-layers",
            f'glue-up "{row.name}" needs one more part "{name}": it is a layer of {where} already',
            "Draw one part for each layer",
            part=name,
        )
    known = list(dict.fromkeys(part.name for part in parts))
    nearest = get_close_matches(name, known, 1, 0.0)
    return Finding(
        "error",
        "glue-up-layers",
        f'glue-up "{row.name}" names the layer "{name}", but no part is called so',
        f'Write "{nearest[0]}"' if nearest else "Name parts of the drawings",
    )
