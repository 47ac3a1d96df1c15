"""Shelves shouldered between uprights that a seat is mortised over: drawn, read, fitted, and put together.

Drawn for 18.0, fitted to 17.6 with a clearance of 0.15. The solids are placed as a maker's hands would: the
shelves' shoulders say how far apart the uprights stand, then the seat has to go over all of them.
"""

from __future__ import annotations

import pathlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import ezdxf
import pytest
from shapely import Polygon, box
from shapely.affinity import affine_transform, translate
from shapely.geometry.base import BaseGeometry
from support.fitting import fit_one_sheet
from support.places import DEMO
from support.random_benches import bench as random_bench
from support.random_benches import outcome
from support.solids import Solid, gaps, overlap
from support.uprights import DEEP, TENON, board, shelf, upright

from camkit.drawing.read import read
from camkit.drawing.select import select
from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import Path
from camkit.job.load import load
from camkit.joinery.fitted import Fitted
from camkit.joinery.positions import Positions
from camkit.part import Part

DRAWN, MADE, CLEARANCE = 18.0, 17.6, 0.15
BAY = 282.0  # between shoulders
LEVELS = (200.0, 120.0)  # shelves of neighbouring bays stand at two heights, so that tenons never meet
SHELF_TENON, RAIL_TENON, BACK_TENON = 100.0, 60.0, 70.0
EXACT = 1e-6


@dataclass(frozen=True)
class Fit:
    """What came of the drawing: the fitted areas in the frames that the parts were made in, and the rest."""

    areas: dict[str, BaseGeometry]
    result: Fitted


def bench(uprights: int, *, rail: bool = False, back: bool = False) -> list[Part]:
    """All parts, each in a frame of its own; the back, if any, is the fifth and drawn turned over."""
    places = [k * (BAY + DRAWN) for k in range(uprights)]
    mortises = [(level, SHELF_TENON + 0.3, DRAWN) for level in LEVELS]
    mortises += [(50.0, RAIL_TENON + 0.3, DRAWN)] if rail else []
    made = [board("seat", places, length=places[-1] + 100)]
    tenons = (TENON, BACK_TENON) if back else (TENON,)
    made += [upright(f"upright {k}", tenons, mortises, proud=DRAWN) for k in range(uprights)]
    made += [shelf(f"shelf {k}", BAY, SHELF_TENON, out=DRAWN) for k in range(uprights - 1)]
    if rail:
        made.append(shelf("rail", places[-1] - DRAWN, RAIL_TENON, out=DRAWN))
    if back:
        made.insert(4, board("back", places, span=BACK_TENON + 0.3, length=places[-1] + 100))
    return made


Turn = tuple[int, int, int, int]  # a, b, d, e of shapely's affine_transform
TURNS: tuple[Turn, ...] = ((1, 0, 0, 1), (0, -1, 1, 0), (-1, 0, 0, -1), (0, 1, -1, 0), (-1, 0, 0, 1))


def drawn(parts: Sequence[Part], file: pathlib.Path) -> dict[str, list[float]]:
    """Draw the parts side by side, turned by quarters and turned over; gives how each lies there."""
    drawing = ezdxf.new("R2010", units=ezdxf.units.MM)
    space, x, lies = drawing.modelspace(), 0.0, {}
    for k, part in enumerate(parts):
        turn = TURNS[k % len(TURNS)]
        turned = affine_transform(as_polygon(part.outline), [*turn, 0, 0])
        lies[part.name] = [*turn, round(x - turned.bounds[0], 3), round(-turned.bounds[1], 3)]
        x += turned.bounds[2] - turned.bounds[0] + 60
        for loop in (part.outline, *part.openings):
            space.add_lwpolyline(corners(loop, lies[part.name]), close=True)
    drawing.saveas(file)
    return lies


def corners(loop: Path, lies: Sequence[float]) -> list[tuple[float, float]]:
    a, b, d, e, x, y = lies
    points = (wall.start for wall in loop.segments)
    return [(a * u + b * v + x, d * u + e * v + y) for u, v in points]


