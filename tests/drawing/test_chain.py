"""Loose pieces become loops again, whatever their order; gaps are closed, told or left by their size."""

import itertools
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.drawing.chain import Chained, Loop, chain
from camkit.drawing.curves import arc_through
from camkit.drawing.heal import healed
from camkit.drawing.open_lines import open_lines
from camkit.drawing.sketch import Piece
from camkit.geometry.path import (
    Arc,
    Line,
    Path,
    Point,
    Segment,
    circle,
    polygon,
    rectangle,
    reversed_path,
    signed_area,
)


def piece(*segments: Segment, layer: str = "CUT", entity: str = "LINE 1") -> Piece:
    return Piece(Path(segments), layer, entity)


def lines(*points: Point, layer: str = "CUT") -> list[Piece]:
    return [
        piece(Line(a, b), layer=layer, entity=f"LINE {k}")
        for k, (a, b) in enumerate(itertools.pairwise(points))
    ]


def areas(chained: Chained) -> list[float]:
    return sorted(abs(signed_area(loop.path)) for loop in chained.loops)


def rules(chained: Chained) -> list[str]:
    return [finding.rule for finding in chained.findings]


@st.composite
def rounded_outlines(draw: st.DrawFn) -> Path:
    """A star-shaped outline, some of its sides bowed as arcs, about any point."""
    count = draw(st.integers(3, 12))
    x, y = draw(st.floats(-2000, 2000)), draw(st.floats(-2000, 2000))
    reach = [draw(st.floats(40, 100)) for _ in range(count)]
    corners = [
        (x + r * math.cos(k * math.tau / count), y + r * math.sin(k * math.tau / count))
        for k, r in enumerate(reach)
    ]
    segments: list[Segment] = []
    for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
        bow = draw(st.sampled_from([0.0, 0.0, 0.1, 0.3]))
        if not bow:
            segments.append(Line(start, end))
            continue
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        away = (1 - bow**2) / (4 * bow)
        centre = (middle[0] - (end[1] - start[1]) * away, middle[1] + (end[0] - start[0]) * away)
        segments += arc_through(start, end, centre, False)
    return Path(tuple(segments))


@given(st.lists(rounded_outlines(), min_size=1, max_size=4), st.randoms(use_true_random=False))
@settings(derandomize=True, deadline=None, max_examples=50)
def test_shuffled_and_reversed_pieces_give_the_same_areas(
    outlines: list[Path], chance: random.Random
) -> None:
    pieces = []
    for number, outline in enumerate(outlines):
        for segment in outline.segments:
            path = Path((segment,))
            pieces.append(
                Piece(reversed_path(path) if chance.random() < 0.5 else path, f"layer {number}", "piece")
            )
    chance.shuffle(pieces)
    chained = chain(pieces, "shuffled.dxf")
    assert chained.loose == ()
    assert areas(chained) == pytest.approx(sorted(signed_area(o) for o in outlines), abs=1e-6)


@given(rounded_outlines(), st.randoms(use_true_random=False))
@settings(derandomize=True, deadline=None, max_examples=50)
def test_ends_moved_by_3_micrometres_are_joined_and_arcs_stay_true(
    outline: Path, chance: random.Random
) -> None:
    def moved(point: Point) -> Point:
        turn = chance.random() * math.tau
        return (point[0] + 0.003 * math.cos(turn), point[1] + 0.003 * math.sin(turn))

    pieces = []
    for s in outline.segments:
        start, end = moved(s.start), moved(s.end)
        made = arc_through(start, end, s.centre, s.clockwise) if isinstance(s, Arc) else (Line(start, end),)
        pieces.append(piece(*made))
    chance.shuffle(pieces)
    chained = chain(pieces, "loose.dxf")
    (loop,) = chained.loops
    assert abs(signed_area(loop.path)) == pytest.approx(signed_area(outline), rel=1e-3)
    assert loop.path.closed
    for segment in loop.path.segments:
        if isinstance(segment, Arc):
            assert math.dist(segment.end, segment.centre) == pytest.approx(segment.radius, abs=1e-9)


def test_a_small_gap_is_closed_and_noted() -> None:
    chained = chain(lines((0, 0), (100, 0), (100, 50), (0, 50), (0, 0.008)), "f")
    assert areas(chained) == pytest.approx([5000], abs=1)
    (note,) = chained.findings
    assert (note.level, note.rule) == ("note", "gap-closed")


