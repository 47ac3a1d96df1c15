"""Lines that are the edge of two parts, ends on the middle of lines, and points where many lines meet."""

import itertools
import math
import random
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.drawing.chain import Chained, chain
from camkit.drawing.curves import arc_through
from camkit.drawing.drawn import Drawn
from camkit.drawing.open_lines import open_lines
from camkit.drawing.sketch import Piece
from camkit.geometry.path import Line, Path, Point, polygon, reversed_path, signed_area
from camkit.part import LayerRule

Dxf = Callable[..., Drawn]


def lines(*points: Point, layer: str = "CUT") -> list[Piece]:
    return [Piece(Path((Line(a, b),)), layer, "LINE") for a, b in itertools.pairwise(points)]


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[Piece]:
    return lines((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))


def outline(*corners: Point) -> Piece:
    return Piece(polygon(corners), "CUT", "POLYLINE")


def bow(start: Point, end: Point, centre: Point, clockwise: bool = False) -> Piece:
    return Piece(Path(arc_through(start, end, centre, clockwise)), "CUT", "ARC")


def areas(chained: Chained) -> list[float]:
    return sorted(abs(signed_area(loop.path)) for loop in chained.loops)


def rules(chained: Chained) -> list[str]:
    return [finding.rule for finding in chained.findings]


def turned(pieces: list[Piece], chance: random.Random) -> list[Piece]:
    """The pieces in any order, each walked either way."""
    result = [Piece(reversed_path(p.path), p.layer, p.entity) if chance.random() < 0.5 else p for p in pieces]
    chance.shuffle(result)
    return result


def brick_wall(courses: int, across: int) -> tuple[list[Piece], list[float]]:
    """Bricks of 60 x 30 mm, every other course moved by half a brick; beds are single long lines."""
    wide = 60.0 * across
    wall, wanted = [], []
    for course in range(courses + 1):
        wall += lines((0, 30.0 * course), (wide, 30.0 * course))
    for course in range(courses):
        joints = [60.0 * k + 30 * (course % 2) for k in range(across + 1)]
        joints = sorted({0.0, *(x for x in joints if x < wide), wide})
        wanted += [30 * (b - a) for a, b in itertools.pairwise(joints)]
        for x in joints:
            wall += lines((x, 30.0 * course), (x, 30.0 * course + 30))
    return wall, wanted


