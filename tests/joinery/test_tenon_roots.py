"""Roots of tenons: which way they are relieved, and that a sharp mouth then comes down on the shoulder.

Witness: areas widened and narrowed by shapely (`support.reach`).
"""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.reach import cleared_outside, missed

from camkit.geometry.corner_relief import relieve_corners
from camkit.geometry.measure import segment_length
from camkit.geometry.path import Path, polygon
from camkit.joinery.relief_choice import Choice
from camkit.joinery.tenon_roots import BROAD, roots_of
from camkit.joinery.tenon_roots import root_relief as relief_at
from camkit.joinery.webs import opened_by

TIP = 4


def tongue(width: float, long: float = 18.0, shoulders: tuple[float, float] = (30.0, 30.0)) -> Path:
    """A board with a tenon on its upper edge, which lies at 0; the tenon's end is wall 4, it begins at 0."""
    one, other = shoulders
    corners = [(-one, -80), (width + other, -80), (width + other, 0), (width, 0), (width, long), (0, long)]
    corners += [(0, 0), (-one, 0)]
    return polygon([c for k, c in enumerate(corners) if c != corners[k - 1]])


def root_relief(path: Path, tip: int, radius: float, **how: Any) -> Choice:
    return relief_at(path, roots_of(path, tip), radius, width=segment_length(path.segments[tip]), **how)


def pasts(choice: Choice) -> list[str]:
    return [choice.reliefs[corner].past for corner in sorted(choice.reliefs)]


def spans(path: Path, choice: Choice) -> list[tuple[float, float, float, float]]:
    return [
        tuple(round(v, 3) for v in opened_by(path, c, r).bounds) for c, r in sorted(choice.reliefs.items())
    ]


def test_a_narrow_tenon_keeps_its_strength_and_is_relieved_into_its_shoulders():
    path = tongue(59.9)  # below 20 r = 60
    chosen = root_relief(path, TIP, 3.0)
    assert (chosen.word, chosen.said) == ("t-bone", ())
    # r deep into the board, 2 r wide, beside the tenon
    assert spans(path, chosen) == [(59.9, -3, 65.9, 0), (-6, -3, 0, 0)]


def test_a_broad_tenon_is_relieved_into_its_sides_where_the_mortise_hides_it():
    path = tongue(BROAD * 3.0)
    chosen = root_relief(path, TIP, 3.0, hidden=18.0)
    # 2 r along the side, within the mortise; the root narrows by r at either side
    assert spans(path, chosen) == [(57, 0, 60, 6), (0, 0, 3, 6)]
    shown = root_relief(path, TIP, 3.0, hidden=5.9)  # a mortise too thin to hide 2 r of the side
    assert spans(path, shown) == [(60, -3, 66, 0), (-6, -3, 0, 0)]


@pytest.mark.parametrize(
    ("width", "long", "shoulder", "word", "taken"),
    [
        (59.0, 18.0, 7.1, "t-bone", "shoulder"),  # 2 r and a millimetre to seat on
        (59.0, 18.0, 6.9, "dogbone", "both"),
        (59.0, 18.0, 5.2, "t-bone", "side"),  # a dogbone takes sqrt 2 r = 4.243, and 1 to seat on
        (61.0, 18.0, 5.2, "t-bone", "side"),
        (61.0, 5.9, 30.0, "t-bone", "shoulder"),
        (61.0, 5.9, 6.9, "dogbone", "both"),
        (61.0, 4.2, 5.2, "none", ""),
        (11.9, 18.0, 5.2, "none", ""),  # half of the tenon would go
    ],
)
def test_walls_too_short_for_one_kind_get_another_or_are_refused(width, long, shoulder, word, taken):
    path = tongue(width, long, (shoulder, shoulder))
    chosen = root_relief(path, TIP, 3.0)
    assert chosen.word == word
    wanted = {"both": ["both", "both"], "side": ["after", "before"], "shoulder": ["before", "after"], "": []}
    assert pasts(chosen) == wanted[taken]
    assert [said.rule for said in chosen.said] == ([] if taken else ["root-room"])


