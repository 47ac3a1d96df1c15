"""Colours of all pages and pictures, from published scales that colour-blind eyes can tell apart.

Operations: M. Okabe and K. Ito, Color Universal Design (2008), jfly.uni-koeln.de/color. Depth of a path:
cividis, J. R. Nunez, C. R. Anderton and R. S. Renslow, PLOS ONE 13(7), e0199239 (2018). No colour speaks
alone: operations differ in their dashes too, depths are written beside the scale.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CIVIDIS", "JOINT", "LEVELS", "OPERATIONS", "Operation", "operation"]


@dataclass(frozen=True, slots=True)
class Operation:
    """How one kind of cut is drawn: colour on light and on dark ground, dashes in line widths."""

    kind: str
    light: str
    dark: str
    dash: tuple[float, ...]


OPERATIONS = (
    Operation("profile", "#0072b2", "#56b4e9", ()),
    Operation("opening", "#d55e00", "#e69f00", (8, 2.5)),
    Operation("pocket", "#009e73", "#009e73", (8, 2.5, 1.5, 2.5)),
    Operation("hole", "#cc79a7", "#cc79a7", (2.5, 2.5)),
    Operation("hold-down", "#56b4e9", "#f0e442", (1, 1.5, 4, 1.5)),
    Operation("countersink", "#cc79a7", "#cc79a7", (1, 1.5)),
)
# Cuts of a text that names no operation.
_UNNAMED = Operation("cut", "#000000", "#f0e442", ())

# Ten even samples of cividis, dark to bright.
CIVIDIS = (
    "#00224e", "#123570", "#3c4a6c", "#575d6d", "#707173", "#8a8678", "#a59c74", "#c2b369",
    "#e1cc55", "#fee838",
)  # fmt: skip

# Joints in the picture of a drawing, where no operations are drawn (Okabe and Ito).
JOINT = "#009e73"

# A finding's level (Okabe and Ito again).
LEVELS = {"error": "#d55e00", "warning": "#e69f00", "note": "#0072b2"}


def operation(kind: str) -> Operation:
    """How a kind of cut is drawn, whatever its letter case."""
    return next((o for o in OPERATIONS if o.kind == kind.lower()), _UNNAMED)
