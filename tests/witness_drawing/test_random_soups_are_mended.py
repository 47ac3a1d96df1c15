"""Random drawings as loose lines with gaps, doubled pieces and pieces without length: mended and counted."""

from __future__ import annotations

import math
import random
import re
from dataclasses import replace
from itertools import chain
from pathlib import Path
from tempfile import TemporaryDirectory

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.bulged import Drawing, assert_same_parts
from support.drawn_as import Stroke, draw_strokes, strokes_of
from support.random_drawings import random_drawing

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read

seeds = st.integers(0, 2**32 - 1)


def read_strokes(strokes: list[Stroke], chance: random.Random) -> Drawn:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    draw_strokes(document.modelspace(), strokes, chance)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "soup.dxf"
        document.saveas(path)
        return read(path)


def without_holes(seed: int) -> Drawing:
    return tuple(replace(piece, holes=()) for piece in random_drawing(seed, most=3))


def soup(drawing: Drawing, chance: random.Random) -> list[list[Stroke]]:
    return [strokes_of(loop, chance) for piece in drawing for loop in (piece.outline, *piece.openings)]


def shortened(strokes: list[Stroke], gap: float) -> bool:
    """Let the longest line end `gap` too early; False where the loop has no long line."""
    a, b, bulge = longest = max(strokes, key=lambda s: 0.0 if s[2] else math.dist(s[0], s[1]))
    long = math.dist(a, b)
    if bulge or long < 10 * gap + 5:
        return False
    end = tuple(p + (q - p) * (1 - gap / long) for p, q in zip(a, b, strict=True))
    strokes[strokes.index(longest)] = (a, (end[0], end[1]), 0.0)
    return True


def counted(drawn: Drawn, rule: str) -> int:
    said = (finding.message for finding in drawn.findings if finding.rule == rule)
    return sum(
        int(number) for text in said for number in re.findall(r"(?:left out|counted once): (\d+)", text)
    )


@settings(derandomize=True, deadline=None, max_examples=12)
@given(seed=seeds)
def test_doubled_pieces_and_pieces_without_length_are_counted(seed: int) -> None:
    chance, drawing = random.Random(seed), without_holes(seed)
    strokes = list(chain.from_iterable(soup(drawing, chance)))
    doubled = [s for s in strokes if chance.random() < 0.3]
    backwards = [(b, a, -bulge) if chance.random() < 0.5 else (a, b, bulge) for a, b, bulge in doubled]
    points = [(a, a, 0.0) for a, _, _ in strokes if chance.random() < 0.2]
    drawn = read_strokes([*strokes, *backwards, *points], chance)
    assert_same_parts(drawn.parts, drawing)
    assert counted(drawn, "duplicate") == len(doubled)
    assert counted(drawn, "no-length") == len(points)


@pytest.mark.parametrize("gap", (0.008, 0.08, 0.45))
@settings(derandomize=True, deadline=None, max_examples=8)
@given(seed=seeds)
def test_gaps_are_closed_and_told_from_a_hundredth_on(gap: float, seed: int) -> None:
    chance, drawing = random.Random(seed), without_holes(seed)
    loops = soup(drawing, chance)
    gaps = sum(shortened(strokes, gap) for strokes in loops)
    drawn = read_strokes(list(chain.from_iterable(loops)), chance)
    assert_same_parts(drawn.parts, drawing, within=max(0.005, 1.01 * gap))
    loud = [finding for finding in drawn.findings if finding.level != "note"]
    assert bool(loud) == (gap > 0.01 and gaps > 0)
    assert all(finding.amount_mm == pytest.approx(gap, abs=0.001) for finding in loud)


@settings(derandomize=True, deadline=None, max_examples=8)
@given(seed=seeds)
def test_a_gap_above_half_a_millimetre_is_never_closed(seed: int) -> None:
    chance, drawing = random.Random(seed), without_holes(seed)
    loops = soup(drawing, chance)
    opened = shortened(loops[0], 0.55)  # the first part's outline
    drawn = read_strokes(list(chain.from_iterable(loops)), chance)
    if opened:
        assert len(drawn.parts) != len(drawing) or drawing[0].openings
        told = [finding.amount_mm for finding in drawn.findings if finding.rule == "open-outline"]
        assert told == [pytest.approx(0.55, abs=0.001)]