HALF_DISC = math.pi * 400 / 2
# Each figure with the areas it must be read as.
FIGURES: dict[str, tuple[list[Piece], list[float]]] = {
    "pair of seven lines": (
        [*lines((0, 0), (50, 0), (90, 0), (90, 40), (50, 40), (0, 40), (0, 0)), *lines((50, 0), (50, 40))],
        [1600, 2000],
    ),
    "parts of two heights": (
        [
            *lines((0, 0), (100, 0), (200, 0), (200, 80), (100, 80), (100, 0)),
            *lines((100, 50), (0, 50), (0, 0)),
        ],
        [5000, 8000],
    ),
    "row of five in one frame": (
        [
            *rectangle(0, 0, 500, 300),
            *(p for k in range(1, 5) for p in lines((100.0 * k, 0), (100.0 * k, 300))),
        ],
        [30000] * 5,
    ),
    "row of five, every stretch a line": (
        [
            *(p for k in range(5) for y in (0, 300) for p in lines((100.0 * k, y), (100.0 * k + 100, y))),
            *(p for k in range(6) for p in lines((100.0 * k, 0), (100.0 * k, 300))),
        ],
        [30000] * 5,
    ),
    "brick wall": brick_wall(4, 5),
    "two by two with lines that meet on a long one": (
        [
            *rectangle(0, 0, 200, 200),
            *lines((0, 100), (200, 100)),
            *lines((100, 0), (100, 100), (100, 200)),
        ],
        [10000] * 4,
    ),
    "shared arc": (
        [
            *lines((50, 0), (0, 0), (0, 40), (50, 40)),
            bow((50, 0), (50, 40), (50, 20)),
            *lines((50, 0), (100, 0), (100, 40), (50, 40)),
        ],
        [2000 - HALF_DISC, 2000 + HALF_DISC],
    ),
    "end on the middle of an arc": (
        [*lines((0, 0), (100, 0)), bow((100, 0), (0, 0), (50, 0)), *lines((50, 0), (50, 50))],
        [math.pi * 2500 / 4] * 2,
    ),
    "ends scattered by 6 micrometres": (
        [
            *lines((0, 0), (50, 0)),
            *lines((50.006, 0), (90, 0), (90, 40), (50, 40), (0, 40), (0, 0)),
            *lines((50, 0.006), (50, 40)),
        ],
        [1600, 2000],
    ),
    "squares that share a corner": (
        [*rectangle(0, 0, 50, 50), *rectangle(50, 50, 80, 80)],
        [900, 2500],
    ),
    "four squares around a point": (
        [p for x, y in ((0, 0), (50, 0), (0, 50), (50, 50)) for p in rectangle(x, y, x + 50, y + 50)],
        [2500] * 4,
    ),
    "four kites around a point": (
        [
            p
            for c, s in ((1, 0), (0, 1), (-1, 0), (0, -1))
            for p in lines(
                *((c * x - s * y, s * x + c * y) for x, y in ((0, 0), (40, -15), (60, 5), (15, 30), (0, 0)))
            )
        ],
        # Shoelace by hand: (40*5 + 60*15 + 60*30 - 15*5) / 2
        [1412.5] * 4,
    ),
    "square in a corner of a square": (
        [*rectangle(0, 0, 100, 100), *lines((0, 0), (40, 10), (50, 50), (10, 40), (0, 0))],
        [1500, 10000],
    ),
    "pair inside, touching a corner": (
        [
            *rectangle(0, 0, 100, 100),
            *lines((0, 0), (40, 10), (50, 50), (10, 40), (0, 0)),
            *lines((50, 50), (90, 60), (70, 20), (40, 10)),
        ],
        # The second by the shoelace formula: (50, 50), (90, 60), (70, 20), (40, 10).
        [1250, 1500, 10000],
    ),
    "chain of two squares inside, touching a corner": (
        [
            *rectangle(0, 0, 100, 100),
            *lines((0, 0), (30, 10), (40, 40), (10, 30), (0, 0)),
            *rectangle(40, 40, 60, 60),
        ],
        [400, 800, 10000],
    ),
    "whole line over its halves": ([*rectangle(0, 0, 100, 100), *lines((0, 0), (50, 0), (100, 0))], [10000]),
    "lines that partly cover each other": (
        [*lines((0, 0), (60, 0)), *lines((40, 0), (100, 0), (100, 100), (0, 100), (0, 0))],
        [10000],
    ),
    "arc over its halves": (
        [
            *lines((0, 0), (100, 0)),
            bow((100, 0), (0, 0), (50, 0)),
            bow((50, 50), (100, 0), (50, 0), True),
            bow((50, 50), (0, 0), (50, 0)),
        ],
        [math.pi * 1250],
    ),
}


@pytest.mark.parametrize("name", FIGURES)
def test_figures_are_read_as_their_areas(name: str) -> None:
    pieces, wanted = FIGURES[name]
    chained = chain(pieces, "f")
    assert areas(chained) == pytest.approx(sorted(wanted), abs=1)
    assert chained.loose == ()


@given(st.sampled_from(sorted(FIGURES)), st.floats(0, math.tau), st.randoms(use_true_random=False))
@settings(derandomize=True, deadline=None, max_examples=50)
def test_order_direction_and_turning_change_nothing(name: str, turn: float, chance: random.Random) -> None:
    pieces, wanted = FIGURES[name]
    cos, sin = math.cos(turn), math.sin(turn)

    def moved(point: Point) -> Point:
        return (700 + cos * point[0] - sin * point[1], -300 + sin * point[0] + cos * point[1])

    placed = []
    for p in pieces:
        (s,) = p.path.segments
        path = (
            Path((Line(moved(s.start), moved(s.end)),))
            if isinstance(s, Line)
            else Path(arc_through(moved(s.start), moved(s.end), moved(s.centre), s.clockwise))
        )
        placed.append(Piece(path, p.layer, p.entity))
    chained = chain(turned(placed, chance), "f")
    assert areas(chained) == pytest.approx(sorted(wanted), abs=1)
    assert chained.loose == ()


