"""How good every place along a path is for a tab: straight, clear of corners and joints, wood to hang on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.geometry.measure import Bounds
from camkit.geometry.path import Point
from camkit.toolpath.along import Along, angle_between, gaps
from camkit.toolpath.lead import Wood

__all__ = ["WOOD", "Fault", "Ground", "Weighed", "weighed"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Width of wood beyond the cut that a tab needs to hang on (common practice, no source).
WOOD = 3.0
# Wood is looked for so far beyond the cut.
_REACHES = (WOOD / 10, WOOD)
# Webs of the part are spared: narrower than the first they may break, than the second where there are other
# places (common practice, no source).
_WEAK, _WEB = 6.0, 12.0
# A joint face this near to the cutter's rim is the wall that is being cut.
_AT_WALL = 0.15
# Places along a tab that are looked at, in halves of its top.
_LOOKED_AT = (-1.0, 0.0, 1.0)

# What a place is worth, as mm of shift from the evenest spacing that one accepts to avoid it (own choice: the
# order is that of common practice). Turning counts by the radian, up to one.
_CORNER_AT_3_CUTTERS, _CORNER_AT_1_CUTTER, _BENT = 30.0, 40.0, 250.0
_GRAIN = 0.25  # of the spacing
_AT_ENTRY = 200.0
_THIN_WEB, _TOO_THIN_WEB = 50.0, 600.0
_SHARED = 60.0
_ON_JOINT = 2500.0
_THINNED = 600.0
_CLEARED = 1500.0

Fault = str


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What surrounds the cuts along one piece, on the sheet.

    `board` is the sheet's extent. `wood` are all parts and `part` the piece's name and copy in it; None: the
    path alone counts. `joints` are its walls that bear on other parts, `other_joints` those of pieces near
    it, `recesses` where little is left of its thickness, `grain` is the direction of the face grain, `centre`
    the piece's centre of area.
    """

    board: Bounds
    wood: Wood | None = None
    part: tuple[str, int] = ("", 1)
    joints: shapely.Geometry | None = None
    other_joints: shapely.Geometry | None = None
    recesses: shapely.Geometry | None = None
    grain: Point | None = None
    centre: Point | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """Places along a path that can carry a tab, and what each costs; masks say what is wrong there.

    Where it is `tight`, a smaller tab may stand better.
    """

    places: Floats
    cost: Floats
    tight: Flags
    faults: dict[Fault, Flags]

    def tight_at(self, place: float) -> bool:
        """Whether a smaller tab may stand better at one of the places."""
        return bool(self.tight[np.argmin(np.abs(self.places - place))])

    def fault_at(self, place: float) -> list[Fault]:
        """What is wrong with one of the places."""
        k = int(np.argmin(np.abs(self.places - place)))
        return [words for words, there in self.faults.items() if there[k]]


def weighed(
    path: Along,
    places: Floats,
    radius: float,
    halves: tuple[float, float],
    end: float,
    spacing: float,
    ground: Ground | None,
    *,
    waste_left: bool,
) -> Weighed:
    """The places weighed for tabs; `halves` are half of how long the cutter is raised, at top and table.

    The cutter comes to the path at its beginning and leaves it `end` mm along. `waste_left` tells on which
    side of the path the piece is not. Where beyond the cut there is no sheet, no tab can stand.
    """
    half_top, half = halves
    if ground is not None:
        places = places[_on_board(path, places, radius, ground.board)]
    bent = path.turning(places, half)
    cost = _BENT * np.minimum(bent, 1.5)
    # A relief or a corner where the tab ends parts a crumb of its wood from the rest.
    cost += np.where(path.turning(places, half + radius) - bent > 1.0, _BENT, 0.0)
    cost += _CORNER_AT_1_CUTTER * np.minimum(path.turning(places, half + 2 * radius), 1.0)
    cost += _CORNER_AT_3_CUTTERS * np.minimum(path.turning(places, half + 6 * radius), 1.0)
    room = half + 2 * radius
    entry = np.minimum(gaps(places, 0.0, path.around), gaps(places, end, path.around)) < room
    faults: dict[Fault, Flags] = {"round a corner": bent > 1.0}
    cost += np.where(entry, _AT_ENTRY, 0.0)
    beside = _Beside(path, places, half_top - radius, radius, waste_left=waste_left)
    cleared = beside.cleared()
    cost += np.where(cleared, _CLEARED, 0.0)
    faults["with no wood to hang on"] = cleared
    if ground is not None:
        if ground.joints is not None:
            joint = beside.meets(ground.joints)
            cost += np.where(joint, _ON_JOINT, 0.0)
            faults["on a joint face"] = joint
        if ground.wood is not None:
            too_thin, thin, shared = beside.webs(ground.wood, ground.part)
            cost += np.where(too_thin, _TOO_THIN_WEB, np.where(thin, _THIN_WEB, 0.0))
            cost += np.where(shared, _SHARED, 0.0)
            if ground.other_joints is not None:
                across = shared & beside.meets(ground.other_joints, 2 * radius + WOOD)
                cost += np.where(across, _ON_JOINT, 0.0)
                faults["on a joint face of the piece beside it"] = across
            faults[f"beside a web of less than {_WEAK:g} mm"] = too_thin
        if ground.recesses is not None:
            thinned = beside.meets(ground.recesses)
            cost += np.where(thinned, _THINNED, 0.0)
            faults["under a recess"] = thinned
        if ground.grain is not None:
            across = np.sin(angle_between(path.headings(places), ground.grain))
            cost += _GRAIN * spacing * across
    return Weighed(places, cost, (bent > 1.0) | entry | cleared, faults)


