"""A name stands on wood, not over openings or holes, and is no larger than fits."""

from __future__ import annotations

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings
from shapely import box
from support.bench_by_hand import PLACED

from camkit.geometry.flatten import as_polygon
from camkit.geometry.path import rectangle
from camkit.part import Hole, Part, Placed
from camkit.report.labels import LabelPlace, label_place, text_width


def band(place: LabelPlace) -> tuple[float, float, float, float]:
    along, across = (place.across, place.along) if place.turned else (place.along, place.across)
    return (place.x - along / 2, place.y - across / 2, place.x + along / 2, place.y + across / 2)


@pytest.mark.parametrize("piece", PLACED, ids=lambda p: f"{p.part.name} {p.copy}")
def test_the_band_of_a_name_lies_on_wood(piece: Placed) -> None:
    wood = as_polygon(piece.shape.region()).buffer(0.5)  # curves are looked at that coarsely
    assert box(*band(label_place(piece.shape))).difference(wood).area == pytest.approx(0, abs=1e-6)


@settings(derandomize=True, deadline=None, max_examples=25)
@given(
    long=st.floats(40, 2000), wide=st.floats(40, 1000), left=st.floats(0.05, 0.4), low=st.floats(0.05, 0.4),
    right=st.floats(0.5, 0.95), high=st.floats(0.5, 0.95), hole=st.floats(2, 10),
)  # fmt: skip
def test_the_band_keeps_clear_of_an_opening_and_a_hole(
    long: float, wide: float, left: float, low: float, right: float, high: float, hole: float
) -> None:
    opening = rectangle(long * left, wide * low, long * right, wide * high)
    part = Part("p", rectangle(0, 0, long, wide), (opening,), (Hole((long * 0.98, wide * 0.98), hole, 3.0),))
    place = label_place(part)
    x0, y0, x1, y1 = band(place)
    assert x1 > x0 and y1 > y0
    assert box(x0, y0, x1, y1).difference(as_polygon(part.region()).buffer(0.01)).area < 1e-6


def test_a_tall_slim_part_is_lettered_upwards() -> None:
    assert label_place(Part("rail", rectangle(0, 0, 60, 900))).turned
    assert not label_place(Part("rail", rectangle(0, 0, 900, 60))).turned


def test_a_name_avoids_pockets_where_there_is_room() -> None:
    shelf = PLACED[2].shape
    _, y0, _, y1 = band(label_place(shelf))
    assert all(y1 <= 180.0 or y0 >= 260.5 for _ in shelf.pockets)


def test_letters_are_never_wider_than_the_spot() -> None:
    place = LabelPlace(0, 0, along=50, across=100, turned=False)
    name = "a rather long name of a part"
    assert text_width(name, place.size_for(name, 99)) <= 50
    assert place.size_for("x", 12) == 12