@pytest.mark.parametrize(
    "divider", [lines((50, 0.2), (50, 40)), lines((50, 0.2), (50, 39.9)), lines((50, -0.3), (50, 40.2))]
)
@pytest.mark.parametrize("long", [False, True])
def test_a_shared_edge_with_a_gap_or_overrun_is_joined_and_told(divider: list[Piece], long: bool) -> None:
    frame = (
        rectangle(0, 0, 90, 40)
        if long
        else lines((0, 0), (50, 0), (90, 0), (90, 40), (50, 40), (0, 40), (0, 0))
    )
    chained = chain([*frame, *divider], "f")
    assert areas(chained) == pytest.approx([1600, 2000])
    assert chained.loose == ()
    assert set(rules(chained)) <= {"gap-closed", "overrun-trimmed", "shared-line"}
    assert len(rules(chained)) >= 2


def test_lines_that_cross_inside_a_frame_divide_it_and_are_told() -> None:
    chained = chain(
        [*rectangle(0, 0, 200, 200), *lines((0, 100), (200, 100)), *lines((100, 0), (100, 200))], "f"
    )
    assert areas(chained) == pytest.approx([10000] * 4)
    told = next(f for f in chained.findings if f.rule == "crossing-lines")
    assert (told.level, told.x_mm, told.y_mm) == ("warning", 100, 100)


def test_outlines_that_cross_are_left_as_they_are() -> None:
    chained = chain([*rectangle(0, 0, 100, 100), *rectangle(50, 50, 150, 150)], "f")
    assert areas(chained) == [10000, 10000]
    assert chained.findings == ()


def test_guide_lines_that_run_through_enclose_nothing() -> None:
    """A cross of lines through an outline, and four lines that cross with their ends 10 mm beyond."""
    guides = [*lines((50, -20), (50, 120)), *lines((-20, 50), (120, 50))]
    hatch = [
        p
        for x in (300.0, 400.0)
        for p in (*lines((x, -10), (x, 110)), *lines((290, x - 300), (410, x - 300)))
    ]
    chained = chain([*rectangle(0, 0, 100, 100), *guides, *hatch], "f")
    assert areas(chained) == [10000]
    assert len(chained.loose) == 6


def test_a_part_drawn_against_a_closed_outline_shares_its_edge() -> None:
    whole = outline((0, 0), (100, 0), (100, 100), (0, 100))
    for beside in (
        lines((100, 20), (150, 20), (150, 70), (100, 70)),
        lines((100, 0), (150, 0), (150, 100), (100, 100)),
        lines((0, 100), (0, 150), (100, 150), (100, 100)),
    ):
        chained = chain([whole, *beside], "f")
        assert areas(chained)[1] == 10000
        assert areas(chained)[0] == pytest.approx(2500 if beside[0].path.start == (100, 20) else 5000)
        assert chained.loose == ()
        assert rules(chained) == ["shared-line"]


def test_a_closed_outline_is_not_divided_from_within() -> None:
    """One closed line is one part; the line across it is told and not cut."""
    chained = chain([outline((0, 0), (100, 0), (100, 100), (0, 100)), *lines((50, 0), (50, 100))], "f")
    assert areas(chained) == [10000]
    assert len(chained.loose) == 1
    assert [f.rule for f in open_lines(chained.loose, "f")[1]] == ["open-lines"]


def test_small_marks_against_an_outline_are_no_parts() -> None:
    chained = chain(
        [outline((0, 0), (100, 0), (100, 100), (0, 100)), *lines((100, 20), (104, 20), (104, 24), (100, 24))],
        "f",
    )
    assert areas(chained) == [10000]
    assert len(chained.loose) == 3


def test_points_where_areas_touch_are_told() -> None:
    chained = chain([*rectangle(0, 0, 50, 50), *rectangle(50, 50, 80, 80)], "f")
    (told,) = chained.findings
    assert (told.level, told.rule, told.x_mm, told.y_mm) == ("warning", "touching-areas", 50, 50)


