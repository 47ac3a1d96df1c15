"""Drawings made by other people, published as they are; what is asserted was seen in rendered pictures."""

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds

DRAWINGS = Path(__file__).parents[3] / "shared" / "drawings"
pytestmark = pytest.mark.skipif(not DRAWINGS.is_dir(), reason="the published drawings are not at hand")

# Name, unit, parts, openings of all parts, holes of all parts.
SEEN = [
    ("case-middle-plate.dxf", "mm", 1, 1, 0),
    ("case-mirrored.dxf", "mm", 1, 22, 5),
    ("case-projected-solid.dxf", "mm", 1, 22, 0),
    ("cover-splines.dxf", "mm", 1, 0, 71),
    ("desk-2004.dxf", "mm", 19, 24, 0),
    ("desk-cm.dxf", "cm", 16, 20, 0),
    ("desk-fillets-mm.dxf", "mm", 16, 20, 0),
    ("desk-line-soup.dxf", "mm", 5, 22, 0),
    ("enclosure-circles.dxf", "mm", 1, 9, 203),
    ("enclosure-older.dxf", "mm", 1, 9, 190),
    ("front-plate.dxf", "mm", 1, 1, 14),
    ("front-plate.svg", "mm", 1, 1, 14),
    ("rack-inches.dxf", "inch", 7, 4, 0),
    ("rack-inches.svg", "inch", 7, 4, 0),
]


def sizes(found: Drawn) -> list[tuple[float, float]]:
    return [(round(b[2] - b[0], 1), round(b[3] - b[1], 1)) for b in (bounds(p.outline) for p in found.parts)]


def told(found: Drawn, rule: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.rule == rule]


def test_every_drawing_is_listed() -> None:
    files = {path.name for path in DRAWINGS.iterdir() if path.suffix in (".dxf", ".svg")}
    assert files == {name for name, *_ in SEEN}


@pytest.mark.parametrize(("name", "unit", "parts", "openings", "holes"), SEEN)
def test_parts_openings_and_holes_are_those_of_the_picture(
    name: str, unit: str, parts: int, openings: int, holes: int
) -> None:
    found = read(DRAWINGS / name)
    assert found.unit == unit
    assert len(found.parts) == parts
    assert sum(len(part.openings) for part in found.parts) == openings
    assert sum(len(part.holes) for part in found.parts) == holes
    assert not [finding for finding in found.findings if finding.level == "error"]
    for part in found.parts:
        shape = as_polygon(part.region())
        assert shape.is_valid and shape.geom_type == "Polygon"


def test_the_desk_lies_in_the_border_of_its_sheet() -> None:
    """A top, two legs, a beam, two braces and ten wedges; the border carries nothing but them."""
    found = read(DRAWINGS / "desk-fillets-mm.dxf")
    assert found.sheet_edge is not None and bounds(found.sheet_edge) == pytest.approx((0, 0, 2500, 1250))
    assert Counter(sizes(found)) == {
        (800.0, 1240.0): 1,
        (1150.4, 800.0): 2,
        (1240.0, 150.0): 1,
        (1611.3, 143.6): 2,
        (40.1, 23.3): 10,
    }
    openings = {size: len(part.openings) for size, part in zip(sizes(found), found.parts, strict=True)}
    assert openings == {(800, 1240): 4, (1150.4, 800): 5, (1240, 150): 2, (1611.3, 143.6): 2, (40.1, 23.3): 0}
    assert told(found, "sheet-border")[0].level == "note"
    # The beam reaches 0.43 mm past the upper edge of the sheet.
    assert told(found, "overlap")[0].y_mm == pytest.approx(1250)


def test_the_desk_in_centimetres_is_as_large_as_the_one_in_millimetres() -> None:
    cm, mm = (read(DRAWINGS / name) for name in ("desk-cm.dxf", "desk-fillets-mm.dxf"))
    assert max(sizes(cm)) == pytest.approx((1613.8, 146.1))
    assert sorted(s for s in sizes(cm) if s[1] == 800) == sorted(s for s in sizes(mm) if s[1] == 800)


def test_the_middle_plate_is_a_ring() -> None:
    found = read(DRAWINGS / "case-middle-plate.dxf")
    (part,) = found.parts
    assert sizes(found) == [(145.4, 106.2)]
    (opening,) = part.openings
    x0, y0, x1, y1 = bounds(opening)
    assert (x1 - x0, y1 - y0) == pytest.approx((133.4, 92.0), abs=0.02)
    # The lower and the upper edge of a solid 5 mm thick, and its upright edges seen from above.
    assert "counted once: 96 on" in told(found, "duplicate")[0].message
    assert "left out: 64" in told(found, "no-length")[0].message


def test_the_rack_is_read_in_inches() -> None:
    found = read(DRAWINGS / "rack-inches.dxf")
    inches = [(22.75, 72.606), (22.75, 72.606), (4.5, 4.0625), (4.5, 4.0625), (19, 21.2), (23, 8), (23, 4)]
    assert sizes(found) == [pytest.approx((x * 25.4, y * 25.4), abs=0.06) for x, y in inches]
    assert [len(part.openings) for part in found.parts] == [2, 2, 0, 0, 0, 0, 0]
    assert found.sheet_edge is None
    assert told(found, "unit-guessed")[0].level == "warning"


def test_the_svg_of_the_rack_is_not_48_mm_wide() -> None:
    found = read(DRAWINGS / "rack-inches.svg")
    assert "the header says mm" in told(found, "unit-guessed")[0].message
    dxf = read(DRAWINGS / "rack-inches.dxf")
    for one, other in zip(found.parts[2:], dxf.parts[2:], strict=True):
        assert as_polygon(one.region()).symmetric_difference(as_polygon(other.region())).area < 1


@pytest.mark.parametrize("name", ["front-plate.svg", "front-plate.dxf"])
def test_the_front_plate_is_a_part_with_holes_and_no_frame(name: str) -> None:
    found = read(DRAWINGS / name)
    (part,) = found.parts
    assert sizes(found) == [(505, 215)]
    assert bounds(part.outline)[:2] == pytest.approx((20.40, 67.77), abs=0.01)
    assert Counter(round(hole.diameter, 1) for hole in part.holes) == {6: 4, 3.5: 4, 23: 4, 19: 1, 21: 1}
    (opening,) = part.openings
    x0, y0, x1, y1 = bounds(opening)
    assert (x1 - x0, y1 - y0) == pytest.approx((55, 55), abs=0.001)
    assert found.sheet_edge is None


def test_lettering_of_the_front_plate_is_told() -> None:
    found = read(DRAWINGS / "front-plate.svg")
    assert ": 46 on layer" in told(found, "left-aside")[0].message
    assert told(found, "open-lines")


def test_another_hash_seed_changes_nothing() -> None:
    said = set()
    for seed in ("0", "1"):
        code = "import pathlib, sys, camkit.drawing.read as d; print(d.read(pathlib.Path(sys.argv[1])))"
        run = subprocess.run(
            [sys.executable, "-c", code, str(DRAWINGS / "desk-2004.dxf")],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        )
        said.add(run.stdout)
    assert len(said) == 1
