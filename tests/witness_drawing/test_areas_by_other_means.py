"""Areas of what was read, against a closed formula and against another library's reader (trimesh)."""

from __future__ import annotations

import math
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from support.bulged import Drawing, area_of, exact_area, loop_polygon
from support.drawn_as import DXF_WAYS, write_dxf, write_svg
from support.random_drawings import random_drawing
from trimesh.constants import res_path

from camkit.drawing.read import read
from camkit.part import Part

# trimesh 5 reads neither blocks in blocks nor arcs that were split and drawn from below.
READ_BY_TRIMESH = ("LWPOLYLINE", "POLYLINE", "INSERT", "from below", "plain", "grouped")
EXACT_WAYS = sorted(set(DXF_WAYS) - {"short chords", "SPLINE and ELLIPSE"})
DRAWINGS = Path(__file__).parents[3] / "shared" / "drawings"
published = pytest.mark.skipif(not DRAWINGS.is_dir(), reason=f"the published drawings are not in {DRAWINGS}")

seeds = st.integers(0, 2**32 - 1)


def meant_areas(drawing: Drawing) -> list[float]:
    loops = [area_of(loop) for piece in drawing for loop in (piece.outline, *piece.openings)]
    return sorted(loops + [math.pi * d**2 / 4 for piece in drawing for _, _, d in piece.holes])


def read_areas(parts: tuple[Part, ...]) -> list[float]:
    loops = [exact_area(path) for part in parts for path in (part.outline, *part.openings)]
    return sorted(loops + [math.pi * h.diameter**2 / 4 for part in parts for h in part.holes])


def trimesh_areas(path: Path) -> list[float]:
    """The area inside every closed path that trimesh finds, its arcs cut into chords of 0.2 degrees."""
    with path.open("rb") as file, pytest.MonkeyPatch.context() as patch:
        patch.setattr(res_path, "seg_angle", math.radians(0.2))
        loaded = trimesh.load_path(file, file_type=path.suffix[1:])
        return sorted(float(shape.area) for shape in loaded.polygons_closed if shape is not None)


def test_the_formula_gives_the_areas_of_the_handbook() -> None:
    # Circle of radius 10 as two half circles: pi r^2. A half circle alone: pi r^2 / 2 (any handbook).
    assert area_of(((10, 0, 1), (-10, 0, 1))) == pytest.approx(100 * math.pi)
    assert area_of(((10, 0, 1), (-10, 0, 0))) == pytest.approx(50 * math.pi)
    # A quarter circle cut out of a square of 10: (4 - pi) / 4 of it stays when the bulge is hollow.
    hollow = ((0, 0, 0), (10, 0, -math.tan(math.pi / 8)), (0, 10, 0))
    assert area_of(hollow) == pytest.approx(100 * (4 - math.pi) / 4)


@settings(derandomize=True, deadline=None, max_examples=25)
@given(seed=seeds)
def test_the_formula_agrees_with_fine_chords(seed: int) -> None:
    for piece in random_drawing(seed):
        for loop in (piece.outline, *piece.openings):
            chords = loop_polygon(loop, 1e-4)
            assert area_of(loop) == pytest.approx(chords.area, abs=1e-4 * chords.length)


@settings(derandomize=True, deadline=None, max_examples=30)
@given(seed=seeds)
def test_areas_read_are_those_of_the_formula(seed: int) -> None:
    drawing = random_drawing(seed)
    way = EXACT_WAYS[seed % len(EXACT_WAYS)]
    with TemporaryDirectory() as folder:
        path = Path(folder) / "random.dxf"
        write_dxf(path, drawing, way, seed)
        areas = read_areas(read(path).parts)
    assert areas == pytest.approx(meant_areas(drawing), rel=1e-6, abs=1e-3)


@pytest.mark.parametrize("way", READ_BY_TRIMESH)
@settings(derandomize=True, deadline=None, max_examples=7)
@given(seed=seeds)
def test_areas_read_are_those_that_trimesh_reads(way: str, seed: int) -> None:
    drawing = random_drawing(seed)
    with TemporaryDirectory() as folder:
        path = Path(folder) / ("random.dxf" if way in DXF_WAYS else "random.svg")
        if way in DXF_WAYS:
            write_dxf(path, drawing, way, seed)
        else:
            write_svg(path, drawing, way, seed)
        ours, theirs = read_areas(read(path).parts), trimesh_areas(path)
    # n chords leave out 1 / n^2 of a circular segment, and a shallow arc of 6 degrees gets only 30 of them.
    assert ours == pytest.approx(theirs, rel=1e-4)


@published
@pytest.mark.parametrize(
    ("name", "scale", "left_out"),
    [
        ("enclosure-circles.dxf", 1.0, 0),
        ("desk-fillets-mm.dxf", 1.0, 1),  # the border
        ("rack-inches.svg", 25.4, 0),
    ],
)
def test_published_drawings_have_the_areas_that_trimesh_reads(name: str, scale: float, left_out: int) -> None:
    ours = read_areas(read(DRAWINGS / name).parts)
    theirs = [area * scale**2 for area in trimesh_areas(DRAWINGS / name)]
    assert ours == pytest.approx(theirs[: len(theirs) - left_out], rel=5e-5)