def test_a_gap_between_the_tolerances_is_closed_with_a_warning() -> None:
    chained = chain(lines((0, 0), (100, 0), (100, 50), (0, 50), (0, 0.03)), "f")
    assert len(chained.loops) == 1
    (told,) = chained.findings
    assert (told.level, told.rule, told.layer) == ("warning", "gap-closed", "CUT")
    assert told.amount_mm == pytest.approx(0.03)
    assert (told.x_mm, told.y_mm) == pytest.approx((0, 0.015))


def test_a_larger_gap_stays_open_and_is_named() -> None:
    chained = chain(lines((0, 0), (100, 0), (100, 50), (0, 50), (0, 0.8)), "f")
    assert chained.loops == ()
    outlines, findings = open_lines(chained.loose, "f")
    (told,) = findings
    assert (told.level, told.rule, told.layer, told.entity) == ("warning", "open-outline", "CUT", "LINE 0")
    assert told.amount_mm == pytest.approx(0.8)
    assert (told.x_mm, told.y_mm) in [(0, 0), (0, 0.8)]
    assert abs(signed_area(outlines[0].path)) == pytest.approx(5000, abs=1)


def test_halves_with_two_gaps_are_one_open_outline() -> None:
    halves = [*lines((0, 0), (100, 0), (100, 50)), *lines((100, 51.5), (0, 51.5), (0, 1))]
    outlines, (told,) = open_lines(chain(halves, "f").loose, "f")
    assert len(outlines) == 1
    assert told.amount_mm == pytest.approx(1.5)


def test_label_strokes_are_told_together() -> None:
    strokes = [
        *lines((0, 0), (5, 9), (9, 0)),
        *lines((20, 0), (20, 9)),
        *lines((30, 0), (38, 2), layer="TEXT"),
    ]
    outlines, findings = open_lines(chain(strokes, "f").loose, "f")
    assert outlines == ()
    assert [(f.rule, f.layer, f.message.split("; ")[0]) for f in findings] == [
        ("open-lines", "CUT", "lines that enclose nothing, not cut: 2 (pieces: 3)"),
        ("open-lines", "TEXT", "lines that enclose nothing, not cut: 1 (pieces: 1)"),
    ]


def test_repeats_and_pieces_without_length_are_dropped_and_counted() -> None:
    square = lines((0, 0), (100, 0), (100, 50), (0, 50), (0, 0))
    twice = [*square, piece(Line((100, 0), (0, 0))), square[2], piece(Line((5, 5), (5, 5.00001)))]
    chained = chain(twice, "f")
    assert areas(chained) == [5000]
    assert chained.loose == ()
    assert [f.message for f in chained.findings] == [
        "pieces drawn twice or more, counted once: 2 on layer CUT",
        "pieces without length in plan, left out: 1 on layer CUT",
    ]


def test_a_circle_drawn_twice_is_one_loop() -> None:
    ring = Piece(circle((10, 10), 8), "CUT", "CIRCLE 1")
    assert len(chain([ring, ring], "f").loops) == 1


def test_fine_chords_are_not_taken_for_repeats() -> None:
    """A circle of 1 mm in 400 chords of 0.008 mm, finer than the joining tolerance."""
    ring = [(0.5 * math.cos(k * math.tau / 400), 0.5 * math.sin(k * math.tau / 400)) for k in range(400)]
    chained = chain(lines(*ring, ring[0]), "f")
    assert areas(chained) == pytest.approx([math.pi / 4], rel=1e-3)
    assert chained.findings == ()


def test_squares_that_meet_at_a_corner_stay_two() -> None:
    chained = chain(
        [
            *lines((0, 0), (50, 0), (50, 50), (0, 50), (0, 0)),
            *lines((50, 50), (80, 50), (80, 80), (50, 80), (50, 50)),
        ],
        "f",
    )
    assert areas(chained) == pytest.approx([900, 2500])


def test_a_stroke_at_a_corner_does_not_break_the_outline() -> None:
    chained = chain([*lines((0, 0), (50, 0), (50, 50), (0, 50), (0, 0)), *lines((50, 50), (70, 70))], "f")
    assert areas(chained) == [2500]
    assert len(chained.loose) == 1


