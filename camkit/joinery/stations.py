"""Where plates stand in a part's drawing: received edge-on, or met by its shoulders. Lengths in mm."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from camkit.geometry.measure import length
from camkit.geometry.path import Point, signed_area
from camkit.joinery.features import LONGER, WIDER, Feature, in_band
from camkit.joinery.fingers import finger_edges, interlock
from camkit.joinery.pairs import Pairs
from camkit.joinery.squared import squared
from camkit.part import Part

__all__ = ["Frame", "Station", "frames"]

# Directions of joints that are meant parallel differ by no more than drawings are rounded.
_PARALLEL = 2e-3
# Features on one line hold one plate, as in rows of tenons.
_ON_LINE = 0.3
# Shoulders of one end stand on one line.
_IN_LINE = 0.05
# Parts are equal when area (mm2) and length of their outlines differ by no more than rounding.
_SAME_AREA, _SAME_LENGTH = 1.0, 0.1

Mates = dict[Feature, frozenset[int]]


@dataclass(frozen=True, slots=True)
class Station:
    """A plate that a part meets, on one axis of the part's drawing.

    `place` is the plate's middle along the axis, as drawn. `plates` are the parts that may stand there: equal
    parts are interchangeable. `thickness` is the plate's as drawn and `change` what the measured one is more.
    `slack` is how far the plate may lie off the place within the drawn play. `side` is 0 where the part
    receives the plate by `features` (mortises, slots, recesses); where the part ends at the plate with the
    shoulders of `features` (tenons, edges; none for fingers), +1 or -1 tells which way along the axis that
    end looks. Layers glued to the plate change by `before` between it and the shoulder, and by `beyond` on
    its other side. An end is not `sure` where it is an edge that fits recesses and was paired with none.
    Where it is not known which of glued layers a shoulder meets there are several stations, all `glued`, of
    the same features; so there are where plates of several thicknesses may stand there.
    """

    place: float
    plates: frozenset[int]
    thickness: float
    change: float
    slack: float
    features: tuple[Feature, ...]
    side: int = 0
    before: float = 0.0
    beyond: float = 0.0
    sure: bool = True
    glued: bool = False

    @property
    def shift(self) -> float:
        """How far the plate's middle moves along the axis while the shoulder stays."""
        return self.side * (self.before + self.change / 2)


@dataclass(frozen=True, slots=True)
class Frame:
    """A part's stations along `axis`, a unit vector of its drawing, by their places."""

    part: int
    axis: Point
    stations: tuple[Station, ...]

    @property
    def ends(self) -> tuple[Station, ...]:
        """Stations that the part meets with its shoulders."""
        return tuple(one for one in self.stations if one.side)

    def along(self, point: Point) -> float:
        """Where a point of the drawing lies on the axis."""
        return point[0] * self.axis[0] + point[1] * self.axis[1]


@dataclass(frozen=True, slots=True)
class _Sheets:
    """Drawn and measured thickness of every part, and the layers glued to it in their order."""

    drawn: Sequence[float]
    measured: Sequence[float]
    stacks: Sequence[tuple[int, ...]]

    def layers(self, part: int) -> tuple[int, ...]:
        return next((stack for stack in self.stacks if part in stack), (part,))

    def thick(self, run: Sequence[int]) -> float:
        return round(sum(self.drawn[k] for k in run), 9)

    def change(self, run: Sequence[int]) -> float:
        return round(sum(self.measured[k] - self.drawn[k] for k in run), 9)


# Layers that stand together where something takes them.
_Run = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _End:
    """Where a part stops at a plate: the shoulder's place along `outward`, and the mates behind it."""

    part: int
    features: tuple[Feature, ...]
    outward: Point
    face: float
    mates: frozenset[int]
    sure: bool = True


def frames(
    parts: Sequence[Part],
    found: Pairs,
    drawn: Sequence[float],
    measured: Sequence[float],
    stacks: Sequence[tuple[int, ...]] = (),
) -> tuple[Frame, ...]:
    """All parts that meet at least two plates along one axis, each axis by itself.

    `drawn` and `measured` are thicknesses, one for each part; `stacks` are indices of layers glued together,
    in their order. Directions within 0.002 rad are one axis.
    """
    sheets = _Sheets(drawn, measured, stacks)
    equal = _equal(parts, drawn, measured)
    mortises, recesses = _mortises(found), _recesses(found, equal, sheets)
    openings = {**mortises, **_lapped(found, equal)}
    runs = {opening: _runs(opening, plates, sheets) for opening, plates in openings.items()}
    runs |= {recess: [(plate,) for plate in sorted(plates)] for recess, plates in _entering(recesses).items()}
    settled = _settled(found)
    gathered: dict[int, list[tuple[Point, list[Station]]]] = {}
    for feature in sorted(runs, key=lambda one: (one.part, -one.length, one.middle)):
        (ux, uy) = feature.along
        axis, stations = _axis(gathered.setdefault(feature.part, []), (uy, -ux))
        taken = runs[feature]
        first = next((run for run in taken if settled.get(feature) in run), taken[0])
        thick, change = sheets.thick(first), sheets.change(first)
        alike = (run for run in taken if (sheets.thick(run), sheets.change(run)) == (thick, change))
        at = feature.middle[0] * axis[0] + feature.middle[1] * axis[1]
        plates = frozenset(plate for run in alike for plate in run)
        _add(stations, Station(at, plates, thick, change, abs(feature.width - thick) / 2, (feature,)))
    held = _held([taken for feature, taken in runs.items() if feature.kind == "mortise"])
    ends = (
        *_tenon_ends(found),
        *_edge_ends(parts, recesses, settled),
        *_finger_ends(parts, found, drawn),
    )
    for end in ends:
        _add_end(gathered.setdefault(end.part, []), end, sheets, held)
    return tuple(
        Frame(part, axis, tuple(sorted(stations, key=lambda one: one.place)))
        for part, axes in sorted(gathered.items())
        for axis, stations in axes
        if len(stations) > 1
    )