def test_an_outline_pinched_to_a_point_becomes_two_and_is_told() -> None:
    """Lines in the shape of an hourglass whose waist is one point."""
    chained = chain(lines((0, 0), (50, 50), (100, 0), (100, 100), (50, 50), (0, 100), (0, 0)), "f")
    assert areas(chained) == pytest.approx([2500, 2500])
    assert rules(chained) == ["touching-areas"]


@pytest.mark.parametrize(
    ("corners", "at"),
    [
        ([(0, 0), (100, 100), (100, 0), (0, 100)], (50, 50)),
        ([(0, 0), (50, 0), (50, 30), (50, 0), (100, 0), (100, 100), (0, 100)], (50, 30)),
        ([(0, 0), (100, 0), (100, 40), (50, 0), (0, 40)], (50, 0)),
    ],
    ids=["bow tie", "slit without width", "pinched against its far side"],
)
def test_a_closed_outline_that_meets_itself_is_refused_at_that_place(
    dxf: Dxf, corners: list[Point], at: Point
) -> None:
    found = dxf(lambda space: space.add_lwpolyline(corners, close=True))
    told = next(f for f in found.findings if f.rule == "refused-loop")
    assert found.parts == ()
    assert (told.level, told.x_mm, told.y_mm) == ("error", *at)
    assert told.entity is not None and told.entity.startswith("LWPOLYLINE")


@pytest.mark.parametrize("layers", [("outline", "0"), ("0", "outline")])
def test_of_one_outline_on_two_layers_the_one_with_a_meaning_counts(
    dxf: Dxf, layers: tuple[str, str]
) -> None:
    def draw(space: object) -> None:
        for layer in layers:
            space.add_lwpolyline(
                [(0, 0), (100, 0), (100, 80), (0, 80)], close=True, dxfattribs={"layer": layer}
            )

    found = dxf(draw, rules=(LayerRule("outline", "profile"),))
    (part,) = found.parts
    assert part.source.layer == "outline"
    assert [(f.level, f.rule) for f in found.findings] == [("note", "duplicate-loop")]


def test_a_soup_of_thousands_of_lines_gives_exactly_its_parts() -> None:
    """32 x 30 plates of three sizes with a square opening, in loose lines: shuffled, reversed, and spoilt.

    7,680 lines, 264 without length, 300 drawn again, half of those the other way.
    """
    chance = random.Random(7)
    soup, wanted = [], []
    for k in range(960):
        x, y = 120.0 * (k % 32), 90.0 * (k // 32)
        width, height = (100, 60) if k % 3 else (80, 70 - k % 2)
        soup += [*rectangle(x, y, x + width, y + height), *rectangle(x + 20, y + 20, x + 40, y + 40)]
        wanted += [width * height, 400]
    again = [soup[chance.randrange(len(soup))] for _ in range(2000)]
    again = list({id(p): p for p in again}.values())[:300]
    dots = [lines(p.path.start, (p.path.start[0], p.path.start[1] + 5e-5))[0] for p in soup[:2640:10]]
    chained = chain(turned([*soup, *again, *dots], chance), "soup.dxf")
    assert areas(chained) == pytest.approx(sorted(wanted))
    assert chained.loose == ()
    assert [f.message for f in chained.findings] == [
        "pieces drawn twice or more, counted once: 300 on layer CUT",
        "pieces without length in plan, left out: 264 on layer CUT",
    ]


def test_a_sheet_of_shared_edges_gives_every_cell() -> None:
    """40 x 50 cells, each stretch of edge drawn once: 4,090 lines and 1,911 points where four lines meet."""
    grid = [
        p
        for i in range(41)
        for j in range(51)
        for p in (
            *(lines((20.0 * i, 20.0 * j), (20.0 * i + 20, 20.0 * j)) if i < 40 else ()),
            *(lines((20.0 * i, 20.0 * j), (20.0 * i, 20.0 * j + 20)) if j < 50 else ()),
        )
    ]
    chained = chain(turned(grid, random.Random(3)), "grid.dxf")
    assert areas(chained) == pytest.approx([400] * 2000)
    assert rules(chained) == ["shared-line"]