def test_the_jobs_wish_overrules_the_rule():
    path = tongue(59.0)
    assert root_relief(path, TIP, 3.0, wish="dogbone").word == "dogbone"
    assert root_relief(path, TIP, 3.0, wish="t-bone").word == "t-bone"
    none = root_relief(path, TIP, 3.0, wish="none")
    (said,) = none.said
    assert (none.reliefs, said.level, said.rule) == ({}, "note", "roots-round")
    assert said.remedy.startswith("Chamfer the mortise's mouth by 3.0 mm")


def test_a_tenon_flush_with_the_board_has_one_root_and_a_square_end_none():
    bare = tongue(60.0, 18.0, (0.0, 30.0))
    tip = next(k for k, wall in enumerate(bare.segments) if wall.start[1] == wall.end[1] == 18.0)
    assert [bare.segments[root.corner].end for root in roots_of(bare, tip)] == [(60.0, 0)]
    board = polygon([(0, 0), (50, 0), (50, 50), (0, 50)])
    assert roots_of(board, 2) == ()
    assert root_relief(board, 2, 3.0) == Choice()


def test_two_tenons_share_the_shoulder_between_them():
    def row(gap: float) -> Path:
        corners = [(0, -80), (160 + gap, -80), (160 + gap, 0), (130 + gap, 0), (130 + gap, 18)]
        corners += [(80 + gap, 18), (80 + gap, 0), (80, 0), (80, 18), (30, 18), (30, 0), (0, 0)]
        return polygon(corners)

    for gap, words in ((13.1, {"t-bone"}), (12.9, {"dogbone"})):  # 4 r and a millimetre to seat on
        path = row(gap)
        tips = [k for k, wall in enumerate(path.segments) if wall.start[1] == wall.end[1] == 18]
        roots = {root.corner for tip in tips for root in roots_of(path, tip)}
        chosen = [root_relief(path, tip, 3.0, roots=roots) for tip in tips]
        reliefs = chosen[0].reliefs | chosen[1].reliefs
        inner = [reliefs[c] for c in sorted(reliefs) if 30 < path.segments[c].end[0] < 130 + gap]
        assert {"dogbone" if relief.past == "both" else "t-bone" for relief in inner} == words
        relieve_corners(path, reliefs)  # and they really fit on one wall


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    radius=st.floats(1, 6),
    width=st.floats(3, 30),
    lean_deg=st.floats(-30, 30),
    long=st.floats(2.5, 8),
    shoulder=st.floats(1, 9),
)
def test_a_sharp_mouth_comes_down_on_the_shoulders_of_any_tenon_relieved(
    radius, width, lean_deg, long, shoulder
):
    """Roots of 60 to 120 degrees: the sides of the tenon lean."""
    w, t, s = width * radius, long * radius, shoulder * radius
    lean = t * math.tan(math.radians(lean_deg))
    path = polygon([(-s, -80), (w + s, -80), (w + s, 0), (w, 0), (w + lean, t), (lean, t), (0, 0), (-s, 0)])
    chosen = root_relief(path, TIP, radius)
    if chosen.word == "none":
        assert chosen.said
        return
    done = relieve_corners(path, chosen.reliefs)
    mate = shapely.Polygon([(w, 0), (w + s, 0), (w + s + lean, t), (w + lean, t)])
    other = shapely.Polygon([(0, 0), (lean, t), (lean - s, t), (-s, 0)])
    cleared = cleared_outside(done, radius)
    roots = [root.corner for root in roots_of(path, TIP)]
    both = zip(sorted(roots), (mate, other), strict=True)
    sides = [wood for corner, wood in both if corner in chosen.reliefs]
    assert sides
    assert missed(shapely.union_all(sides), cleared) < 0.004
    assert missed(shapely.union_all(sides), cleared_outside(path, radius)) > 0.02


def test_a_corner_that_turns_the_other_way_is_no_root():
    """A hook: one side of the tenon ends in a nose, whose lower edge turns back under it."""
    path = polygon([(20, 16), (30, 16), (30, 0), (100, 0), (100, 18), (60, 18), (60, 40), (20, 40)])
    (tip,) = [k for k, wall in enumerate(path.segments) if wall.start[1] == wall.end[1] == 40]
    assert [path.segments[root.corner].end for root in roots_of(path, tip)] == [(60, 18)]