def _runs(opening: Feature, plates: frozenset[int], sheets: _Sheets) -> list[_Run]:
    """What may fill the opening: the layers of a stack that enter it, or equal sheets to its width."""
    runs = []
    for plate in sorted(plates):
        layers = sheets.layers(plate)
        if len(layers) > 1:
            run = tuple(layer for layer in layers if layer in plates)
        else:
            run = (plate,) * (in_band(opening.width, sheets.drawn[plate]) or 1)
        if run not in runs:
            runs.append(run)
    return runs


def _held(taken: Sequence[list[_Run]]) -> dict[int, list[_Run]]:
    """By each layer the runs that mortises take it in."""
    held: dict[int, list[_Run]] = {}
    for run in dict.fromkeys(run for runs in taken for run in runs):
        for plate in dict.fromkeys(run):
            held.setdefault(plate, []).append(run)
    return held


def _axis(axes: list[tuple[Point, list[Station]]], wanted: Point) -> tuple[Point, list[Station]]:
    """The part's axis of this direction, either way, with its stations; a new one looks right or up."""
    for axis, stations in axes:
        if abs(axis[0] * wanted[1] - axis[1] * wanted[0]) <= _PARALLEL:
            return axis, stations
    (x, y) = wanted
    forward = x > _PARALLEL or (x > -_PARALLEL and y > 0)
    axes.append(((x, y) if forward else (-x, -y), []))
    return axes[-1]


def _add(stations: list[Station], new: Station) -> None:
    """Put a station in, or together with the one that stands for the same plate."""
    near = _IN_LINE if new.side else _ON_LINE
    for k, old in enumerate(stations):
        together = (
            old.side == new.side
            and abs(old.place - new.place) <= near
            and old.plates & new.plates
            and (old.thickness, old.change, old.before) == (new.thickness, new.change, new.before)
        )
        if together:
            stations[k] = replace(
                old,
                plates=old.plates & new.plates,
                slack=max(old.slack, new.slack),
                features=(*old.features, *(f for f in new.features if f not in old.features)),
            )
            return
    stations.append(new)


def _add_end(
    axes: list[tuple[Point, list[Station]]], end: _End, sheets: _Sheets, held: dict[int, list[_Run]]
) -> None:
    """The plates behind a shoulder; of glued layers those that are held somewhere, seen from there."""
    axis, stations = _axis(axes, end.outward)
    side = 1 if axis[0] * end.outward[0] + axis[1] * end.outward[1] > 0 else -1
    made: dict[Station, set[int]] = {}
    for plate in sorted(end.mates):
        layers = sheets.layers(plate)
        way = layers if layers[0] == plate else layers[::-1]
        if way[0] != plate:  # a layer between others: the shoulder stands before one of these
            continue
        runs = dict.fromkeys(run for layer in way for run in held.get(layer, []))
        for run in runs or [(plate,)]:
            known = [k for k, layer in enumerate(way) if layer in run]
            before, beyond = way[: known[0]], way[known[-1] + 1 :]
            thick = sheets.thick(run)
            place = side * (end.face + sheets.thick(before) + thick / 2)
            here = Station(
                *(place, frozenset(), thick, sheets.change(run), 0.0, end.features, side),
                *(sheets.change(before), sheets.change(beyond), end.sure, len(layers) > 1),
            )
            made.setdefault(here, set()).update(run)
    for here, plates in made.items():
        _add(stations, replace(here, plates=frozenset(plates)))


def _equal(parts: Sequence[Part], drawn: Sequence[float], measured: Sequence[float]) -> list[int]:
    """For each part the first one that is its equal, mirrored ones too."""
    looks = [(abs(signed_area(part.outline)), length(part.outline)) for part in parts]
    first: list[int] = []
    for k, (area, around) in enumerate(looks):
        fit = (
            other
            for other in range(k)
            if abs(looks[other][0] - area) <= _SAME_AREA
            and abs(looks[other][1] - around) <= _SAME_LENGTH
            and (drawn[other], measured[other]) == (drawn[k], measured[k])
            and len(parts[other].openings) == len(parts[k].openings)
        )
        first.append(first[found] if (found := next(fit, None)) is not None else k)
    return first


