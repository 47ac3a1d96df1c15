"""Random drawings, written in many ways, always read as the parts that were meant, within 0.005 mm.

What was meant is known from corners and bulges alone (support.bulged); every reading is held against that, so
all of them also agree with each other.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.bulged import Drawing, Motion, assert_same_parts
from support.drawn_as import DXF_WAYS, SVG_WAYS, write_dxf, write_svg
from support.random_drawings import moved, random_drawing

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read

WITHIN = 0.005
EXACT_WAYS = sorted(set(DXF_WAYS) - {"short chords"})

seeds = st.integers(0, 2**32 - 1)
motions = st.builds(
    Motion,
    turn_deg=st.one_of(st.sampled_from((0.0, 90.0, 180.0)), st.floats(-180, 180)),
    mirrored=st.booleans(),
    x=st.floats(-1000, 1000),
    y=st.floats(-1000, 1000),
)


def from_dxf(drawing: Drawing, way: str, seed: int = 0, insunits: int = 4) -> Drawn:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "random.dxf"
        write_dxf(path, drawing, way, seed, insunits)
        return read(path)


def from_svg(drawing: Drawing, way: str, seed: int = 0, unit: str = "mm") -> Drawn:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "random.svg"
        write_svg(path, drawing, way, seed, unit)
        return read(path)


@pytest.mark.parametrize("way", DXF_WAYS)
@settings(derandomize=True, deadline=None, max_examples=15)
@given(seed=seeds, motion=motions)
def test_every_way_of_writing_dxf_turned_mirrored_and_moved(way: str, seed: int, motion: Motion) -> None:
    drawing = moved(random_drawing(seed), motion)
    drawn = from_dxf(drawing, way, seed)
    assert (drawn.unit, drawn.unit_from) == ("mm", "header")
    assert drawn.sheet_edge is None
    assert_same_parts(drawn.parts, drawing, WITHIN)


@pytest.mark.parametrize("way", SVG_WAYS)
@settings(derandomize=True, deadline=None, max_examples=15)
@given(seed=seeds, motion=motions)
def test_every_way_of_writing_svg_turned_mirrored_and_moved(way: str, seed: int, motion: Motion) -> None:
    drawing = moved(random_drawing(seed), motion)
    drawn = from_svg(drawing, way, seed)
    assert drawn.unit == "mm"
    assert_same_parts(drawn.parts, drawing, WITHIN)


@pytest.mark.parametrize("insunits", (1, 2, 5, 6))
@settings(derandomize=True, deadline=None, max_examples=6)
@given(seed=seeds)
def test_a_dxf_in_another_unit_that_says_so(insunits: int, seed: int) -> None:
    drawing = random_drawing(seed)
    way = EXACT_WAYS[seed % len(EXACT_WAYS)]
    drawn = from_dxf(drawing, way, seed, insunits)
    assert drawn.unit_from == "header"
    assert_same_parts(drawn.parts, drawing, WITHIN)


@pytest.mark.parametrize("unit", ("cm", "in", "px", ""))
@settings(derandomize=True, deadline=None, max_examples=6)
@given(seed=seeds)
def test_an_svg_in_another_unit_that_says_so(unit: str, seed: int) -> None:
    drawing = random_drawing(seed)
    assert_same_parts(from_svg(drawing, "plain", seed, unit).parts, drawing, WITHIN)


@settings(derandomize=True, deadline=None, max_examples=12)
@given(seed=seeds, other=seeds)
def test_order_direction_and_splitting_of_lines_change_nothing(seed: int, other: int) -> None:
    drawing = random_drawing(seed, most=2)
    first, second = (from_dxf(drawing, "LINE and ARC", order) for order in (seed, other))
    assert_same_parts(first.parts, drawing, WITHIN)
    assert_same_parts(second.parts, drawing, WITHIN)
    assert len(first.parts) == len(second.parts)