def _on_board(path: Along, places: Floats, radius: float, board: Bounds) -> Flags:
    """Whether sheet lies on both sides of the cut at each place."""
    (x, y), (x0, y0, x1, y1) = path.at(places).T, board
    room = radius + WOOD
    found: Flags = (x0 + room <= x) & (x <= x1 - room) & (y0 + room <= y) & (y <= y1 - room)
    return found


class _Beside:
    """Spots beside tabs at every place, in the waste and in the piece; arrays (places, spots of a tab)."""

    def __init__(self, path: Along, places: Floats, half: float, radius: float, *, waste_left: bool) -> None:
        self.path, self.radius = path, radius
        spots = places[:, None] + half * np.array(_LOOKED_AT)[None, :]
        self.here = path.at(spots)
        heading = path.headings(spots)
        left = np.stack((-heading[..., 1], heading[..., 0]), -1)
        self.outward = left if waste_left else -left

    def waste(self, reach: float) -> Floats:
        """Points `reach` mm beyond the cut."""
        found: Floats = self.here + (self.radius + reach) * self.outward
        return found

    def piece(self, reach: float) -> Floats:
        """Points `reach` mm inside the piece."""
        found: Floats = self.here - (self.radius + reach) * self.outward
        return found

    def meets(self, shape: shapely.Geometry, beyond: float = _AT_WALL) -> Flags:
        """Where the shape lies at the cut, or `beyond` it by no more, for a part of the tab at least."""
        near = self._near(self.here, shape, self.radius + beyond)
        return np.asarray(near.any(axis=1), dtype=bool)

    def cleared(self) -> Flags:
        """Where the path itself clears wood that a tab should hang on, at one side or the other."""
        ring = self.path.ring
        found = np.zeros(len(self.here), dtype=bool)
        for points in (self.waste, self.piece):
            for reach in _REACHES:
                found |= self._near(points(reach), ring, self.radius - 1e-6).any(axis=1)
        return found

    def webs(self, wood: Wood, part: tuple[str, int]) -> tuple[Flags, Flags, Flags]:
        """Where the piece is narrower than _WEAK, or than _WEB; and where cuts along others take the waste.

        The piece is region `part` of the wood.
        """
        own = wood.areas[wood.place_of[part]]
        shapely.prepare(own)
        inside = {
            reach: shapely.contains_xy(own, *np.moveaxis(self.piece(reach), -1, 0)).all(axis=1)
            for reach in (*_REACHES, _WEAK, _WEB)
        }
        too_thin = ~(inside[_REACHES[0]] & inside[_REACHES[1]] & inside[_WEAK])
        shared = np.zeros(len(self.here), dtype=bool)
        for reach in _REACHES:
            points = self.waste(reach)
            for other in wood.others_beside(points.reshape(-1, 2), 2 * self.radius, part):
                shared |= self._near(points, other, 2 * self.radius).any(axis=1)
        return too_thin, ~too_thin & ~inside[_WEB], shared

    @staticmethod
    def _near(points: Floats, shape: shapely.Geometry, distance: float) -> Flags:
        shapely.prepare(shape)
        found: Flags = shapely.dwithin(shape, shapely.points(points), distance)
        return found