def fit_drawing(parts: Sequence[Part], folder: pathlib.Path, job, **fit: object) -> Fit:
    """Draw, read and fit the parts; a part is known again by where it lies."""
    lies = drawn(parts, folder / "bench.dxf")
    lying = read(folder / "bench.dxf").parts
    assert len(lying) == len(parts)
    named = []
    for one in lying:
        spot = as_polygon(one.outline).representative_point()
        (name,) = (
            part.name for part in parts if Polygon(corners(part.outline, lies[part.name])).contains(spot)
        )
        named.append(replace(one, name=name))
    asked = job(drawn=DRAWN, measured=MADE, clearance=CLEARANCE)
    asked = asked.model_copy(update={"fit": asked.fit.model_copy(update=fit)})
    result = fit_one_sheet(named, asked)
    areas = {}
    for one in result.parts:
        a, b, d, e, x, y = lies[one.name]  # a quarter turn: its inverse is its transpose
        areas[one.name] = affine_transform(
            as_polygon(one.region()), [a, d, b, e, -(a * x + d * y), -(b * x + e * y)]
        )
    return Fit(areas, result)


def between_shoulders(area: BaseGeometry) -> tuple[float, float]:
    """Both shoulders of a shelf, measured near its front edge, clear of reliefs."""
    piece = area.intersection(box(-1e5, 10.0, 1e5, 20.0))
    return float(piece.bounds[0]), float(piece.bounds[2])


def standing(fit: Fit, uprights: int) -> list[float]:
    """Where the left faces of the uprights stand, as the shelves hold them."""
    faces = [0.0]
    for k in range(uprights - 1):
        left, right = between_shoulders(fit.areas[f"shelf {k}"])
        faces.append(faces[-1] + MADE + right - left)
    return faces


def laid_over(faces: Sequence[float], over: BaseGeometry) -> tuple[BaseGeometry, list[float]]:
    """Seat or back where it is least in the way of uprights with these left faces; what is beside each.

    What is left is negative where it jams.
    """
    walls = [gaps(over, k * (BAY + DRAWN), DEEP / 2) for k in range(len(faces))]
    lows = [low - face for face, (low, _) in zip(faces, walls, strict=True)]
    highs = [high - face - MADE for face, (_, high) in zip(faces, walls, strict=True)]
    shift = -(max(lows) + min(highs)) / 2
    left = [side for low, high in zip(lows, highs, strict=True) for side in (-low - shift, high + shift)]
    return translate(over, shift), left


def assembled(fit: Fit, uprights: int, seat: BaseGeometry) -> tuple[list[Solid], list[float]]:
    """The piece put together, seat and back where they are least in the way; what they leave beside uprights.

    x along the seat, y across it, z up from the uprights' feet.
    """
    faces = standing(fit, uprights)
    made = []
    for k, face in enumerate(faces):
        made.append(Solid(f"upright {k}", 0, fit.areas[f"upright {k}"], face, MADE))
    top = made[0].area.intersection(box(10, 0, 20, 1e5)).bounds[3]
    lying, left = laid_over(faces, seat)
    made.append(Solid("seat", 2, lying, top, MADE))
    if "back" in fit.areas:
        upright_back, beside = laid_over(faces, fit.areas["back"])
        left += beside
        # Its openings are drawn about y = 150; the tenons stand about 200 above the feet.
        made.append(Solid("back", 1, translate(upright_back, 0, 50), DEEP, MADE))
    for k, face in enumerate(faces[:-1]):
        area = fit.areas[f"shelf {k}"]
        low, high = gaps(fit.areas[f"upright {k}"], LEVELS[k % 2], DEEP / 2, upright=True)
        middle = (low + high) / 2 - MADE / 2
        made.append(
            Solid(f"shelf {k}", 2, translate(area, face + MADE - between_shoulders(area)[0]), middle, MADE)
        )
    return made, left


