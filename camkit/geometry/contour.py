"""`Contour`: a loop as sharp walls that can be moved, and what stands in their corners.

Walls are lines, or arcs that are no corner; where a drawing rounded or relieved a corner, the walls meet in
the corner itself and `Corner` says what was drawn there. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from camkit.geometry.corner import arriving, leaving
from camkit.geometry.drawn_corners import Found, LeftAlone, drawn_corners, wall_in_line
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Arc, Line, Path, Point, Segment, oriented
from camkit.geometry.tolerance import SAME_POINT

__all__ = ["Contour", "Corner", "contour_of", "loop_of"]


@dataclass(frozen=True, slots=True)
class Corner:
    """What stands between the end of a wall and the next: nothing, a fillet, or a relief that was undone.

    `pieces` are as drawn, between the two walls; `at` is the sharp corner as drawn (None when sharp).
    """

    kind: Literal["sharp", "fillet", "relief"] = "sharp"
    radius: float = 0.0
    pieces: tuple[Segment, ...] = ()
    at: Point | None = None


_SHARP = Corner()


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed loop as sharp `walls`, material on their left; corner k stands at the end of wall k.

    `drawn` is the loop exactly as it was given; `left` tells what looks like a relief and stays
    among the walls (reliefs that run into each other, for one). Walls may be moved parallel to themselves
    with `geometry.corner.move_walls` and put back with `replace`: same number, same order.
    """

    walls: Path
    corners: tuple[Corner, ...]
    drawn: Path
    left: tuple[LeftAlone, ...] = ()

    @property
    def reliefs(self) -> tuple[Corner, ...]:
        """The corners whose relief was undone."""
        return tuple(corner for corner in self.corners if corner.kind == "relief")


def contour_of(loop: Path, *, hollow: bool) -> Contour:
    """The closed loop with drawn reliefs undone, fillets taken out of its corners, and walls made whole.

    `hollow` loops (openings, pockets) run clockwise, outlines counter-clockwise. What counts as a relief or
    a fillet is told at `geometry.drawn_corners`; what does not stays among the walls as it was drawn.
    """
    segments = _without_specks(oriented(loop, clockwise=hollow))
    drawn = drawn_corners(segments, hollow=hollow)
    walls, corners = _whole_walls(*_sharp_walls(segments, drawn.found))
    return Contour(Path(tuple(walls)), tuple(corners), loop, drawn.left)


def _without_specks(loop: Path) -> list[Segment]:
    """The segments that have a length and so a direction; several specks in a row leave a line."""
    kept: list[Segment] = []
    for segment in loop.segments:
        if segment_length(segment) > SAME_POINT:
            if kept and math.dist(kept[-1].end, segment.start) > SAME_POINT:
                kept.append(Line(kept[-1].end, segment.start))
            kept.append(segment)
    return kept or list(loop.segments)


def _sharp_walls(segments: Sequence[Segment], found: Sequence[Found]) -> tuple[list[Segment], list[Corner]]:
    """The walls with their corners where the walls meet, and what stands there."""
    count = len(segments)
    taken = {index % count for one in found for index in range(one.first, one.stop)}
    ends = {(one.first - 1) % count: one for one in found}
    starts = {one.stop % count: one for one in found}
    walls: list[Segment] = []
    corners: list[Corner] = []
    for index, segment in enumerate(segments):
        if index in taken:
            continue
        before, after = starts.get(index), ends.get(index)
        if before or after:
            start = before.rounding.corner if before else segment.start
            end = after.rounding.corner if after else segment.end
            segment = Line(start, end)
        walls.append(segment)
        corners.append(_corner(segments, after) if after else _SHARP)
    return walls, corners


def _corner(segments: Sequence[Segment], found: Found) -> Corner:
    count = len(segments)
    pieces = tuple(segments[index % count] for index in range(found.first, found.stop))
    kind: Literal["fillet", "relief"] = "fillet" if found.rounding.kind == "fillet" else "relief"
    return Corner(kind, found.rounding.radius, pieces, found.rounding.corner)


