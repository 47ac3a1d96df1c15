"""What fitting gives: the parts to cut, and what was changed and why. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from camkit.errors import Finding
from camkit.joinery.place import PlaceKind
from camkit.part import Hole, Part

__all__ = ["Fitted", "FittedJoint", "GluedLayer", "GluedUp", "Relief", "SizeChange"]

Relief = Literal["dogbone", "t-bone", "overcut", "as drawn", "none"]


@dataclass(frozen=True, slots=True)
class FittedJoint:
    """One opening, slot or housing whose width follows the sheet.

    `parts` names its part and, if known, the mate. `relief` says how its corners are relieved for the cutter:
    by dogbones, by T-bones that pass one wall only, with whole ends cut over where two would merge, or by the
    reliefs as drawn where they serve this cutter and nothing moved.
    (x, y) is its middle as drawn.
    `clearance_mm` is as cut, room for a finish included; `why` is the sum that `fitted_mm` comes from.
    """

    kind: PlaceKind
    parts: tuple[str, ...]
    drawn_mm: float
    fitted_mm: float
    clearance_mm: float
    relief: Relief
    x: float
    y: float
    why: str = ""


@dataclass(frozen=True, slots=True)
class SizeChange:
    """A size of a part that follows the sheet and is no width of an opening: `what` names it.

    (x, y) is where it was drawn.
    """

    part: str
    what: str
    drawn_mm: float
    fitted_mm: float
    why: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class GluedLayer:
    """A layer of a glue-up with the dowel holes it received, in its own drawing's coordinates."""

    part: str
    face: Literal["up", "down"]
    dowels: tuple[Hole, ...]


@dataclass(frozen=True, slots=True)
class GluedUp:
    """A glue-up; `play_deg` and `worst_shift_mm` say how far its layers can still turn and shift.

    `thickness_mm` is that of all layers together.
    """

    name: str
    layers: tuple[GluedLayer, ...]
    play_deg: float
    worst_shift_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class Fitted:
    """All parts as they must be cut, in the order given."""

    parts: tuple[Part, ...]
    joints: tuple[FittedJoint, ...] = ()
    glue_ups: tuple[GluedUp, ...] = ()
    findings: tuple[Finding, ...] = ()
    sizes: tuple[SizeChange, ...] = ()