def deepest(solids: Sequence[Solid]) -> tuple[float, str]:
    """The deepest overlap of any two solids, and which."""
    return max((overlap(a, b), f"{a.name} in {b.name}") for a, b in combinations(solids, 2))


def about_the_middle(uprights: int) -> BaseGeometry:
    """The seat with every mortise re-fitted about its own middle, by hand."""
    seat: BaseGeometry = box(-100, 0, (uprights - 1) * (BAY + DRAWN) + 100, DEEP)
    half = (MADE + CLEARANCE) / 2
    for k in range(uprights):
        x = k * (BAY + DRAWN)
        seat = seat.difference(box(x - half, 150 - (TENON + 0.3) / 2, x + half, 150 + (TENON + 0.3) / 2))
    return seat


@pytest.mark.parametrize("uprights", [2, 3, 4, 6])
def test_the_piece_goes_together_and_nothing_gapes(uprights, tmp_path, job):
    fit = fit_drawing(bench(uprights), tmp_path, job)
    assert [f for f in fit.result.findings if f.level == "error"] == []
    for k in range(uprights - 1):
        left, right = between_shoulders(fit.areas[f"shelf {k}"])
        assert right - left == pytest.approx(BAY, abs=EXACT)
    solids, left = assembled(fit, uprights, fit.areas["seat"])
    assert deepest(solids)[0] <= EXACT
    # Every upright stands in the middle of its mortise, with half the clearance on either side.
    assert left == pytest.approx([CLEARANCE / 2] * (2 * uprights), abs=EXACT)


@pytest.mark.parametrize("keep", ["shoulders", "outside"])
@pytest.mark.parametrize("uprights", [3, 4])
def test_seat_and_back_go_over_the_same_uprights(uprights, keep, tmp_path, job):
    fit = fit_drawing(bench(uprights, back=True), tmp_path, job, keep=keep)
    assert [f for f in fit.result.findings if f.level == "error"] == []
    solids, left = assembled(fit, uprights, fit.areas["seat"])
    assert deepest(solids)[0] <= EXACT
    assert left == pytest.approx([CLEARANCE / 2] * (4 * uprights), abs=EXACT)


def test_overlaps_are_measured_as_deep_as_by_hand():
    floor = Solid("floor", 2, box(0, 0, 100, 80), 0.0, 18.0)
    wall = box(10, 0, 60, 200)  # in y and z
    assert overlap(floor, Solid("wall", 0, translate(wall, 0, 18), 20.0, 12.0)) == 0
    assert overlap(floor, Solid("wall", 0, translate(wall, 0, 17.7), 20.0, 12.0)) == pytest.approx(0.3)
    assert overlap(Solid("wall", 0, wall, 99.8, 12.0), floor) == pytest.approx(0.2)
    opening = Solid("floor", 2, box(0, 0, 100, 80).difference(box(20, 10, 32.1, 60)), 0.0, 18.0)
    assert overlap(opening, Solid("wall", 0, wall, 20.0, 12.0)) == 0
    assert overlap(opening, Solid("wall", 0, wall, 20.3, 12.0)) == pytest.approx(0.2)
    assert overlap(floor, replace(floor, low=17.5)) == pytest.approx(0.5)


@pytest.mark.parametrize("uprights", [2, 3, 4, 6])
def test_a_seat_refitted_about_the_middles_jams(uprights, tmp_path, job):
    fit = fit_drawing(bench(uprights), tmp_path, job)
    solids, left = assembled(fit, uprights, about_the_middle(uprights))
    # Each bay is 0.4 nearer than its mortises; half of the sum less the clearance is left at either end.
    jam = (0.4 * (uprights - 1) - CLEARANCE) / 2
    depth, where = deepest(solids)
    assert depth == pytest.approx(jam, abs=EXACT)
    assert where in {f"upright {k} in seat" for k in (0, uprights - 1)}
    assert min(left) == pytest.approx(-jam, abs=EXACT)


