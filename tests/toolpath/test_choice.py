"""Which cutter serves a feature, what is said when none does."""

from __future__ import annotations

import math

import pytest

from camkit.geometry.path import Arc, Line, Path, circle, polygon, rectangle
from camkit.job.model import Cutter
from camkit.part import Hole
from camkit.toolpath.doubts import no_cutter
from camkit.toolpath.feature import Feature
from camkit.toolpath.reach import Choice, choose, left_standing, widest_cutter

SIX = Cutter(number=1, diameter=6.0, kind="upcut spiral")
THREE = Cutter(number=2, diameter=3.0)
DRILL = Cutter(number=3, diameter=4.5, kind="drill")


def opening(path: Path) -> Feature:
    return Feature("opening", "top", 1, path)


def test_a_square_corner_keeps_the_cutter_away_by_the_gap_of_plain_geometry() -> None:
    """r (1 / sin 45 degrees - 1) = 1.242641 for r = 3."""
    assert left_standing(opening(rectangle(0, 0, 80, 40)), 3) == pytest.approx(1.242641, abs=0.02)


def test_an_opening_narrower_than_the_cutter_cannot_be_entered() -> None:
    assert left_standing(opening(rectangle(0, 0, 80, 5.9)), 3) == math.inf


def test_a_notch_in_an_outline_that_the_cutter_cannot_enter_is_noticed() -> None:
    notched = polygon([(0, 0), (40, 0), (40, 15), (45, 15), (45, 0), (100, 0), (100, 50), (0, 50)])
    assert left_standing(Feature("profile", "rail", 1, notched), 3) > 3.15
    assert left_standing(Feature("profile", "rail", 1, notched), 2) < 2.1


def test_the_largest_cutter_that_makes_the_whole_feature_is_taken() -> None:
    assert choose(opening(circle((0, 0), 60)), (THREE, SIX), 18) == Choice(SIX, 0.0)
    chosen = choose(opening(rectangle(0, 0, 80, 5)), (SIX, THREE), 18)
    assert chosen is not None and chosen.cutter == THREE


def test_a_hole_goes_to_the_drill_of_its_size_and_else_to_a_cutter_that_can_go_round_in_it() -> None:
    drilled = Feature("hole", "top", 1, circle((0, 0), 4.5), hole=Hole((0, 0), 4.5))
    assert choose(drilled, (SIX, THREE, DRILL), 18) == Choice(DRILL, 0.0)
    assert choose(drilled, (SIX, THREE), 18) == Choice(THREE, 0.0)
    assert choose(drilled, (SIX,), 18) is None


def test_no_cutter_says_which_cutter_would_serve() -> None:
    finding = no_cutter(opening(rectangle(0, 0, 80, 5)), (SIX,), 18.3)
    assert finding.level == "error" and finding.part == "top"
    assert "an opening of 80 x 5 mm" in finding.message
    assert widest_cutter(opening(rectangle(0, 0, 80, 5))) == pytest.approx(4.9, abs=0.11)
    assert "at most 4.9" in finding.remedy or "at most 5" in finding.remedy


def test_a_cutter_that_is_too_short_is_named() -> None:
    short = SIX.model_copy(update={"cutting_length": 12.0})
    finding = no_cutter(opening(rectangle(0, 0, 80, 40)), (short,), 18.3)
    assert "cutter 1 is too short" in finding.message and "18.3" in finding.message


def test_a_way_too_narrow_within_an_opening_is_what_is_told() -> None:
    """Relief circles about the corners: the mouth between their ends on the walls is r sqrt(2) wide."""
    w, h, r = 90.0, 18.0, 3.05  # 3.05 x 1.41421 = 4.3134
    pieces: list[Line | Arc] = []
    corners = [((0.0, 0.0), (1, 0)), ((w, 0.0), (0, 1)), ((w, h), (-1, 0)), ((0.0, h), (0, -1))]
    for (centre, (ux, uy)), (after, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        start = (centre[0] + r * ux, centre[1] + r * uy)
        end = (after[0] - r * ux, after[1] - r * uy)
        pieces += [Line(start, end), Arc(end, (after[0] - r * uy, after[1] + r * ux), after, False)]
    drawn = opening(Path(tuple(pieces)))
    assert choose(drawn, (SIX,), 18.3) is None
    finding = no_cutter(drawn, (SIX,), 18.3)
    assert finding.message.startswith("no cutter on hand makes an opening of 96.1 x 24.1 mm: the 6 mm cutter")
    assert finding.message.endswith("yet the way there narrows to 4.31 mm")
    assert "less than 4.31 mm" in finding.remedy
    smaller = Cutter(number=3, diameter=4.2)
    assert choose(drawn, (smaller,), 18.3) is not None
