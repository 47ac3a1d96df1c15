"""Corners that need no relief, by plane geometry and by trying the mate in what a cutter clears."""

from __future__ import annotations

import math

import pytest
import shapely
from support.reach import cleared_inside, missed

from camkit.geometry.path import polygon, rectangle, reversed_path
from camkit.joinery.relief_need import least_chamfer, least_shortness, no_relief_because


def test_a_square_mate_needs_a_square_corner():
    assert no_relief_because(3.0) is None
    assert no_relief_because(3.0, drawn_radius=2.9, mate_radius=2.9, mate_chamfer=2.9) is None


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"mate": False}, "nothing seats in it"),
        ({"drawn_radius": 3.0}, "it is drawn round, by 3.00 mm"),
        ({"mate_radius": 3.0}, "the mate is rounded by 3.00 mm"),
        ({"mate_chamfer": 3.0}, "the mate is chamfered by 3.00 mm"),
        ({"short": 2.34, "clearance": 0.15}, "the mate ends 2.34 mm short of it"),
    ],
)
def test_a_corner_that_nothing_square_enters_is_left_round_and_says_why(facts, words):
    assert no_relief_because(3.0, **facts) == words


def test_the_short_tenon_by_hand():
    """r 3, c 0.15: 3 - sqrt(9 - 2.925 2.925) = 3 - 0.6666 = 2.3334."""
    assert least_shortness(3.0, 0.15) == pytest.approx(2.3334, abs=1e-4)
    assert least_shortness(3.0, 0.0) == pytest.approx(3.0)
    assert least_shortness(3.0, 6.0) == 0.0
    assert no_relief_because(3.0, short=2.33, clearance=0.15) is None


@pytest.mark.parametrize(("radius", "clearance"), [(3.0, 0.15), (1.0, 0.2), (6.0, 0.05)])
def test_a_short_tenon_enters_a_mortise_left_round_and_a_longer_one_does_not(radius, clearance):
    mortise = reversed_path(rectangle(0, 0, 80, 17.6 + clearance))
    cleared = cleared_inside(mortise, radius)
    short = least_shortness(radius, clearance)
    for end, enters in ((short, True), (short - radius / 10, False)):
        tenon = shapely.box(end, clearance / 2, 80 - end, 17.6 + clearance / 2)
        assert (missed(tenon, cleared) < 0.004) == enters


@pytest.mark.parametrize("angle_deg", [60, 90, 120])
def test_a_mate_chamfered_by_what_the_cutter_leaves_enters_and_one_chamfered_less_does_not(angle_deg):
    """Square by a leg of r; one of r (2 - sqrt 2) clears the arc's middle but not its ends."""
    angle, r = math.radians(angle_deg), 3.0
    far = (80 * math.cos(angle), 80 * math.sin(angle))
    cleared = cleared_inside(polygon([(0, 0), far, (80, 0)]), r)
    for share, enters in ((1.0, True), (0.7, False)):
        leg = share * least_chamfer(r, angle)
        cos, sin = math.cos(angle), math.sin(angle)
        mate = shapely.Polygon([(leg, 0), (20, 0), (20 * cos, 20 * sin), (leg * cos, leg * sin)])
        assert (missed(mate, cleared) < 0.004) == enters
        assert (no_relief_because(r, angle, mate_chamfer=leg) is not None) == enters
    assert least_chamfer(3.0) == pytest.approx(3.0)
    assert no_relief_because(3.0, mate_chamfer=3 * (2 - math.sqrt(2))) is None