def test_a_bridge_between_two_outlines_is_loose() -> None:
    chained = chain(
        [
            *lines((0, 0), (50, 0), (50, 50), (0, 50), (0, 0)),
            *lines((50, 50), (100, 50)),
            *lines((100, 50), (150, 50), (150, 90), (100, 90), (100, 50)),
        ],
        "f",
    )
    assert areas(chained) == pytest.approx([2000, 2500])
    assert len(chained.loose) == 1


def test_a_line_shared_by_two_parts_belongs_to_both_and_is_told() -> None:
    chained = chain(
        [*lines((0, 0), (50, 0), (90, 0), (90, 40), (50, 40), (0, 40), (0, 0)), *lines((50, 0), (50, 40))],
        "f",
    )
    assert areas(chained) == pytest.approx([1600, 2000])
    assert rules(chained) == ["shared-line"]


def test_a_line_there_and_back_is_no_outline() -> None:
    there = Path((Line((0, 0), (100, 0)), Line((100, 0), (0, 0))))
    chained = chain([Piece(there, "CUT", "LWPOLYLINE 1")], "f")
    assert chained.loops == ()
    assert [(f.level, f.rule, f.entity) for f in chained.findings] == [
        ("warning", "open-lines", "LWPOLYLINE 1")
    ]


def test_a_line_over_two_shorter_ones_counts_once() -> None:
    chained = chain(
        [*lines((0, 0), (50, 0), (90, 0), (90, 40), (0, 40), (0, 0)), *lines((0, 0), (90, 0))], "f"
    )
    assert areas(chained) == pytest.approx([3600])


def test_tangent_arcs_at_a_junction_are_told_apart() -> None:
    """A rectangle with a half disc inside it: at the disc's ends line and arc leave in one direction."""
    disc = arc_through((40, 20), (20, 20), (30, 20), True)
    chained = chain(
        [
            *lines((0, 0), (60, 0), (60, 20), (40, 20)),
            *lines((20, 20), (0, 20), (0, 0)),
            *lines((40, 20), (20, 20)),
            piece(*disc),
        ],
        "f",
    )
    assert areas(chained) == pytest.approx([math.pi * 50, 1200 - math.pi * 50])


def test_layers_are_joined_apart_before_they_are_joined_together() -> None:
    one = lines((0, 0), (50, 0), (50, 50), (0, 50), (0, 0), layer="A")
    other = lines((50, 50), (0, 50), (0, 90), (50, 90), (50, 50), layer="B")
    mixed = [
        *lines((200, 0), (250, 0), (250, 50), layer="A"),
        *lines((250, 50), (200, 50), (200, 0), layer="B"),
    ]
    chained = chain([*one, *other, *mixed], "f")
    assert areas(chained) == pytest.approx([2000, 2500, 2500])
    assert chained.loose == ()


def test_a_spike_of_rounding_is_taken_out() -> None:
    path = polygon([(0, 0), (100, 0), (100, 50), (40, 50), (40, 50.004), (40, 50.001), (0, 50)])
    (loop,), (told,) = healed([Loop(path, "0", "LINE 1")], "f")
    assert signed_area(loop.path) == pytest.approx(5000, abs=0.5)
    assert (told.level, told.rule) == ("note", "spike-removed")


def test_sound_loops_are_left_as_they_are() -> None:
    loops = (Loop(rectangle(0, 0, 50, 50), "0", "a"), Loop(circle((0, 0), 5), "0", "b"))
    assert healed(loops, "f") == (loops, ())


def test_a_real_crossing_is_left_for_the_maker() -> None:
    bow = Loop(polygon([(0, 0), (50, 50), (50, 0), (0, 50)]), "0", "a")
    assert healed([bow], "f") == ((bow,), ())


def test_60000_lines_take_a_few_seconds() -> None:
    pieces = []
    for k in range(15_000):
        x, y = 30.0 * (k % 150), 30.0 * (k // 150)
        pieces += lines((x, y), (x + 20, y), (x + 20, y + 20), (x, y + 20), (x, y))
    random.Random(1).shuffle(pieces)
    assert len(chain(pieces, "f").loops) == 15_000