def _settled(found: Pairs) -> dict[Feature, int]:
    """The part that each feature was paired with."""
    met: dict[Feature, int] = {}
    for pair in found.pairs:
        for enter, take in zip(pair.enters, pair.takes, strict=True):
            met |= {take: enter.part, enter: take.part}
    return met


def _mortises(found: Pairs) -> Mates:
    mates: dict[Feature, set[int]] = {}
    for row, taken in found.options.items():
        for fit in taken:
            for mortise in fit:
                mates.setdefault(mortise, set()).add(row.part)
    return {mortise: frozenset(parts) for mortise, parts in mates.items()}


def _lapped(found: Pairs, equal: Sequence[int]) -> Mates:
    """Slots with the boards that may cross there: the partner, and its equals that halve the height."""
    both = [(*pair.enters, *pair.takes) for pair in found.pairs if pair.kind == "cross-lap"]
    mates: dict[Feature, set[int]] = {}
    for one, other in (two for pair in both for two in (pair, pair[::-1])):
        mates.setdefault(one, set()).add(other.part)
    met = {(equal[one.part], equal[other]) for one, others in mates.items() for other in others}
    slots = [one for one in found.features if one.kind == "slot"]
    for one in slots:
        for other in slots:
            halves = (one.length - other.rest, other.length - one.rest)
            if (equal[one.part], equal[other.part]) in met and all(
                LONGER[0] <= p <= LONGER[1] for p in halves
            ):
                mates.setdefault(one, set()).add(other.part)
    return {slot: frozenset(parts) for slot, parts in mates.items()}


def _recesses(found: Pairs, equal: Sequence[int], sheets: _Sheets) -> list[tuple[Feature, Feature]]:
    """Edges with the housings and rabbets that are as long, of parts that are not each other's equals."""
    edges = [one for one in found.features if one.kind in ("edge", "tenon", "step")]
    return [
        (edge, recess)
        for recess in found.features
        if recess.kind in ("housing", "rabbet")
        for edge in edges
        if equal[edge.part] != equal[recess.part]
        and LONGER[0] <= recess.length - edge.width <= LONGER[1]
        and WIDER[0] <= recess.width - sheets.drawn[edge.part] <= WIDER[1]
    ]


def _entering(recesses: Sequence[tuple[Feature, Feature]]) -> Mates:
    mates: dict[Feature, set[int]] = {}
    for edge, recess in recesses:
        mates.setdefault(recess, set()).add(edge.part)
    return {recess: frozenset(parts) for recess, parts in mates.items()}


def _outward(feature: Feature) -> Point:
    """Away from the wood, where the feature's end is walked with the wood on the left."""
    return (feature.along[1], -feature.along[0])


def _tenon_ends(found: Pairs) -> Iterator[_End]:
    for row, taken in found.options.items():
        if taken:
            (ox, oy) = outward = _outward(row.members[0])
            face = max(f.middle[0] * ox + f.middle[1] * oy - f.length for f in row.members)
            yield _End(row.part, row.members, outward, face, frozenset(fit[0].part for fit in taken))


def _edge_ends(
    parts: Sequence[Part], recesses: Sequence[tuple[Feature, Feature]], paired: Collection[Feature]
) -> Iterator[_End]:
    """An edge goes down to the bottom of its recess; a tenon there may be shorter than that."""
    behind: dict[tuple[Feature, float], set[int]] = {}
    for edge, recess in recesses:
        assert recess.loop is not None
        depth = parts[recess.part].pockets[recess.loop].depth
        depth = min(depth, edge.length) if edge.kind != "edge" else depth
        behind.setdefault((edge, depth), set()).add(recess.part)
    for (edge, depth), mates in behind.items():
        (ox, oy) = outward = _outward(edge)
        face = edge.middle[0] * ox + edge.middle[1] * oy - depth
        yield _End(edge.part, (edge,), outward, face, frozenset(mates), edge in paired)


def _finger_ends(parts: Sequence[Part], found: Pairs, drawn: Sequence[float]) -> Iterator[_End]:
    """The bottoms between fingers are shoulders at the inner face of the other part."""
    fingered = sorted({part for pair in found.pairs if pair.kind == "finger edge" for part in pair.parts})
    outlines = {part: squared(parts[part].outline, hollow=False) for part in fingered}
    thick = dict.fromkeys(drawn[part] for part in fingered)
    edges = [edge for k, outline in outlines.items() for t in thick for edge in finger_edges(k, outline, t)]
    for edge in dict.fromkeys(edges):
        mates = frozenset(o.part for o in edges if o.part != edge.part and interlock(edge, o))
        if mates:
            (ox, oy) = outward = (edge.along[1], -edge.along[0])
            lands = (outlines[edge.part].segments[wall] for wall in edge.walls)
            face = min(land.start[0] * ox + land.start[1] * oy for land in lands)
            yield _End(edge.part, (), outward, face, mates)
