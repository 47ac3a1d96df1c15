"""Moves of the cutter's centre, in mm, Z0 on the sheet's top, from plain arithmetic.

Nothing here comes from the toolkit's own planning. Faults are planted by naming them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from .witness_scenes import BLIND, BORED, CORNERS, DRILLED, THROUGH


@dataclass(frozen=True)
class Step:
    """One move to `end`; `code` is G0 to G3, or a block of its own that is written as it stands."""

    code: str
    end: tuple[float, float, float] = (0.0, 0.0, 0.0)
    centre: tuple[float, float] | None = None
    feed: float = 0.0
    tag: str = ""


@dataclass
class Plan:
    """Moves in the making; coordinates left out keep their value."""

    steps: list[Step] = field(default_factory=list)
    at: tuple[float, float, float] = (0.0, 0.0, 40.0)

    def _to(self, x: float | None, y: float | None, z: float | None) -> tuple[float, float, float]:
        now = self.at
        self.at = (now[0] if x is None else x, now[1] if y is None else y, now[2] if z is None else z)
        return self.at

    def block(self, words: str, tag: str = "") -> None:
        """A line that is written as it stands."""
        self.steps.append(Step(words, tag=tag))

    def rapid(
        self, x: float | None = None, y: float | None = None, z: float | None = None, tag: str = ""
    ) -> None:
        """Travel."""
        self.steps.append(Step("G0", self._to(x, y, z), tag=tag))

    def feed(
        self,
        x: float | None = None,
        y: float | None = None,
        z: float | None = None,
        f: float = 3600,
        tag: str = "",
    ) -> None:
        """Cut straight."""
        self.steps.append(Step("G1", self._to(x, y, z), feed=f, tag=tag))

    def arc(
        self,
        clockwise: bool,
        x: float,
        y: float,
        centre: tuple[float, float],
        z: float | None = None,
        tag: str = "",
    ) -> None:
        """Cut along an arc below one turn, or a whole one when it ends where it began."""
        code = "G2" if clockwise else "G3"
        self.steps.append(Step(code, self._to(x, y, z), centre, 3600, tag))

    def turn(
        self,
        centre: tuple[float, float],
        z: float | None = None,
        pieces: int = 3,
        clockwise: bool = False,
        tag: str = "",
    ) -> None:
        """A full circle from where the cutter stands, sinking evenly to `z`, in equal pieces."""
        x0, y0, z0 = self.at
        down = z0 if z is None else z
        first, r = math.atan2(y0 - centre[1], x0 - centre[0]), math.dist((x0, y0), centre)
        for k in range(1, pieces + 1):
            angle = first + (-1 if clockwise else 1) * 2 * math.pi * k / pieces
            x, y = centre[0] + r * math.cos(angle), centre[1] + r * math.sin(angle)
            self.arc(
                clockwise,
                x0 if k == pieces else x,
                y0 if k == pieces else y,
                centre,
                z0 + (down - z0) * k / pieces,
                tag,
            )

    def to(self, x: float, y: float) -> None:
        """Up, across, and down to just above the wood."""
        self.rapid(z=15)
        self.rapid(x, y)
        self.rapid(z=2)


def _unit(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    d = math.dist(a, b)
    return ((b[0] - a[0]) / d, (b[1] - a[1]) / d)


def around(
    plan: Plan,
    corners: Sequence[tuple[float, float]],
    depths: Sequence[float] = (-6, -12, THROUGH),
    tabs: Iterable[tuple[int, float]] = ((0, 50), (0, 150), (2, 50), (2, 150)),
    *,
    away: float = 3.0,
    tab_length: float = 14.0,
    tab_z: float = -15.0,
    push: dict[int, float] | None = None,
    tag: str = "profile",
) -> None:
    """Cut clockwise around a part given counter-clockwise, `away` outside it, with arcs about convex corners.

    `tabs` are (edge, distance of the tab's middle from the edge's first corner): the last depth is left there
    for `tab_z`. `push` moves the path of an edge outwards by so much (inwards when negative), between 30 %
    and 70 % of it.
    """
    n = len(corners)
    tabs, push = tuple(tabs), push or {}
    # the offset line of every edge, and where neighbours meet
    ends: list[tuple[tuple[float, float], tuple[float, float]]] = []
    convex = []
    for i in range(n):
        p, a, b, q = corners[i - 1], corners[i], corners[(i + 1) % n], corners[(i + 2) % n]
        u = _unit(a, b)
        out = (u[1] * away, -u[0] * away)
        start, end = (a[0] + out[0], a[1] + out[1]), (b[0] + out[0], b[1] + out[1])
        for corner, before, after, last in ((a, _unit(p, a), u, False), (b, u, _unit(b, q), True)):
            turned = before[0] * after[1] - before[1] * after[0]
            if turned < 0:  # a hollow corner: the offset lines cross nearer, at away * tan(half the turn)
                back = away * math.tan(math.acos(before[0] * after[0] + before[1] * after[1]) / 2)
                place = (corner[0] + out[0], corner[1] + out[1])
                if last:
                    end = (place[0] - u[0] * back, place[1] - u[1] * back)
                else:
                    start = (place[0] + u[0] * back, place[1] + u[1] * back)
            if last:
                convex.append(turned > 0)
        ends.append((start, end))
    first = ends[-1]
    middle = ((first[0][0] + first[1][0]) / 2, (first[0][1] + first[1][1]) / 2)
    plan.to(*middle)
    for depth in depths:
        plan.feed(z=depth, f=1200, tag=f"{tag} down")
        # clockwise: the last edge from its middle, then n-2, ..., 0, then the last edge's other half
        runs = [(n - 1, middle, first[0])] + [(i, ends[i][1], ends[i][0]) for i in range(n - 2, -1, -1)]
        runs.append((n - 1, first[1], middle))
        for k, (edge, begin, finish) in enumerate(runs):
            here = tabs if depth == depths[-1] else ()
            _side(
                plan,
                corners,
                edge,
                begin,
                finish,
                depth,
                here,
                push,
                tab_length,
                tab_z,
                away,
                f"{tag} {edge}",
            )
            if k < n:
                follow = runs[k + 1][1]
                corner = corners[edge]
                if convex[edge - 1]:
                    plan.arc(True, *follow, corner, tag=f"{tag} corner")
    plan.rapid(z=15)


def _side(
    plan: Plan,
    corners: Sequence[tuple[float, float]],
    edge: int,
    begin: tuple[float, float],
    finish: tuple[float, float],
    depth: float,
    tabs: tuple[tuple[int, float], ...],
    push: dict[int, float],
    tab_length: float,
    tab_z: float,
    away: float,
    tag: str,
) -> None:
    a, b = corners[edge], corners[(edge + 1) % len(corners)]
    u = _unit(a, b)
    out = (u[1], -u[0])

    def along(p: tuple[float, float]) -> float:
        return (p[0] - a[0]) * u[0] + (p[1] - a[1]) * u[1]

    def place(s: float, aside: float = 0.0) -> tuple[float, float]:
        return (
            a[0] + u[0] * s + out[0] * (away + aside),
            a[1] + u[1] * s + out[1] * (away + aside),
        )

    high, low = along(begin), along(finish)
    stops: list[tuple[float, Callable[[], None]]] = []
    for where, middle in tabs:
        if where == edge and low < middle < high:

            def tab(m: float = middle) -> None:
                plan.feed(*place(m + tab_length / 2), tag=tag)
                plan.feed(z=tab_z, f=1200, tag=f"{tag} tab")
                plan.feed(*place(m - tab_length / 2), tag=f"{tag} tab")
                plan.feed(z=depth, f=1200, tag=f"{tag} tab")

            stops.append((middle, tab))
    if edge in push and edge != len(corners) - 1:
        total = math.dist(a, b)

        def shove() -> None:
            plan.feed(*place(0.7 * total), tag=tag)
            plan.feed(*place(0.7 * total, push[edge]), tag=f"{tag} shove")
            plan.feed(*place(0.3 * total, push[edge]), tag=f"{tag} shove")
            plan.feed(*place(0.3 * total), tag=f"{tag} shove")

        stops.append((0.5 * total, shove))
    for _, make in sorted(stops, key=lambda stop: -stop[0]):
        make()
    plan.feed(*finish, tag=tag)


def clear_pocket(
    plan: Plan,
    box: tuple[float, float, float, float],
    depth: float,
    *,
    rows: float = 4.0,
    skip_rows: bool = False,
    wall: float = 0.0,
    floor: float = 0.0,
    cut_corner: float = 0.0,
    ramp_past: float = 0.0,
    tag: str = "pocket",
) -> None:
    """Clear a square-cornered recess with the 6 mm cutter: down a ramp, rows, then once around its wall.

    Faults: `wall` and `floor` go so much too far, `skip_rows` leaves the middle, `cut_corner` leaves the
    upper right corner by that much, `ramp_past` runs the ramp past the right wall.
    """
    x0, y0, x1, y1 = box[0] + 3, box[1] + 3, box[2] - 3, box[3] - 3
    bottom = -depth - floor
    plan.to(x0, y0)
    plan.feed(z=0, f=1200, tag=f"{tag} down")
    plan.feed(x1 + ramp_past, y0, bottom / 2, 1200, f"{tag} ramp")
    plan.feed(x0, y0, bottom, 1200, f"{tag} ramp")
    plan.feed(x1, y0, f=1200, tag=f"{tag} row")
    if not skip_rows:
        y, right = y0 + rows, True
        while y < y1:
            plan.feed(y=y, tag=f"{tag} row")
            plan.feed(x=x0 if right else x1, tag=f"{tag} row")
            y, right = y + rows, not right
        plan.feed(x=x1, tag=f"{tag} row")
    plan.feed(x1 + wall, y0, tag=f"{tag} wall")
    plan.feed(x1 + wall, y1 - cut_corner, tag=f"{tag} wall")
    plan.feed(x1 - cut_corner, y1, tag=f"{tag} wall")
    plan.feed(x0, y1, tag=f"{tag} wall")
    plan.feed(x0, y0, tag=f"{tag} wall")
    plan.feed(x1, y0, tag=f"{tag} wall")
    plan.rapid(z=15)


def clear_opening(plan: Plan, box: tuple[float, float, float, float], tag: str = "opening") -> None:
    """Mill a narrow opening (at most 12 wide) away, counter-clockwise, in three depths."""
    x0, y0, x1, y1 = box[0] + 3, box[1] + 3, box[2] - 3, box[3] - 3
    plan.to(x0, y0)
    for z in (-6, -12, THROUGH):
        plan.feed(x1, y0, z, 1200, f"{tag} ramp")
        for x, y in ((x1, y1), (x0, y1), (x0, y0), (x1, y0), (x0, y0)):
            plan.feed(x, y, tag=tag)
    plan.rapid(z=15)


def bore(
    plan: Plan,
    centre: tuple[float, float],
    diameter: float,
    depth: float,
    *,
    pieces: int = 3,
    pitch: float = 2.0,
    tag: str = "bore",
) -> None:
    """A hole below 12 mm down a helix of the 6 mm cutter, and once around at the bottom."""
    r = diameter / 2 - 3
    plan.to(centre[0] + r, centre[1])
    plan.feed(z=0, f=1200, tag=f"{tag} down")
    z = 0.0
    while z > depth:
        z = max(depth, z - pitch)
        plan.turn(centre, z, pieces, tag=f"{tag} helix")
    plan.turn(centre, None, pieces, tag=f"{tag} floor")
    plan.rapid(z=15)


def whole_panel(*, drilled: bool = True) -> Plan:
    """Everything that `panel` with all its features needs, made soundly."""
    plan = Plan()
    if drilled:
        plan.block("T2 M6")
        plan.block("S12000 M3")
        for hole in DRILLED:
            plan.to(*hole.centre)
            plan.feed(z=-9, f=1200)
            plan.rapid(z=2)
            plan.rapid(z=-8.5)
            plan.feed(z=THROUGH, f=1200)
            plan.rapid(z=15)
        plan.block("M5")
        plan.block("T1 M6")
        plan.block("S18000 M3")
    clear_pocket(plan, (80, 80, 120, 110), 6)
    bore(plan, BORED.centre, 8, THROUGH)
    bore(plan, BLIND.centre, 10, -9)
    clear_opening(plan, (150, 90, 170, 101))
    around(plan, CORNERS)
    return plan
