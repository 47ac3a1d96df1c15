"""A part moved, turned or mirrored onto a sheet."""

from __future__ import annotations

from dataclasses import replace

from camkit.geometry.transform import Placement, moved, moved_point
from camkit.part import Part

__all__ = ["moved_part"]


def moved_part(part: Part, placement: Placement) -> Part:
    """The part with its outline, openings, holes, pockets and joint faces where the placement puts them.

    Depths are of the sheet, so a `scale` other than 1 raises ValueError.
    """
    if placement.scale != 1:
        raise ValueError(f"a part is never scaled, not even by {placement.scale:g}")
    if placement == Placement():
        return part
    return replace(
        part,
        outline=moved(part.outline, placement),
        openings=tuple(moved(path, placement) for path in part.openings),
        holes=tuple(replace(hole, centre=moved_point(hole.centre, placement)) for hole in part.holes),
        pockets=tuple(
            replace(
                pocket,
                outline=moved(pocket.outline, placement),
                islands=tuple(moved(island, placement) for island in pocket.islands),
            )
            for pocket in part.pockets
        ),
        joint_faces=tuple(
            (moved_point(start, placement), moved_point(end, placement)) for start, end in part.joint_faces
        ),
    )