@pytest.mark.parametrize("uprights", [2, 4, 6])
def test_outer_faces_stay_where_asked_and_the_piece_still_goes_together(uprights, tmp_path, job):
    fit = fit_drawing(bench(uprights), tmp_path, job, keep="outside")
    solids, left = assembled(fit, uprights, fit.areas["seat"])
    assert deepest(solids)[0] <= EXACT
    assert left == pytest.approx([CLEARANCE / 2] * (2 * uprights), abs=EXACT)
    ends = [solid.slab for solid in solids if solid.name.startswith("upright")]
    assert ends[-1][1] - ends[0][0] == pytest.approx((uprights - 1) * (BAY + DRAWN) + DRAWN, abs=EXACT)
    lengths = [between_shoulders(fit.areas[f"shelf {k}"]) for k in range(uprights - 1)]
    for one, other in pairwise(right - left for left, right in lengths):
        assert one == pytest.approx(other, abs=EXACT)


def test_a_rail_over_six_uprights_with_shelves_between_is_refused(tmp_path, job):
    fit = fit_drawing(bench(6, rail=True), tmp_path, job)
    (said,) = (f for f in fit.result.findings if f.level == "error")
    assert said.rule == "loop-cannot-close"
    assert said.amount_mm == pytest.approx(1.6)
    assert "rail" in said.message
    assert "shelf" in said.message


@pytest.mark.parametrize("keep", ["shoulders", "outside"])
def test_random_benches_of_two_sheets_go_together_or_are_rightly_refused(keep):
    """Some bays without a shelf, backs over some uprights, rails; 300 in benchmarks/benches_close.py."""
    states = []
    for seed in range(14):
        one = random_bench(seed)
        came = outcome(one, keep)
        closes = one.closes or keep == "outside"
        assert came.state == ("fits" if closes else "loop-cannot-close"), (one, came)
        states.append(closes)
    assert any(states)


def test_random_benches_jam_where_no_plate_is_placed(monkeypatch):
    monkeypatch.setattr("camkit.joinery.fit.positions", lambda *_: Positions())
    jam = [outcome(random_bench(seed), "shoulders").state == "jams" for seed in range(6)]
    assert sum(jam) >= 5


@pytest.mark.parametrize(("keep", "between"), [("shoulders", 770.0), ("outside", 771.6)])
def test_the_demo_bench_closes_over_its_glued_ends(keep, between):
    # 770 between ends of two layers each: 842 outside as drawn, 840.4 at 17.6 where shoulders are kept.
    job = load(DEMO)
    job = job.model_copy(update={"fit": job.fit.model_copy(update={"keep": keep})})
    drawing = read(DEMO.with_name("bench.dxf"), rules=job.layer_rules())
    parts = [part for _, part in select([drawing], job.part).parts]
    result = {part.name: part for part in fit_one_sheet(parts, job).parts}
    areas = {name: as_polygon(result[name].region()) for name in ("shelf", "top", "front rail")}
    x0, y0, x1, y1 = areas["shelf"].bounds
    shoulders = areas["shelf"].intersection(box(x0, y0 + 5, x1, y0 + 15)).bounds
    assert shoulders[2] - shoulders[0] == pytest.approx(between, abs=EXACT)
    # The tenons of the inner layers enter the top, so its mortises are one sheet farther apart.
    walls = [gaps(areas["top"], y, 1896.0, upright=True) for y in (80.0, 868.0)]
    first, last = ((low + high) / 2 for low, high in walls)
    assert last - first == pytest.approx(between + MADE, abs=EXACT)
    # The rail stands 6 deep in both ends, drawn 0.2 short of their bottoms.
    x0, y0, x1, y1 = areas["front rail"].bounds
    assert y1 - y0 == pytest.approx(between + 2 * 6 - 0.2, abs=EXACT)
