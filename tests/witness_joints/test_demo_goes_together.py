"""The potting bench, put together from what its written program leaves, every joint measured by replay.

Places of joints are those of the script that drew it; the sheet measures 17.6, the clearance is 0.2.
"""

from __future__ import annotations

import importlib.util
import sys
from types import ModuleType
from typing import Any

import pytest
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry
from support.measured import gaps_across, gaps_along, level, pushed, runs, seats
from support.places import DEMO
from support.plates import Cleared, Plate
from support.replayed import depth_in

from camkit.job.load import load
from camkit.pipeline import make

THICK, CLEARANCE, CHORDS, OFF = 17.6, 0.2, 0.002, 0.02
FRAMES = ("left end, inner", "left end, outer", "right end, inner", "right end, outer")


@pytest.fixture(scope="module")
def script() -> ModuleType:
    """The script that drew the bench: its sizes, and each part in a frame of its own."""
    spec = importlib.util.spec_from_file_location("draw_bench", DEMO.with_name("draw_bench.py"))
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["draw_bench"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def bench(script: ModuleType) -> Cleared:
    """What the bench's program clears. Right ends lie mirrored: their frame runs from the other side."""
    job = load(DEMO)
    drawn: list[tuple[Any, tuple[float, float, float]]] = [
        (script.end_layer("left end, outer", inner=False), (0, 14, 14)),
        (script.end_layer("left end, inner", inner=True), (0, 447, 14)),
        (script.end_layer("right end, inner", inner=True), (0, 880, 14)),
        (script.end_layer("right end, outer", inner=False), (0, 1313, 14)),
        (script.top(), (90, 2196, 14)),
        (script.rail("front rail"), (90, 2309, 14)),
        (script.rail("back rail"), (90, 2422, 14)),
        (script.shelf(), (0, 14, 880)),
        (script.stretcher("left stretcher"), (0, 870, 1060)),
        (script.stretcher("right stretcher"), (0, 1280, 1060)),
    ]
    spots = dict.fromkeys(FRAMES, (200.0, 752.0)) | {"top": (200.0, 220.0), "shelf": (400.0, 160.0)}
    spots |= dict.fromkeys(("front rail", "back rail"), (200.0, 20.0))
    spots |= dict.fromkeys(("left stretcher", "right stretcher"), (200.0, 70.0))
    outlines = {part.name: [(*v, 0.0)[:3] for v in part.outline] for part, _ in drawn}
    plates = {name: Plate(name, outline, spots[name]) for name, outline in outlines.items()}
    diameters = {cutter.number: cutter.diameter for cutter in job.cutter}
    result = make(job, DEMO.parent, "job")
    assert result.ok
    return Cleared(result, diameters, plates, {part.name: frame for part, frame in drawn}, job.tabs.height)


def from_front(script: ModuleType, name: str, span: tuple[float, float]) -> tuple[float, float]:
    """A span from the front of an end frame, in the frame of one that lies as it is or mirrored."""
    low, high = span
    return (script.DEEP - high, script.DEEP - low) if name.startswith("right") else (low, high)


def mortise(wood: BaseGeometry, x: float, y: float) -> tuple[float, float, float, float]:
    """Walls of an upright opening around (x, y): left, lower, right, upper."""
    low, high = gaps_across(wood, [x], 250.0, y)[0]
    left, right = gaps_along(wood, [y], 250.0, x)[0]
    return left, low, right, high


def test_every_opening_is_as_wide_as_the_sheet_and_the_clearance(bench: Cleared, script: ModuleType) -> None:
    widths = []
    shelf_at = script.SHELF_AT[1] + script.T / 2
    for name in FRAMES:
        wood = bench.through(name)
        for a, b in script.SHELF_TENONS:
            low, high = from_front(script, name, (script.SHELF_AT[0] + a, script.SHELF_AT[0] + b))
            wall = mortise(wood, (low + high) / 2, shelf_at)
            widths.append(wall[3] - wall[1])
            assert wall[2] - wall[0] == pytest.approx(80.3, abs=OFF)
        if name.endswith("inner"):
            spots = [(20.0, 780.0), (210.0, 780.0), (400.0, 780.0)]
            floor = bench.wood(name, 0.001 - script.HOUSING, *spots)
            for y in script.RAILS:
                middle = sum(from_front(script, name, (y, y))) / 2
                left, right = gaps_along(floor, [790.0], 40.0, middle)[0]
                widths.append(right - left)
    wood = bench.through("top")
    for x in mortises_of_the_top(script):
        for a, b in script.TOP_TENONS:
            wall = mortise(wood, x, (a + b) / 2 + script.OVER_FRONT)
            widths.append(wall[2] - wall[0])
            assert wall[3] - wall[1] == pytest.approx(70.3, abs=OFF)
    splash = script.SPLASH_LINE + script.OVER_FRONT
    floor = bench.wood("top", 0.001 - script.HOUSING)
    low, high = gaps_across(floor, [400.0], 60.0, splash)[0]
    widths.append(high - low)
    for name in ("front rail", "back rail"):
        start = script.OVER_SIDE + 2 * script.T - script.HOUSING + script.SHORT
        widths += [slot(bench, name, x - start, 90.0) for x in script.STRETCHERS]
    for name in ("left stretcher", "right stretcher"):
        widths += [slot(bench, name, y - 15.0, 10.0) for y in script.RAILS]
    assert len(widths) == 25
    assert widths == pytest.approx([THICK + CLEARANCE] * 25, abs=OFF)


def slot(bench: Cleared, name: str, x: float, y: float) -> float:
    left, right = gaps_along(bench.through(name), [y], 40.0, x)[0]
    return right - left


def mortises_of_the_top(script: ModuleType) -> tuple[float, float]:
    """Middles of the mortises for the left and the right end, along the top."""
    from_side = script.OVER_SIDE + 1.5 * script.T
    return from_side, script.TOP[0] - from_side


def test_the_top_goes_over_both_ends_as_the_shelf_holds_them(bench: Cleared, script: ModuleType) -> None:
    """The shelf's shoulders meet the inner layers; the top's mortises must take both at once."""
    shelf = bench.through("shelf")
    (shoulders,) = runs(shelf, 160.0)
    inside = shoulders[1] - shoulders[0]
    assert inside == pytest.approx(script.INSIDE, abs=OFF)
    wood = bench.through("top")
    left, right = mortises_of_the_top(script)
    middles = [(a + b) / 2 + script.OVER_FRONT for a, b in script.TOP_TENONS]
    lefts = [mortise(wood, left, y) for y in middles]
    rights = [mortise(wood, right, y) for y in middles]
    # x of the left inner layer's face towards the shelf; the right one stands `inside` further.
    low = max(*(w[0] + THICK for w in lefts), *(w[0] - inside for w in rights))
    high = min(*(w[2] for w in lefts), *(w[2] - THICK - inside for w in rights))
    assert high - low == pytest.approx(CLEARANCE, abs=0.03)
    face = (low + high) / 2
    for x0 in (face - THICK, face + inside):
        for a, b in script.TOP_TENONS:
            y0, y1 = a + script.OVER_FRONT, b + script.OVER_FRONT
            assert depth_in(wood, box(x0, y0, x0 + THICK, y1)) <= CHORDS


def test_the_shelf_enters_both_layers_of_both_ends(bench: Cleared, script: ModuleType) -> None:
    """Each tenon's section, as wide as it was cut, finds room in every layer, and both in one place."""
    shelf = bench.through("shelf")
    for x in (20.0, shelf.bounds[2] - 20.0):
        cut = shelf.intersection(box(x - 0.01, -1, x + 0.01, 400))
        tenons = sorted((piece.bounds[1], piece.bounds[3]) for piece in getattr(cut, "geoms", [cut]))
        assert [b - a for a, b in tenons] == pytest.approx([80.0, 80.0], abs=OFF)
        for name in FRAMES:
            wood = bench.through(name)
            at = [
                from_front(script, name, (script.SHELF_AT[0] + a, script.SHELF_AT[0] + b)) for a, b in tenons
            ]
            walls = [mortise(wood, sum(span) / 2, script.SHELF_AT[1] + script.T / 2) for span in at]
            up = max(w[1] for w in walls), min(w[3] for w in walls)
            room = up[1] - up[0] - THICK
            aside = max(w[0] - s[0] for w, s in zip(walls, at, strict=True))
            play = min(w[2] - s[1] for w, s in zip(walls, at, strict=True)) - aside
            assert room > 0 and play > 0.2
            for shift in (aside, aside + play / 2, aside + play):
                for lift in pushed(room):
                    y = (up[0] + up[1] - THICK) / 2 + lift
                    for a, b in at:
                        assert depth_in(wood, box(a + shift, y, b + shift, y + THICK)) <= CHORDS


def test_tenons_end_flush_with_the_top_and_with_both_outer_layers(bench: Cleared, script: ModuleType) -> None:
    shelf = bench.through("shelf")
    assert shelf.bounds[2] - shelf.bounds[0] == pytest.approx(script.INSIDE + 4 * THICK, abs=2 * OFF)
    for name in ("left end, inner", "right end, inner"):
        frame = bench.through(name)
        shoulder = level(frame, 205.0, 215.0, 5)
        assert frame.bounds[3] - shoulder == pytest.approx(THICK, abs=OFF)


def test_rails_and_stretchers_lap_and_come_flush(bench: Cleared, script: ModuleType) -> None:
    """Two rails, as far apart as the ends' housings hold them, and two stretchers over both of them."""
    start = script.OVER_SIDE + 2 * script.T - script.HOUSING + script.SHORT
    for rail in ("front rail", "back rail"):
        wood = bench.through(rail)
        for stretcher in ("left stretcher", "right stretcher"):
            over = bench.through(stretcher)
            x = script.STRETCHERS[stretcher == "right stretcher"] - start
            y = script.RAILS[rail == "back rail"] - 15.0
            floor = level(wood, x - 4, x + 4, 5)
            ceiling = min(run[0] for run in vertical(over, y))
            # Floor to floor both leave half the height, so that edges are flush above and below.
            assert floor == pytest.approx(script.RAIL / 2, abs=OFF)
            assert ceiling == pytest.approx(script.RAIL / 2, abs=OFF)
            assert laps(wood, x, 90.0, floor + 25.0) <= CHORDS
            assert laps(over, y, 10.0, ceiling - 25.0) <= CHORDS


def laps(wood: BaseGeometry, x: float, mouth: float, middle: float) -> float:
    """How deep a board, 50 of it in the slot around x, overlaps the slot's walls."""
    left, right = gaps_along(wood, [mouth], 40.0, x)[0]
    room = right - left - THICK
    assert room > 0
    return seats(wood, (THICK, 50.0), ((left + right) / 2, middle), (room, 0.0))


def vertical(wood: BaseGeometry, x: float) -> list[tuple[float, float]]:
    """Where an upright line runs in wood."""
    cut = wood.intersection(box(x - 0.01, -10, x + 0.01, 200))
    return sorted((piece.bounds[1], piece.bounds[3]) for piece in getattr(cut, "geoms", [cut]))


def test_the_stretchers_slots_stand_as_far_apart_as_the_housings_of_the_rails(
    bench: Cleared, script: ModuleType
) -> None:
    """Rails are held by both ends and lapped by both stretchers: all four must agree on the distance."""
    distances = []
    for name in ("left end, inner", "right end, inner"):
        spots = [(20.0, 780.0), (210.0, 780.0), (400.0, 780.0)]
        floor = bench.wood(name, 0.001 - script.HOUSING, *spots)
        middles = [sum(gaps_along(floor, [790.0], 40.0, x)[0]) / 2 for x in script.RAILS]
        distances.append(middles[1] - middles[0])
    for name in ("left stretcher", "right stretcher"):
        wood = bench.through(name)
        middles = [sum(gaps_along(wood, [10.0], 40.0, y - 15.0)[0]) / 2 for y in script.RAILS]
        distances.append(middles[1] - middles[0])
    assert max(distances) - min(distances) <= CLEARANCE - OFF


def test_the_splash_board_stands_in_its_housing(bench: Cleared, script: ModuleType) -> None:
    floor = bench.wood("top", 0.001 - script.HOUSING)
    splash = script.SPLASH_LINE + script.OVER_FRONT
    long = script.INSIDE + 4 * script.T
    low, high = gaps_across(floor, [400.0], 60.0, splash)[0]
    left, right = gaps_along(floor, [splash], 600.0, script.TOP[0] / 2)[0]
    room = right - left - long, high - low - THICK
    assert min(room) > 0
    middle = (left + right) / 2, (low + high) / 2
    assert seats(floor, (long, THICK), middle, room) <= CHORDS
    assert Polygon(bench.wood("top", -script.HOUSING - OFF).exterior).area == pytest.approx(
        920 * 450, rel=0.01
    )