def _whole_walls(walls: Sequence[Segment], corners: Sequence[Corner]) -> tuple[list[Segment], list[Corner]]:
    """Walls that are one line in several pieces made one."""
    count = len(walls)
    seams = [k for k in range(count) if corners[k].kind != "sharp" or not _goes_on(walls[k], walls, k)]
    if len(seams) < 2:
        return list(walls), list(corners)
    joined: list[Segment] = []
    kept: list[Corner] = []
    for place, seam in enumerate(seams):
        first = seams[place - 1] + 1
        run = [walls[k % count] for k in range(first, seam + 1 if seam >= first else seam + 1 + count)]
        for index, group in _in_line(run):
            joined.append(group)
            kept.append(corners[seam] if index == len(run) else _SHARP)
    # The loop begins where it began.
    begin = 0 if seams[-1] == count - 1 else 1 % len(joined)
    return joined[begin:] + joined[:begin], kept[begin:] + kept[:begin]


def _goes_on(wall: Segment, walls: Sequence[Segment], index: int) -> bool:
    return wall_in_line([wall, walls[(index + 1) % len(walls)]])


def _in_line(run: Sequence[Segment]) -> list[tuple[int, Segment]]:
    """Lines that may go on into each other, joined as far as all their vertices lie on one line."""
    result: list[tuple[int, Segment]] = []
    first = 0
    while first < len(run):
        stop = first + 1
        while stop < len(run) and wall_in_line(run[first : stop + 1]):
            stop += 1
        whole = run[first] if stop == first + 1 else Line(run[first].start, run[stop - 1].end)
        result.append((stop, whole))
        first = stop
    return result


def loop_of(contour: Contour) -> Path:
    """The loop again: fillets back in their corners, relieved corners left sharp, material on the left.

    A fillet keeps its radius and its drawn pieces, and follows its corner; where the corner has not moved
    the pieces are the very same. Walls keep their direction when they are moved. Raises ValueError where a
    fillet no longer fits.
    """
    walls, corners = contour.walls.segments, contour.corners
    if len(walls) != len(corners):
        raise ValueError(
            f"{len(walls)} walls have {len(corners)} corners: walls must stay as many as they were"
        )
    pieces = [_put_back(corner, wall.end) for wall, corner in zip(walls, corners, strict=True)]
    loop: list[Segment] = []
    for index, wall in enumerate(walls):
        before, after = pieces[index - 1], pieces[index]
        start = before[-1].end if before else wall.start
        end = after[0].start if after else wall.end
        if before or after:
            loop += _between(wall, start, end, corners[index - 1], corners[index])
        else:
            loop.append(wall)
        loop += after
    return Path(tuple(loop))


def _put_back(corner: Corner, at: Point) -> tuple[Segment, ...]:
    if corner.kind != "fillet" or corner.at is None:
        return ()
    dx, dy = at[0] - corner.at[0], at[1] - corner.at[1]
    if dx == 0 and dy == 0:
        return corner.pieces

    def moved(point: Point) -> Point:
        return (point[0] + dx, point[1] + dy)

    return tuple(
        Line(moved(piece.start), moved(piece.end))
        if isinstance(piece, Line)
        else Arc(moved(piece.start), moved(piece.end), moved(piece.centre), piece.clockwise)
        for piece in corner.pieces
    )


def _between(wall: Segment, start: Point, end: Point, *ends: Corner) -> tuple[Segment, ...]:
    """The wall between its fillets; nothing where they just touch."""
    (ux, uy), (vx, vy) = leaving(wall), arriving(wall)
    left = min(
        (end[0] - start[0]) * ux + (end[1] - start[1]) * uy,
        (end[0] - start[0]) * vx + (end[1] - start[1]) * vy,
    )
    if abs(left) <= SAME_POINT and math.dist(start, end) <= SAME_POINT:
        return ()
    if left <= 0:
        radii = " and ".join(f"{corner.radius:.3g}" for corner in ends if corner.kind == "fillet")
        raise ValueError(
            f"a fillet of radius {radii} no longer fits the wall from ({wall.start[0]:.3f}, "
            f"{wall.start[1]:.3f}) to ({wall.end[0]:.3f}, {wall.end[1]:.3f}): "
            f"the wall is {-left:.3f} mm too short"
        )
    return (Line(start, end),)
